"""The sums of one order: what came in, the hours noted on it."""

from __future__ import annotations

from decimal import Decimal

from sitegen.studio.commission import Order

_NOTHING = Decimal(0)


def paid_of(order: Order) -> Decimal:
    """Return what came in for an order, less what went back."""
    return sum((one.amount for one in order.private.paid), _NOTHING)


def hours_noted(order: Order) -> Decimal:
    """Return the hours noted on an order itself."""
    return sum(order.private.hours.values(), _NOTHING)
