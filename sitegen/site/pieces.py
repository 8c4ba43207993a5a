"""One page a piece: everything a collector asks, in the order of a wall label."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from sitegen.site import dated
from sitegen.site.house import House
from sitegen.site.leaf import Later, Leaf, Told
from sitegen.site.scale import draw
from sitegen.site.shown import Exhibit
from sitegen.studio import plan
from sitegen.studio.payment_terms import plan_terms

_NEIGHBOURS = 3


@dataclass(frozen=True, slots=True)
class Payment:
    """One part of a payment plan: how long after the order, and when that is in the example."""

    months: int
    """After the order; 0 is at once."""
    due: date
    """In the example, which starts on the first of the next month."""
    amount: Decimal
    deposit: bool


def pieces(house: House) -> Iterator[Later]:
    """Yield the page of each piece."""
    titles = Counter(one.piece.title for one in house.exhibits)
    for one in house.exhibits:
        near, twin = neighbours(house, one), titles[one.piece.title] > 1
        start = house.front.plan_start if one.piece.offered else None
        preview = one.first or house.face
        yield Later(
            path=one.path,
            inputs=(one, near, twin, start, preview),
            write=partial(_leaf, house, one, near, twin),
            changed=dated.of_pieces([one]),
        )


def _leaf(house: House, one: Exhibit, near: tuple[Exhibit, ...], twin: bool) -> Leaf:
    """Write the page of one piece; `twin` says that another has the same title."""
    piece = one.piece
    title = house.typographic(piece.title)
    paid = payments(house, piece.price)
    return Leaf(
        path=one.path,
        template="piece.html",
        title=f"{title} ({piece.number or piece.slug})" if twin else title,
        description=_description(house, one),
        parts={
            "exhibit": one,
            "piece": piece,
            "neighbours": near,
            "scale": draw(piece.height_mm) if piece.height_mm else None,
            "payments": paid,
            "plan_start": house.front.plan_start if paid else None,
        },
        shot=one.first,
        facts=(Told("artwork", one),),
        kind="article",
    )


def payments(house: House, price: Decimal | None) -> tuple[Payment, ...]:
    """Lay out the studio's usual payment plan for a price; nothing where there is no plan or no price."""
    front = house.front
    usual, digits, start = front.card.payment_plan, front.card.digits, front.plan_start
    if usual is None or not price:
        return ()
    try:
        parts = plan.make(price, start, digits, plan_terms(usual, digits)).parts
    except ValueError:
        # A price that the artist's bands don't reach, or too small to split: no plan is offered for it.
        return ()
    return tuple(
        Payment(_months(start, part.anchor), part.due, part.amount, part.kind is plan.Kind.DEPOSIT)
        for part in parts
    )


def neighbours(house: House, one: Exhibit) -> tuple[Exhibit, ...]:
    """Return the next pieces of the same series, going round at its end."""
    if one.piece.series is None:
        return ()
    room = house.of_series(one.piece.series.slug)
    place = next(at for at, other in enumerate(room) if other is one)
    return (*room[place + 1 :], *room[:place])[:_NEIGHBOURS]


def _months(start: date, day: date) -> int:
    return (day.year - start.year) * 12 + day.month - start.month


def _description(house: House, one: Exhibit) -> str:
    piece = one.piece
    facts = [house.words.plain("piece.by", title=piece.title, maker=house.front.card.maker)]
    if piece.materials:
        facts.append(piece.materials.rstrip(".") + ".")
    if piece.height_mm:
        facts.append(house.tongue.length(piece.height_mm) + ".")
    return " ".join(house.typographic(fact) for fact in facts)
