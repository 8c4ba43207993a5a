"""Prices beside each other, and prices that change in steps, worked by hand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.desk.prices import prices
from sitegen.studio.prices import PriceKind, older_quotes, stepped
from tests.desk.studios import TODAY, piece, queued, studio


def work(slug: str, price: str, on: str, **more: Any) -> Any:
    """Make a piece of 300 mm and 20 hours, sold."""
    private = {"hours": {"all": more.pop("hours", "20")}, "sold": {"on": on, "price": price}}
    return piece(slug, **{"height_mm": "300", **more, "private": {**private, **more.get("private", {})}})


def asked(slug: str, price: str, status: str = "available", **private: Any) -> Any:
    return piece(
        slug, status=status, price=price, finished="2026-10-01", height_mm="300",
        private={"hours": {"all": "20"}, **private},
    )  # fmt: skip


def test_each_price_counts_once_with_its_day_and_tier() -> None:
    """A sale, not its order too; an agreed price; an asking price; nothing of what came back or wasn't agreed."""
    pieces = [
        work("hare", "500", "2026-04-18", private={"order": "A-1"}),
        asked("owl", "640", priced="2026-11-02"),
        asked("moth", "700", "on hold"),
        piece("bat", status="available", price="300", finished="2026-01-05",
              private={"sold": {"on": "2026-02-01", "price": "290", "returned": "2026-03-01", "refund": "290"}}),
        piece("doll", status="in progress", price="999"),
    ]  # fmt: skip
    queue = [
        queued("A-1", "shipped", private={"price": "500"}),
        queued("A-2", "accepted", tier="Large", private={"price": "960", "name": "Ada"}),
        queued("A-3", "offered", private={"price": "410"}),
        queued("A-4", "called off", private={"price": "77"}),
    ]
    found = prices(studio(pieces, queue), TODAY)

    assert [(sale.name, sale.kind, str(sale.on), sale.price, sale.tier) for sale in found.prices] == [
        ("bat", PriceKind.ASKED, "2026-01-05", Decimal(300), ""),
        ("hare", PriceKind.SOLD, "2026-04-18", Decimal(500), "Small"),
        ("moth", PriceKind.ASKED, "2026-10-01", Decimal(700), ""),
        ("A-2", PriceKind.AGREED, "2026-11-01", Decimal(960), "Large"),
        ("owl", PriceKind.ASKED, "2026-11-02", Decimal(640), ""),
    ]
    assert found.as_answer()["total"] == "3100.00"
    assert "Ada" not in str(found.as_answer()) + found.table() + "\n".join(found.lines())


def test_the_line_and_who_is_far_from_it_by_hand() -> None:
    """20 more a centimetre for eight of them; the ninth, of 38 cm, asks 2,000 where 760 is usual."""
    pieces = [
        work(f"p{n}", str(20 * cm + wobble), "2026-01-01", height_mm=str(cm * 10), hours=str(10 * n + 10))
        for n, (cm, wobble) in enumerate(
            [(20, 0), (22, 1), (24, -1), (26, 0), (28, 1), (30, -1), (32, 0), (34, 1)]
        )
    ]
    pieces.append(work("wild", "2000", "2026-01-01", height_mm="380", hours="2"))
    found = prices(studio(pieces), TODAY)

    size = next(along for along in found.lines_through if along.name == "size")
    assert size.line is not None
    assert size.line.slope == pytest.approx(20, abs=0.2)
    ((by, far),) = [one for one in found.stands_out if one[0] == "size"]
    assert (far.one.name, by) == ("wild", "size")
    assert far.usual == pytest.approx(Decimal(760), abs=3)
    assert far.difference == 2000 - far.usual
    named = [line for line in found.lines() if "wild" in line.lower() and "above" in line]
    assert len(named) == 1  # once, though it is far by more than one measure
    assert "by size" in named[0]
    year = next(along for along in found.lines_through if along.name == "year")
    assert year.line is None
    assert found.tells(year) == "By year: 9 prices, too few or too alike for a line."


def test_the_same_work_at_another_price_is_named_with_the_difference() -> None:
    """Within 5 % of size, 10 % of hours and two years; the largest difference first; never a piece with itself."""
    pieces = [
        work("a", "400", "2026-01-01"),
        work("b", "460", "2026-02-01", height_mm="315", hours="22"),
        work("c", "400", "2026-03-01"),
        work("tall", "900", "2026-01-01", height_mm="316"),
        work("slow", "900", "2026-01-01", hours="22.5"),
        work("old", "150", "2023-12-31"),
        piece("unknown", height_mm="300", private={"sold": {"on": "2026-01-01", "price": "9"}}),
    ]
    pairs = prices(studio(pieces), TODAY).pairs

    found = {(alike.less.name, alike.more.name): alike.difference for alike in pairs}
    assert found[("a", "b")] == found[("c", "b")] == Decimal(60)
    assert not {pair for pair in found if pair[0] in {"old", "unknown"}}
    assert ("a", "tall") not in found
    assert ("a", "slow") not in found
    assert [alike.difference for alike in pairs] == sorted((one.difference for one in pairs), reverse=True)


@pytest.mark.parametrize(
    ("price", "percent", "nearest", "wanted"),
    [
        ("560", "5", "10", ["590", "620"]),  # 588 and 619.50
        ("1450", "5", "10", ["1520", "1600"]),  # 1522.50 and 1596
        ("99.99", "-10", "0.01", ["89.99", "80.99"]),  # 89.991 and 80.991
        ("100", "2.5", "5", ["105", "110"]),  # 102.50 goes up
    ],
)
def test_a_step_is_rounded_and_the_next_begins_there(
    price: str, percent: str, nearest: str, wanted: list[str]
) -> None:
    found = stepped(Decimal(price), Decimal(percent), Decimal(nearest), 2)
    assert list(found) == [Decimal(one) for one in wanted]


@given(
    st.decimals(min_value="0.01", max_value="99999", places=2), st.decimals(0, 200, places=1),
    st.sampled_from(["0.01", "1", "5", "10"]), st.integers(1, 4),
)  # fmt: skip
def test_a_rise_never_lowers_by_more_than_half_of_what_it_rounds_to(
    price: Decimal, percent: Decimal, nearest: str, steps: int
) -> None:
    before = price
    for after in stepped(price, percent, Decimal(nearest), steps):
        assert after % Decimal(nearest) == 0
        assert abs(after - before * (100 + percent) / 100) <= Decimal(nearest) / 2
        before = after


def test_whoever_was_told_an_older_price_is_named() -> None:
    """Offers that still stand and orders under way; what lapsed, was declined or shipped holds nothing."""
    queue = [
        queued("A-1", "offered", since="2026-11-20", private={"name": "Ada", "price": "410"}),
        queued("A-2", "offered", since="2026-09-01", private={"name": "Bo"}),
        queued("A-3", "accepted", private={"name": "Cy", "price": "431"}),
        queued("A-4", "declined"), queued("A-5", "shipped"), queued("A-6", "request"),
    ]  # fmt: skip
    pieces = [
        asked("owl", "640", "on hold", plan={"to": "Di", "from": "2026-11-25", "price": "600"}),
        asked("hare", "9"),
    ]
    own = studio(pieces, queue)

    told = [(one.name, one.who, one.price) for one in older_quotes(own, (), date(2026, 11, 25), tiers=True)]
    assert told == [
        ("A-1", "Ada", Decimal(410)), ("A-3", "Cy", Decimal(431)), ("owl", "Di", Decimal(600)),
    ]  # fmt: skip
    assert list(older_quotes(own, ("hare",), date(2026, 11, 25), tiers=False)) == []
