"""Slots and dates: real days, rest respected, promises checked, and what the answer rests on."""

import re
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from sitegen.studio.capacity.answer import Job, Question, Shift, answer
from sitegen.studio.capacity.bench import Away, Bench
from sitegen.studio.capacity.hours import Basis, ThreePoint, from_estimate, from_records, hours_by_tier
from sitegen.studio.commission import GuessedHours

MONDAY = date(2027, 1, 4)
# 20 h a week, so 4 h on each day from Monday to Friday.
BENCH = Bench(Fraction(20), MONDAY)
# Exactly ten hours a piece: dates can be counted on a calendar.
TEN = from_estimate(ThreePoint(10, 10, 10), "Small figure")
RECORDS = [12, 18.5, 20, 22, 22.5, 24, 26, 31, 44]


def ask(*queue: Job, bench: Bench = BENCH, first: date = MONDAY, last: date = date(2027, 1, 15)) -> Question:
    """A question about ten-hour pieces, two weeks unless said otherwise."""
    return Question(queue, {"Small figure": TEN}, bench, (first, last), "Small figure")


def owed(count: int) -> list[Job]:
    """So many ten-hour pieces in the queue."""
    return [Job(f"W27-{place}", "Small figure") for place in range(1, count + 1)]


# Worked on a calendar: 40 h in two weeks, 10 h a piece, 4 h a day.
@pytest.mark.parametrize(
    ("question", "slots", "new_days"),
    [
        (ask(), 4, ["2027-01-06", "2027-01-08", "2027-01-13", "2027-01-15"]),
        (ask(*owed(1)), 3, ["2027-01-08", "2027-01-13", "2027-01-15"]),
        (ask(*owed(5)), 0, []),
        # The queue is done on Wednesday; new pieces wait for the window and take 2.5 days each.
        (ask(*owed(1), first=date(2027, 1, 11)), 2, ["2027-01-13", "2027-01-15"]),
        # From Tuesday to Friday there are 16 h, and nothing is begun on the Monday before.
        (ask(first=date(2027, 1, 12)), 1, ["2027-01-14"]),
        # A show from Tuesday to Thursday and a week of rest: 8 h are left.
        (
            ask(
                bench=replace(
                    BENCH,
                    away=(
                        Away(date(2027, 1, 5), date(2027, 1, 7)),
                        Away(date(2027, 1, 11), date(2027, 1, 17)),
                    ),
                )
            ),
            0,
            [],
        ),
        # 2 h are worked off the piece already, so 8 of 40 h are owed.
        (
            ask(Job("W27-1", "Small figure", done=2), last=date(2027, 1, 15)),
            3,
            ["2027-01-08", "2027-01-12", "2027-01-15"],
        ),
    ],
)
def test_slots_and_days_counted_on_a_calendar(question: Question, slots: int, new_days: list[str]) -> None:
    """With hours known exactly, the answer is the one on the kitchen calendar."""
    result = answer(question)

    assert result.slots == slots
    assert [str(place.sure) for place in result.new] == new_days


def test_the_queue_is_worked_in_order_around_days_away() -> None:
    """Ten hours each: done Wednesday, Friday, and after a week of rest the Wednesday after."""
    bench = replace(BENCH, away=(Away(date(2027, 1, 11), date(2027, 1, 17)),))
    result = answer(ask(*owed(3), bench=bench))

    assert [str(place.p80) for place in result.queue] == ["2027-01-06", "2027-01-08", "2027-01-20"]
    assert [place.place for place in result.queue] == [1, 2, 3]


def test_promises_that_cannot_be_kept_are_named() -> None:
    """A day too early has no chance here, the very day is kept for certain."""
    jobs = [
        Job("W27-1", "Small figure", promised=date(2027, 1, 6)),
        Job("W27-2", "Small figure", promised=date(2027, 1, 7)),
        Job("W27-3", "Small figure"),
    ]
    result = answer(ask(*jobs))

    assert [place.code for place in result.broken] == ["W27-2"]
    assert [place.kept for place in result.queue] == [1.0, 0.0, None]


def test_dates_grow_with_confidence_and_place() -> None:
    """The 90 % day is never before the 80 % day, nor place 5 before place 4."""
    hours = {"Small figure": from_records(RECORDS, "Small figure")}
    result = answer(replace(ask(*owed(6)), hours=hours, confidence=0.95))
    places = [*result.queue, *result.new, result.beyond]

    for place in places:
        assert MONDAY <= place.p50 <= place.p80 <= place.p90 <= place.sure  # type: ignore[operator]
    for earlier, later in pairwise(places):
        assert earlier.p80 <= later.p80  # type: ignore[operator]


def test_more_confidence_opens_fewer_slots() -> None:
    """Caution costs slots."""
    hours = {"Small figure": from_records(RECORDS, "Small figure")}
    question = replace(ask(*owed(2), last=date(2027, 6, 30)), hours=hours)
    slots = [answer(replace(question, confidence=share)).slots for share in (0.5, 0.8, 0.95)]

    assert slots[0] > slots[1] > slots[2] > 0


def test_the_answer_says_what_it_rests_on() -> None:
    """Count and middle half of the records; quartiles 20 and 26 by hand (type 7, places 2 and 6 of 0 to 8)."""
    hours = {"Small figure": from_records(RECORDS, "Small figure")}

    assert answer(replace(ask(), hours=hours)).rests_on == (
        "Small figure: 9 pieces, records of this tier; middle half 20 to 26 h",
    )
    assert answer(ask()).rests_on == (
        "Small figure: a low, usual and high guess; mean 10.0 h, standard deviation 0.0 h",
    )
    assert answer(ask()).cautions == ("Small figure rests on a guess; the dates are as good as the guess",)


def test_the_answer_says_what_changes_it_most() -> None:
    """Worked on a calendar: 40 h take 10 days; 44 h take 11; at 18 h a week 40 h take 12 days."""
    assert answer(ask(*owed(4))).changes == (
        Shift("one more week away", 7),
        Shift("a tenth fewer bench hours a week", 4),
        Shift("every piece taking a tenth longer", 3),
        Shift("a confidence of 90% instead of 80%", 0),
        Shift("knowing the average hours for certain, from many more records", 0),
    )


@pytest.mark.parametrize(
    ("own", "guess", "others", "basis"),
    [
        (RECORDS, None, [], Basis.RECORDS),
        (RECORDS, ThreePoint(1, 2, 3), [], Basis.RECORDS),
        (RECORDS[:3], ThreePoint(1, 2, 3), RECORDS, Basis.ESTIMATE),
        (RECORDS[:3], None, RECORDS, Basis.BORROWED),
        ([], None, RECORDS, Basis.POOLED),
        (RECORDS[:3], None, [], Basis.POOLED),
    ],
)
def test_what_hours_rest_on(
    own: list[float], guess: ThreePoint | None, others: list[float], basis: Basis
) -> None:
    """Own records first, then a guess, then what other pieces can tell."""
    guesses = {"Large figure": guess} if guess else {}
    hours = hours_by_tier({"Large figure": own, "Small figure": others}, guesses, ["Large figure"])

    assert hours["Large figure"].basis is basis


def test_a_tier_of_two_large_pieces_keeps_its_size() -> None:
    """Small pieces lend their variation, not their hours."""
    hours = hours_by_tier({"Large": [60, 70], "Small": RECORDS}, {}, ["Large"])["Large"]

    assert hours.spread.mean / 2 == pytest.approx(65)
    assert hours.count == 2


def test_nothing_to_go_by_is_said_with_the_cure() -> None:
    """One record and no guess: no number is made up."""
    sentence = (
        'nothing says how long "Large" takes: track the hours of finished pieces, or write a low, usual and '
        "high number of hours for this tier"
    )
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}"):
        hours_by_tier({"Large": [60]}, {}, ["Large"])


def test_what_is_left_of_a_piece_comes_from_longer_ones() -> None:
    """After 23 h only the four records of 24, 26, 31 and 44 h count: 1, 3, 8 and 21 h are left, 8.25 on average."""
    hours = from_records(RECORDS, "Small figure").left(23, "W27-1")

    assert hours.records == (1, 3, 8, 21)
    assert hours.spread.mean / 2 == pytest.approx(
        8.25, abs=0.3
    )  # no piece is left with less than half an hour


def test_a_piece_beyond_all_records_is_guessed_and_said() -> None:
    """After 60 h nothing on record helps; the desk says so."""
    hours = {"Small figure": from_records(RECORDS, "Small figure")}
    result = answer(replace(ask(Job("W27-1", "Small figure", done=60)), hours=hours))

    assert result.cautions == (
        "W27-1, what's left is a guess: this piece already took longer than nearly all on record",
    )


@given(st.floats(1, 60), st.floats(0, 60))
def test_what_is_left_is_never_nothing_and_never_more_than_the_guess(usual: float, done: float) -> None:
    """For a guess of up to `high` hours, what's left lies within high - done, or is guessed anew."""
    guess = ThreePoint(usual / 2, usual, 2 * usual)
    hours = from_estimate(guess, "tier").left(done, "piece")

    assert hours.spread.start >= 1
    if hours.basis is Basis.ESTIMATE:
        assert hours.spread.start + len(hours.spread.weights) - 1 <= 2 * (2 * usual - done) + 2


@pytest.mark.parametrize(
    ("first", "last", "sentence"),
    [
        (date(2027, 2, 1), date(2027, 1, 1), "the window ends (2027-01-01) before it begins (2027-02-01)"),
        (
            date(2026, 1, 1),
            date(2026, 2, 1),
            "the window ends (2026-02-01) before the bench starts (2027-01-04)",
        ),
    ],
)
def test_questions_without_an_answer_are_refused(first: date, last: date, sentence: str) -> None:
    """A sentence instead of a date."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}"):
        ask(first=first, last=last)


def test_a_bench_without_hours_is_refused() -> None:
    """Nothing would ever be finished."""
    with pytest.raises(ValueError, match=r"^weekly_hours is 0; write how many bench hours a usual week has$"):
        Bench(Fraction(0), MONDAY)


def test_guesses_out_of_order_are_refused() -> None:
    """Low, usual, high."""
    with pytest.raises(ValidationError, match="hours of 20, 10, 30 aren't in order; write low, usual, high"):
        GuessedHours(low=Decimal(20), usual=Decimal(10), high=Decimal(30))


SPANS = st.builds(
    lambda start, days: Away(MONDAY + timedelta(days=start), MONDAY + timedelta(days=start + days)),
    st.integers(0, 300),
    st.integers(0, 40),
)


@given(st.fractions(1, 60), st.lists(SPANS, max_size=6), st.integers(1, 2000))
def test_a_day_is_the_first_by_whose_evening_the_hours_are_worked(
    weekly: Fraction, away: list[Away], needed: int
) -> None:
    """Counting hours up to a day and finding the day for hours agree; no day away is ever named."""
    bench = Bench(weekly, MONDAY, tuple(away))
    day = bench.done_on(needed)
    if day is None:
        assert bench.half_hours_through(MONDAY + timedelta(days=366 * 20 - 1)) < needed
    else:
        assert day.weekday() < 5
        assert not any(span.first_day <= day <= span.last_day for span in away)
        assert bench.half_hours_through(day) >= needed > bench.half_hours_through(day - timedelta(days=1))


def test_a_day_out_of_sight_is_none() -> None:
    """Away for good: no date is promised, no slot opens, and nothing hangs."""
    bench = replace(BENCH, away=(Away(MONDAY, date(2060, 1, 1)),))
    result = answer(ask(*owed(1), bench=bench))

    assert (result.queue[0].sure, result.slots, result.changes) == (None, 0, ())


DAYS = st.integers(0, 200).map(lambda day: date(2026, 12, 20) + timedelta(days=day))


@given(st.lists(st.tuples(DAYS, st.integers(0, 40)), max_size=5), DAYS, DAYS)
def test_bench_hours_are_those_counted_day_by_day(
    spans: list[tuple[date, int]], first_day: date, last_day: date
) -> None:
    """Source: counting every day, however days away overlap or begin before the first day."""
    away = tuple(Away(day, day + timedelta(days=length)) for day, length in spans)
    bench = Bench(Fraction(20), first_day, away)
    days = [first_day + timedelta(days=day) for day in range((last_day - first_day).days + 1)]
    worked = [
        day
        for day in days
        if day.weekday() < 5 and not any(span.first_day <= day <= span.last_day for span in away)
    ]

    assert bench.half_hours_through(last_day) == len(worked) * bench.daily
