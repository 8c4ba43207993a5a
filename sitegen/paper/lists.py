"""Lists of pieces: prices at a table, what to pack, an inventory for an insurer; and the slip for the box."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from sitegen.paper.cards import label
from sitegen.paper.press import Plain, Printer, one_line, sender_of
from sitegen.studio.asked import Fault
from sitegen.studio.public import PublicPiece, PublicShow
from sitegen.voice.voice import WallLabel

# Of each list its columns, by name and kind: text, main (the widest), sum, tick, picture.
_COLUMNS = {
    "prices": {"number": "text", "piece": "main", "height": "text", "price": "sum"},
    "packing": {"packed": "tick", "number": "text", "piece": "main", "height": "text", "back": "tick"},
    "inventory": {"picture": "picture", "number": "text", "piece": "main", "value": "sum"},
}


@dataclass(frozen=True, slots=True)
class Insured:
    """A piece on hand, what it is worth and where that comes from: for the artist and an insurer alone."""

    piece: PublicPiece
    value: Decimal | None = field(repr=False)
    source: str  # price, cost or none: the words have a sentence for each
    picture: bytes | None = field(repr=False)
    where: str = ""  # empty at home


def price_list(press: Printer, pieces: Sequence[PublicPiece], show: PublicShow | None) -> bytes:
    """Make the list of prices of what is available among these pieces. Raises Fault if nothing is."""
    offered = [piece for piece in pieces if piece.offered]
    if not offered:
        raise Fault("none of these pieces is available, so there's no price to print")
    card, voice = press.front.card, press.voice
    labels = map(voice.wall_label, offered)
    rows = [(own.number, _main(own), own.height, own.price) for own in labels]
    at = [show.name, voice.tongue.days(show.first_day, show.last_day)] if show else []
    day = voice.words.plain("paper.told.prices_as_of", day=voice.tongue.day(press.front.moment.date()))
    foot = (voice.words.plain("paper.prices.once"), *filter(None, [one_line(card.shipping)]))
    contact = f"{card.maker}, {card.contact}, {card.address.partition('//')[2].strip('/')}"
    return _listed(press, "prices", rows, (", ".join(at), day), (*foot, contact))


def packing_list(press: Printer, pieces: Sequence[PublicPiece], show: PublicShow) -> bytes:
    """Make the list of what goes to a show, with boxes to tick, there and back. Raises Fault for nothing."""
    if not pieces:
        raise Fault(f"shows/{show.slug}.yaml names no piece that can go; add  bring: moth-usher, star-darner")
    voice = press.voice
    labels = map(voice.wall_label, pieces)
    rows = [(None, own.number, _main(own), own.height, None) for own in labels]
    table = [voice.words.plain("calendar.table", table=show.table)] if show.table else []
    under = (show.name, voice.tongue.days(show.first_day, show.last_day), ", ".join([*show.place, *table]))
    foot = (voice.words.plain("paper.told.count", count=len(rows)),)
    return _listed(press, "packing", rows, under, foot)


def inventory(press: Printer, insured: Sequence[Insured], day: date) -> bytes:
    """Make the inventory for an insurer: values, where they come from, pictures. It is private."""
    card, voice = press.front.card, press.voice
    money, plain = voice.tongue.exact_money, voice.words.plain
    rows: list[tuple[Plain, ...]] = []
    for line in insured:
        alt = next((photo.alt for photo in line.piece.photos if photo.alt), line.piece.title)
        shown = {"svg": _framed(line.picture), "alt": alt} if line.picture is not None else None
        source = plain(f"paper.inventory.from_{line.source}")
        own = voice.wall_label(line.piece)
        words = [*_main(own), ", ".join(filter(None, [own.status, line.where])), source]
        rows.append((shown, own.number, words, "–" if line.value is None else money(line.value)))
    total = sum((insured.value for insured in insured if insured.value is not None), Decimal(0))
    on_hand = plain("paper.told.on_hand", day=voice.tongue.day(day))
    under = (card.maker, one_line(card.postal_address), on_hand)
    foot = [plain(f"paper.inventory.{name}") for name in ("how", "caution")]
    return _listed(
        press, "inventory", rows, under, foot,
        totals=[[plain("paper.told.total", count=len(insured)), money(total)]], private=True,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Parcel:
    """A sold piece on its way: for its buyer alone."""

    piece: PublicPiece
    to: str = field(repr=False)
    on: date
    price: Decimal | None = field(repr=False)  # None leaves it off


def packing_slip(press: Printer, parcel: Parcel) -> bytes:
    """Make the slip that goes into the box with a sold piece, with its care card.

    Raises Fault for a care note that leaves no room.
    """
    piece, card = parcel.piece, press.front.card
    tongue, own = press.voice.tongue, press.voice.wall_label(parcel.piece)
    facts = {
        "to": parcel.to, "day": tongue.day(parcel.on), "piece": piece.title, "number": piece.number,
        "materials": own.materials, "height": own.height,
        "price": None if parcel.price is None else tongue.exact_money(parcel.price),
    }  # fmt: skip
    named = {name: press.voice.words.plain(f"paper.packing_slip.fact_{name}") for name in facts}
    content = {
        **label(press, piece), "price": None, "care": card.care, "contact": card.contact,
        "sender": sender_of(card),
        "facts": [[named[name], value] for name, value in facts.items() if value],
    }  # fmt: skip
    return press.set("packing", press.content("packing_slip", content, title=piece.title))


def _main(own: WallLabel) -> list[str]:
    return [own.title, "\u00a0· ".join(filter(None, [own.year, own.materials, own.base]))]


def _framed(picture: bytes) -> str:
    """Put a JPEG whole into a square drawing: content is text, and a template takes no other file."""
    data = base64.b64encode(picture).decode("ascii")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" width="100" height="100">'
        f'<image width="100" height="100" href="data:image/jpeg;base64,{data}"/></svg>'
    )


def _listed(  # noqa: PLR0913 (a sheet of paper has so many parts)
    press: Printer, room: str, rows: Sequence[Sequence[Plain]], under: Iterable[str], foot: Iterable[str], *,
    totals: Sequence[Sequence[str]] = (), private: bool = False,
) -> bytes:  # fmt: skip
    content: dict[str, Plain] = {
        "under": [line for line in under if line],
        "columns": [{"name": name, "kind": kind} for name, kind in _COLUMNS[room].items()],
        "rows": rows,
        "totals": totals,
        "foot": [line for line in foot if line],
        "private": private,
    }
    return press.set("list", press.content(f"lists {room}", content))
