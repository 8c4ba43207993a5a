"""Find what was named on the command line, or say what is nearest."""

from __future__ import annotations

from sitegen.desk.fault import DeskFault
from sitegen.studio.commission import Order, Round, Tier
from sitegen.studio.fields import did_you_mean
from sitegen.studio.piece import Piece
from sitegen.studio.whole import Studio


def piece(studio: Studio, slug: str) -> Piece:
    """Find a piece. Raises DeskFault."""
    found = studio.piece(slug)
    if found is None:
        slugs = [one.slug for one in studio.pieces]
        hint = did_you_mean(slug, slugs) or "; its folder's name below pieces/ is what to write"
        raise DeskFault(f"there is no piece '{slug}'{hint}")
    return found


def order(studio: Studio, code: str) -> Order:
    """Find an order by its code, capitals or not. Raises DeskFault."""
    queue = studio.commissions.queue
    found = next((one for one in queue if one.code.casefold() == code.casefold()), None)
    if found is None:
        codes = [one.code for one in queue]
        hint = did_you_mean(code, codes) or _known(codes, "; there are ", "; the queue is empty")
        raise DeskFault(f"commissions.yaml: there is no order '{code}' in the queue{hint}")
    return found


def round_named(studio: Studio, name: str) -> Round:
    """Find a round by its name or its name in addresses. Raises DeskFault."""
    rounds = studio.commissions.rounds
    wanted = name.casefold()
    found = next((one for one in rounds if wanted in {one.name.casefold(), one.slug}), None)
    if found is None:
        names = [one.name for one in rounds]
        hint = did_you_mean(name, names) or _known(names, "; there are ", "; write it under `rounds:`")
        raise DeskFault(f"commissions.yaml: there is no round '{name}'{hint}")
    return found


def tier(studio: Studio, name: str) -> Tier:
    """Find a tier by its name. Raises DeskFault."""
    tiers = studio.commissions.tiers
    found = next((one for one in tiers if one.name.casefold() == name.casefold()), None)
    if found is None:
        names = [one.name for one in tiers]
        hint = did_you_mean(name, names) or _known(names, "; there are ", "; write it under `tiers:`")
        raise DeskFault(f"commissions.yaml: there is no tier '{name}'{hint}")
    return found


def _known(names: list[str], lead: str, none: str) -> str:
    return lead + ", ".join(names) if names else none
