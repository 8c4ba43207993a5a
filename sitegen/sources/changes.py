"""What commands write into the studio's files: a new piece, a sale, hours, what moved in the order book.

A piece's file is written as a person would write it. What changed in the order book is the difference between
two values of it, before and after: only the lines of those who moved are written. Comments, order, quoting,
line endings and everybody else's lines survive byte for byte.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import chain, count, zip_longest
from pathlib import Path
from typing import Any

from sitegen.disk import fresh_folder
from sitegen.sources.edit import append, comments_of, put, take_out
from sitegen.sources.text import LONGEST, Addresses, Notebook, StudioFault, rewrite
from sitegen.sources.validate import build, names_of
from sitegen.sources.yaml_script import Value, opened, word
from sitegen.sources.yaml_text import read_yaml
from sitegen.studio import money
from sitegen.studio.commission import Client, Commissions, Order
from sitegen.studio.order_lines import AcceptedTerms, Postage, in_a_line, write_postage
from sitegen.studio.piece import Piece, Status
from sitegen.studio.text import bare, slug

_SOLD = ("private", "sold")


@dataclass(frozen=True)
class NewPiece:
    """What is known of a piece when it is put in."""

    title: str
    status: Status
    photos: tuple[Path, ...]
    price: str | None = None  # digits and point, as checked by `money.read_amount`
    finished: date | None = None
    series: str | None = None
    height_mm: int | None = None
    base: str = ""
    materials: str = ""
    alts: tuple[str, ...] = ()  # what each photo shows, in the order of `photos`; shorter is fine


def add_piece(folder: Path, piece: NewPiece, number: str, own_slug: str | None = None) -> Path:
    """Make pieces/SLUG/ with copies of the photos and a piece.yaml; return the new folder.

    Raises StudioFault if the folder exists already, or `check` would complain. Nothing is left half-made.
    """
    name = own_slug or slug(piece.title)[:LONGEST].strip("-") or f"piece-{number}"
    target, notes = folder / "pieces" / name, Notebook(f"pieces/{name}")
    names = photo_names(piece.photos)
    text = piece_yaml(piece, number, names)
    if Addresses("folder").of(name, name, notes) is None:
        raise StudioFault(f"{notes.complaints[0]} with --slug")
    if (written := read_yaml(text, notes)) is None or build(
        Piece, written, notes, digits=max(money.MINOR_DIGITS.values()), given={"slug": name}
    ) is None:
        raise StudioFault(notes.complaints[0].message)
    if target.exists():
        raise StudioFault(f"pieces/{name} exists already; choose another title, or give --slug")
    target.parent.mkdir(parents=True, exist_ok=True)
    with fresh_folder(target) as making:
        for photo, name in zip(piece.photos, names, strict=True):
            shutil.copyfile(photo, making / name)
        (making / "piece.yaml").write_text(text, encoding="utf-8", newline="\n")
    return target


def next_number(numbers: Sequence[str], year: int) -> str:
    """Return the next studio number of a year: the highest count ever given and one."""
    counts = [int(found[1]) for number in numbers if (found := re.fullmatch(f"{year}-([0-9]+)", number))]
    return f"{year}-{max(counts, default=0) + 1:02d}"


def photo_names(photos: Iterable[Path], taken: Iterable[str] = ()) -> list[str]:
    """Return a safe name for each photo in a piece's folder: none twice, and none of those taken."""
    known, names = {name.casefold() for name in taken}, []
    for place, photo in enumerate(photos, start=1):
        base, ending = slug(photo.stem)[:LONGEST] or f"photo-{place}", photo.suffix.lower()
        tried = chain([f"{base}{ending}"], (f"{base}-{number}{ending}" for number in count(place)))
        names.append(next(name for name in tried if name not in known))
        known.add(names[-1])
    return names


_EXAMPLES = {
    "price": "480", "finished": "2026-05-14", "series": "one of the series in studio.yaml",
    "height_mm": "320", "base": "turned lime wood", "materials": "air-dry clay, glass eyes, silk",
}  # fmt: skip


def piece_yaml(piece: NewPiece, number: str, photos: Sequence[str]) -> str:
    """Write a piece.yaml in the order of a wall label, with the lines still to fill as comments."""
    lines = [f"title: {word(piece.title)}", f"number: {number}", f"status: {piece.status}"]
    for key, example in _EXAMPLES.items():
        value = " ".join(str(getattr(piece, key) or "").split())
        asked = key == "price" and piece.status is Status.AVAILABLE
        lines.append(f"{key}: {word(value)}" if value else f"{key}:" if asked else f"# {key}: {example}")
    lines += ["# story: |", "#   A paragraph or two for whoever stops to look."]
    lines.append("photos:" if photos else "photos: []")
    for name, alt in zip_longest(photos, piece.alts[: len(photos)], fillvalue=""):
        shows = f" {word(alt)}" if alt else "              # what the photo shows"
        lines += [f"  - file: {word(name)}", f"    alt:{shows}"]
    lines += [
        "# Only for you; never on the site, in a letter or on paper for others:",
        "private:",
        "  hours: {}            # like {sculpting: 12.5, painting: 9}",
        "  supplies: []         # like - {what: glass eyes, cost: 23.50}",
    ]
    return "\n".join(lines) + "\n"


def write_sale(file: Path, shown: str, status: str, sale: Mapping[str, str]) -> bool:
    """Write a status and one more sale, both or neither. Raises StudioFault; the file is then untouched."""
    return rewrite(file, lambda text: with_sale(put(text, shown, ["status"], status), shown, sale))


def write_return(file: Path, shown: str, status: str, back: Mapping[str, str], price: str) -> bool:
    """Write a status and a new price, if any; into the latest sale what came back. Raises StudioFault."""

    def changed(text: str) -> str:
        sold = opened(text, shown).said(_SOLD)
        place = [len(sold) - 1] if isinstance(sold, list) else []
        for name, value in back.items():
            text = put(text, shown, [*_SOLD, *place, name], value, names_of(Piece))
        text = put(text, shown, ["price"], price, names_of(Piece)) if price else text
        return put(text, shown, ["status"], status)

    return rewrite(file, changed)


def with_sale(text: str, shown: str, sale: Mapping[str, str]) -> str:
    """Return the text with one more sale: the first under `sold:`, later ones in a list."""
    had = opened(text, shown).said(_SOLD)
    return (append if had else put)(text, shown, _SOLD, sale, names_of(Piece))


SHOWN = "commissions.yaml"
# In the order of the model, which is the order in which a person reads them.
_OWN = tuple(name for name in Order.model_fields if name not in {"code", "private"})
_PRIVATE = tuple(Client.model_fields)

Fields = dict[tuple[str, ...], str | Mapping[str, str]]


def write_orders(folder: Path, before: Commissions, after: Commissions, digits: int) -> bool:
    """Bring commissions.yaml from one state of the order book to another; False if nothing changed.

    Raises StudioFault if that can't be done safely; the file is then untouched.
    """
    return rewrite(folder / SHOWN, lambda text: rewritten(text, before, after, digits), private=True)


def rewritten(text: str, before: Commissions, after: Commissions, digits: int) -> str:
    """Return the file's text brought from one state to another. Raises StudioFault."""
    known = {order.code: order for order in before.queue}
    for order in after.queue:
        if order.code in known and order != known[order.code]:
            text = _edited(text, known[order.code], order, digits)
    left, gone = list(after.waiting), list[int]()
    for number, who in enumerate(before.waiting):
        if left and left[0] == who:
            left.pop(0)
        else:
            gone.append(number)
    comments = []
    for number in reversed(gone):
        comments += comments_of(text, SHOWN, ["waiting", number])
        text = take_out(text, SHOWN, ["waiting", number])
    for order in after.queue:
        if order.code not in known:
            text = _appended(text, order, comments, digits)
            comments = []
    return text


def _edited(text: str, old: Order, new: Order, digits: int) -> str:
    values: Any = opened(text, SHOWN).values
    codes = [isinstance(one, dict) and str(one.get("code", "")).strip() for one in values.get("queue") or []]
    if old.code.strip() not in codes:
        wrong = f"{old.code} isn't under `queue:` any more; look at the file and try again"
        raise StudioFault(f"{SHOWN}: {wrong}")
    number = codes.index(old.code.strip())
    was, now = _fields(old, digits), _fields(new, digits)
    for path, value in now.items():
        if value != was.get(path):
            text = put(text, SHOWN, ["queue", number, *path], value, names_of(Commissions))
    if gone := [path for path in was if path not in now]:  # no line is ever taken out unasked
        raise StudioFault(f"{SHOWN}: take `{gone[0][-1]}` out of {old.code} by hand")
    return text


def _appended(text: str, order: Order, comments: list[str], digits: int) -> str:
    wanted: dict[str, Value] = {"code": order.code}
    for (*outer, name), value in _fields(order, digits).items():
        inner: Any = wanted.setdefault("private", {}) if outer else wanted
        inner[name] = value
    return append(text, SHOWN, ["queue"], wanted, comments=comments)


def _fields(order: Order, digits: int) -> Fields:
    """Return what an order says, as it's written; what isn't said isn't in it."""
    fields: Fields = {(name,): _text(order, name, digits) for name in _OWN}
    fields |= {("private", name): _text(order.private, name, digits) for name in _PRIVATE}
    return {path: value for path, value in fields.items() if value}


def _text(entry: Order | Client, name: str, digits: int) -> str | Mapping[str, str]:
    value = getattr(entry, name)
    if isinstance(value, tuple):
        return in_a_line(value)
    if isinstance(value, AcceptedTerms):
        return {"version": value.version, "on": value.on.isoformat()}
    if isinstance(value, dict):
        return {step: bare(hours) for step, hours in value.items()}
    if isinstance(value, Postage):
        return write_postage(value, digits)
    if isinstance(value, Decimal):
        return money.plain(value, digits)
    return "" if value is None else str(value)


def add_hours(file: Path, shown: str, step: str, hours: Decimal, worked: str) -> None:
    """Write a step's hours, and those by the week, into a piece's `private:`. Raises StudioFault."""

    def made(text: str) -> str:
        text = put(text, shown, ["private", "hours", step], bare(hours), names_of(Piece))
        return put(text, shown, ["private", "worked"], worked, names_of(Piece))

    rewrite(file, made)
