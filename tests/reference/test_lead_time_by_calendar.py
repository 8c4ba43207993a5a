"""The public lead time against a calendar that is walked day by day, with pieces that always take the same."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import settings as profile
from hypothesis import strategies as some

from sitegen.studio.commission import Round
from sitegen.studio.plan import months_after
from sitegen.studio.public import LeadTime
from sitegen.studio.workload import lead_time
from tests.desk.studios import fixed, piece, queued, settings, studio

HOURS, WEEKLY = 40, 10  # two hours a working day, so twenty working days a piece
TODAY = date(2026, 11, 25)


def walked(owed: int, starts: date, places: int) -> list[date]:
    """Return the day on which each new piece is done, none begun before `starts`."""
    done: list[date] = []
    day, left = TODAY - timedelta(days=1), owed * HOURS
    worked = 0
    while len(done) < places:
        day += timedelta(days=1)
        if day.weekday() > 4:
            continue
        if left > 0:
            left -= 2
        elif day >= starts:
            worked += 2
            if worked == HOURS:
                done.append(day)
                worked = 0
    return done


def months(start: date, end: date) -> int:
    """The fewest calendar months by which a day has come, at least one."""
    return next(n for n in range(1, 600) if months_after(start, n) >= end)


@profile(max_examples=60, deadline=None)
@given(
    owed=some.integers(0, 6), slots=some.integers(1, 6), offers=some.integers(0, 2), ahead=some.integers(0, 200),
    endless=some.booleans(),
)  # fmt: skip
def test_the_first_and_the_last_place_of_a_round(
    owed: int, slots: int, offers: int, ahead: int, endless: bool
) -> None:
    """From the close of the round, or its opening where it has none; whoever has an offer may say yes before."""
    made = fixed(hours=str(HOURS))
    queue = [queued(f"Q-{n}") for n in range(owed)] + [
        queued(f"O-{n}", "offered", since="2026-11-20") for n in range(offers)
    ]
    last = TODAY + timedelta(days=ahead)
    coming = Round(
        name="Next", opens=datetime.combine(date(2026, 11, 1), datetime.min.time()) if not endless else datetime.combine(last, datetime.min.time()),
        closes=None if endless else datetime.combine(last, datetime.max.time()), slots=slots,
    )  # fmt: skip
    found = lead_time(studio(made, queue, own=settings(weekly_hours=str(WEEKLY))), TODAY, coming, slots)
    done = walked(owed, last, slots + offers)

    first, latest = months(last, done[0]), months(last, done[-1])
    assert found == LeadTime(
        first, latest, months_after(last, first).replace(day=1), months_after(last, latest).replace(day=1)
    )


@pytest.mark.parametrize(("owed", "shortest"), [(0, 1), (1, 2), (3, 4)])
def test_without_a_round_one_more_piece_is_spoken_of(owed: int, shortest: int) -> None:
    """20 working days are done on 22 December, 40 on 19 January, 80 on 16 March."""
    made = fixed(hours=str(HOURS))
    queue = [queued(f"Q-{n}") for n in range(owed)]
    found = lead_time(studio(made, queue, own=settings(weekly_hours=str(WEEKLY))), TODAY, None, 1)

    assert found is not None
    assert (found.shortest, found.longest) == (shortest, shortest)


def test_where_nothing_says_how_long_nothing_is_told() -> None:
    assert lead_time(studio([], [], own=settings(weekly_hours="10")), TODAY, None, 1) is None
    assert (
        lead_time(studio([piece("a"), piece("b")], [], own=settings(weekly_hours=None)), TODAY, None, 1)
        is None
    )


def test_a_piece_done_on_the_very_day_of_the_month_counts_that_month() -> None:
    """Openings whose last place is done exactly some months later, or a working day after: a day more or less would
    be another month.
    """
    made = fixed(hours=str(HOURS))
    whole, checked = studio(made, [], own=settings(weekly_hours=str(WEEKLY))), 0
    for ahead in range(200):
        last = TODAY + timedelta(days=ahead)
        done = walked(0, last, 12)
        for slots, day in enumerate(done, start=1):
            exact = months(last, day)
            before = day - timedelta(days=1 if day.weekday() else 3)
            if months_after(last, exact) == day or months(last, before) < exact:
                coming = Round(name="Next", opens=datetime.combine(last, datetime.min.time()), slots=slots)
                found = lead_time(whole, TODAY, coming, slots)
                assert found is not None
                assert found.longest == exact
                checked += 1

    assert checked > 10


def test_a_round_without_a_place_left_is_spoken_of_as_of_one() -> None:
    made = fixed(hours=str(HOURS))
    whole = studio(made, [], own=settings(weekly_hours=str(WEEKLY)))

    assert lead_time(whole, TODAY, None, 0) == lead_time(whole, TODAY, None, 1)


def test_a_round_of_large_pieces_takes_their_hours() -> None:
    """The size asked for most among those of the round; 60 working days are done on 16 February."""
    made = fixed(hours=str(HOURS))
    made += [
        piece(f"large-{n}", private={"tier": "Large", "hours": {"all": str(3 * HOURS)}}) for n in range(6)
    ]
    whole = studio(made, [queued("Q-1", "request")], own=settings(weekly_hours=str(WEEKLY)))
    opens = datetime.combine(TODAY, datetime.min.time())
    small, large = (
        lead_time(whole, TODAY, Round(name="Next", opens=opens, slots=1, tiers=(tier,)), 1)
        for tier in ("Small", "Large")
    )

    assert small is not None
    assert large is not None
    assert (small.shortest, large.shortest) == (1, 3)
