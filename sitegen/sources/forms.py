"""What a form shows of the studio's files and gives back: which files, which place, what stood there."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path as File
from typing import Any

from yaml import MappingNode, SequenceNode

from sitegen.sources.edit import Names, append, put, take_out
from sitegen.sources.text import StudioFault
from sitegen.sources.validate import names_of
from sitegen.sources.yaml_script import Value, is_nothing, opened
from sitegen.studio.commission import Commissions
from sitegen.studio.fields import Entry
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show
from sitegen.studio.text import quoted

MODELS: dict[str, type[Entry]] = {
    "studio.yaml": Settings,
    "pieces/*/piece.yaml": Piece,
    "commissions.yaml": Commissions,
    "shows/*.yaml": Show,
}
"""What each kind of file holds."""
# One name, no way out; what starts with a point or a line below isn't read.
_NAME = r"[^/\\\0-\x1f._][^/\\\0-\x1f]*"
_KINDS = {re.compile(re.escape(kind).replace(r"\*", _NAME)): kind for kind in (*MODELS, "pages/*.md")}


def file_in(folder: File, file: str) -> File:
    """Return where a file lies that a form may change, by its path below the studio with forward slashes.

    Raises StudioFault for any other name, and for what a link leads to.
    """
    kind = kind_of(file)
    path = folder / file
    if path.resolve() != folder.resolve() / file:
        raise StudioFault(f"{file} is a link, or lies behind one; change what it leads to by hand")
    if kind == "pieces/*/piece.yaml" and not path.is_file():
        raise StudioFault(f"there is no {file} any more; look at the list of pieces again")
    return path


def kind_of(file: str) -> str:
    """Return the kind of file that a name is of: a key of `MODELS`, or `pages/*.md`. Raises StudioFault."""
    for pattern, kind in _KINDS.items():
        if pattern.fullmatch(file):
            return kind
    kinds = ", ".join(_KINDS.values())
    raise StudioFault(f"{quoted(file)} is none of the files that a form changes: {kinds}")


def names_in(file: str) -> Names:
    """Return what tells the order of names in a file."""
    return names_of(MODELS[kind_of(file)])


def text_in(folder: File, file: str) -> str:
    """Return a file's text without its byte-order mark; nothing where there's no file. Raises StudioFault."""
    path = file_in(folder, file)
    try:
        return path.read_bytes().decode("utf-8-sig") if path.exists() else ""
    except UnicodeDecodeError:
        raise StudioFault(f"{file} isn't UTF-8 text; save it again with the encoding UTF-8") from None


def parts_of(path: str) -> list[str]:
    r"""Take a path like `photos.2.alt` apart; `\.` is a point within a name."""
    return [part.replace("\\.", ".") for part in re.split(r"(?<!\\)\.", path)] if path else []


def joined(parts: Sequence[str | int]) -> str:
    """Write a path as `parts_of` takes it apart."""
    return ".".join(str(part).replace(".", "\\.") for part in parts)


# No list has an entry whose number has so many digits; Python itself refuses to read very long ones.
_DIGITS = 9


def place_in(text: str, shown: str, path: str) -> list[str | int]:
    """Return the place that a path leads to: a number where a list stands, else a name."""
    script, place = opened(text, shown), list[str | int]()
    for part in parts_of(path):
        counts = part.isdecimal() and len(part) < _DIGITS
        step = int(part) if counts and isinstance(script.said(place), list) else part
        place.append(step)
    return place


def standing(text: str, shown: str, path: str) -> Any:
    """Return what stands at a path: a text, list or dict; None for nothing."""
    place = place_in(text, shown, path)
    script = opened(text, shown)
    return None if is_nothing(script.node(place)) else script.said(place) or None


def path_at(text: str, shown: str, line: int) -> str:
    """Return the path of what is written on a line, counted from 1; as far as one can be told."""
    node, place = opened(text, shown).root, list[str | int]()
    while isinstance(node, MappingNode | SequenceNode):
        listed = isinstance(node, SequenceNode)
        entries = enumerate(zip(node.value, node.value, strict=True) if listed else node.value)
        begun = [(at, key, inner) for at, (key, inner) in entries if key.start_mark.line < line]
        if not begun:
            break
        at, key, node = begun[-1]
        place.append(at if listed else str(key.value))
    return joined(place)


def typed(value: Value | None) -> Any:
    """Return a value as a form gave it, without what is left empty; None if that's all of it."""
    if isinstance(value, str):
        return value.replace("\r\n", "\n") or None
    if isinstance(value, Mapping):
        return {key: inner for key, part in value.items() if (inner := typed(part)) is not None} or None
    return [inner for part in value or () if (inner := typed(part)) is not None] or None


def seen_of(value: Any) -> str:
    """Return a short digest of what stands at a place, by which a form knows it again."""
    return hashlib.sha256(json.dumps(value, sort_keys=True, default=list).encode()).hexdigest()[:16]


def all_changed(text: str, shown: str, values: Mapping[str, Value | None]) -> str:
    """Return the text with a value, or nothing, at each of several paths. Raises StudioFault."""
    for path, given in values.items():
        place, value = place_in(text, shown, path), typed(given)
        if value is None:
            text = take_out(text, shown, place)
        else:
            text = put(text, shown, place, value, names_in(shown))
    return text


def one_more(text: str, shown: str, path: str, value: Value) -> str:
    """Return the text with one more entry in the list at a path. Raises StudioFault."""
    entry = typed(value)
    if entry is None:
        raise StudioFault(f"{shown}: nothing is written in this entry; fill it in first")
    return append(text, shown, place_in(text, shown, path), entry, names_in(shown))
