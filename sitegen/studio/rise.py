"""Prices that change in dated steps, and whose older quotes hold meanwhile."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from sitegen.studio.commission import Order
from sitegen.studio.offers import last_day, standing
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.piece import Status
from sitegen.studio.whole import Studio


@dataclass(frozen=True, slots=True)
class Rising:
    """One price, now and after each step."""

    name: str  # a piece's folder, or a tier's name
    title: str
    now: Decimal = field(repr=False)
    steps: tuple[Decimal, ...] = field(repr=False)
    is_tier: bool = False


@dataclass(frozen=True, slots=True)
class Quote:
    """A price that somebody was told, and that holds."""

    name: str
    who: str = field(repr=False)
    price: Decimal | None = field(repr=False)  # None where no sum is noted
    why: str


def stepped(price: Decimal, percent: Decimal, nearest: Decimal, steps: int) -> tuple[Decimal, ...]:
    """Change a price by so many per cent at each step, rounded to the nearest of a sum, a half up."""
    found = []
    for _ in range(steps):
        exact = price * (100 + percent) / 100 / nearest
        price = exact.quantize(Decimal(1), rounding=ROUND_HALF_UP) * nearest
        found.append(price)
    return tuple(found)


def older_quotes(studio: Studio, slugs: Sequence[str], today: date, *, tiers: bool) -> Iterator[Quote]:
    """Yield who was told an older price: offers that stand and orders agreed on, and pieces that are kept."""
    book = studio.commissions
    if tiers:
        for order in book.queue:
            if order.step in UNDER_WAY or order in standing(book, today):
                yield _of_order(studio, order)
    for piece in studio.pieces:
        kept = piece.status is Status.ON_HOLD and piece.private.sold is None
        if kept and (not slugs or piece.slug in slugs):
            plan = piece.private.plan
            price = plan.price if plan and plan.price is not None else piece.price
            yield Quote(piece.slug, plan.to if plan else "", price, "on hold")


def _of_order(studio: Studio, order: Order) -> Quote:
    client = order.private
    if order.step in UNDER_WAY:
        return Quote(order.code, client.name, client.price, f"agreed on ({order.step})")
    day = last_day(studio.commissions, order)
    why = f"offered, to be answered by {day}" if day else "offered"
    return Quote(order.code, client.name, client.price, why)
