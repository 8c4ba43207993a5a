"""Where the values of a YAML text stand: its nodes, with the characters from and to which each reaches."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.yaml_text import NOTHING, Loader, step_into

Path = Sequence[str | int]
"""Keys, and numbers of entries from 0, from the outermost block to a value."""


def compose_text(text: str, shown: str) -> Node | None:
    """Return the nodes of a text. Raises StudioFault if it can't be read."""
    # The Python loader, not the C one: its marks count characters of this very string.
    try:
        return _composed(text)
    except (yaml.YAMLError, RecursionError) as fault:
        raise StudioFault(f"{shown} can't be read; `sitegen check` says why") from fault


@lru_cache(maxsize=1)
def _composed(text: str) -> Node | None:
    """Remember the latest text: one change looks at it several times."""
    root: Node | None = yaml.compose(text, Loader=yaml.BaseLoader)
    _refuse_twice(root, set())
    return root


def _refuse_twice(node: Node | None, seen: set[int]) -> None:
    """Raise YAMLError where a place has no one meaning: a key that stands twice, a value under two names."""
    if id(node) in seen:
        raise yaml.YAMLError
    seen.add(id(node))
    if isinstance(node, MappingNode):
        if len({str(key.value) for key, _ in node.value}) < len(node.value):
            raise yaml.YAMLError
        for _, value in node.value:
            _refuse_twice(value, seen)
    for one in node.value if isinstance(node, SequenceNode) else ():
        _refuse_twice(one, seen)


def plain_values(text: str, shown: str) -> Any:
    """Return what a text says, not to be changed. Raises StudioFault if it can't be read."""
    try:
        return _loaded(text)
    except (yaml.YAMLError, RecursionError) as fault:
        raise StudioFault(f"{shown} can't be read; `sitegen check` says why") from fault


@lru_cache(maxsize=1)
def _loaded(text: str) -> Any:
    """Remember the latest text: a form asks for many of its places."""
    return yaml.load(text, Loader=Loader)  # noqa: S506 (the base loader makes text, lists and dicts only)


def find_node(node: Node | None, path: Path) -> Node | None:
    """Return the node at a path; None if there's none."""
    for part in path:
        found = step_into(node, part)
        node = found[1] if found else None
    return node


def value_at(values: Any, path: Path) -> Any:
    """Return the value at a path; None if there's none."""
    for part in path:
        try:
            values = values[part]
        except (LookupError, TypeError):
            return None
    return values


def in_braces(root: Node | None, path: Path) -> bool:
    """Tell whether the value at a path stands within braces or brackets."""
    return any(getattr(find_node(root, path[:depth]), "flow_style", False) for depth in range(len(path)))


def is_nothing(node: Node | None) -> bool:
    """Tell whether a node says nothing: `key:` or `key: ~`."""
    return isinstance(node, ScalarNode) and not node.style and node.value in NOTHING


def start_of(node: Node) -> int:
    """Return where a node starts."""
    return int(node.start_mark.index)


def column_of(node: Node) -> int:
    """Return the column of a block's keys or of a list's hyphens."""
    first = node.value[0][0] if isinstance(node, MappingNode) and node.value else node
    return int(first.start_mark.column)


def end_of(text: str, node: Node) -> int:
    """Return where a node's last character stands, comments and blank lines after it left out."""
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        key, value = node.value[-1]
        return max(int(key.end_mark.index), end_of(text, value))
    if isinstance(node, SequenceNode) and not node.flow_style and node.value:
        return end_of(text, node.value[-1])
    at = int(node.end_mark.index)
    # A text over several lines ends behind its line break, and blank lines.
    return len(text[:at].rstrip(" \r\n")) if at > start_of(node) and text[at - 1] in "\r\n" else at


def line_end(text: str, at: int) -> int:
    """Return where the line ends that holds `at`."""
    found = re.compile(r"\r?\n|\r?\Z").search(text, at)
    return found.start() if found else len(text)


def newline_of(text: str) -> str:
    """Return how the file ends its lines."""
    return "\r\n" if "\r\n" in text else "\n"


def lines_after(text: str, at: int, lines: Sequence[str]) -> str:
    """Put lines behind the one that holds `at`."""
    end, newline = line_end(text, at), newline_of(text)
    return text[:end] + "".join(newline + line for line in lines) + text[end:]
