"""Who may go where, who is next, and that nobody ever holds two slots."""

from __future__ import annotations

from datetime import date, time
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from sitegen.studio.commission import Commissions, Order, same_person
from sitegen.studio.offers import (
    OfferFault,
    free_slots,
    in_line,
    last_day,
    next_code,
    offer,
    pass_on,
    takes_slot,
    unanswered,
    with_order,
)
from sitegen.studio.order_lines import Move, Step, in_a_line, read_moves
from sitegen.studio.order_steps import ENDED, FOLLOWING, HOLDING, When, moved, taken_back

DAY = date(2027, 2, 1)


def order(code: str, step: str = "request", **more: Any) -> dict[str, Any]:
    private = {"name": more.pop("name", f"N {code}"), "email": more.pop("email", f"{code}@mail.example")}
    return {"code": code, "tier": "Small", "step": step, "since": "2027-01-17", "private": private, **more}


def book(queue: list[dict[str, Any]], waiting: list[dict[str, Any]] | None = None, **one: Any) -> Commissions:
    """Make an order book with one round."""
    round_ = {"name": "Winter 2027", "opens": "2027-01-16 12:00", "closes": "2027-01-23 20:00", "slots": "2"}
    return Commissions.model_validate(
        {
            "tiers": [{"name": "Small", "from_price": "420"}],
            "rounds": [{**round_, "way": "first come", **one}],
            "queue": queue,
            "waiting": waiting or [],
        },
        context={"digits": 2},
    )


def codes(made: Commissions, drawn: list[str] | None = None) -> list[str]:
    return [
        turn.code if isinstance(turn, Order) else f"waiting {turn.private.name}"
        for turn in in_line(made, made.rounds[0], drawn)
    ]


def test_the_whole_way_from_request_to_parcel_is_written_down() -> None:
    one = book([order("W-1")]).queue[0]
    for number, step in enumerate(
        ["waiting", "offered", "accepted", "on the bench", "finished", "paid", "shipped"]
    ):
        one = moved(one, Step(step), When(date(2027, 2, number + 1)))

    assert (one.step, one.since) == (Step.SHIPPED, date(2027, 2, 7))
    assert in_a_line(one.moves) == (
        "2027-01-17 request; 2027-02-01 waiting; 2027-02-02 offered; 2027-02-03 accepted; "
        "2027-02-04 on the bench; 2027-02-05 finished; 2027-02-06 paid; 2027-02-07 shipped"
    )


@pytest.mark.parametrize("step", list(Step))
def test_no_step_leads_out_of_an_end_and_every_other_step_can_end(step: Step) -> None:
    after = set(FOLLOWING[step])

    assert (after == set()) == (step in ENDED | {Step.SHIPPED})
    assert not after or after & ENDED


@pytest.mark.parametrize(
    ("step", "wanted", "said"),
    [
        ("request", "finished", "W-1 is a request; from there it can go to waiting, offered, declined or withdrawn, not to 'finished'"),
        ("on the bench", "shipped", "W-1 is on the bench; from there it can go to finished or called off, not to 'shipped'"),
        ("accepted", "accepted", "W-1 is accepted already; from there it can go to on the bench or called off"),
        ("declined", "offered", "W-1 is declined; that is its last step, so it can't go to 'offered'"),
    ],
)  # fmt: skip
def test_a_step_that_cannot_follow_is_refused_with_those_that_can(step: str, wanted: str, said: str) -> None:
    with pytest.raises(ValueError, match="W-1") as refused:
        moved(book([order("W-1", step)]).queue[0], Step(wanted), When(DAY))

    assert str(refused.value) == said


def test_days_only_go_forward() -> None:
    with pytest.raises(ValueError, match="W-1 came to 'request' on 2027-01-17; 2027-01-16 lies before that"):
        moved(book([order("W-1")]).queue[0], Step.OFFERED, When(date(2027, 1, 16)))


def test_two_steps_may_share_a_minute_and_only_a_known_time_goes_back() -> None:
    one = book([order("W-1", moves="2027-01-17 09:05 request")]).queue[0]
    for at in (time(9, 5), None, time(9, 6)):
        assert moved(one, Step.OFFERED, When(date(2027, 1, 17), at)).step is Step.OFFERED
    with pytest.raises(ValueError, match="on 2027-01-17 09:05; 2027-01-17 09:04 lies before that"):
        moved(one, Step.OFFERED, When(date(2027, 1, 17), time(9, 4)))


def test_a_slip_is_taken_back_to_what_stood_before() -> None:
    before = book([order("W-1", moves="2027-01-17 09:05 request")]).queue[0]

    assert taken_back(moved(before, Step.OFFERED, When(DAY))) == before
    with pytest.raises(ValueError, match="has no step before 'request' on record"):
        taken_back(before)


def test_times_of_day_are_read_and_written() -> None:
    text = "2027-01-16 12:04 request; 2027-02-01 offered"

    assert read_moves(text)[0] == Move(on=date(2027, 1, 16), step=Step.REQUEST, at=time(12, 4))
    assert in_a_line(read_moves(text)) == text
    with pytest.raises(ValueError, match="'24:00' is a time that doesn't exist"):
        read_moves("2027-01-16 24:00 request")


def test_first_come_goes_by_day_and_time_and_then_by_line() -> None:
    asks = {"A": "2027-01-17 request", "B": "2027-01-16 12:31 request", "C": "2027-01-16 12:04 request", "D": "2027-01-17 request"}  # fmt: skip

    assert codes(book([order(code, moves=moves) for code, moves in asks.items()])) == ["C", "B", "A", "D"]


def test_a_draw_goes_as_drawn_and_only_when_drawn() -> None:
    asks = [order(code) for code in "ABC"]

    assert codes(book(asks, way="draw"), ["B", "C", "A"]) == ["B", "C", "A"]
    with pytest.raises(OfferFault, match="goes by draw and hasn't been drawn: 3 ask for 2"):
        codes(book(asks, way="draw"))
    assert codes(book(asks[:2], way="draw")) == ["A", "B"]


def test_a_waiting_list_goes_by_how_long_one_waits_wherever_that_is_written() -> None:
    waiting = [
        {"since": "2026-12-02", "private": {"name": "Ana"}},
        {"since": "2026-03-05", "tier": "Small", "private": {"name": "Ben"}},
        {"since": "2026-01-01", "tier": "Large", "private": {"name": "Dan"}},
    ]
    queue = [order("R-1", "waiting", since="2026-05-05"), order("W-1")]

    assert codes(book(queue, waiting, way="waiting list", tiers=["Small"])) == [
        "waiting Ben", "R-1", "waiting Ana", "W-1",
    ]  # fmt: skip


def test_whoever_is_twice_in_the_files_is_in_line_once() -> None:
    waiting = [{"since": "2026-03-05", "private": {"name": "Cara", "email": "W-1@MAIL.example"}}]

    assert codes(book([order("W-1"), order("W-2", email="w-1@mail.example")], waiting)) == ["W-1"]
    assert codes(book([order("W-1")], waiting, way="waiting list")) == ["waiting Cara"]


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ({"email": "a@mail.example"}, {"email": "A@Mail.Example "}, True),
        ({"email": "a@mail.example", "name": "Ana"}, {"email": "b@mail.example", "name": "Ana"}, False),
        ({"email": "a@mail.example", "name": "Ana"}, {"name": "ana "}, True),
        ({}, {}, False),
    ],
)
def test_one_person_is_known_by_address_or_by_name(
    first: dict[str, str], second: dict[str, str], same: bool
) -> None:
    made = book([order("A"), order("B")])
    one, other = (who.private.model_copy(update={"email": "", "name": "", **said}) for who, said in zip(made.queue, (first, second), strict=True))  # fmt: skip

    assert same_person(one, other) is same


@pytest.mark.parametrize(
    ("entry", "line"),
    [
        (order("W-1", "withdrawn"), ["W-2"]),
        (order("W-1", "lapsed", email="W-2@mail.example"), []),
        (order("W-1", "on the bench", email="W-2@mail.example", since="2026-02-01", round=""), []),
        (order("W-1", "shipped", email="W-2@mail.example", since="2026-02-01"), ["W-2"]),
        (order("W-1", "shipped", email="W-2@mail.example"), []),
        (order("W-1", "waiting", moves="2027-01-17 request; 2027-01-25 offered; 2027-01-30 waiting"), ["W-2"]),
    ],
)  # fmt: skip
def test_who_is_passed_over(entry: dict[str, Any], line: list[str]) -> None:
    """Withdrawn; let one lapse; holds an older order; has an older parcel; has this round's; sent it back."""
    assert codes(book([entry, order("W-2")])) == line


def test_slots_called_off_before_the_bench_are_free_again() -> None:
    bench = "2027-01-17 accepted; 2027-01-20 on the bench; 2027-01-30 called off"
    made = book([order("W-1", "called off", moves="2027-01-17 accepted; 2027-01-30 called off"), order("W-2", "called off", moves=bench)])  # fmt: skip

    assert free_slots(made, made.rounds[0]) == 1


def test_an_offer_stands_through_its_last_day_and_then_passes_on_once() -> None:
    offered = "2027-01-17 request; 2027-01-25 offered"
    made = book(
        [order("W-1", "offered", since="2027-01-25", moves=offered), order("W-2"), order("W-3")], slots="1"
    )

    assert last_day(made, made.queue[0]) == date(2027, 2, 8)
    assert unanswered(made, date(2027, 2, 8)) == ()
    once = pass_on(made, {}, date(2027, 2, 9))
    twice = pass_on(once.commissions, {}, date(2027, 2, 9))
    assert [queued.code for queued in once.lapsed] == ["W-1"]
    assert [queued.code for queued in once.offered] == ["W-2"]
    assert (twice.commissions, twice.lapsed, twice.offered) == (once.commissions, (), ())


def test_one_lapsed_offer_goes_to_one_though_more_slots_are_free() -> None:
    offered = "2027-01-17 request; 2027-01-25 offered"
    made = book([order("W-1", "offered", since="2027-01-25", moves=offered), order("W-2"), order("W-3")], slots="3")  # fmt: skip

    assert [queued.code for queued in pass_on(made, {}, date(2027, 2, 9)).offered] == ["W-2"]


def test_codes_count_on_as_the_others_are_numbered() -> None:
    made = book([order("W27-09"), order("W27-2"), order("X-77", since="2026-01-01")])

    assert next_code(made, made.rounds[0]) == "W27-10"
    assert next_code(book([]), book([]).rounds[0]) == "W27-1"
    assert next_code(made, None, 2026) == "R26-1"


class Year(RuleBasedStateMachine):
    """Ask, offer, answer, lapse, work and end at random; the promises hold after every step."""

    day = date(2027, 1, 16)

    @initialize(way=st.sampled_from(["draw", "first come", "waiting list"]), waits=st.integers(0, 4))
    def begin(self, way: str, waits: int) -> None:
        waiting = [
            {"since": "2026-03-05", "private": {"email": f"{who}@mail.example"}} for who in range(waits)
        ]
        self.made = book([], waiting, way=way, slots="3", closes="2027-12-31 20:00")

    @rule(who=st.integers(0, 8))
    def ask(self, who: int) -> None:
        code = next_code(self.made, self.made.rounds[0])
        entry = Commissions.model_validate(
            {"queue": [order(code, since=self.day.isoformat(), email=f"{who}@mail.example")]}
        )
        self.made = self.made.model_copy(update={"queue": (*self.made.queue, *entry.queue)})

    @rule(days=st.integers(1, 12))
    def wait(self, days: int) -> None:
        self.day = date.fromordinal(min(self.day.toordinal() + days, date(2027, 12, 1).toordinal()))

    @rule(count=st.integers(1, 3))
    def offer_some(self, count: int) -> None:
        drawn = [queued.code for queued in reversed(self.made.queue)]
        self.made, _ = offer(self.made, self.made.rounds[0], drawn, count, self.day)

    @rule()
    def lapse(self) -> None:
        drawn = {"Winter 2027": [queued.code for queued in reversed(self.made.queue)]}
        self.made = pass_on(self.made, drawn, self.day).commissions
        assert unanswered(self.made, self.day) == ()

    @precondition(lambda self: any(FOLLOWING[one.step] for one in self.made.queue))
    @rule(data=st.data())
    def step(self, data: st.DataObject) -> None:
        one = data.draw(st.sampled_from([queued for queued in self.made.queue if FOLLOWING[queued.step]]))
        # An offer is the business of offering, which looks at who else holds a slot.
        step = data.draw(st.sampled_from([to for to in FOLLOWING[one.step] if to is not Step.OFFERED]))
        self.made = with_order(self.made, moved(one, step, When(self.day)))

    @invariant()
    def nobody_holds_two_slots(self) -> None:
        holding = [one for one in getattr(self, "made", book([])).queue if one.step in HOLDING]
        pairs = [(a, b) for a in holding for b in holding if a is not b and same_person(a.private, b.private)]
        assert pairs == []

    @invariant()
    def no_more_slots_are_taken_than_there_are(self) -> None:
        made = getattr(self, "made", book([]))
        assert sum(1 for one in made.queue if takes_slot(one)) <= int(made.rounds[0].slots)

    @invariant()
    def what_moved_when_is_kept(self) -> None:
        for one in getattr(self, "made", book([])).queue:
            assert not one.moves or one.moves[-1] == Move(on=one.since or DAY, step=one.step)
            assert list(one.moves) == sorted(one.moves, key=lambda move: move.on)


TestYear = Year.TestCase
TestYear.settings = settings(max_examples=40, stateful_step_count=25)
