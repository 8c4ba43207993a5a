"""Find what was named on the command line, or say what is nearest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from sitegen.studio.commission import Order, Round, Tier
from sitegen.studio.fault import Fault
from sitegen.studio.fields import did_you_mean, no_such
from sitegen.studio.piece import Piece
from sitegen.studio.whole import Studio

_Named = TypeVar("_Named", Order, Round, Tier)


def piece(studio: Studio, slug: str) -> Piece:
    """Find a piece. Raises Fault."""
    found = studio.piece(slug)
    if found is None:
        raise Fault(no_such("piece", slug, (one.slug for one in studio.pieces)))
    return found


def order(studio: Studio, code: str) -> Order:
    """Find an order by its code, capitals or not. Raises Fault."""
    queue = studio.commissions.queue
    return _one(
        queue, [one.code for one in queue], code, f"order '{code}' in the queue", "the queue is empty"
    )


def round_named(studio: Studio, name: str) -> Round:
    """Find a round by its name or its name in addresses. Raises Fault."""
    rounds = studio.commissions.rounds
    slugged = next((one for one in rounds if one.slug == name.casefold()), None)
    names = [one.name for one in rounds]
    return slugged or _one(rounds, names, name, f"round '{name}'", "write it under `rounds:`")


def tier(studio: Studio, name: str) -> Tier:
    """Find a tier by its name. Raises Fault."""
    tiers = studio.commissions.tiers
    return _one(tiers, [one.name for one in tiers], name, f"tier '{name}'", "write it under `tiers:`")


def _one(things: Sequence[_Named], names: list[str], wanted: str, what: str, none: str) -> _Named:
    known = (one for one, name in zip(things, names, strict=True) if name.casefold() == wanted.casefold())
    found = next(known, None)
    if found is None:
        there = f"; there are {', '.join(names)}" if names else f"; {none}"
        raise Fault(f"commissions.yaml: there is no {what}{did_you_mean(wanted, names) or there}")
    return found
