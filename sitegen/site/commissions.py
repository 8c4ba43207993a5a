"""The commissions page: what is open when, what it costs, who is before you."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.site.leaf import Leaf
from sitegen.studio.public import RoundState
from sitegen.studio.status import Status

_EXAMPLES = 3


def commissions(house: House) -> Iterator[Leaf]:
    """Yield the commissions page."""
    front = house.front
    made = tuple(one for one in house.exhibits if one.piece.status is Status.COMMISSIONED and one.shots)
    coming = tuple(one for one in front.rounds if one.state is not RoundState.CLOSED)
    yield Leaf(
        path=addresses.COMMISSIONS,
        template="commissions.html",
        title=house.words.plain("commissions.title"),
        description=house.words.plain("commissions.about", maker=front.card.maker, studio=front.card.studio),
        parts={
            "round": front.round,
            "later": tuple(one for one in coming if one is not front.round),
            "past": tuple(one for one in reversed(front.rounds) if one.state is RoundState.CLOSED),
            "tiers": front.round.tiers if front.round and front.round.tiers else front.tiers,
            "lead": front.lead_time,
            "queue": front.queue,
            "waiting": front.waiting,
            "examples": made[:_EXAMPLES],
            "terms": house.pages("commission-terms", "payment-terms"),
        },
        shot=made[0].first if made else None,
    )
