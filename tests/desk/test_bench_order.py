"""The order of the bench and what past days tell, with figures worked by hand."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.desk.slots import SlotsAnswer, slots
from sitegen.studio.piece import Piece
from sitegen.studio.workload import Held, by_promise, days_held, promises_held, records, workload
from tests.desk.studios import TODAY, fixed, piece, queued, settings, studio

MONDAY = date(2026, 1, 5)


def weekly(hours: str, count: int = 12) -> list[Piece]:
    """One piece finished on each Friday."""
    return [
        piece(f"week-{n}", finished=str(MONDAY + timedelta(days=4 + 7 * n)), private={"tier": "Small", "hours": {"all": hours}})
        for n in range(count)
    ]  # fmt: skip


def told(found: SlotsAnswer) -> str:
    return "\n".join(found.lines())


QUEUE = [
    queued("Q-1", private={"promised": "2026-12-24"}),
    queued("Q-2", private={"promised": "2026-11-26"}),
    queued("Q-3"),
]


def test_the_bench_goes_by_promised_day_where_that_keeps_more() -> None:
    """By hand: two days each from Wednesday 25 November. As booked Q-2 is done on Monday 30, too late for the 26th."""
    found = slots(studio(fixed(), QUEUE), TODAY)
    answer = found.as_answer()

    assert (answer["order"], answer["codes"]) == ("by promised day", ["Q-2", "Q-1", "Q-3"])
    assert answer["keeps"] == {"as booked": 1, "by promised day": 2}
    assert [one["p80"] for one in answer["queue"]] == ["2026-11-26", "2026-11-30", "2026-12-02"]
    assert (
        "Of 2 promised days, work as booked keeps 1, work by promised day 2. The dates above are by "
        "promised day; to keep it so, write `bench_order: by promised day` in commissions.yaml."
    ) in told(found)


def test_dates_are_those_of_the_order_chosen() -> None:
    """Q-1 has 4 of its 8 h done. By promised day Q-2 comes first, two days; then one more day for Q-1."""
    begun = [{**QUEUE[0], "private": {"promised": "2026-12-24", "hours": {"all": "4"}}}, QUEUE[1]]
    answer = slots(studio(fixed(), begun), TODAY).as_answer()

    assert answer["codes"] == ["Q-2", "Q-1"]
    assert [one["p80"] for one in answer["queue"]] == ["2026-11-26", "2026-11-27"]


@pytest.mark.parametrize(("pin", "first"), [("as booked", "Q-1"), ("by promised day", "Q-2")])
def test_a_pinned_order_holds_whatever_it_keeps(pin: str, first: str) -> None:
    found = slots(studio(fixed(), QUEUE, bench_order=pin), TODAY)

    assert found.as_answer()["codes"][0] == first
    assert "to keep it so" not in told(found)


def test_the_order_stays_as_booked_where_both_keep_as_many() -> None:
    """And what lies on the bench stays before what doesn't, whatever its day."""
    late = [{**one, "private": {"promised": "2027-06-30"}} for one in QUEUE[:1]] + [
        queued("Q-2", private={"promised": "2027-05-31"})
    ]
    assert slots(studio(fixed(), late), TODAY).as_answer()["codes"] == ["Q-1", "Q-2"]
    begun = [queued("Q-9", "on the bench"), *QUEUE]
    load = by_promise(workload(studio(fixed(), begun), TODAY))
    assert (
        [one.code for one in load.orders] == [job.code for job in load.jobs] == ["Q-9", "Q-2", "Q-1", "Q-3"]
    )


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 30)), min_size=1, max_size=6))
def test_no_order_has_a_smaller_greatest_lateness(work: list[tuple[int, int]]) -> None:
    """Source: every permutation; the rule is Jackson's (1955)."""
    queue = [queued(f"Q-{days}-{n}", private={"promised": str(TODAY + timedelta(days=due))}) for n, (days, due) in enumerate(work)]  # fmt: skip
    load = by_promise(workload(studio(fixed(), queue), TODAY))

    def lateness(order: list[tuple[int, int]]) -> int:
        ends = [sum(days for days, _ in order[: place + 1]) for place in range(len(order))]
        return max(end - due for end, (_, due) in zip(ends, order, strict=True))

    chosen = [(int(job.code.split("-")[1]), (job.promised - TODAY).days) for job in load.jobs if job.promised]
    assert lateness(chosen) == min(lateness(list(order)) for order in permutations(work))


def test_the_real_week_is_what_finished_pieces_show() -> None:
    """By hand: 10 h from each Friday to the next, where 20 h are written; 10 h then take five working days."""
    found = slots(studio(weekly("10"), [queued("Q-1")]), TODAY)

    assert found.as_answer()["weekly_hours"] == {"written": 20.0, "record": 10.0}
    assert found.as_answer()["queue"][0]["p80"] == "2026-12-01"
    assert "weekly_hours in studio.yaml is 20, but" in told(found)
    assert "come to 10 a week, 10 fewer" in told(found)
    assert "It rests on 10 bench hours a week (so 11 dated pieces show; studio.yaml says 20), Monday" in told(
        found
    )


def test_a_week_as_written_is_not_warned_of() -> None:
    found = slots(studio(weekly("20"), [queued("Q-1")]), TODAY)

    assert found.as_answer()["weekly_hours"] == {"written": 20.0, "record": 20.0}
    assert "Warning: weekly_hours" not in told(found)
    assert "Your 80% days held 7 of 7" in told(found)


@pytest.mark.parametrize(("hours", "warned"), [("16", False), ("15.5", True)])
def test_a_fifth_less_than_written_passes_without_a_word(hours: str, warned: bool) -> None:
    told_of = told(slots(studio(weekly(hours), [queued("Q-1")]), TODAY))

    assert ("Warning: weekly_hours" in told_of) is warned


def test_what_held_is_said_apart_from_what_was_promised() -> None:
    """Eleven Fridays and a piece five weeks late: six of seven days. Of two promises one held."""
    made = [*weekly("20", 11), piece("late", finished="2026-05-01", private={"tier": "Small", "hours": {"all": "20"}})]  # fmt: skip
    moves = {"moves": "2026-10-01 accepted; 2026-11-20 finished", "since": "2026-11-20"}
    queue = [queued(f"Q-{n}", "finished", **moves, private={"promised": f"2026-11-{day}"}) for n, day in enumerate([19, 21])]  # fmt: skip
    found = slots(studio(made, queue), TODAY)

    assert found.as_answer()["held"] == {"days": 7, "held": 6}
    assert found.as_answer()["promised"] == {"days": 2, "held": 1}
    assert "Your 80% days held 6 of 7, had they been said then." in told(found)
    assert "You promised 2 days to clients whose pieces are done: 1 held." in told(found)


def test_days_on_which_nobody_could_have_worked_so_much_teach_nothing() -> None:
    """40 h a week where 20 are written: twice the time there was."""
    found = slots(studio(weekly("40"), [queued("Q-1")]), TODAY)

    assert found.as_answer()["weekly_hours"]["record"] is None


def test_days_away_are_no_idle_weeks() -> None:
    """By hand: a week away in the middle is not missed; without it on record the week has 11/12 of its hours."""
    late = [*weekly("20", 6), *(one.model_copy(update={"slug": f"b{n}", "finished": one.finished + timedelta(days=49)}) for n, one in enumerate(weekly("20", 6)) if one.finished)]  # fmt: skip
    away = settings(days_away=[{"from": "2026-02-16", "to": "2026-02-22"}])

    assert slots(studio(late, own=away), TODAY).as_answer()["weekly_hours"]["record"] == 20.0
    assert slots(studio(late), TODAY).as_answer()["weekly_hours"]["record"] == 18.3


def test_what_is_unfinished_is_no_record() -> None:
    """A piece in progress, one whose order is on the bench, one finished after today; an order without a piece is one."""
    hours = {"hours": {"all": "9"}}
    made = [
        piece("a", status="in progress", private=hours),
        piece("b", status="commissioned", private={**hours, "order": "Q-1"}),
        piece("c", finished="2026-12-24", private=hours),
        piece("d", finished="2026-11-20", private=hours),
        piece("e", status="commissioned", finished="2026-11-25", private={**hours, "order": "Q-3"}),
    ]
    queue = [
        queued("Q-1", "on the bench"),
        queued("Q-2", "finished", since="2026-11-24", moves="2026-10-01 accepted; 2026-11-24 finished", private={"hours": {"all": "7"}}),
        queued("Q-3", "on the bench"),
    ]  # fmt: skip
    found = records(studio(made, queue), TODAY)

    assert [(str(finished.on), finished.hours) for finished in found] == [
        ("2026-11-20", 9),
        ("2026-11-25", 9),
        ("2026-11-24", 7),
    ]
    assert str(found[-1].accepted) == "2026-10-01"


def test_days_that_were_promised_and_held_are_counted() -> None:
    moves = {"moves": "2026-10-01 accepted; 2026-11-20 finished", "since": "2026-11-20"}
    queue = [queued(f"Q-{n}", "finished", **moves, private={"promised": f"2026-11-{day}"}) for n, day in enumerate([19, 20, 21])]  # fmt: skip

    assert promises_held(studio(fixed(), queue)) == Held(2, 3)


def test_a_piece_that_took_far_longer_breaks_its_day() -> None:
    """Eleven Fridays in a row, then one piece five weeks late."""
    late = piece("late", finished="2026-05-01", private={"tier": "Small", "hours": {"all": "20"}})

    assert days_held(studio([*weekly("20", 11), late]), TODAY) == Held(6, 7)
