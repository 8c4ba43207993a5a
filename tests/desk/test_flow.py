"""Money month by month, worked out by hand: what goes out, what is put by, how long it lasts, what carries."""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sitegen.desk.ahead import OUT, Ahead, sales_tax_in
from sitegen.desk.ahead import ahead as ahead_of
from sitegen.desk.books import books
from sitegen.desk.years import brought
from sitegen.studio.purses import purses
from sitegen.studio.settings import SalesTax, Settings
from sitegen.studio.wage import last_twelve_months
from sitegen.studio.whole import Studio
from tests.desk.studios import TODAY, piece, queued, settings, studio

VAT = SalesTax(name="VAT", rate=Decimal(23))
# 900 from 20 November, 300 paid; 300 on 20 December, 300 on 20 January (two instalments).
ORDER = queued(
    "A-1", "on the bench",
    private={"price": "900", "deposit": "300", "instalments": 2, "plan_from": "2026-11-20", "paid": "2026-11-20 300"},
)  # fmt: skip
SHOW = {
    "slug": "fair",
    "name": "Fair",
    "from": "2026-12-12",
    "private": {"costs": [{"what": "table", "cost": "210"}]},
}


def ahead(own: Settings, queue: list[dict[str, Any]], shows: list[dict[str, Any]] | None = None) -> Ahead:
    made = studio([], queue, shows, own)
    return ahead_of(made, purses(made), TODAY)


def test_months_by_hand() -> None:
    """Today is 25 November, so six of its thirty days are left: overhead 310 x 6/30 = 62, budget 600 x 6/30 = 120.

    December: 300 and a class of 123 come, 423. Of it VAT at 23 %: 423 x 23 / 123 = 79.0976, 79.10. A fifth of the
    other 343.90 is put by: 68.78. Out go 310, 210 for the fair and 55: 423 - 310 - 210 - 55 - 79.10 - 68.78 = -299.88.
    In hand: 1000 - 62 - 120 = 818.00; 818 - 299.88 - 600 = -81.88. So it lasts this month.
    January: 300; VAT 56.10 (56.0976), a fifth of 243.90 is 48.78: 300 - 310 - 104.88 = -114.88.
    """
    own = settings(
        set_aside="20%", budget="600", in_hand={"on": "2026-11-25", "amount": "1000"},
        takings=[{"on": "2026-12-05", "what": "class", "stream": "classes", "amount": "123"}],
        expenses=[{"on": "2026-12-20", "what": "kiln", "amount": "55"}, {"on": "2026-11-25", "what": "paid", "amount": "9"}],
    ).model_copy(update={"sales_tax": VAT})  # fmt: skip
    found = ahead(own, [ORDER], [SHOW])

    answer = found.as_answer()
    rows = [
        [one[name] for name in ("month", "comes", *OUT, "left", "budget", "in_hand")]
        for one in answer["flow"][:3]
    ]
    assert rows == [
        ["2026-11", "0.00", "62.00", "0.00", "0.00", "0.00", "0.00", "-62.00", "120.00", "818.00"],
        ["2026-12", "423.00", "310.00", "210.00", "55.00", "79.10", "68.78", "-299.88", "600.00", "-81.88"],
        ["2027-01", "300.00", "310.00", "0.00", "0.00", "56.10", "48.78", "-114.88", "600.00", "-796.76"],
    ]
    assert answer["runway_months"] == 1
    told = "\n".join(found.lines())
    assert "lasts to the end of November 2026 (1 month with this one)" in told
    assert "licensed professional" in told


@pytest.mark.parametrize(
    ("on", "months"),
    [(None, {"2026-12": "210.00"}), ("2026-10-05", {}), (str(TODAY), {}), ("2027-01-04", {"2027-01": "210.00"})],
)  # fmt: skip
def test_a_shows_cost_goes_out_on_the_day_it_is_paid(on: str | None, months: dict[str, str]) -> None:
    """What was paid by today isn't to come; without a day it's paid as the show begins, 12 December."""
    cost = {"what": "table", "cost": "210"} | ({"on": on} if on else {})
    rows = ahead(settings(), [], [SHOW | {"private": {"costs": [cost]}}]).as_answer()["flow"]

    assert {row["month"]: row["shows"] for row in rows if Decimal(row["shows"])} == months


def test_what_is_late_or_has_no_day_is_not_counted_before_it_comes() -> None:
    """By hand: of 900 from 1 September, the deposit and October's part are late (600); November's, due on the 1st
    of December, comes.
    """
    late = {**ORDER, "private": {**ORDER["private"], "plan_from": "2026-10-01", "paid": ""}}
    sold = piece("hare", private={"sold": {"on": "2026-11-01", "price": "100"}})
    found = ahead(settings(), [late])

    assert sold.private.sold is not None
    assert found.apart == Decimal(600)
    assert [month.comes for month in found.shown[:2]] == [0, 300]
    assert "600.00 EUR is late or has no day" in "\n".join(found.lines())


def test_money_that_is_not_noted_is_asked_for_and_a_long_runway_is_cut_off() -> None:
    bare = ahead(settings(), [])
    rich = ahead(settings(budget="100", in_hand={"on": "2026-11-01", "amount": "100000"}), [])
    poor = ahead(settings(budget="100", in_hand={"on": "2026-11-01", "amount": "5"}), [])

    assert (bare.runway, rich.runway, poor.runway) == (None, 36, 0)
    assert "`in_hand: {on: 2026-11-25, amount: 3200}`" in "\n".join(bare.lines())
    assert "money lasts 36 months and longer" in "\n".join(rich.lines())
    assert "money lasts less than this month" in "\n".join(poor.lines())


def test_the_stream_that_left_most_carries_the_year() -> None:
    """By hand: fees 3 % and supplies off, the hare leaves 500 - 15 - 20 = 465 in 10 h, the class 300 in 6 h."""
    sold = {"on": "2026-05-01", "price": "500"}
    hare = piece(
        "hare", private={"hours": {"all": "10"}, "supplies": [{"what": "eyes", "cost": "20"}], "sold": sold}
    )
    own = settings(
        takings=[{"on": "2026-03-01", "what": "class", "stream": "classes", "amount": "300", "hours": "6"}]
    )
    year = books(studio([hare], own=own), 2026, TODAY)

    assert year.carries is not None
    assert (year.carries.name, year.carries.earned, year.carries.hourly) == (
        "originals",
        Decimal(465),
        Decimal("46.50"),
    )
    assert books(studio([]), 2026, TODAY).carries is None


@pytest.mark.parametrize(
    ("amount", "rate", "digits", "tax"),
    [("123", "23", 2, "23.00"), ("119", "19", 2, "19.00"), ("100", "19", 2, "15.97"), ("110", "10", 0, "10"), ("480", "0", 2, "0.00")],
)  # fmt: skip
def test_the_tax_that_a_price_contains(amount: str, rate: str, digits: int, tax: str) -> None:
    """By hand: 100 x 19 / 119 = 15.966. The net price and its tax are the price again (Council Directive
    2006/112/EC, article 78 and 97, from memory: the rate is a percentage of the price without the tax).
    """
    assert sales_tax_in(Decimal(amount), Decimal(rate), digits) == Decimal(tax)


AMOUNTS = st.decimals(0, 5000, places=2)


@st.composite
def studios(draw: st.DrawFn) -> Studio:
    """Draw a studio with orders paid in parts, shows, takings, expenses and own numbers."""
    days = st.dates(date(2026, 9, 1), date(2027, 9, 30)).map(str)
    private = {
        "overhead": str(draw(AMOUNTS)), "budget": str(draw(AMOUNTS)), "set_aside": f"{draw(st.integers(0, 100))}%",
        "in_hand": {"on": "2026-11-25", "amount": str(draw(AMOUNTS))},
        "takings": [{"on": draw(days), "what": "x", "amount": str(draw(AMOUNTS))} for _ in range(draw(st.integers(0, 3)))],
        "expenses": [{"on": draw(days), "what": "x", "amount": str(draw(AMOUNTS))} for _ in range(draw(st.integers(0, 3)))],
    }  # fmt: skip
    queue = [
        queued(f"A-{n}", "on the bench", private={"price": str(draw(st.decimals(1, 5000, places=2))), "plan_from": draw(days)})
        for n in range(draw(st.integers(0, 3)))
    ]  # fmt: skip
    tax = SalesTax(name="VAT", rate=draw(st.decimals(0, 100, places=1)))
    own = settings(**private).model_copy(update={"sales_tax": draw(st.sampled_from([None, tax]))})
    return studio([], queue, [SHOW], own)


@given(studios())
def test_no_coin_is_counted_twice_and_every_answer_says_the_same(made: Studio) -> None:
    found = ahead_of(made, purses(made), TODAY)

    # All that is to come by the plans is in a month of the flow, or told apart.
    coming = [taking.amount for taking in made.settings.private.takings if taking.on > TODAY]
    assert sum(month.comes for month in found.coming) + found.apart == found.all.sum_of() + sum(coming)
    there = made.settings.private.in_hand.amount if made.settings.private.in_hand else Decimal(0)
    for place, one in enumerate(found.coming):
        assert 0 <= one.sales_tax + one.set_aside <= one.comes
        there += (
            one.comes - one.overhead - one.shows - one.expenses - one.sales_tax - one.set_aside - one.budget
        )
        assert one.in_hand == there
        rate = made.settings.sales_tax.rate if made.settings.sales_tax else 0
        assert (
            abs(Fraction(one.sales_tax) * (100 + Fraction(rate)) - Fraction(one.comes) * Fraction(rate)) <= 1
        )
        assert found.runway is not None
        if place < found.runway:
            assert there >= 0
        elif place == found.runway:
            assert there < 0

    answer = found.as_answer()["flow"]
    table = list(csv.DictReader(io.StringIO(found.table())))
    for month in answer:
        told = {row["what"]: Decimal(row["amount"]) for row in table if row["month"] == month["month"]}
        assert told["comes"] == Decimal(month["comes"])
        assert sum(told.values()) == Decimal(month["left"]) - Decimal(month["budget"])
        assert sum(told.values()) + Decimal(month["budget"]) == Decimal(month["comes"]) - sum(
            Decimal(month[name]) for name in OUT
        )


DAYS_NEAR = st.dates(date(2025, 6, 1), date(2027, 9, 30)) | st.sampled_from([TODAY, date(2026, 12, 31)])


@given(
    shows=st.lists(
        st.tuples(DAYS_NEAR, st.lists(st.tuples(st.none() | DAYS_NEAR, st.integers(1, 9999)), max_size=4)),
        max_size=4,
    )
)
@example(shows=[(date(2026, 12, 12), [(None, 210)])])  # begins later this year: only to come
@example(shows=[(TODAY, [(None, 210)])])  # begins today: spent
@example(shows=[(date(2027, 1, 9), [(date(2026, 10, 5), 90), (None, 120)])])  # booked a year ahead
def test_a_shows_cost_is_spent_or_to_come_once(
    shows: list[tuple[date, list[tuple[date | None, int]]]],
) -> None:
    """By its day, or the show's first: up to today in that year's books, after it in its month of what's ahead.

    What a show cost in all stays the sum of what its file says.
    """
    files: list[dict[str, Any]] = [
        {
            "slug": f"fair-{n}", "name": "Fair", "from": str(first),  # of one name, as each year's fair is
            "private": {"costs": [
                {"what": "table", "cost": str(cost)} | ({"on": str(on)} if on else {}) for on, cost in costs
            ]},
        }
        for n, (first, costs) in enumerate(shows)
    ]  # fmt: skip
    made = studio([], [], files)
    found = purses(made)
    expected = [(on or first, cost) for first, costs in shows for on, cost in costs]

    years = [books(made, year, TODAY) for year in (2026, 2025)]
    for year in years:
        spent = sum(cost for on, cost in expected if on.year == year.year and on <= TODAY)
        assert year.costs["shows"] == spent
    flow = ahead_of(made, found, TODAY).coming
    for month in flow:
        to_come = [cost for on, cost in expected if on > TODAY and on.replace(day=1) == month.first]
        assert month.shows == sum(to_come)
    told = {one.show.slug: one.result.costs for one in brought(made, years, {}, TODAY, 12).shows}
    assert told == {f"fair-{n}": sum(cost for _, cost in costs) for n, (_, costs) in enumerate(shows)}
    year_back = [cost for on, cost in expected if date(2025, 11, 26) <= on <= TODAY]
    assert last_twelve_months(made, TODAY).running == sum(year_back) + 12 * 310
