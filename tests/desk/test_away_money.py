"""What a gallery sold, what came back and was sold again, and what a show must sell: to the coin, by hand."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from itertools import permutations
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import settings as trying
from hypothesis import strategies as some

from sitegen.desk.ahead import ahead as money_ahead
from sitegen.desk.books import books
from sitegen.desk.books_lines import Books
from sitegen.desk.find import Sitting
from sitegen.desk.worth import piece_worth
from sitegen.desk.years import Booking, BookingWish, before_booking, brought
from sitegen.studio.money import total
from sitegen.studio.piece import Piece
from sitegen.studio.purses import purses
from sitegen.studio.whole import Studio
from tests.desk.studios import TODAY, piece, settings, studio

COINS = {"EUR": 2, "JPY": 0, "KWD": 3}


def away(share: str, since: str = "2026-01-02", **more: object) -> dict[str, object]:
    return {"place": "The Heron Room", "since": since, "private": {"share": share}, **more}


def sold_there(price: str, fee: str, **more: str) -> dict[str, object]:
    sale = {"on": "2026-05-14", "price": price, "at": "The Heron Room", "fee": fee, **more}
    return {"hours": {"all": "10"}, "supplies": [{"what": "eyes", "cost": "20"}], "sold": sale}


def test_a_sale_on_commission_by_hand() -> None:
    """480 at 37.5 %: the gallery keeps 180. The other sale, 333.33, bears the usual 3 %: 10.00.

    Income 813.33, fees 190.00, supplies 40.00, overhead 11 x 310 = 3,410.00. The consigned piece leaves
    480 - 180 - 20 = 280.00; the other 333.33 - 10 - 20 = 303.33.
    """
    own = {"hours": {"all": "12"}, "supplies": [{"what": "eyes", "cost": "20"}],
           "sold": {"on": "2026-06-01", "price": "333.33"}}  # fmt: skip
    pieces = [
        piece("hare", away=[away("37.5%")], private=sold_there("480", "180")),
        piece("owl", private=own),
    ]
    found = books(studio(pieces), 2026, TODAY)

    assert (found.total, found.costs["fees"], found.costs["supplies"]) == (
        Decimal("813.33"),
        Decimal(190),
        Decimal(40),
    )
    assert found.left == Decimal("813.33") - 190 - 40 - 3410
    left = {thing.what: thing.amount for thing in found.results if thing.sold}
    assert left == {"Hare": Decimal(280), "Owl": Decimal("303.33")}
    assert total(thing.amount for thing in found.results) == found.left
    fees = {row.what: row.went for row in found.rows if row.kind == "fees"}
    assert fees == {"Hare": Decimal(180), "Owl": Decimal("10.00")}


AMOUNTS = some.integers(1, 10**7)


@trying(max_examples=50)
@example(prices=[1, 3], shares=[Decimal("33.3"), None], currency="JPY")
@given(
    prices=some.lists(AMOUNTS, min_size=1, max_size=6),
    shares=some.lists(some.none() | some.decimals(0, 100, places=2), min_size=6, max_size=6),
    currency=some.sampled_from(sorted(COINS)),
)
def test_every_share_is_kept_to_the_coin_and_only_once(
    prices: list[int], shares: list[Decimal | None], currency: str
) -> None:
    """Worked out apart: a half coin up, by Python's own rounding; the usual fee on the rest in one sum."""
    digits, pieces, kept, usual = COINS[currency], [], Decimal(0), Decimal(0)
    unit = Decimal(1).scaleb(-digits)
    for number, price in enumerate(prices):
        amount = Decimal(price).scaleb(-digits)
        share = shares[number % len(shares)]
        fee = None if share is None else (amount * share / 100).quantize(unit, ROUND_HALF_UP)
        kept, usual = kept + (fee or 0), usual + (amount if fee is None else 0)
        sale = {"on": "2026-05-14", "price": str(amount)} | ({} if fee is None else {"fee": str(fee)})
        made = {
            "slug": f"piece-{number}",
            "title": f"Piece {number}",
            "status": "sold",
            "private": {"sold": sale},
        }
        pieces.append(Piece.model_validate(made, context={"digits": digits}))
    own = settings(overhead="0").model_copy(update={"currency": currency})
    found = books(studio(pieces, own=own), 2026, TODAY)

    expected = kept + (usual * 3 / 100).quantize(unit, ROUND_HALF_UP)
    assert found.costs["fees"] == expected
    assert found.left == total(Decimal(price).scaleb(-digits) for price in prices) - expected
    assert total(thing.amount for thing in found.results) == found.left


@trying(max_examples=50)
@given(
    price=AMOUNTS,
    fee=some.integers(0, 10**7),
    refund=some.integers(0, 10**7),
    again=some.none() | AMOUNTS,
    gaps=some.tuples(*[some.integers(0, 400)] * 2),
)
def test_a_piece_that_came_back_and_went_again(
    price: int, fee: int, refund: int, again: int | None, gaps: tuple[int, int]
) -> None:
    """Each sale in its year, the refund in its own; no coin lost or counted twice, whatever the years."""
    fee, refund = min(fee, price), min(refund, price)
    first = date(2025, 3, 1)
    back = first + timedelta(days=gaps[0])
    later = back + timedelta(days=gaps[1])
    sales = [
        {"on": str(first), "price": f"{price}", "fee": f"{fee}", "returned": str(back), "refund": f"{refund}"}
    ]
    sales += [{"on": str(later), "price": f"{again}"}] if again else []
    own = settings(overhead="0", fees="0%")
    status = "sold" if again else "available"
    made = studio([piece("hare", status=status, private={"hours": {"all": "10"}, "sold": sales})], own=own)
    day = date(2028, 12, 31)
    years = {year: books(made, year, day) for year in range(2025, 2029)}

    income = {year: Decimal(0) for year in years}
    income[2025] += price
    income[back.year] -= refund
    income[later.year] += again or 0
    assert {year: one.total for year, one in years.items()} == income
    assert {year: one.costs["fees"] for year, one in years.items()} == {
        year: Decimal(fee if year == 2025 else 0) for year in years
    }
    assert sum(year.hours for year in years.values()) == 10
    assert sum(year.received for year in years.values()) == price - refund + (again or 0)
    for purse in purses(made):
        assert purse.received(day) == purse.earned(day) + purse.balance(day).back - purse.balance(day).open


def test_what_a_piece_at_a_gallery_is_worth_by_hand() -> None:
    """12 h at 28, overhead left out, supplies 20, 40 % of the price: (336 + 20) / 0.6 = 593.33…, rounded up.

    At 480 an hour earns (480 x 0.6 - 20) / 12 = 22.333…; sold there for 480 and 200 kept: (280 - 20) / 12.
    """
    private = {"hours": {"all": "12"}, "supplies": [{"what": "eyes", "cost": "20"}]}
    there = piece("hare", status="available", price="480", away=[away("40%")], private=private)
    worth = piece_worth(studio([there], own=settings(overhead="0")), "hare", TODAY)

    assert (worth.worth.floor, worth.worth.fees, worth.worth.hourly) == (
        Decimal("593.34"),
        Decimal(192),
        Decimal("22.33"),
    )
    assert ("Selling", "192.00 EUR", "40% of the asking price, for The Heron Room") in worth.rows()
    home = piece(
        "hare", status="available", price="480", away=[away("40%", back="2026-02-01")], private=private
    )
    assert piece_worth(studio([home], own=settings(overhead="0")), "hare", TODAY).worth.fees == Decimal(
        "14.40"
    )
    came = [away("40%", back=str(TODAY))]
    same_day = piece("hare", status="available", price="480", away=came, private=private)
    usual = piece_worth(studio([same_day], own=settings(overhead="0")), "hare", TODAY)
    assert (usual.worth.fees, usual.seller) == (Decimal("14.40"), "")
    gone = piece("hare", away=[away("40%")], private=sold_there("480", "200") | {"hours": {"all": "12"}})
    sold = piece_worth(studio([gone], own=settings(overhead="0")), "hare", TODAY).worth
    assert (sold.fees, sold.hourly) == (Decimal(200), Decimal("21.67"))


# Before a show is booked.


def fair(number: int, sales: str, cost: str = "100", supplies: str = "0") -> tuple[dict[str, Any], Piece]:
    """Return a show and a piece that was sold there."""
    day = f"2026-0{number}-10"
    show = {"slug": f"fair-{number}", "name": f"Fair {number}", "from": day,
            "private": {"costs": [{"what": "table", "cost": cost}]}}  # fmt: skip
    private = {"hours": {"all": "10"}, "supplies": [{"what": "clay", "cost": supplies}],
               "sold": {"on": day, "price": sales, "stream": "shows"}}  # fmt: skip
    return show, piece(f"sold-{number}", private=private)


def asked(fairs: list[tuple[dict[str, Any], Piece]], cost: str, hours: str | None = None) -> Booking:
    made: Studio = studio(
        [one for _, one in fairs], shows=[show for show, _ in fairs], own=settings(overhead="0")
    )
    sitting = Sitting(made, datetime.combine(TODAY, datetime.min.time(), UTC))
    kept: list[Books] = [books(made, 2026, TODAY)]
    return before_booking(sitting, brought(made, kept, {}, TODAY, 12), BookingWish(cost=cost, hours=hours))


def test_what_a_show_must_sell_by_hand() -> None:
    """Sold 500, 800, 300; supplies 50, 40, 60; fees 3 % of 1,600 = 48. Left of sales: 1,402 of 1,600.

    400 must sell 400 x 1,600 / 1,402 = 456.49…, rounded up; two of three did. To pay 28 an hour for 20 h of its
    own and 30 h in what was sold too: (400 + 560) / (1,402/1,600 - 840/1,600) = 960 x 1,600 / 562 = 2,733.10.
    By single shows: 800 left 736 (92 %), 300 left 231 (77 %): 400 / 0.92 = 434.79 to 400 / 0.77 = 519.49.
    """
    found = asked(
        [fair(1, "500", supplies="50"), fair(2, "800", supplies="40"), fair(3, "300", supplies="60")],
        "400",
        "20",
    )

    assert found.as_answer() == {
        "currency": "EUR", "cost": "400.00", "hours": "20", "break_even": "456.50", "with_pay": "2733.10",
        "break_even_low": "434.79", "break_even_high": "519.49", "shows": 3, "reached": 2,
        "sold_low": "300.00", "sold_high": "800.00", "chances": [2, 4],
    }  # fmt: skip
    assert (
        "It must sell 456.50 EUR to pay its 400.00 EUR (between 434.79 EUR and 519.49 EUR" in found.lines()[0]
    )


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_shows_say_so(count: int) -> None:
    found = asked([fair(number, "500") for number in range(1, count + 1)], "400")

    assert found.as_answer()["chances"] is None
    assert found.as_answer()["sold_low"] is None
    assert ("too few to say how likely" in " ".join(found.lines())) is (count > 0)
    assert ("isn't enough to tell by" in found.lines()[0]) is (count == 0)


@pytest.mark.parametrize("n", [3, 4, 5, 6])
def test_the_chances_are_those_of_counting_every_order(n: int) -> None:
    """Each order of n + 1 shows is as likely: in how many does the last lie between the others?"""
    orders = list(permutations(range(n + 1)))
    between = sum(min(order[:-1]) < order[-1] < max(order[:-1]) for order in orders)
    found = asked([fair(number, str(100 * number)) for number in range(1, n + 1)], "100")

    low, high = found.as_answer()["chances"]
    assert Fraction(between, len(orders)) == Fraction(low, high)


@trying(max_examples=50)
@given(cost=some.integers(0, 10**6), sales=some.lists(some.integers(1, 10**6), min_size=1, max_size=5))
def test_what_must_be_sold_pays_the_cost_and_a_coin_less_does_not(cost: int, sales: list[int]) -> None:
    found = asked(
        [fair(number, f"{sold / 100:.2f}") for number, sold in enumerate(sales, start=1)], f"{cost / 100:.2f}"
    )
    if found.even is None or found.part is None:
        return
    assert Fraction(found.even) * found.part >= Fraction(found.cost)
    assert not cost or (Fraction(found.even) - Fraction(1, 100)) * found.part < Fraction(found.cost)


def told(*values: Any) -> Any:
    return values


def test_a_gallery_that_pays_later_owes_its_part_until_it_came() -> None:
    """By hand: 480 sold on 14 November, 192 kept there, 288 due on 13 January and come on the 20th.

    The sale is income of 2026 in full; at its end 192 counts as received (kept at once) and 288 is open. In 2027
    288 comes in. On the 25th of November it's still to come, in January; from the 14th of January on it's late.
    """
    sale = {"on": "2026-11-14", "price": "480", "at": "The Heron Room", "fee": "192", "due": "2027-01-13"}
    owed = studio([piece("hare", away=[away("40%")], private={"hours": {"all": "9"}, "sold": sale})])
    came = studio(
        [
            piece(
                "hare",
                away=[away("40%")],
                private={"hours": {"all": "9"}, "sold": {**sale, "paid": "2027-01-20"}},
            )
        ]
    )

    for made in (owed, came):
        found = books(made, 2026, date(2027, 2, 1))
        assert told(found.total, found.received, found.after.open) == (480, 192, 288)
        assert [told(one.code, one.paid, one.balance, one.now, one.late) for one in found.owed] == [
            ("hare", 192, 288, 0, 0)
        ]
    year = books(came, 2027, date(2027, 2, 1))
    assert told(year.total, year.received, year.before.open, year.after.open, year.owed) == (
        0,
        288,
        288,
        0,
        (),
    )

    def parts(day: date) -> list[Any]:
        ahead = money_ahead(owed, purses(owed), day)
        return [(part.name, part.due, part.standing, part.amount) for part in ahead.parts]

    due = date(2027, 1, 13)
    assert parts(TODAY) == [("hare", due, "to come", 288)]
    assert parts(due) == [("hare", due, "due", 288)]
    assert parts(due + timedelta(days=1)) == [("hare", due, "late", 288)]
    flow = money_ahead(owed, purses(owed), TODAY).coming
    assert {f"{month.first:%Y-%m}": month.comes for month in flow if month.comes} == {"2027-01": 288}
    late = books(owed, 2027, date(2027, 2, 1))
    assert [told(one.now, one.late) for one in late.owed] == [(288, 288)]
    assert [one.now for one in books(owed, 2027, due).owed] == [288]


def test_without_a_day_it_was_paid_as_it_was_sold_and_a_return_ends_the_waiting() -> None:
    plain = {"on": "2026-11-14", "price": "480", "at": "The Heron Room", "fee": "192"}
    back = {**plain, "due": "2027-01-13", "returned": "2026-11-20", "refund": "288"}
    for sale, received in ((plain, 480), (back, 192)):
        found = books(studio([piece("hare", private={"hours": {"all": "9"}, "sold": sale})]), 2026, TODAY)
        assert told(found.received, found.after.open, found.owed) == (received, 0, ())


def test_what_came_back_before_it_was_paid_leaves_the_year_before_as_it_was() -> None:
    """By hand: at the end of 2026 288 are open, also once it came back in January; then nothing is owed any more."""
    sale = {"on": "2026-12-14", "price": "480", "at": "The Heron Room", "fee": "192", "due": "2027-02-13"}
    for more in ({}, {"returned": "2027-01-20", "refund": "288"}):
        made = studio([piece("hare", private={"hours": {"all": "9"}, "sold": {**sale, **more}})])
        found = books(made, 2026, date(2027, 1, 30))
        assert told(found.total, found.received, found.after.open) == (480, 192, 288)
    year = books(made, 2027, date(2027, 1, 30))
    assert told(year.total, year.received, year.before.open, year.after.open, year.owed) == (
        -288,
        0,
        288,
        0,
        (),
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"due": "2026-11-13"}, "its money is due (2026-11-13) before it was sold (2026-11-14)"),
        ({"paid": "2026-11-13"}, "its money came (2026-11-13) before it was sold (2026-11-14)"),
    ],
)
def test_money_cant_come_before_the_sale(more: dict[str, str], said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        piece("hare", private={"sold": {"on": "2026-11-14", "price": "480", **more}})


@trying(max_examples=60)
@given(
    price=AMOUNTS, kept=some.integers(0, 10**7), currency=some.sampled_from(sorted(COINS)),
    due=some.none() | some.integers(0, 500), paid=some.none() | some.integers(0, 500), look=some.integers(0, 700),
)  # fmt: skip
def test_every_coin_of_a_consigned_sale_is_received_or_open(
    price: int, kept: int, currency: str, due: int | None, paid: int | None, look: int
) -> None:
    """On any day: received = income - open; kept by the gallery as it's sold, the rest once it came."""
    digits, sold = COINS[currency], date(2025, 3, 1)
    coin = Decimal(1).scaleb(-digits)
    fee = min(kept, price) * coin
    days = {
        name: str(sold + timedelta(days=n)) for name, n in (("due", due), ("paid", paid)) if n is not None
    }
    own = settings().model_copy(update={"currency": currency})
    sale = {"on": str(sold), "price": f"{price * coin:f}", "at": "The Heron Room", "fee": f"{fee:f}", **days}
    private = {"sold": sale}
    made = Piece.model_validate(
        {"slug": "hare", "title": "Hare", "status": "sold", "private": private}, context={"digits": digits}
    )
    (purse,) = purses(studio([made], own=own))
    day = sold + timedelta(days=look)

    waits = (due is not None or paid is not None) and (paid is None or look < paid)
    assert purse.received(day) == (fee if waits else price * coin)
    assert purse.balance(day).open == purse.still_to_pay(day) == (price * coin - fee if waits else 0)
    assert purse.received(day) == purse.earned(day) - purse.balance(day).open
