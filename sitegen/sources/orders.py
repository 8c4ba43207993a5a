"""Write what changed in the order book into commissions.yaml: only the lines of those who moved.

The change is the difference between two values of the book, before and after. Comments, order, quoting,
line endings and everybody else's lines survive byte for byte.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from sitegen.sources.edit import append, comments_of, put, take_out
from sitegen.sources.text import StudioFault, rewrite
from sitegen.sources.validate import names_of
from sitegen.sources.yaml_script import Value, opened
from sitegen.studio import money
from sitegen.studio.commission import Client, Commissions, Order
from sitegen.studio.order_lines import AcceptedTerms, Postage, in_a_line, write_postage
from sitegen.studio.piece import Piece
from sitegen.studio.text import bare

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
