"""The sums of one order: what came in, what is kept of it."""

from __future__ import annotations

from decimal import Decimal

from sitegen.studio.commission import Place

_NOTHING = Decimal(0)


def paid_of(place: Place) -> Decimal:
    """Return what came in for an order, less what went back."""
    return sum((one.amount for one in place.private.paid), _NOTHING)


def hours_noted(place: Place) -> Decimal:
    """Return the hours noted on an order itself."""
    return sum(place.private.hours.values(), _NOTHING)


def kept_of(place: Place) -> Decimal:
    """Return what is kept of an order that was called off; all that is there, where nothing is said."""
    kept = place.private.kept
    return paid_of(place) if kept is None else kept
