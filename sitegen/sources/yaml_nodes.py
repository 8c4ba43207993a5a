"""A YAML text as a person wrote it: what it says, and from where to where each value reaches."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.yaml_text import NOTHING, step_into

Path = Sequence[str | int]
"""Keys, and numbers of entries from 0, from the outermost block to a value."""


class Script:
    """A text with its nodes and values. Raises StudioFault if it can't be read."""

    def __init__(self, text: str, shown: str) -> None:
        self.text, self.shown = text, shown
        self.newline = "\r\n" if "\r\n" in text else "\n"
        try:
            # The Python loader, not the C one: its marks count characters of this very string.
            loader = yaml.BaseLoader(text)
            self.root: Node | None = loader.get_single_node()
            _refuse_twice(self.root, set())
            said: Any = None if self.root is None else loader.construct_document(self.root)
        except (yaml.YAMLError, RecursionError) as fault:
            raise StudioFault(f"{shown} can't be read; `sitegen check` says why") from fault
        self.values = said or {}
        """Not to be changed."""

    def node(self, path: Path) -> Node | None:
        """Return the node at a path; None if there's none."""
        node = self.root
        for part in path:
            found = step_into(node, part)
            node = found[1] if found else None
        return node

    def said(self, path: Path) -> Any:
        """Return the value at a path; None if there's none."""
        values = self.values
        for part in path:
            try:
                values = values[part]
            except (LookupError, TypeError):
                return None
        return values

    def in_braces(self, path: Path) -> bool:
        """Tell whether the value at a path stands within braces or brackets."""
        return any(is_flow(self.node(path[:depth])) for depth in range(len(path)))

    def end(self, node: Node) -> int:
        """Return where a node's last character stands, comments and blank lines after it left out."""
        if isinstance(node, MappingNode | SequenceNode) and not node.flow_style and node.value:
            return self.spans(node)[-1][1] if isinstance(node, MappingNode) else self.end(node.value[-1])
        at, text = int(node.end_mark.index), self.text
        # A text over several lines ends behind its line break, and blank lines.
        return len(text[:at].rstrip(" \r\n")) if at > start_of(node) and text[at - 1] in "\r\n" else at

    def spans(self, node: MappingNode | SequenceNode) -> list[tuple[int, int]]:
        """Return from where to where each entry reaches: in a list of lines with its hyphen and comment."""
        if isinstance(node, MappingNode):
            return [(start_of(key), max(int(key.end_mark.index), self.end(one))) for key, one in node.value]
        if node.flow_style:
            return [(start_of(one), self.end(one)) for one in node.value]
        spans: list[tuple[int, int]] = []
        hyphen = re.compile(rf"(?m)^ {{{column_of(node)}}}(?=-)")
        for one in node.value:
            found = hyphen.search(self.text, spans[-1][1]) if spans else None
            spans.append((found.end() if found else start_of(node), self.line_end(self.end(one))))
        return spans

    def line_end(self, at: int) -> int:
        """Return where the line ends that holds `at`."""
        found = re.compile(r"\r?\n|\r?\Z").search(self.text, at)
        return found.start() if found else len(self.text)

    def with_lines(self, at: int, lines: Sequence[str]) -> str:
        """Put lines behind the one that holds `at`."""
        end = self.line_end(at)
        return self.text[:end] + "".join(self.newline + line for line in lines) + self.text[end:]

    def without_lines(self, start: int, end: int) -> str:
        """Leave out the lines from one character to another."""
        first = self.text.rfind("\n", 0, start) + 1
        after = re.compile(r"\r?\n|\Z").search(self.text, self.line_end(end))
        return self.text[:first] + self.text[after.end() if after else len(self.text) :]

    def steps(self) -> tuple[int, int]:
        """Return by how many columns the file moves its inner blocks, and its lists, to the right."""
        found = {MappingNode: 2, SequenceNode: 2}
        for key, value in self.root.value if isinstance(self.root, MappingNode) else ():
            if type(value) in found and not value.flow_style and value.value:
                found[type(value)] = column_of(value) - int(key.start_mark.column)
        return found[MappingNode], found[SequenceNode]


opened = lru_cache(maxsize=1)(Script)
"""The latest text is remembered: one change looks at it several times."""


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


def is_nothing(node: Node | None) -> bool:
    """Tell whether a node says nothing: `key:` or `key: ~`."""
    return isinstance(node, ScalarNode) and not node.style and node.value in NOTHING


def is_flow(node: Node | None) -> bool:
    """Tell whether a node stands in braces or brackets."""
    return bool(getattr(node, "flow_style", False))


def start_of(node: Node) -> int:
    """Return where a node starts."""
    return int(node.start_mark.index)


def column_of(node: Node) -> int:
    """Return the column of a block's keys or of a list's hyphens."""
    first = node.value[0][0] if isinstance(node, MappingNode) and node.value else node
    return int(first.start_mark.column)
