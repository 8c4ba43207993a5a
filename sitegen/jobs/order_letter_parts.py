"""What several letters about an order say: who it's for, what sending costs, how to pay."""

from __future__ import annotations

from decimal import Decimal

from sitegen.letters import Client, Due
from sitegen.studio.commission import Order
from sitegen.studio.fields import is_placeholder
from sitegen.studio.payments import PlanState
from sitegen.studio.whole import Studio


def client_of(order: Order) -> Client:
    """Return who a letter is for."""
    return Client(order.code, order.tier, order.private.name, order.private.email)


def dues_of(standing: PlanState) -> tuple[Due, ...]:
    """Return the parts of a plan as they stand."""
    return tuple(Due(one.part.due, one.part.amount, str(one.standing)) for one in standing.parts)


def postage_of(order: Order) -> tuple[dict[str, Decimal], frozenset[str]]:
    """Return what sending costs, and whether it comes on top of the price."""
    postage = order.private.postage
    if postage is None:
        return {}, frozenset()
    if not postage.extra:
        return {}, frozenset({"postage_included"})
    return {"postage": postage.extra}, frozenset({"postage_extra"})


def ways_to_pay(studio: Studio) -> dict[str, str]:
    """Return how a client can pay, in the artist's words; nothing while there's still a place to fill in."""
    written = studio.settings.how_to_pay
    return {"how_to_pay": "" if is_placeholder(written) else " ".join(written.split())}
