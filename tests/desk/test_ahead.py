"""Money ahead: what is missing of each part of a plan agreed on, in the month it's due."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some

from sitegen.desk.ahead import Ahead
from sitegen.desk.ahead import ahead as ahead_of
from sitegen.studio.plan import USUAL_TERMS, PaymentPlan, Standing, make
from sitegen.studio.purses import purses
from sitegen.studio.whole import Studio
from tests.desk.studios import TODAY, piece, queued, settings, studio

# ISO 4217: no decimals, two, three.
CURRENCIES = {"JPY": 0, "EUR": 2, "KWD": 3}


def ahead(whole: Studio) -> Ahead:
    return ahead_of(whole, purses(whole), TODAY)


def order(code: str, step: str = "on the bench", **private: Any) -> dict[str, Any]:
    return queued(code, step, private={"price": "900", "deposit": "300", "instalments": 2, **private})


def test_by_hand() -> None:
    """900 from 20 September: 300, then 300 on 20 October and 20 November; 350 came, so 250 and 300 are missing.

    Today is 25 November: seven days of grace are over for October's part and run for November's.
    """
    told = ahead(studio(queue=[order("A-1", plan_from="2026-09-20", paid="2026-09-20 350")]))

    answer = told.as_answer()
    assert [(one["month"], one["late"], one["due"], one["to_come"], one["total"]) for one in answer["months"]] == [
        ("2026-10", "250.00", "0.00", "0.00", "250.00"),
        ("2026-11", "0.00", "300.00", "0.00", "300.00"),
    ]  # fmt: skip
    assert (answer["late"], answer["due"], answer["to_come"], answer["total"]) == (
        "250.00",
        "300.00",
        "0.00",
        "550.00",
    )
    assert "October 2026   250.00 EUR    0.00 EUR  0.00 EUR  250.00 EUR" in told.lines()


@pytest.mark.parametrize("step", ["request", "waiting", "offered"])
def test_what_nobody_agreed_on_is_not_counted_and_said(step: str) -> None:
    told = ahead(studio(queue=[order("A-1", step)]))

    assert (told.parts, told.unagreed) == ((), 1)
    assert "1 request or offer isn't agreed on" in " ".join(told.lines())


@pytest.mark.parametrize("step", ["declined", "withdrawn", "lapsed"])
def test_what_ended_is_not_waited_for(step: str) -> None:
    told = ahead(studio(queue=[order("A-1", step)]))

    assert (told.parts, told.unagreed, told.unplanned) == ((), 0, ())


def test_an_order_without_a_price_is_named() -> None:
    assert ahead(studio(queue=[queued("A-7", "on the bench")])).unplanned == ("A-7",)


def test_a_plan_that_begins_later_is_to_come() -> None:
    told = ahead(studio(queue=[order("A-1", plan_from="2027-02-10")]))

    assert [(due_.due, due_.standing) for due_ in told.parts] == [
        (date(2027, month, 10), Standing.TO_COME) for month in (2, 3, 4)
    ]


def test_what_was_sold_and_not_paid_has_no_day() -> None:
    sold = {"on": "2026-11-01", "price": "700"}
    plan = {"to": "Ada", "from": "2026-10-01", "price": "700", "paid": "2026-10-01 200"}

    told = ahead(studio([piece("owl", private={"sold": sold, "plan": plan})]))

    assert [(due_.name, due_.due, due_.amount) for due_ in told.parts] == [("owl", None, Decimal(500))]
    assert told.months[0].first is None
    assert "sold, and no day agreed on" in " ".join(told.lines())


PLANS = some.lists(
    some.tuples(
        some.integers(1_000, 3_000_000), some.integers(1, 6), some.dates(date(2025, 6, 1), date(2027, 8, 1)),
        some.lists(some.integers(1, 900_000), max_size=3),
    ),
    max_size=4,
)  # fmt: skip


@given(currency=some.sampled_from(sorted(CURRENCIES)), plans=PLANS)
def test_months_hold_what_is_missing_of_the_parts_to_the_coin(
    currency: str, plans: list[tuple[int, int, date, list[int]]]
) -> None:
    """Worked again from the plans themselves: money fills their parts, the earliest first."""
    digits = CURRENCIES[currency]

    def sum_of(units: int) -> Decimal:
        return Decimal(units).scaleb(-digits)

    own = settings().model_copy(update={"currency": currency, "payment_plan": PaymentPlan(deposit="30%")})
    queue, expected = [], dict[str, Decimal]()
    for number, (price, count, start, came) in enumerate(plans):
        paid = "; ".join(f"2026-01-0{place + 1} {sum_of(units)}" for place, units in enumerate(came))
        private = {"price": str(sum_of(price)), "instalments": count, "plan_from": str(start), "paid": paid}
        queue.append({**queued(f"A-{number}", "on the bench"), "private": private})
        left = sum_of(sum(came))
        for part in make(sum_of(price), start, digits, USUAL_TERMS, count).parts:
            filled = min(left, part.amount)
            left -= filled
            month = f"{part.due:%Y-%m}"
            expected[month] = expected.get(month, Decimal(0)) + part.amount - filled
    whole = studio(own=own)
    read = type(whole.commissions).model_validate({"queue": queue, "tiers": []}, context={"digits": digits})
    whole = replace(whole, commissions=read)
    told = ahead_of(whole, purses(whole), TODAY)

    found = {f"{month.first:%Y-%m}": month.sum_of() for month in told.months if month.first}
    assert found == {month: sum_ for month, sum_ in expected.items() if sum_}
    for one in told.months:
        assert one.sum_of() == sum((one.sum_of(stand) for stand in Standing), Decimal(0))
    late = [due_ for due_ in told.parts if due_.standing in {Standing.LATE, Standing.DUE}]
    assert all(due_.due is not None and due_.due <= TODAY for due_ in late)
    assert all(due_.due is None or due_.due > TODAY for due_ in told.parts if due_ not in late)
