"""Price and wage tell one story: the same costs, over hours planned, worked and sold; and parts that sum to the whole."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some

from sitegen.desk.books import books
from sitegen.desk.worth import WorthWish, quote
from sitegen.studio import money
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Desk
from sitegen.studio.wage import shares, weeks_worked
from sitegen.studio.whole import Studio
from tests import makers
from tests.cli.runner import run
from tests.desk.studios import piece, settings
from tests.desk.studios import studio as whole_studio

SOLD = (
    "\n  hours: {sculpting: 20}\n  supplies: [{what: eyes, cost: 30}]\n  sold: {on: 2026-06-01, price: 600}"
)
KEPT = "\n  hours: {sculpting: 30}\n  supplies: [{what: wool, cost: 40}]"
FAIR = {
    "slug": "fair", "name": "Fair", "from": "2026-04-18",
    "private": {"costs": [{"what": "table", "cost": "80"}], "sales": [{"what": "pin moths", "price": "60"}]},
}  # fmt: skip
MORE = """  days_away: [{from: 2026-08-01, to: 2026-08-14}, {from: 2026-12-25, to: 2027-01-07}]
  takings: [{on: 2026-04-11, what: Saturday class, stream: classes, amount: 240, hours: 6}]
  expenses: [{on: 2026-02-02, what: kiln repair, amount: 180}, {on: 2025-02-02, what: a book, amount: 20}]
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = makers.studio(
        tmp_path / "s",
        {
            "owl": makers.piece_yaml("Owl", status="sold", price="", private=SOLD),
            "toad": makers.piece_yaml("Toad", number="2026-02", private=KEPT),
        },
    )
    makers.write(folder / "studio.yaml", makers.STUDIO.rstrip() + "\n" + MORE)
    fair = makers.SHOW.replace("2027-02", "2026-05").replace("cost: 137", "cost: 120")
    makers.write(folder / "shows" / "quayside-2027.yaml", fair)
    return folder


def answer(studio: Path, *words: str) -> Any:
    return json.loads(run(studio, *words, "--json").stdout)


def test_the_year_worked_by_hand(studio: Path) -> None:
    """By hand, up to 25 November 2026; makers: rate 28, overhead 310, fees 3 %, 24 h a week.

    Income 600 + 240 = 840. Fees 3 % of 600 = 18, supplies 30, show 120, overhead 11 x 310 = 3410, expenses 180.
    Left 840 - 18 - 30 - 120 - 3410 - 180 = -2918. Weeks: 52 - (14 + 7) / 7 = 49; planned 24 x 49 x 11 / 12 = 1078.
    Worked 20 + 30 + 6 = 56 h, -2918 / 56 = -52.107; sold 20 + 6 = 26 h, -2918 / 26 = -112.231.
    """
    books = answer(studio, "books", "--year", "2026")

    assert (books["total"], books["left"]) == ("840.00", "-2918.00")
    assert books["costs"] == {
        "fees": "18.00", "supplies": "30.00", "shows": "120.00", "overhead": "3410.00", "expenses": "180.00",
    }  # fmt: skip
    assert (books["planned"], books["worked"], books["hours"]) == ("1078", "56", "26")
    assert (books["hourly_worked"], books["hourly"]) == ("-52.11", "-112.23")
    assert [(book["what"], book["left"]) for book in books["results"]] == [
        ("Saturday class", "240.00"), ("Owl", "552.00"), ("shows", "-120.00"), ("overhead", "-3410.00"),
        ("expenses", "-180.00"),
    ]  # fmt: skip
    assert sum(Decimal(book["left"]) for book in books["results"]) == Decimal(books["left"])


def test_what_a_piece_must_cost_by_hand(studio: Path) -> None:
    """Running costs of twelve months 3720 + 120 + 180 = 4020, over 56 h worked: 30 h carry 2153.571.

    Sold by the hour are 20 h; the class brought 240 for its 6 h. So an hour sold must bring
    (26 x 28 + 4020 - 240) / 20 = 225.40; 30 h and 40 of supplies: 6802 / 0.97 = 7012.371.
    With the toad left on the shelf, (56 x 28 + 4020 + 40 - 240) / 20 = 269.40: 8122 / 0.97 = 8373.196.
    """
    worth = answer(studio, "piece", "worth", "toad")

    assert worth["overhead_worked"] == "2153.57"
    assert (worth["needed"], worth["needed_for_all"]) == ("7012.38", "8373.20")
    told = run(studio, "piece", "worth", "toad").output
    assert "(20 h in pieces and orders), it must cost 7,012.38 EUR" in told
    assert "30 h more were worked than sold" in told
    assert "would have to cost 8,373.20 EUR" in told


def test_a_tier_is_quoted_by_its_records(studio: Path) -> None:
    """Its pieces name the tier; 20 and 30 hours make 25."""
    for slug in ("owl", "toad"):
        file = studio / "pieces" / slug / "piece.yaml"
        makers.write(
            file, file.read_text("utf-8").replace("  supplies:", "  tier: Small figure\n  supplies:")
        )
    worth = answer(studio, "piece", "worth", "--tier", "small figure", "--supplies", "10", "--price", "500")

    assert (worth["hours"], worth["supplies"], worth["asking"]) == ("25", "10.00", "500.00")
    assert run(studio, "piece", "worth", "--tier", "Huge").output.startswith(
        "commissions.yaml: there is no tier 'Huge'"
    )


@pytest.mark.parametrize(
    ("weeks", "away", "worked"),
    [
        (None, [], Decimal(52)),
        (Decimal(46), [("2026-01-01", "2026-03-01")], Decimal(46)),
        (None, [("2025-12-25", "2026-01-07"), ("2026-01-05", "2026-01-14")], Decimal(50)),
        (None, [("2026-01-01", "2026-12-31")], Decimal(0)),
    ],
)
def test_weeks_come_from_the_days_away_of_the_year(
    weeks: Decimal | None, away: list[tuple[str, str]], worked: Decimal
) -> None:
    """14 days of 2026 are two weeks, those counted twice once; 365 days are more than 52 weeks."""
    spans = [{"from": first, "to": last} for first, last in away]
    desk = Desk.model_validate({"weeks": None if weeks is None else str(weeks), "days_away": spans})

    assert weeks_worked(desk, date(2026, 1, 1), date(2026, 12, 31)) == worked


AMOUNTS = some.lists(some.integers(0, 10**9), min_size=1, max_size=40)


@given(units=AMOUNTS, percent=some.integers(0, 99), digits=some.sampled_from([0, 2, 3]))
def test_shares_of_a_percentage_sum_to_it_to_the_coin(units: list[int], percent: int, digits: int) -> None:
    """In yen, euro and dinar; no share is off by more than a coin of its own percentage."""
    weights = [money.from_units(unit, digits) for unit in units]
    total = money.share(sum(weights, Decimal(0)), Decimal(percent), digits)
    found = shares(total, weights, digits)

    assert sum(found, Decimal(0)) == total
    coin = Fraction(money.unit(digits))
    for weight, part in zip(weights, found, strict=True):
        assert abs(Fraction(part) - Fraction(weight) * percent / 100) <= 2 * coin


def test_the_day_of_the_books_is_a_day_of_the_year(studio: Path) -> None:
    """A past year has all its weeks: 24 h x 52."""
    assert answer(studio, "books", "--year", "2025")["planned"] == "1248"


SOLD_ONES = some.lists(some.tuples(some.integers(1, 80), some.integers(0, 90)), min_size=1, max_size=5)
LAST = date(2026, 12, 31)


@given(sold=SOLD_ONES, shelf=some.lists(some.integers(1, 60), max_size=3), other=some.integers(0, 6000),
       back=some.integers(0, 300), before=some.booleans())  # fmt: skip
def test_sold_at_that_price_the_same_year_pays_the_rate(
    sold: list[tuple[int, int]], shelf: list[int], other: int, back: int, before: bool
) -> None:
    """What was sold, at the price asked for, and the books added up again: an hour sold earns 28, to the coin.

    The first piece came back; older stock is sold as well as new, and some of the new stays on the shelf.
    """
    takings = [{"on": "2026-03-01", "what": "class", "stream": "classes", "amount": str(other), "hours": "7"},
               {"on": "2026-03-02", "what": "supporters", "stream": "supporters", "amount": "40"}]  # fmt: skip
    own = settings(
        overhead="55", takings=takings, expenses=[{"on": "2026-03-02", "what": "kiln", "amount": "60"}]
    )
    kept = [
        piece(f"s-{n}", status="available", finished="2026-03-01", private={"hours": {"all": str(hours)}})
        for n, hours in enumerate(shelf)
    ]

    def at(prices: list[Decimal]) -> Studio:
        made = [
            piece(f"p-{n}", finished="2025-02-01" if before else "2026-02-01", private={
                "hours": {"all": str(hours)}, "supplies": [{"what": "eyes", "cost": str(supplies)}],
                "sold": {"on": "2026-05-01", "price": str(price)}
                | ({} if n else {"returned": "2026-06-01", "refund": str(back)}),
            })
            for n, ((hours, supplies), price) in enumerate(zip(sold, prices, strict=True))
        ]  # fmt: skip
        return whole_studio([*made, *kept], shows=[FAIR], own=own)

    as_it_was = at([Decimal(500)] * len(sold))

    def needed(hours: int, supplies: int) -> Decimal:
        found = quote(as_it_was, WorthWish(hours=str(hours), supplies=str(supplies)), LAST).needed
        assert found is not None
        return found

    again = books(at([needed(*one) for one in sold]), 2026, LAST)

    rate = again.hours * 28
    assert again.left >= rate - Decimal("0.01")
    if (
        needed(970, 0) > 28000
    ):  # else other income leaves more than the running costs, and an hour needs the rate
        assert again.left <= rate + Decimal("0.01") * (len(sold) + 1)


def test_missing_hours_are_said_and_nothing_is_worked_out_from_the_rest() -> None:
    """An hour sold, an hour worked and a price for the next year each need all the hours that they rest on."""
    sale = {"on": "2026-05-01", "price": "500"}
    known = piece("owl", finished="2026-02-01", private={"hours": {"all": "10"}, "sold": sale})
    unknown = piece("hare", finished="2026-02-01", private={"sold": sale})
    kept = piece("toad", status="available", finished="2026-02-01")

    def told(*pieces: Piece) -> tuple[str, str]:
        whole = whole_studio(list(pieces))
        return "\n".join(books(whole, 2026, LAST).lines()), "\n".join(
            quote(whole, WorthWish(hours="10"), LAST).lines()
        )

    screen, worth = told(known, unknown)
    assert (
        "What an hour sold earned can't be told: no hours are noted for Hare. Noted for what was sold: 10 h."
        in screen
    )
    assert (
        "What an hour worked earned can't be told: no hours are noted for Hare. Noted for what was made: 10 h."
        in screen
    )
    assert "an hour sold (" not in screen
    assert "an hour worked (" not in screen
    assert "can't be told: no hours are noted for Hare." in worth
    screen, worth = told(known, kept)
    assert "an hour sold (10 h)" in screen
    assert "What an hour worked earned can't be told: no hours are noted for Toad." in screen
    assert "it must cost" in worth
