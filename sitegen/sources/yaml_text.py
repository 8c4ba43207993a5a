"""YAML as an artist writes it: every scalar is text, and every value knows its line.

The base loader types nothing, so `title: No`, `number: 2026-07` and `price: 480.10` arrive as typed;
the model decides what they are. What YAML would swallow in silence (a key given twice, a value that
starts with `*`, `&` or `!`) is a complaint here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

import yaml
from yaml.events import AliasEvent, CollectionEndEvent, CollectionStartEvent, NodeEvent
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.text import Notebook
from sitegen.studio.text import named, short, unfit_for_text

_TEXT_TAG = "tag:yaml.org,2002:str"
_TAGS = {ScalarNode: _TEXT_TAG, SequenceNode: "tag:yaml.org,2002:seq", MappingNode: "tag:yaml.org,2002:map"}
_Base: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


class Loader(_Base):  # type: ignore[misc]  # the C loader has no types
    """The base loader, told at once what it would find out slowly: a scalar is text."""

    def resolve(self, kind: type[Node], value: object, implicit: object) -> str:
        """Return the tag of a node that has none written."""
        return _TAGS[kind]


# What stands for "nothing here" when it isn't in quotes.
NOTHING = frozenset({"", "~", "null"})


# The deepest block of a studio lies five levels down; the reader's recursion is far from its limit here.
DEEPEST = 100
# Each step of a block stands at least one column further to the right.
_FAR_RIGHT = re.compile(rf"(?m)^[ ?:-]{{{DEEPEST}}}")


@dataclass
class Written:
    """A YAML file taken in: plain values, and the nodes to find their lines by."""

    value: dict[str, Any]
    root: Node | None
    lines: list[str]

    def line(self, path: Sequence[str | int]) -> int:
        """Return the line (from 1) of the deepest part of `path` that the file holds."""
        node, line = self.root, int(self.root.start_mark.line) + 1 if self.root is not None else 0
        for part in path:
            found = step_into(node, part)
            if found is None:
                break
            line, node = found
        return line

    def line_reading(self, text: str, path: Sequence[str | int]) -> int:
        """Return the line, at or below that of `path`, in which `text` stands."""
        first = self.line(path)
        below = enumerate(self.lines[first - 1 :], start=first)
        return next((number for number, line in below if text in line), first)


def texts_in(value: Any, path: Sequence[str | int] = ()) -> Iterator[tuple[list[str | int], str]]:
    """Yield every text of plain values with the path that leads to it."""
    if isinstance(value, str):
        yield [*path], value
        return
    for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
        yield from texts_in(inner, [*path, part])


def read_yaml(text: str, notes: Notebook) -> Written | None:
    """Take in a file that holds `key: value` lines; None after complaints that leave nothing to check."""
    text, tabs = _without_tabs(text, notes)
    try:
        root = composed(text)
        _check_signs(text, notes)
        value = _YamlReader(notes).mapping(root) if isinstance(root, MappingNode) else {}
    except yaml.MarkedYAMLError as fault:
        if not tabs:
            _explain(fault, text, notes)
        return None
    except (yaml.YAMLError, ValueError) as fault:
        notes.error(0, f"the file can't be understood ({str(fault).splitlines()[0]})")
        return None
    except RecursionError:
        notes.error(0, "the lines or brackets are nested too deeply to be meant; was a bracket never closed?")
        return None
    if root is not None and not isinstance(root, MappingNode):
        notes.error(1, "the file must consist of lines like `title: …`, each a word, a colon and a value")
        return None
    return Written(value, root, text.splitlines())


def composed(text: str) -> Node | None:
    """Return the outermost node of a text. Raises YAMLError, RecursionError if it's nested too deeply."""
    # Many brackets, or text far to the right: blocks may be nested deeply.
    if text.count("[") + text.count("{") > DEEPEST or _FAR_RIGHT.search(text):
        steps = (
            isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
            for event in yaml.parse(text, Loader=_Base)
        )
        if max(accumulate(steps), default=0) > DEEPEST:
            raise RecursionError  # before the composer meets it, which has no limit to stop at
    root: Node | None = yaml.compose(text, Loader=Loader)
    return root


_TAB = "there is a tab before the text; use spaces instead (two for each step to the right)"


def _without_tabs(text: str, notes: Notebook) -> tuple[str, bool]:
    """Complain of every tab before a text, and put spaces there so that the rest can still be read."""
    lines, found = text.splitlines(keepends=True), False
    for at, line in enumerate(lines) if "\t" in text else ():
        indent = line[: len(line) - len(line.lstrip(" \t"))]
        if "\t" in indent and line.strip():
            found = True
            notes.error(at + 1, _TAB)
            lines[at] = indent.replace("\t", "  ") + line[len(indent) :]
    return "".join(lines), found


class _YamlReader:
    """Turns nodes into dicts, lists and text, complaining on the way."""

    def __init__(self, notes: Notebook) -> None:
        self.notes = notes
        self.seen: set[int] = set()

    def any(self, node: Node) -> Any:
        if id(node) in self.seen:
            return None  # a name used again: `_check_signs` has told of it
        self.seen.add(id(node))
        if node.tag != _TAGS[type(node)]:
            self.notes.error(node.start_mark.line + 1, _NEEDS_QUOTES.format("!"))
            return None
        if isinstance(node, MappingNode):
            return self.mapping(node)
        if isinstance(node, SequenceNode):
            return self.entries(node)
        return self.scalar(node)

    def entries(self, node: SequenceNode) -> list[Any]:
        """Read a list. An entry without a value is told of and taken out, so that places still agree."""
        found = []
        for item in node.value:
            before, known = len(self.notes.complaints), id(item) in self.seen
            value = self.any(item)
            if value is not None:
                found.append((item, value))
            elif len(self.notes.complaints) == before and not known:
                self.notes.error(
                    item.start_mark.line + 1,
                    "this entry of the list is empty; write something after the hyphen, or take it out",
                )
        node.value[:] = [item for item, _ in found]
        return [value for _, value in found]

    def mapping(self, node: MappingNode) -> dict[str, Any]:
        values: dict[str, Any] = {}
        first_line: dict[str, int] = {}
        for key_node, value_node in node.value:
            line = key_node.start_mark.line + 1
            if not isinstance(key_node, ScalarNode):
                self.notes.error(line, "a line must start with a plain word and a colon")
                continue
            key = short(key_node.value)
            if key_node.tag != _TEXT_TAG:
                self.notes.error(line, _NEEDS_QUOTES.format("!"))
            elif key in first_line:
                first = first_line[key]
                self.notes.error(line, f"'{key}' stands twice, here and in line {first}; keep one of them")
            else:
                first_line[key] = line
                value = self.any(value_node)
                if value is not None:
                    values[key] = value
        return values

    def scalar(self, node: Node) -> str | None:
        text = str(node.value)
        if unfit := unfit_for_text(text):
            said = f"this text holds a character that can't be shown ({named(unfit[0])}); take it out"
            self.notes.error(node.start_mark.line + 1, said)
            return None
        return None if text in NOTHING and not getattr(node, "style", None) else text


_NEEDS_QUOTES = "a text that starts with {0} must stand in quotes, like '{0} and the rest'"


def _check_signs(text: str, notes: Notebook) -> None:
    """Complain of each text that starts with & or *: YAML takes the word for a name, and it would be lost."""
    for event in yaml.parse(text, Loader=_Base) if re.search("[&*]", text) else ():
        if isinstance(event, NodeEvent) and event.anchor is not None:
            sign = "*" if isinstance(event, AliasEvent) else "&"
            line = event.start_mark.line + 1 if event.start_mark else 0
            notes.error(line, _NEEDS_QUOTES.format(sign))


def step_into(node: Node | None, part: str | int) -> tuple[int, Node] | None:
    """Return the line and the node of an entry; None where there's none."""
    if isinstance(node, MappingNode):
        for key, value in node.value:
            if key.value == part:
                return int(key.start_mark.line) + 1, value
    if isinstance(node, SequenceNode) and isinstance(part, int) and part < len(node.value):
        item = node.value[part]
        return int(item.start_mark.line) + 1, item
    return None


def _explain(fault: yaml.MarkedYAMLError, text: str, notes: Notebook) -> None:
    mark = fault.problem_mark or fault.context_mark
    line = mark.line + 1 if mark else 0
    lines = text.splitlines()
    raw = lines[line - 1] if 0 < line <= len(lines) else ""
    shown, problem = short(raw), str(fault.problem or fault.context or "")
    opened = fault.context_mark
    if "unexpected end of stream" in problem and opened and opened.line < len(lines):
        notes.error(opened.line + 1, f"a quote is opened here and never closed: {short(lines[opened.line])}")
    elif "mapping values are not allowed" in problem and shown.count(": ") < 2 and line > 1:
        notes.error(
            line - 1,
            f"the line lacks its colon: word, colon, space, value (it reads: {short(lines[line - 2])})",
        )
    else:
        meant = next((meant for said, meant in _PLAIN_WORDS.items() if said in problem), None)
        meant = _TAB if mark and raw[mark.column :].startswith("\t") else meant
        where = f" (it reads: {shown})" if shown else ""
        notes.error(line, (meant or f"the line can't be understood ({problem})") + where)


# What the YAML library says, and what an artist can do about it.
_PLAIN_WORDS = {
    "mapping values are not allowed": "a colon and a space stand inside the text; put the text in quotes",
    "cannot start any token": "the text starts with a sign that means something else here; put it in quotes",
    "maximum nesting depth": "the lines or brackets are nested too deeply; was a bracket never closed?",
    "undefined alias": "a text that starts with * must stand in quotes",
    "found another document": "a line of --- splits the file in two; take it out",
    "expected a single document": "a line of --- splits the file in two; take it out",
    "could not find expected ':'": "this line, or the one above, lacks its colon: word, colon, space, value",
    "did not find expected key": "the line doesn't stand straight under the others, or a quote is left open",
    "did not find expected '-'": "the line doesn't stand straight under the other entries of the list",
    "did not find expected ','": "a bracket opened before this line was never closed",
    "block sequence entries": "a list starts on a line of its own, each entry with a hyphen and a space",
    "unknown escape character": "a backslash in double quotes means something else; use single quotes",
}
