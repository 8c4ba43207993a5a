"""How many slots can open, as the desk says it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from sitegen.desk.slots import slots
from sitegen.studio.asked import Fault
from sitegen.studio.capacity.answer import Shift
from tests.desk.studios import TODAY, fixed, past_pieces, piece, queued, settings, studio


def test_pieces_that_always_take_the_same_fill_the_bench_to_the_day() -> None:
    """By hand: 20 h a week are 4 h a working day, a piece of 8 h two days; Wednesday 25 November 2026 is
    the first day, so the pieces are done on Thursday 26, Monday 30, Wednesday 2; by Friday 4 December no
    other one is (each needs two days and eight working days were there).
    """
    made = fixed()

    found = slots(
        studio(made, [queued("Q-1"), queued("Q-2")]), TODAY, last_day=date(2026, 12, 4), confidence=0.9
    )

    answer = found.as_answer()
    assert answer["confidence"] == 0.9
    assert answer["window"] == ["2026-11-25", "2026-12-04"]
    assert answer["slots"] == 2
    assert answer["queue"] == [
        {"place": 1, "p50": "2026-11-26", "p80": "2026-11-26", "p90": "2026-11-26"},
        {"place": 2, "p50": "2026-11-30", "p80": "2026-11-30", "p90": "2026-11-30"},
    ]


def test_rest_and_shows_push_every_date_alike() -> None:
    """A week of rest and a show on working days both take their five working days."""
    made = fixed()
    week = {"from": "2026-11-23", "to": "2026-11-29"}
    rest = settings(days_away=[{**week, "why": "rest"}])
    show = {"slug": "fair", "name": "Fair", **week}
    queue = [queued("Q-1")]

    resting = slots(studio(made, queue, own=rest), TODAY).as_answer()
    showing = slots(studio(made, queue, shows=[show]), TODAY).as_answer()

    assert resting["queue"][0]["p50"] == showing["queue"][0]["p50"] == "2026-12-01"


def test_it_says_what_it_rests_on_with_quartiles_as_numpy_has_them() -> None:
    """Quartiles of Hyndman-Fan type 7, NumPy's default."""
    made = past_pieces(11)
    low, high = np.quantile([float(one.hours) for one in made], [0.25, 0.75])

    told = "\n".join(slots(studio(made, [queued("Q-1")]), TODAY).lines())

    assert f"Small: 11 pieces, records of this tier; middle half {low:g} to {high:g} h" in told
    assert "What would move the last date:" in told


def test_hours_already_worked_on_a_linked_piece_count() -> None:
    made = past_pieces(12)
    begun = piece("half-done", status="in progress", private={"order": "Q-1", "hours": {"all": "12"}})
    queue = [queued("Q-1", "on the bench")]

    fresh = slots(studio(made, queue), TODAY).as_answer()["queue"]
    later = slots(studio([*made, begun], queue), TODAY).as_answer()["queue"]

    assert len(later) == 1
    assert later[0]["p80"] < fresh[0]["p80"]


def test_pieces_of_the_studio_itself_take_bench_time_but_no_place_in_the_queue() -> None:
    made = past_pieces(12)
    own = piece("deer", status="in progress", private={"tier": "Small", "hours": {"all": "1"}})
    until = TODAY + timedelta(days=60)

    without = slots(studio(made, [queued("Q-1")]), TODAY, last_day=until)
    with_own = slots(studio([*made, own], [queued("Q-1")]), TODAY, last_day=until)

    assert with_own.answer.slots == without.answer.slots - 1
    assert len(with_own.as_answer()["queue"]) == 1
    assert any(line.strip().startswith("deer") for line in with_own.lines())


def test_a_promise_that_cannot_be_kept_is_said_with_a_day_that_can() -> None:
    queue = [queued("Q-1", private={"promised": "2026-11-26"})]

    found = slots(studio(past_pieces(12), queue), TODAY)

    warnings = [line for line in found.lines() if line.startswith("Warning: ")]
    assert len(warnings) == 1
    assert warnings[0].startswith("Warning: Q-1 was promised for 2026-11-26; that holds with 0%, not 80%.")
    assert f"{found.answer.queue[0].sure} can be promised" in warnings[0]


def test_the_late_delivery_rule_dates_stand_beside_the_order() -> None:
    """16 CFR 435.2: 30 days where no time was stated, then 30 more in which silence is consent."""
    found = slots(studio(past_pieces(12), [queued("Q-1")]), TODAY)

    told = "\n".join(found.lines())
    assert any(line.split() == ["Q-1", "2026-12-01", "2026-12-31"] for line in found.lines())
    assert "16 CFR part 435" in told


def test_a_guess_stands_in_where_there_are_no_records() -> None:
    guess = {
        "name": "Small",
        "from_price": "420",
        "private": {"hours": {"low": "10", "usual": "14", "high": "24"}},
    }

    found = slots(studio([], [queued("Q-1")], tiers=[guess]), TODAY)

    # PERT mean 15, deviation 2.3 (San José State University course reader).
    assert "Small: a low, usual and high guess; mean 15.0 h, standard deviation 2.3 h" in "\n".join(
        found.lines()
    )


@pytest.mark.parametrize(
    ("own", "changes", "asking", "said"),
    [
        ({"weekly_hours": None}, {}, {}, "studio.yaml doesn't say how much you work; under `private:` write"),
        ({}, {"tiers": []}, {}, "commissions.yaml names no tiers"),
        ({}, {}, {}, 'nothing says how long "Small" takes'),
        ({}, {}, {"tier": "Smal"}, "there is no tier 'Smal'; did you mean 'Small'?"),
        (
            {},
            {},
            {"last_day": date(2026, 1, 1)},
            "the window ends (2026-01-01) before it begins (2026-11-25)",
        ),
    ],
)
def test_what_is_missing_is_named(
    own: dict[str, Any], changes: dict[str, Any], asking: dict[str, Any], said: str
) -> None:
    made = past_pieces(6) if "last_day" in asking else []
    one = studio(made, [], own=settings(**own), **changes)

    with pytest.raises(Fault) as told:
        slots(one, TODAY, **asking)

    assert said in str(told.value)


def test_an_unanswered_offer_takes_no_bench_time_as_if_it_were_accepted() -> None:
    """The same dates and slots as without it; it's said, as long as it stands: 14 days from the 11th, the 25th."""
    made = past_pieces(11)
    without = slots(studio(made, [queued("Q-1")]), TODAY)
    for since, offers in (("2026-11-11", 1), ("2026-11-10", 0)):
        queue = [queued("Q-1"), queued("Q-2", "offered", since=since)]
        found = slots(studio(made, queue), TODAY)
        assert found.as_answer() == {**without.as_answer(), "offers": offers}
        assert ("1 offer stands unanswered" in "\n".join(found.lines())) is bool(offers)


def test_a_piece_begun_for_an_offer_is_the_studios_own_until_somebody_says_yes() -> None:
    begun = piece("early", status="in progress", private={"order": "Q-2", "tier": "Small"})
    offered = slots(studio([*past_pieces(11), begun], [queued("Q-2", "offered")]), TODAY)
    accepted = slots(studio([*past_pieces(11), begun], [queued("Q-2")]), TODAY)

    assert (len(offered.orders), len(accepted.orders)) == (0, 1)
    assert offered.answer.slots == accepted.answer.slots


def test_weeks_that_swing_push_the_sure_day_further_than_the_even_chance() -> None:
    """The same pieces in the same time, finished now close and now far apart: what swings is allowed for."""

    def made(gaps: tuple[int, int]) -> list[Any]:
        day, found = date(2025, 1, 3), []
        for n in range(24):
            day += timedelta(days=gaps[n % 2])
            found.append(
                piece(f"past-{n}", finished=str(day), private={"tier": "Small", "hours": {"all": "20"}})
            )
        return found

    def days(gaps: tuple[int, int]) -> tuple[date, date]:
        own = settings(weekly_hours="10")
        answer = slots(studio(made(gaps), [queued(f"Q-{n}") for n in range(4)], own=own), TODAY).as_answer()
        last = answer["queue"][3]
        return date.fromisoformat(last["p50"]), date.fromisoformat(last["p80"])

    even, swinging = days((14, 14)), days((3, 25))

    assert (swinging[1] - swinging[0]).days > (even[1] - even[0]).days + 3
    assert abs((swinging[0] - even[0]).days) < 21


def test_the_whole_answer_by_hand() -> None:
    """20 h a week are 4 h a working day, from Wednesday 25 November; every piece takes 8 h.

    Q-2 is on the bench with 2 of its hours done: 6 h, by Thursday. Q-1 then 14 h, the fourth day; the newt of the
    studio's own has 4 h left, 18 h, the fifth day; a new piece 26 h, the seventh; one more 34 h, the ninth day.
    Late delivery (16 CFR 435): by the day promised, silence for 30 days more.
    """
    made = fixed()
    made.append(piece("newt", status="in progress", private={"tier": "Small", "hours": {"all": "4"}}))
    queue = [
        queued("Q-1", private={"promised": "2026-11-25"}),
        queued("Q-2", "on the bench", private={"promised": "2026-12-31", "hours": {"all": "2"}}),
        queued("Q-3", "offered", since="2026-11-20"),
        queued("Q-4", "request"),
    ]
    own = settings(days_away=[{"from": "2026-12-24", "to": "2026-12-26", "why": "rest"}])

    told = slots(studio(made, queue, own=own), TODAY, last_day=date(2026, 12, 4)).lines()

    assert told == [
        "1 new slot (Small) can open between 2026-11-25 and 2026-12-04 with 80% confidence.",
        "Small is what is asked for most; --tier names another (Large).",
        "1 offer stands unanswered; whoever says yes takes one of these, so count them off.",
        "",
        "                               even chance  80%         90%         promised",
        "1  Q-2           on the bench  2026-11-26   2026-11-26  2026-11-26  2026-12-31 (nearly certain)",
        "2  Q-1           accepted      2026-11-30   2026-11-30  2026-11-30  2026-11-25 (0% sure)",
        "   Newt          in progress   2026-12-01   2026-12-01  2026-12-01",
        "   new slot 1                  2026-12-03   2026-12-03  2026-12-03",
        "   one too many                2026-12-07   2026-12-07  2026-12-07",
        "",
        "Warning: Q-1 was promised for 2026-11-25; that holds with 0%, not 80%. Write to the client before that day; "
        "2026-11-30 can be promised.",
        "It rests on 20 bench hours a week, Monday to Friday, and on",
        "  Q-2, what's left: 6 pieces, records of this tier; middle half 6 to 6 h",
        "  Small: 6 pieces, records of this tier; middle half 8 to 8 h",
        "  newt, what's left: 6 pieces, records of this tier; middle half 4 to 4 h",
        "  away 2026-12-24 to 2026-12-26: rest",
        "What would move the last date:",
        "  one more week away: 7 days later",
        # 18 h at 3.6 h a day, and 19.8 h at 4 h a day, are five days still.
        "  a tenth fewer bench hours a week: no change",
        "  every piece taking a tenth longer: no change",
        "  a confidence of 90% instead of 80%: no change",
        "  knowing the average hours for certain, from many more records: no change",
        "Fewer than 8 finished pieces have hours and a day that fit a working week, so the week is taken as written; "
        "real weeks vary, and dates may slip.",
        "",
        "Late delivery:",  # of Q-1 alone: Q-2's yes isn't on record
        "     send by, or offer the choice to wait or cancel  a new date up to here needs no yes",
        "Q-1  2026-11-25                                      2026-12-25",
        "These days follow one country's late-delivery rule (16 CFR part 435, United States); look at those where you and "
        "your clients live. This is no legal advice: ask a licensed professional.",
    ]


def test_each_column_has_its_own_day_and_a_new_day_moves_the_dates_of_the_rule() -> None:
    """Days of different columns differ here. 16 CFR 435.2(b)(2): put off once, silence is no yes to any
    later day."""
    moves = {"moves": "2026-10-01 accepted", "since": "2026-10-01"}
    queue = [queued("Q-1", **moves, private={"promised": "2026-12-10", "new_days": ["2027-01-05"]})]
    found = slots(studio(past_pieces(12), queue), TODAY)
    dates = found.answer.queue[0]
    row, late = (
        line for line in found.lines() if line.split()[:1] == ["Q-1"] or line.split()[:2] == ["1", "Q-1"]
    )

    assert dates.p50 < dates.p80 < dates.p90  # type: ignore[operator]
    assert row.split()[3:6] == [str(dates.p50), str(dates.p80), str(dates.p90)]
    assert "2027-01-05" in row
    assert late.split()[1:] == ["2027-01-05", "2027-01-05"]


@pytest.mark.parametrize(("days", "said"), [(1, "1 day later"), (-1, "1 day earlier"), (7, "7 days later"), (0, "no change")])  # fmt: skip
def test_what_moves_the_last_date_is_counted_in_days(days: int, said: str) -> None:
    assert str(Shift("a week away", days)) == f"a week away: {said}"


def test_two_offers_are_counted() -> None:
    made = fixed()
    queue = [queued(f"Q-{n}", "offered", since="2026-11-20") for n in range(2)]

    told = slots(studio(made, queue), TODAY).lines()

    assert "2 offers stand unanswered; whoever says yes takes one of these, so count them off." in told


def test_a_round_that_is_open_comes_first() -> None:
    """By hand: of three slots one is accepted and one given back before the bench, so one is taken."""
    rounds = [
        {"name": "Open", "opens": "2026-11-20 12:00", "closes": "2026-11-28 12:00", "slots": "3"},
        {"name": "Endless", "opens": "2026-11-20 12:00", "slots": "2"},
        {"name": "Later", "opens": "2027-01-16 12:00", "slots": "2"},
        {"name": "Over", "opens": "2026-10-01 12:00", "closes": "2026-10-08 12:00", "slots": "2"},
    ]
    queue = [queued("Q-1", round="Open"), queued("Q-2", "called off", round="Open")]
    found = slots(studio(past_pieces(12), queue, rounds=rounds), TODAY)
    assert found.lines()[:2] == [
        "Open is open: 1 of 3 slots taken, 2 free.",
        "Endless is open: 0 of 2 slots taken, 2 free.",
    ]


def test_the_usual_window_and_a_tier_by_name() -> None:
    """13 weeks from the day asked for; the name may be typed in small letters."""
    made = fixed(hours="30", tier="Large")
    found = slots(studio(made, []), TODAY, first_day=date(2027, 1, 4), tier="large")

    assert found.as_answer()["window"] == ["2027-01-04", "2027-04-05"]
    assert "(Large) can open between 2027-01-04" in found.lines()[0]
    assert found.lines()[1] == ""
