"""Days held, with figures by hand: 20 h a week are 4 h a working day, so a piece of 8 h is two days."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from sitegen.studio.piece import Piece
from sitegen.studio.workload import Held, days_held
from tests.desk.studios import TODAY, piece, queued, settings, studio
from tests.desk.test_bench_order import weekly


def made(*days: str, hours: str = "8", **private: Any) -> list[Piece]:
    """Pieces finished on days of January 2026."""
    return [
        piece(f"on-{day}", finished=f"2026-01-{day}", private={"tier": "Small", "hours": {"all": hours}, **private})
        for day in days
    ]  # fmt: skip


# A Monday and the Fridays and Mondays after, a piece every two working days.
STEADY = made("05", "07", "09", "13", "15")


def test_a_day_is_said_by_the_weeks_on_record_so_far() -> None:
    """10 h a week where 20 are written: as written, 10 h are done on the third day, and Friday is too late.

    The first day is said once five pieces are known, so of twelve seven days are said; the real week is known from
    nine pieces on (eight stretches), so the last three hold.
    """
    assert days_held(studio(weekly("10")), TODAY) == Held(3, 7)


def test_no_day_was_said_before_five_pieces_were_known() -> None:
    assert days_held(studio(STEADY), TODAY) == Held(0, 0)


@pytest.mark.parametrize(("done", "held"), [("19", 1), ("20", 0)])
def test_a_day_holds_to_its_evening(done: str, held: int) -> None:
    """Two working days from Thursday 15 January: Friday and Monday 19."""
    assert days_held(studio([*STEADY, *made(done)]), TODAY) == Held(held, 1)


def test_it_is_the_80_per_cent_day_that_is_counted() -> None:
    """Pieces of 8 and 16 h. An even chance is below 12 h, three days; 16 h on the fourth is within the 80 % day."""
    known = [*made("05", "07", "13", hours="8"), *made("09", "19", hours="16")]

    assert days_held(studio([*known, *made("23", hours="16")]), TODAY) == Held(1, 1)


def test_an_order_was_promised_when_it_was_accepted() -> None:
    """Accepted on the 15th behind one piece: 16 h, four days, so by Wednesday 21.

    The one before was done on Friday already; counted from there, two days would have ended on Tuesday 20.
    """
    order = queued("Q-1", "shipped", moves="2026-01-15 accepted", since="2026-02-01")
    pieces = [*STEADY, *made("16"), *made("21", order="Q-1")]

    assert days_held(studio(pieces, [order]), TODAY) == Held(2, 2)


@pytest.mark.parametrize(("done", "held"), [("20", 1), ("21", 0)])
def test_what_was_done_of_a_piece_by_the_day_of_the_yes_is_not_to_do_any_more(done: str, held: int) -> None:
    """Begun after Thursday 15, accepted on Sunday 18; 14 h evenly over five or six days, three of them gone.

    8.4 or 7 h are done by then, so 5.6 or 7 h are left of the records' 14: two days, Tuesday 20. With all 14 h left it
    would have been Thursday 22.
    """
    order = queued("Q-1", "shipped", moves="2026-01-18 accepted", since="2026-02-01")
    pieces = [*made("05", "07", "09", "13", "15", hours="14"), *made(done, hours="14", order="Q-1")]

    assert days_held(studio(pieces, [order]), TODAY) == Held(held, 1)


def test_older_days_tell_of_another_life() -> None:
    """The latest forty are looked at."""
    assert days_held(studio(weekly("20", 47), own=settings()), date(2027, 11, 25)).days == 40
