"""Change values in a YAML file, or put in new ones, and leave every other byte as it stands.

Comments, order, quoting, line endings and blank lines survive. Every change is checked by reading the result
back: if it doesn't say exactly what was wanted, nothing is changed and the artist is asked to do it by hand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path as File
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.text import rewrite
from sitegen.sources.yaml_text import Loader, step_into

Value = str | Mapping[str, str]
"""A text, or a block of texts written on one line as `{sculpting: 3.5}`."""
Path = Sequence[str | int]


def set_value(file: File, shown: str, path: Path, value: str) -> bool:
    """Write `value` over the scalar at `path`; False when it says so already.

    `shown` is the file's name in messages. Raises StudioFault if that can't be done safely.
    """
    return rewrite(file, lambda text: replace_value(text, shown, path, value))


def replace_value(text: str, shown: str, path: Path, value: str) -> str:
    """Return `text` with the scalar at `path` replaced by `value`; a plain one takes quotes if need be."""
    node = find_node(compose_text(text, shown), path)
    if not isinstance(node, ScalarNode):
        raise StudioFault(f"{shown}: there is no line `{path[-1]}: …` to change; add one first")
    line = node.start_mark.line + 1
    if node.style in {"|", ">"} or node.start_mark.line != node.end_mark.line:
        raise StudioFault(
            f"{shown}, line {line}: write `{path[-1]}` on one line first, like `{path[-1]}: {value}`"
        )
    changed = over(text, node, _quoted(value, node.style) if node.style else flow_word(value))
    return checked(changed, _with(plain_values(text, shown), path, value), f"{shown}, line {line}")


def put_value(text: str, shown: str, path: Path, value: Value) -> str:
    """Return `text` with `value` at `path`: over what stands there, or on a line of its own.

    Blocks that are missing or empty are made. Raises StudioFault if that can't be done safely.
    """
    if isinstance(value, Mapping):
        for key, word in value.items():
            text = put_value(text, shown, [*path, key], word)
        return text
    if isinstance(find_node(compose_text(text, shown), path), ScalarNode):
        return replace_value(text, shown, path, value)
    return checked(_with_line(text, shown, path, value), _with(plain_values(text, shown), path, value), shown)


def _with_line(text: str, shown: str, path: Path, value: str) -> str:
    root, entry = compose_text(text, shown), f"{path[-1]}: {flow_word(value)}"
    for depth in range(len(path) - 1, -1, -1):
        node = find_node(root, path[:depth])
        if isinstance(node, MappingNode):
            return _into_flow(text, node, entry) if node.flow_style else _into_block(text, node, entry)
        if isinstance(node, ScalarNode) and node.start_mark.index == node.end_mark.index:
            return over(text, node, f"{{{entry}}}")
        if node is not None or not depth:
            break
        entry = f"{path[depth - 1]}: {{{entry}}}"
    raise StudioFault(f"{shown}: there is no place for `{entry}`; please write it by hand")


def over(text: str, node: Node, word: str) -> str:
    """Write a word over a node. An empty one has no text to stand in for: the colon needs its space."""
    start, end = node.start_mark.index, node.end_mark.index
    gap = " " if start == end and text[start - 1 : start] == ":" else ""
    return text[:start] + gap + word + text[end:]


def _into_flow(text: str, node: MappingNode, entry: str) -> str:
    """Put an entry behind the last one of `{a: 1, b: 2}`."""
    at = end_of(node.value[-1][1]) if node.value else int(node.start_mark.index) + 1
    return text[:at] + (", " if node.value else "") + entry + text[at:]


# Beside which line a new one looks at home, the nearest first.
_PERSON = ("price", "email", "name")
_NEIGHBOURS = {
    "since": ("step",), "moves": ("since", "step"), "round": ("moves", "since", "step"),
    "terms": ("round", "moves", "since", "step"), "private": ("moves", "since"),
    "price": ("email", "name"), "deposit": _PERSON, "instalments": ("deposit", *_PERSON),
    "paid": ("instalments", *_PERSON), "hours": _PERSON,
    "why": ("notes", *_PERSON), "called_off_by": ("paid", *_PERSON),
    "kept": ("called_off_by", "paid", *_PERSON), "claimed": ("kept", "paid", *_PERSON),
}  # fmt: skip


def _into_block(text: str, node: MappingNode, entry: str) -> str:
    """Put an entry on a line of its own: below a neighbour that fills one line, or the last such line."""
    key = entry.partition(":")[0]
    columns = " " * int(node.value[0][0].start_mark.column)
    single = {
        name.value: value
        for name, value in node.value
        if isinstance(value, ScalarNode)
        and name.start_mark.line == value.end_mark.line
        and value.style not in {"|", ">"}
    }
    near = [name for name in _NEIGHBOURS.get(key, ()) if name in single] or list(reversed(single))
    if near:
        return line_after(text, int(single[near[0]].end_mark.index), columns + entry)
    at = int(node.value[0][0].start_mark.index)
    return text[:at] + entry + newline_of(text) + columns + text[at:]


def quoted_if_needed(value: str) -> str:
    """Return a text as YAML would read it back: plain where that is safe, else in quotes."""
    plain = value != "" and "\n" not in value and value.lower() not in {"~", "null"}
    return value if plain and _reads_as(f"key: {value}\n", {"key": value}) else _quoted(value, "'")


def flow_word(value: str) -> str:
    """Write a text so that it reads the same inside and outside of braces."""
    word = quoted_if_needed(value)
    same = word != value or _reads_as(f"{{key: {value}, end: x}}\n", {"key": value, "end": "x"})
    return word if same else _quoted(value, "'")


def flow_line(values: Mapping[str, str]) -> str:
    """Write a block of texts on one line, in braces."""
    return "{" + ", ".join(f"{key}: {flow_word(word)}" for key, word in values.items()) + "}"


def _reads_as(text: str, wanted: object) -> bool:
    try:
        return bool(plain_values(text, "") == wanted)
    except StudioFault:
        return False


def _quoted(value: str, style: str) -> str:
    if style == '"':
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return "'" + value.replace("'", "''") + "'"


def checked(changed: str, wanted: object, shown: str, cure: str = "please edit it by hand") -> str:
    """Return the changed text if it says exactly what was wanted. Raises StudioFault, with what to do."""
    if not _reads_as(changed, wanted):
        raise StudioFault(f"{shown} can't be changed safely here; {cure}")
    return changed


def compose_text(text: str, shown: str) -> Node | None:
    """Return the nodes of a text. Raises StudioFault if it can't be read."""
    # The Python loader, not the C one: its marks count characters of this very string.
    try:
        return _composed(text)
    except yaml.YAMLError as fault:
        raise StudioFault(f"{shown} can't be read; `sitegen check` says why") from fault


@lru_cache(maxsize=1)
def _composed(text: str) -> Node | None:
    """Remember the latest text: one change looks at it several times."""
    node: Node | None = yaml.compose(text, Loader=yaml.BaseLoader)
    return node


def plain_values(text: str, shown: str) -> Any:
    """Return what a text says. Raises StudioFault if it can't be read."""
    try:
        return yaml.load(text, Loader=Loader)  # noqa: S506 (the base loader makes text, lists and dicts only)
    except yaml.YAMLError as fault:
        raise StudioFault(f"{shown} can't be read; `sitegen check` says why") from fault


def find_node(node: Node | None, path: Path) -> Node | None:
    """Return the node at a path; None if there's none."""
    for part in path:
        found = step_into(node, part)
        node = found[1] if found else None
    return node


def _with(values: Any, path: Path, value: str) -> Any:
    """Return the values with one more at a path."""
    inner = values
    for part in path[:-1]:
        if isinstance(inner, dict) and not inner.get(str(part)):
            inner[str(part)] = {}
        inner = inner[part]
    inner[path[-1]] = value
    return values


def newline_of(text: str) -> str:
    """Return how the file ends its lines."""
    return "\r\n" if "\r\n" in text else "\n"


def line_after(text: str, at: int, line: str) -> str:
    """Put a line behind the one that holds `at`."""
    found = re.compile(r"\r?\n|\r?\Z").search(text, at)
    end = found.start() if found else len(text)
    return text[:end] + newline_of(text) + line + text[end:]


def end_of(node: Node) -> int:
    """Return where a node ends; of a block, where its last value does."""
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        key, value = node.value[-1]
        return max(int(key.end_mark.index), end_of(value))
    if isinstance(node, SequenceNode) and not node.flow_style and node.value:
        return end_of(node.value[-1])
    return int(node.end_mark.index)
