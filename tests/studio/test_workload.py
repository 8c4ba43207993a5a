"""What counts as owed, as worked and as known; each with figures by hand."""

from __future__ import annotations

from sitegen.studio.capacity import ThreePoint, from_estimate
from sitegen.studio.workload import records, workload
from tests.desk.studios import TODAY, piece, place, settings, studio


def test_an_order_and_its_piece_are_one_record_of_all_their_hours() -> None:
    """2 h noted on the order before the piece had a folder, 9 h on the piece: 11 h, once."""
    made = piece("a", finished="2026-11-20", private={"order": "Q-1", "hours": {"all": "9"}})
    queue = [place("Q-1", "shipped", private={"hours": {"sketch": "2"}})]

    assert [one.hours for one in records(studio([made], queue), TODAY)] == [11]


def test_hours_on_the_studios_own_piece_are_worked_already() -> None:
    own = piece("deer", status="in progress", private={"tier": "Small", "hours": {"all": "3.5"}})

    assert [job.done for job in workload(studio([own]), TODAY).jobs] == [3.5]


def test_a_rest_that_ends_today_still_takes_today() -> None:
    rest = settings(days_away=[{"from": "2026-11-20", "to": "2026-11-25"}])

    assert not workload(studio(own=rest), TODAY).bench.works_on(TODAY)


def test_what_ends_before_a_floor_counts_as_ending_at_it() -> None:
    """Chances below the floor aren't lost: 10 to 20 h, lifted to 15 h, still sum to all."""
    spread = from_estimate(ThreePoint(10, 14, 20), "tier").spread
    lifted = spread.at_least(30)

    assert lifted.cumulative[-1] == spread.cumulative[-1]
    assert lifted.chance(29) == 0
    assert lifted.chance(30) == spread.chance(30)
