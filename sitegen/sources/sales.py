"""Write a sale or a return into a piece.yaml, with its status in one edit; every other byte stays."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from yaml.nodes import MappingNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.edit import compose_text, find_node, plain_values, replace_value
from sitegen.sources.insert import checked, end_of, flow_word, line_end, newline_of, put_value
from sitegen.sources.text import rewrite

Words = Mapping[str, str]
_SOLD = ["private", "sold"]


def write_sale(file: Path, shown: str, status: str, sale: Words) -> bool:
    """Write a status and one more sale, both or neither. Raises StudioFault; the file is then untouched."""
    return rewrite(file, lambda text: with_sale(replace_value(text, shown, ["status"], status), shown, sale))


def write_return(file: Path, shown: str, status: str, back: Words) -> bool:
    """Write a status, and into the latest sale what came back. Raises StudioFault."""

    def changed(text: str) -> str:
        node = find_node(compose_text(text, shown), _SOLD)
        place = [len(node.value) - 1] if isinstance(node, SequenceNode) else []
        for key, word in back.items():
            text = put_value(text, shown, [*_SOLD, *place, key], word)
        return replace_value(text, shown, ["status"], status)

    return rewrite(file, changed)


def with_sale(text: str, shown: str, sale: Words) -> str:
    """Return the text with one more sale: the first under `sold:`, later ones in a list."""
    wanted: Any = plain_values(text, shown)
    private = wanted.get("private") or {}
    had = private.get("sold") or []
    earlier = [had] if isinstance(had, dict) else had
    wanted["private"] = {**private, "sold": [*earlier, dict(sale)] if earlier else dict(sale)}
    entry = "{" + ", ".join(f"{key}: {flow_word(word)}" for key, word in sale.items()) + "}"
    changed = _listed(text, shown, entry) if earlier else _first(text, shown, entry)
    return checked(changed, wanted, shown, f"write `sold: {entry}` by hand")


def _first(text: str, shown: str, entry: str) -> str:
    root = compose_text(text, shown)
    private, sold = find_node(root, ["private"]), find_node(root, _SOLD)
    if sold is not None:  # `sold:` with nothing behind it
        return _spaced(text, int(sold.start_mark.index), int(sold.end_mark.index), entry)
    if isinstance(private, MappingNode) and private.value:
        if private.flow_style:
            at = end_of(private.value[-1][1])
            return f"{text[:at]}, sold: {entry}{text[at:]}"
        key = private.value[0][0]
        at, margin = int(key.start_mark.index), " " * int(key.start_mark.column)
        return f"{text[:at]}sold: {entry}{newline_of(text)}{margin}{text[at:]}"
    if private is not None:  # `private:` with nothing behind it, or `{}`
        start, end = int(private.start_mark.index), int(private.end_mark.index)
        return _spaced(text, start, end, f"{{sold: {entry}}}")
    gap = "" if not text or text.endswith("\n") else newline_of(text)
    return f"{text}{gap}private:{newline_of(text)}  sold: {entry}{newline_of(text)}"


def _spaced(text: str, start: int, end: int, entry: str) -> str:
    gap = " " if text[start - 1 : start] == ":" else ""
    return text[:start] + gap + entry + text[end:]


def _listed(text: str, shown: str, entry: str) -> str:
    """Put a later sale behind the earlier ones; a single one becomes a list first."""
    node = find_node(compose_text(text, shown), _SOLD)
    if isinstance(node, SequenceNode) and not node.flow_style:
        at = line_end(text, end_of(node))
        return f"{text[:at]}{newline_of(text)}{' ' * int(node.start_mark.column)}- {entry}{text[at:]}"
    if isinstance(node, SequenceNode):
        at = end_of(node.value[-1])
        return f"{text[:at]}, {entry}{text[at:]}"
    if not isinstance(node, MappingNode):
        raise StudioFault(f"{shown}: `sold:` is no group of lines; write the sale of {entry} by hand")
    start, end = int(node.start_mark.index), end_of(node)
    if node.flow_style:
        return f"{text[:start]}[{text[start:end]}, {entry}]{text[end:]}"
    margin, end = " " * int(node.start_mark.column), line_end(text, end)
    inner = text[start:end].replace("\n", "\n  ")
    return f"{text[:start]}- {inner}{newline_of(text)}{margin}- {entry}{text[end:]}"
