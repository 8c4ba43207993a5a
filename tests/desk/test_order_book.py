"""The order book says of an order's money what the books say of it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from sitegen.desk.books import books
from sitegen.desk.order_book import order_book, order_sheet
from tests.desk.studios import TODAY, piece, queued, studio

MOVES = "2026-08-01 accepted; 2026-11-01 "


def ended(step: str, **private: Any) -> dict[str, Any]:
    return queued("Q-1", step, moves=MOVES + step, private={"price": "400", **private})


@pytest.mark.parametrize(
    ("order", "pieces", "balance", "says"),
    [
        # 410 came for 400, and of the 40 sent back 10 were too much; 30 are a gift that nobody owes again.
        (ended("shipped", paid="2026-08-01 120; 2026-10-20 290; 2026-11-10 -40"), [], "0", "paid in full"),
        (ended("shipped", paid="2026-08-01 120; 2026-10-20 290; 2026-11-10 -4"), [], "-6", "6.00 EUR to go back"),
        (ended("shipped", paid="2026-08-01 400; 2026-11-10 -30; 2026-11-12 30"), [], "0", "paid in full"),
        (ended("shipped", paid="2026-08-01 370; 2026-10-30 -10"), [], "40", "40.00 EUR to pay"),
        # No money noted at all: paid when it was sent, as the books count it.
        (ended("shipped"), [], "0", "paid in full"),
        # The money stands in the plan of the piece that was made for it.
        (
            ended("shipped", paid="2026-08-01 120"),
            [piece("hare", private={"order": "Q-1", "sold": {"on": "2026-11-01", "price": "400"}, "plan": {"from": "2026-08-01", "paid": "2026-09-01 250"}})],
            "30",
            "30.00 EUR to pay",
        ),
        # 170 is to be kept and asked for; once it has come nothing goes back of it.
        (ended("called off", paid="2026-08-01 120", kept="120", claimed="50"), [], "50", "50.00 EUR still asked for"),
        (ended("called off", paid="2026-08-01 120; 2026-11-10 50", kept="120", claimed="50"), [], "0", ""),
        (ended("called off", paid="2026-08-01 120; 2026-11-10 60", kept="120", claimed="50"), [], "-10", "10.00 EUR to go back"),
        (ended("called off", paid="2026-08-01 200", kept="120"), [], "-80", "80.00 EUR to go back"),
        (ended("called off", paid="2026-08-01 200"), [], "0", ""),
    ],
)  # fmt: skip
def test_an_order_that_ended_owes_in_the_book_what_it_owes_in_the_books(
    order: dict[str, Any], pieces: list[Any], balance: str, says: str
) -> None:
    one = studio(pieces, [order])

    (line,) = order_book(one, TODAY, [], everything=True).orders
    year = books(one, 2026, TODAY)

    assert (line.balance, line.next, line.late) == (Decimal(balance), says, False)
    assert sum((owed.balance for owed in year.owed), Decimal(0)) == max(Decimal(balance), Decimal(0))
    assert year.after.back == max(-Decimal(balance), Decimal(0))
    shown = "\n".join(order_sheet(one, "Q-1", TODAY).lines())
    assert ("late" in shown) == (says.endswith("to pay"))
    assert "the plan may be ended" not in shown
    assert ("Q-1 -" in shown, "order refund Q-1" in shown) == (False, balance.startswith("-"))


@pytest.mark.parametrize("step", ["shipped", "called off"])
def test_an_ended_order_without_a_day_is_told(step: str) -> None:
    """Money of no known day can't be settled, here or in the books."""
    order = {
        "code": "Q-1",
        "tier": "Small",
        "step": step,
        "private": {"price": "400", "paid": "2026-08-01 9"},
    }

    (line,) = order_book(studio([], [order]), date(2026, 11, 25), [], everything=True).orders

    assert (line.balance, line.next) == (Decimal(0), "has no day; write `since:`")
