"""The sums of one order: what came in, what is kept of it."""

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


def kept_of(order: Order) -> Decimal:
    """Return what is kept of an order that was called off; all that is there, where nothing is said."""
    kept = order.private.kept
    return paid_of(order) if kept is None else kept
