"""What orders bring into the books: what was sent off, what is kept of those called off, what is in advance.

Every coin that came in for an order is in exactly one of these: a sale, the kept part, money in advance,
or money to go back.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from sitegen.studio.commission import Place
from sitegen.studio.order_lines import Step
from sitegen.studio.order_sums import kept_of, paid_of
from sitegen.studio.whole import Studio

_NOTHING = Decimal(0)


@dataclass(frozen=True)
class OrderSale:
    """What one order brought in by itself."""

    on: date
    what: str
    amount: Decimal = field(repr=False)
    hours: Decimal


def order_sales(studio: Studio) -> list[OrderSale]:
    """Return what was kept of orders called off, and orders sent off that no sold piece stands for."""
    found = []
    for place in studio.commissions.queue:
        on = place.day_of(place.step)
        if on is None:
            continue
        hours = sum(place.private.hours.values(), _NOTHING)
        if place.step is Step.CALLED_OFF and (kept := earned(place)):
            found.append(OrderSale(on, f"{place.code}, called off", kept, hours))
        elif counts_itself(studio, place):
            found.append(OrderSale(on, f"{place.code}, {place.tier}", earned(place), hours))
    return found


def counts_itself(studio: Studio, place: Place) -> bool:
    """Tell a commission that was sent off and that no sold piece stands for."""
    if place.step is not Step.SHIPPED or not earned(place):
        return False
    sold = [piece for piece in studio.pieces if piece.private.sold is not None]
    if any(piece.private.order == place.code for piece in sold):
        return False
    name, price = place.private.name, place.private.price
    return not any(
        piece.private.sold is not None
        and not piece.private.order
        and piece.private.sold.to == name
        and piece.private.sold.price == price
        for piece in sold
    )


def earned(place: Place) -> Decimal:
    """Return what of the money paid is the studio's: up to the price, or the kept and claimed part.

    An order that was sent off with no money on record brought its price.
    """
    client = place.private
    if place.step is Step.CALLED_OFF:
        return min(paid_of(place), kept_of(place) + (client.claimed or _NOTHING))
    if not client.paid:
        return client.price or _NOTHING
    return _up_to_price(place, paid_of(place))


def to_return(studio: Studio) -> Decimal:
    """Return what is to go back: of orders called off, and what was paid above the price."""
    return sum((_over(place) for place in studio.commissions.queue), _NOTHING)


def _over(place: Place) -> Decimal:
    if place.step is Step.CALLED_OFF:
        return paid_of(place) - earned(place)
    return paid_of(place) - _up_to_price(place, paid_of(place))


def in_advance(studio: Studio, year: int) -> Decimal:
    """Return what was paid in a year, less what went back, towards commissions that aren't sold yet.

    What is above an order's price is to go back, and isn't in it.
    """
    sold = {piece.private.order for piece in studio.pieces if piece.private.sold is not None}
    found = _NOTHING
    for place in studio.commissions.queue:
        if place.code in sold or place.step in {Step.CALLED_OFF, Step.SHIPPED}:
            continue
        before = sum((one.amount for one in place.private.paid if one.on.year < year), _NOTHING)
        after = sum((one.amount for one in place.private.paid if one.on.year <= year), _NOTHING)
        found += _up_to_price(place, after) - _up_to_price(place, before)
    return found


def _up_to_price(place: Place, amount: Decimal) -> Decimal:
    price = place.private.price
    return amount if price is None else min(amount, price)
