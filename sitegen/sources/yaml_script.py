"""A YAML text as a person wrote it: what it says, where each value reaches; and values written into it.

What is written reads back exactly: on one line, or as the lines of a block.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import chain
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.text import StudioFault
from sitegen.sources.yaml_text import NOTHING, Loader, composed, step_into
from sitegen.studio.text import named, unfit_for_text

Path = Sequence[str | int]
"""Keys, and numbers of entries from 0, from the outermost block to a value."""


class Script:
    """A text with its nodes and values. Raises StudioFault if it can't be read."""

    def __init__(self, text: str, shown: str) -> None:
        self.text, self.shown = text, shown
        self.newline = "\r\n" if "\r\n" in text else "\n"
        try:
            self.root = composed(text)
            _refuse_twice(self.root, set())
            said: Any = None if self.root is None else Loader("").construct_document(self.root)
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
            return [(start_of(inner), self.end(inner)) for inner in node.value]
        spans: list[tuple[int, int]] = []
        hyphen = re.compile(rf"(?m)^ {{{column_of(node)}}}(?=-)")
        for inner in node.value:
            found = hyphen.search(self.text, spans[-1][1]) if spans else None
            spans.append((found.end() if found else start_of(node), self.line_end(self.end(inner))))
        return spans

    def line_end(self, at: int) -> int:
        """Return where the line ends that holds `at`."""
        return next(re.compile(r"\r?\n|\r?\Z").finditer(self.text, at)).start()

    def with_lines(self, at: int, lines: Sequence[str]) -> str:
        """Put lines behind the one that holds `at`."""
        end = self.line_end(at)
        return self.text[:end] + "".join(self.newline + line for line in lines) + self.text[end:]

    def without_lines(self, start: int, end: int) -> str:
        """Leave out the lines from one character to another."""
        first = self.text.rfind("\n", 0, start) + 1
        return self.text[:first] + self.text[self.line_end(end) :].removeprefix("\r").removeprefix("\n")

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
    for inner in node.value if isinstance(node, SequenceNode) else ():
        _refuse_twice(inner, seen)


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


Value = str | Sequence[Any] | Mapping[str, Any]
"""A text, a list, or a block of such values."""


class Begun(list[Any]):
    """The first entry of a list that will grow: on lines of its own, below comments."""

    def __init__(self, value: Value, comments: Sequence[str], *, braces: bool) -> None:
        super().__init__([value])
        self.comments, self.braces = comments, braces


# A block as long as that stands on one line, in braces, unless more lines will come to it.
_ONE_LINE = 80
_GROWS = "private"
# In double quotes these are written otherwise: YAML 1.1, 5.6, as the reader knows it.
_ESCAPES = {
    "\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r",
    "\t": "\\t", "\x85": "\\N", "\u2028": "\\L", "\u2029": "\\P",
}  # fmt: skip


def plain(value: Value) -> Any:
    """Return a value as it reads: texts, lists and dicts only."""
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return {key: plain(inner) for key, inner in value.items()}
    return [plain(inner) for inner in value]


def says(text: str, wanted: object, loader: Any = Loader) -> bool:
    """Tell whether a text can be read and says what was wanted."""
    try:
        read = yaml.load(text, Loader=loader)  # noqa: S506 (the base loader makes text, lists and dicts only)
    except (yaml.YAMLError, UnicodeEncodeError):
        return False
    return bool((read or {}) == (wanted or {}))


def word(text: str, *, inside: bool = False) -> str:
    """Write a text on one line, plain where that is safe (`inside`: between braces too), else in quotes.

    Raises StudioFault for a character that no text file may hold.
    """
    if found := unfit_for_text(text):
        raise StudioFault(f"this text holds a character that can't be shown ({named(found[0])}); take it out")
    bare = [] if text.lower() in NOTHING else [text]
    for tried in (*bare, in_quotes(text, "'")) if "\n" not in text else ():
        ways: list[tuple[str, object]] = [(f"k: {tried}", {"k": text})]
        if inside:  # what reads in braces needn't read without them: a hyphen alone is an entry there
            ways += [(f"{{k: {tried}, end: x}}", {"k": text, "end": "x"}), (f"[{tried}]", [text])]
        # PyYAML's two loaders differ in what they take for plain; what is written suits either.
        if all(says(made, wanted, loader) for made, wanted in ways for loader in (Loader, yaml.BaseLoader)):
            return tried
    return in_quotes(text, '"')


def in_quotes(text: str, sign: str) -> str:
    """Write a text in quotes; in double ones it stays on one line whatever it holds."""
    if sign == '"':
        return f'"{"".join(_ESCAPES.get(letter, letter) for letter in text)}"'
    return "'" + text.replace("'", "''") + "'"


def flow(value: Value) -> str:
    """Write a value on one line, blocks in braces and lists in brackets."""
    if isinstance(value, str):
        return word(value, inside=True)
    if isinstance(value, Mapping):
        return (
            "{" + ", ".join(f"{word(key, inside=True)}: {flow(inner)}" for key, inner in value.items()) + "}"
        )
    return "[" + ", ".join(map(flow, value)) + "]"


def literal(text: str, step: int) -> list[str] | None:
    """Write a text over several lines as `|` and its lines; None where only quotes can say it."""
    body = text.removesuffix("\n")
    if not body.strip() or "\n" not in text or body.endswith("\n") or re.search("[\r\x85\u2028\u2029]", text):
        return None
    if unfit_for_text(text) or re.search(r"^ *\t", body, re.MULTILINE):
        return None  # `word` says so; and a tab before a line's text is what the reader calls a slip
    start = str(step) if body[0] in " \n" else ""
    end = "" if text.endswith("\n") else "-"
    return [f"|{start}{end}", *indented(body.split("\n"), step)]


def indented(lines: Iterable[str], step: int) -> list[str]:
    """Move lines to the right; empty ones stay empty."""
    return [" " * step + line if line else line for line in lines]


def block(value: Value, step: int, dash: int) -> list[str]:
    """Write what stands under a key: the lines of a block or a list, `dash` columns to the right."""
    if isinstance(value, Mapping):
        return indented(
            (line for key, inner in value.items() for line in entry(key, inner, step, dash)), step
        )
    begun = value if isinstance(value, Begun) else None
    items = (item(inner, step, dash, one_line=begun is not None and begun.braces) for inner in value)
    return indented([*(begun.comments if begun else ()), *chain.from_iterable(items)], dash)


def entry(key: str, value: Value | None, step: int, dash: int) -> list[str]:
    """Write a key with its value; None leaves it empty."""
    head = f"{word(key, inside=True)}:"
    if value is None:
        return [head]
    if isinstance(value, str):
        first, *more = literal(value, step) or [word(value)]
        return [f"{head} {first}", *more]
    if key != _GROWS and _is_short(value):
        return [f"{head} {flow(value)}"]
    return [head, *block(value, step, dash)]


def item(value: Value, step: int, dash: int, *, one_line: bool = False) -> list[str]:
    """Write an entry of a list with its hyphen; `one_line` for a block in braces."""
    if isinstance(value, str):
        lines = literal(value, 2) or [word(value)]
        return [f"- {lines[0]}", *lines[1:]]
    if not isinstance(value, Mapping) or not value or (one_line and _is_short(value)):
        return [f"- {flow(value)}"]
    lines = [line for key, inner in value.items() for line in entry(key, inner, step, dash)]
    return [f"- {lines[0]}", *indented(lines[1:], 2)]


def _is_short(value: Value) -> bool:
    """Tell whether a block or list holds only texts of one line, and not many."""
    inner = value.values() if isinstance(value, Mapping) else value
    return not value or (
        not isinstance(value, Begun)
        and all(isinstance(value, str) and "\n" not in value for value in inner)
        and len(flow(value)) <= _ONE_LINE
    )
