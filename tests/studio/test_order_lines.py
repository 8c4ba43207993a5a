"""One line for what moved when, for money and for days: read, refused, written."""

from __future__ import annotations

import re
from datetime import date, time
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from sitegen.studio.commission import Client, Commissions, Order, Round
from sitegen.studio.offers import next_code
from sitegen.studio.order_lines import Move, Receipt, Step, in_a_line, read_days, read_moves
from sitegen.studio.order_steps import history_of, slot_held, waiting_people
from tests.studio.test_order_steps import book, order

DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))
TIMES = st.none() | st.times().map(lambda at: at.replace(second=0, microsecond=0, fold=0))


def client(field: str, written: str, digits: int = 2) -> Client:
    return Client.model_validate({field: written}, context={"digits": digits})


@given(st.lists(st.builds(Move, on=DAYS, step=st.sampled_from(Step), at=TIMES), max_size=5))
def test_steps_read_as_they_are_written(moves: list[Move]) -> None:
    assert read_moves(in_a_line(moves)) == tuple(moves)


@given(st.integers(0, 3), st.lists(st.tuples(DAYS, st.integers(-10_000_000, 10_000_000)), max_size=5))
def test_money_reads_as_it_is_written_in_any_currency(digits: int, lines: list[tuple[date, int]]) -> None:
    receipts = tuple(Receipt(on=on, amount=Decimal(units).scaleb(-digits)) for on, units in lines)

    assert client("paid", in_a_line(receipts), digits).paid == receipts


@given(st.lists(DAYS, max_size=4))
def test_days_read_as_they_are_written(days: list[date]) -> None:
    assert read_days(in_a_line(days)) == tuple(days)


@pytest.mark.parametrize(
    ("written", "moves"),
    [
        ("", ()),
        (" ; ", ()),
        ("2027-01-16   request ;", (Move(on=date(2027, 1, 16), step=Step.REQUEST),)),
        ("2027-01-16 9:05 On The Bench", (Move(on=date(2027, 1, 16), step=Step.ON_THE_BENCH, at=time(9, 5)),)),
        ("2027-01-16 00:00 request", (Move(on=date(2027, 1, 16), step=Step.REQUEST, at=time(0, 0)),)),
        ("2027-01-16 23:59B request", (Move(on=date(2027, 1, 16), step=Step.REQUEST, at=time(23, 59, fold=1)),)),
    ],
)  # fmt: skip
def test_steps_as_people_write_them(written: str, moves: tuple[Move, ...]) -> None:
    assert read_moves(written) == moves
    assert [move.at.fold for move in read_moves(written) if move.at] == [
        move.at.fold for move in moves if move.at
    ]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("request", "'request' isn't a day and a word; write it like 2026-08-30 request, with ; between two"),
        ("2027-01-16", "'2027-01-16' isn't a day and a word"),
        ("2027-01-16 request, 2027-02-01 offered", "'request, 2027-02-01 offered' is not one of"),
        ("2027-02-30 request", "2027-02-30"),
        ("2027-01-16 24:00 request", "'24:00' is a time that doesn't exist; hours run from 00 to 23"),
        ("2027-01-16 12:60 request", "'12:60' is a time that doesn't exist"),
        ("2027-01-16 24:60 request", "'24:60' is a time that doesn't exist"),
    ],
)
def test_a_line_of_steps_that_cannot_be_read_says_why(written: str, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        read_moves(written)


@pytest.mark.parametrize(
    ("field", "written", "said"),
    [
        ("paid", "282", "'282' isn't a day and a word; write it like 2026-09-16 282, with ; between two"),
        ("paid", "2026-09-16 282.005", "282.005"),
        ("paid", "2026-09-16 --5", "-5"),
        ("new_days", "2027-03-15, 2027-04-20", "2027-03-15, 2027-04-20"),
    ],
)
def test_money_and_days_that_cannot_be_read_say_why(field: str, written: str, said: str) -> None:
    with pytest.raises(ValidationError, match=re.escape(said)):
        client(field, written)


def test_values_that_are_read_already_stay_as_they_are() -> None:
    move, receipt = (
        Move(on=date(2027, 1, 16), step=Step.REQUEST),
        Receipt(on=date(2027, 1, 16), amount=Decimal(1)),
    )
    made = Order(code="A", tier="Small", step=Step.REQUEST, moves=(move,), private=Client(paid=(receipt,), new_days=(move.on,)))  # fmt: skip

    assert (made.moves, made.private.paid, made.private.new_days) == ((move,), (receipt,), (move.on,))


def of(step: str, **more: Any) -> Order:
    return book([order("A", step, **more)]).queue[0]


def test_the_day_of_a_step_is_the_latest_on_record_else_since_when_it_stands_there() -> None:
    twice = of(
        "offered", since="2027-02-09", moves="2027-01-17 offered; 2027-01-20 waiting; 2027-02-09 offered"
    )
    unwritten = of("accepted", since="2027-02-09", moves="2027-01-17 request")

    assert [twice.day_of(step) for step in (Step.OFFERED, Step.WAITING, Step.REQUEST)] == [
        date(2027, 2, 9), date(2027, 1, 20), None,
    ]  # fmt: skip
    assert (unwritten.day_of(Step.ACCEPTED), unwritten.day_of(Step.OFFERED)) == (date(2027, 2, 9), None)
    assert in_a_line(history_of(unwritten)) == "2027-01-17 request; 2027-02-09 accepted"
    assert of("request", since=None).first is None
    assert of("request").first == Move(on=date(2027, 1, 17), step=Step.REQUEST)


def test_terms_hold_from_the_yes_until_it_ends() -> None:
    agreed = {step for step in Step if of(step).agreed}

    assert agreed == {Step.ACCEPTED, Step.ON_THE_BENCH, Step.FINISHED, Step.PAID, Step.SHIPPED}


def test_a_slot_is_held_by_another_entry_of_the_same_person() -> None:
    own, other = (
        order("A", "accepted", email="x@mail.example"),
        order("B", "accepted", email="y@mail.example"),
    )
    made = book([own, other, order("C", email="y@mail.example"), order("D", "shipped", email="z@mail.example"), order("E", email="z@mail.example")])  # fmt: skip
    one = made.rounds[0]
    a, b, c, _, e = made.queue

    assert [slot_held(made, who.private, one, who) for who in (a, b, c)] == [None, None, b]
    assert slot_held(made, c.private, None, None) == b
    assert slot_held(made, e.private, one, e) == made.queue[3]
    assert slot_held(made, e.private, None, e) is None


def test_who_waits_counts_once_wherever_it_is_written() -> None:
    waiting = [{"since": "2026-03-05", "private": {"name": "Cara", "email": "a@mail.example"}}]
    queue = [
        order("A", "waiting", email="A@mail.example"),
        order("B", "waiting"),
        order("C", "waiting", email="b@mail.example"),
        order("D"),
        order("E", "waiting", name="", email=""),
    ]

    assert waiting_people(book(queue, waiting)) == 3
    assert waiting_people(book([])) == 0


@pytest.mark.parametrize(
    ("name", "opens", "codes", "expected"),
    [
        ("Winter 2027", "2027-01-16 12:00", ["W27-9", "X-3", "W27-10"], "W27-11"),
        ("Winter 2027", "2027-01-16 12:00", ["w27-9", "W27-2", "W27-4"], "W27-10"),
        ("»Herbst« 2126", "2126-01-16 12:00", [], "H26-1"),
        ("2027", "2027-01-16 12:00", [], "227-1"),
        ("…", "2009-01-16 12:00", [], "R09-1"),
        ("Winter 2027", "2027-01-16 12:00", ["first", "second"], "W27-1"),
    ],
)  # fmt: skip
def test_the_next_code_counts_on(name: str, opens: str, codes: list[str], expected: str) -> None:
    made = book([order(code, round=name) for code in codes], name=name, opens=opens, closes=None)

    assert next_code(made, made.rounds[0]) == expected


def test_a_round_without_letters_has_an_address_and_one_of_no_length_is_refused() -> None:
    def make(**one: Any) -> Round:
        return Commissions.model_validate({"rounds": [{"name": "★", "opens": "2027-01-16 12:00", "slots": "2", **one}]}).rounds[0]  # fmt: skip

    assert (make().slug, make(name="Winter 2027").slug) == ("round", "winter-2027")
    assert make(closes="2027-01-16 12:01").closes is not None
    for closes in ("2027-01-16 12:00", "2027-01-15 12:00"):
        with pytest.raises(ValidationError, match="before it opens"):
            make(closes=closes)
