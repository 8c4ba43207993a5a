"""What counts as owed, as worked and as known; each with figures by hand."""

from __future__ import annotations

from datetime import date, timedelta

from sitegen.desk.slots import slots
from sitegen.studio.capacity.hours import ThreePoint, from_estimate
from sitegen.studio.piece import Piece
from sitegen.studio.plan import months_after
from sitegen.studio.wage import made_in
from sitegen.studio.workload import lead_time, records, usual_hours, workload
from tests.desk.studios import TODAY, fixed, piece, queued, settings, studio


def test_an_order_and_its_piece_are_one_record_of_all_their_hours() -> None:
    """2 h noted on the order before the piece had a folder, 9 h on the piece: 11 h, once."""
    made = piece("a", finished="2026-11-20", private={"order": "Q-1", "hours": {"all": "9"}})
    queue = [queued("Q-1", "shipped", private={"hours": {"sketch": "2"}})]

    assert [finished.hours for finished in records(studio([made], queue), TODAY)] == [11]


def test_an_orders_hours_go_with_the_first_of_its_pieces_only() -> None:
    """2 h noted on the order, 9 and 4 h on its two pieces: 15 h in all, known and worked."""
    pair = [
        piece(name, finished="2026-11-20", private={"order": "Q-1", "hours": {"all": hours}})
        for name, hours in (("a", "9"), ("b", "4"))
    ]
    both = studio(pair, [queued("Q-1", "shipped", private={"hours": {"sketch": "2"}})])

    assert [finished.hours for finished in records(both, TODAY)] == [11, 4]
    assert [made.hours for made in made_in(both, TODAY - timedelta(days=30), TODAY)] == [11, 4]


def test_usual_hours_follow_a_drift_and_leave_out_what_is_dated_after_today() -> None:
    """Twelve pieces, each 5 % longer than the one before, mean 13.26 h at the middle: the thirteenth lies
    6.5 places beyond it, 13.26 x 1.05^6.5 = 18.2 h. One that will have taken 90 h isn't known yet.
    """
    made = [
        piece(f"n{n}", finished=str(date(2026, 1, 9) + timedelta(days=14 * n)), private={"tier": "Small", "hours": {"all": f"{10 * 1.05**n:.2f}"}})
        for n in range(12)
    ]  # fmt: skip
    made.append(piece("later", finished="2026-12-24", private={"tier": "Small", "hours": {"all": "90"}}))

    assert usual_hours(studio(made), "Small", TODAY) == 18.2
    assert usual_hours(studio(made, own=settings(weekly_hours=None)), "Small", TODAY) == 13.3


def test_hours_on_the_studios_own_piece_are_worked_already() -> None:
    own = piece("deer", status="in progress", private={"tier": "Small", "hours": {"all": "3.5"}})

    assert [job.done for job in workload(studio([own]), TODAY).jobs] == [3.5]


def test_a_piece_of_the_studios_own_takes_the_hours_of_its_size() -> None:
    """8 h for what is small, 16 h for what is large: two and four days of 4 h from Wednesday 25 November."""
    made = [*fixed(), *fixed_large()]
    for tier, day in (("Small", date(2026, 11, 26)), ("Large", date(2026, 11, 30))):
        own = piece("deer", status="in progress", private={"tier": tier})
        assert slots(studio([*made, own]), TODAY).answer.queue[0].p80 == day


def fixed_large() -> list[Piece]:
    return [
        one.model_copy(update={"slug": f"large-{n}"}) for n, one in enumerate(fixed(hours="16", tier="Large"))
    ]


def test_a_rest_that_ends_today_still_takes_today() -> None:
    rest = settings(days_away=[{"from": "2026-11-20", "to": "2026-11-25"}])

    assert workload(studio(own=rest), TODAY).bench.done_on(0) != TODAY


def test_what_ends_before_a_floor_counts_as_ending_at_it() -> None:
    """Chances below the floor aren't lost: 10 to 20 h, lifted to 15 h, still sum to all."""
    spread = from_estimate(ThreePoint(10, 14, 20), "tier").spread
    lifted = spread.at_least(30)

    assert lifted.cumulative[-1] == spread.cumulative[-1]
    assert lifted.chance(29) == 0
    assert lifted.chance(30) == spread.chance(30)


def test_the_public_hears_the_desks_dates_of_a_long_round_with_its_learned_weeks() -> None:
    """Source: `slots` from the closing day; eleven places and an offer, at real weeks of half the written hours."""
    hours = [8, 12, 9, 14, 7, 10, 11, 6, 13, 10, 15, 5]
    made = [
        piece(f"w-{n}", finished=str(date(2026, 1, 9) + timedelta(days=7 * n)), private={"tier": "Small", "hours": {"all": str(hours)}})
        for n, hours in enumerate(hours)
    ]  # fmt: skip
    way = {"name": "Winter 2027", "opens": "2027-01-16 12:00", "closes": "2027-01-23 20:00", "slots": "12"}
    queue = [queued("Q-1"), queued("Q-2", "offered", since="2026-11-20", round="Winter 2027")]
    own = studio(made, queue, rounds=[way])
    closes = date(2027, 1, 23)
    new = slots(own, TODAY, closes, date(2028, 12, 31)).answer.new
    told = lead_time(own, TODAY, own.commissions.rounds[0], 11)

    assert told is not None
    for months, day in ((told.shortest, new[0].p80), (told.longest, new[11].p80)):
        assert day is not None
        assert months_after(closes, months - 1) < day <= months_after(closes, months)
