"""Forms over the fields of the studio's files, made from what the models say of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from sitegen.browser.forms import Ask, picks
from sitegen.browser.labels import label
from sitegen.jobs.fields_page import FormField, fields_of
from sitegen.studio.whole import Studio

# How a field of a file is asked for; a text where nothing is said.
_KINDS = {
    "long text": "long", "amount": "amount", "percentage": "number", "number": "number",
    "whole number": "number", "date": "day", "choice": "pick", "yes or no": "pick", "list": "lines",
    "names": "pairs", "date and time": "moment",
}  # fmt: skip


def asks(kind: str, within: str = "", entry: str = "", *, leave: Iterable[str] = ()) -> list[Ask]:
    """Return the fields of a kind of file that stand within a path, as a form asks for them.

    `within` is a path as the models have it, `entry` the same in a file: `series.*.` and `series.0.`. Lists
    of blocks and what is below another list aren't among them.
    """
    found: list[Ask] = []
    free = [f"{one.path}." for one in fields_of(kind) if one.kind == "block" and not one.needed]
    for one in fields_of(kind):
        rest = one.path.removeprefix(within)
        if not one.path.startswith(within) or "*" in rest or rest in leave or one.kind == "block":
            continue
        if one.kind == "list" and one.each == "block":
            continue
        # A block that may be left out isn't asked for; half of one is refused when it's read.
        in_free = any(one.path.startswith(block) and "*" not in one.path[len(block) :] for block in free)
        asked = replace(one, needed=one.needed and not in_free)
        found.append(ask_of(asked, f"{entry}{rest}", rest))
    return found


def ask_of(field: FormField, name: str, said: str) -> Ask:
    """Return a field as a form asks for it."""
    kind = _KINDS.get(field.kind, "text")
    usual = f"usually {field.usual}" if field.usual else "nothing said"
    words = ("yes", "no") if field.kind == "yes or no" else tuple(map(str, field.choices))
    choices = picks(words, empty=None if field.needed else usual) if kind == "pick" else ()
    such = f"Like {field.example}." if field.example and kind not in {"long", "day", "moment"} else ""
    line = {"lines": "A line each.", "pairs": "A line each, like “sculpting: 12”."}.get(kind, "")
    help_ = " ".join(filter(None, (field.meaning.replace("`", ""), line or such)))
    return Ask(name, _label(said), kind, help=help_, needed=field.needed, choices=choices)


def _label(path: str) -> str:
    *within, last = path.split(".")
    last = {"to": "until"}.get(last, last)
    within = [part for part in within if part != "private"]
    return (
        label(last) if not within else f"{label(last)} ({', '.join(label(part).lower() for part in within)})"
    )


def steps_of(studio: Studio) -> list[str]:
    """Name the steps of the work as the artist calls them."""
    return sorted({step for piece in studio.pieces for step in piece.private.hours})


def as_called(studio: Studio) -> str:
    """Say how steps of the work were called so far."""
    steps = steps_of(studio)
    return f"As you call it: {', '.join(steps)}." if steps else ""


def nested(values: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    """Put values by dotted paths into the blocks they stand in; what is empty is left out."""
    made: dict[str, Any] = {}
    for path, value in values:
        if value in (None, "", [], {}):
            continue
        *blocks, last = path.split(".")
        place = made
        for block in blocks:
            place = place.setdefault(block, {})
        place[last] = value
    return made
