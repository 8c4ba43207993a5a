"""What a letter promises, kept beside it, so that posting can see whether it is still true."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sitegen.letters.faults import LetterFault
from sitegen.studio.money import plain
from sitegen.studio.public import FrontOfHouse, RoundState

Facts = dict[str, str]
"""What is promised, by the kind and name of the thing: `piece moth-usher` → `available, 480`."""

GONE = "no longer there"


def piece_facts(front: FrontOfHouse, slugs: Sequence[str]) -> Facts:
    """Say how pieces stand: status and price."""
    return {f"piece {slug}": _piece(front, slug) for slug in slugs}


def round_facts(front: FrontOfHouse, slug: str) -> Facts:
    """Say how a round stands: times, slots, way, tiers with prices."""
    one = front.round_called(slug)
    if one is None:
        return {f"round {slug}": GONE}
    if one.state is RoundState.CLOSED:
        return {f"round {slug}": "closed"}
    tiers = "; ".join(f"{tier.name} from {plain(tier.from_price, front.card.digits)}" for tier in one.tiers)
    closes = f", closes {one.closes.isoformat()}" if one.closes else ""
    return {f"round {slug}": f"opens {one.opens.isoformat()}{closes}, {one.slots} slots, {one.way}, {tiers}"}


def early_facts(front: FrontOfHouse, slug: str) -> Facts:
    """Say whether a head start still means anything."""
    one = front.round_called(slug)
    ahead = one is not None and one.state is RoundState.COMING
    return {f"early {slug}": "not yet open to all" if ahead else "open to all, or over"}


def show_facts(front: FrontOfHouse, slug: str) -> Facts:
    """Say how a show stands: days, hours and place."""
    show = front.show(slug)
    if show is None:
        return {f"show {slug}": GONE}
    if not show.coming:
        return {f"show {slug}": "over"}
    return {
        f"show {slug}": f"{show.first_day} to {show.last_day}, {show.hours}, {show.venue}, table {show.table}"
    }


def refuse_if_untrue(facts: Mapping[str, str], front: FrontOfHouse) -> None:
    """Stop a letter whose promises no longer hold: a piece sold since, a round moved.

    Raises LetterFault with every difference.
    """
    changed = []
    for thing, was in facts.items():
        kind, _, name = thing.partition(" ")
        now = _NOW[kind](front, name)[thing]
        if now != was:
            changed.append(f"{thing} was '{was}' when the letter was made and is now '{now}'")
    if changed:
        raise LetterFault(f"{'; '.join(changed)}. Make the letter again before posting it")


_NOW = {
    "piece": lambda front, name: piece_facts(front, [name]),
    "round": round_facts,
    "show": show_facts,
    "early": early_facts,
}


def _piece(front: FrontOfHouse, slug: str) -> str:
    piece = front.piece(slug)
    if piece is None:
        return GONE
    price = f", {plain(piece.price, front.card.digits)}" if piece.price is not None else ""
    return f"{piece.status}{price}"
