"""Put an entry into a list of a YAML file, or take one out, and leave every other byte as it stands."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import yaml
from yaml.nodes import Node, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.edit import (
    checked,
    compose_text,
    end_of,
    find_node,
    line_after,
    newline_of,
    over,
    plain_values,
)

_IN_BRACKETS = "{}: write `{}:` with a hyphen and a line of its own for each entry first, not in brackets"


def append_entry(text: str, shown: str, key: str, lines: Sequence[str], entry: Mapping[str, Any]) -> str:
    """Return `text` with one more entry at the end of the list under `key`.

    `lines` are the entry's lines without indentation and hyphen; a comment line may stand before the first.
    """
    node = find_node(compose_text(text, shown), [key])
    wanted: Any = plain_values(text, shown) or {}
    had = wanted.get(key)
    wanted[key] = [*(had if isinstance(had, list) else []), dict(entry)]
    if isinstance(node, SequenceNode) and node.value and not node.flow_style:
        changed = line_after(
            text, _content_end(text, node.value[-1]), _entry(text, lines, node.start_mark.column)
        )
    elif isinstance(node, SequenceNode) and node.value:
        raise StudioFault(_IN_BRACKETS.format(shown, key))
    elif node is not None:  # `queue:`, `queue: []` or `queue: ~`
        bare = text[: node.start_mark.index].rstrip(" ")
        changed = line_after(bare + text[node.end_mark.index :], len(bare), _entry(text, lines, 2))
    else:
        gap = "" if not text or text.endswith("\n") else newline_of(text)
        changed = f"{text}{gap}{key}:{newline_of(text)}{_entry(text, lines, 2)}{newline_of(text)}"
    return checked(changed, wanted, shown)


def _entry(text: str, lines: Sequence[str], column: int) -> str:
    """Indent an entry's lines and set its hyphen."""
    margin, first = " " * column, next(line for line in lines if not line.startswith("#"))
    indented = [
        f"{margin}{line}" if line.startswith("#") else f"{margin}{'- ' if line is first else '  '}{line}"
        for line in lines
    ]
    return newline_of(text).join(indented)


def remove_entry(text: str, shown: str, key: str, number: int) -> tuple[str, list[str]]:
    """Return `text` without one entry of the list under `key` (from 0), and the comments that stood in it."""
    node = find_node(compose_text(text, shown), [key])
    wanted = plain_values(text, shown)
    del wanted[key][number]
    if not isinstance(node, SequenceNode) or node.flow_style:
        raise StudioFault(_IN_BRACKETS.format(shown, key))
    item = node.value[number]
    start = text.rindex("-", 0, item.start_mark.index)
    first = text.rfind("\n", 0, start) + 1
    end = re.compile(r"[^\r\n]*\r?\n?").match(text, _content_end(text, item)).end()  # type: ignore[union-attr]
    wanted[key] = wanted[key] or ""
    return checked(text[:first] + text[end:], wanted, shown), _comments(text[first:end])


def _comments(part: str) -> list[str]:
    """Return the comments of a part of a file, each with its #."""
    masked = list(part)
    for token in yaml.scan(part, Loader=yaml.BaseLoader):
        if isinstance(token, yaml.ScalarToken):
            for at in range(token.start_mark.index, token.end_mark.index):
                masked[at] = "x" if masked[at] not in "\r\n" else masked[at]
    return [found.rstrip() for found in re.findall(r"#[^\r\n]*", "".join(masked))]


def _content_end(text: str, node: Node) -> int:
    """Return where a node's last character stands, comments and blank lines after it left out."""
    at = end_of(node)
    while at > 0 and text[at - 1] in "\r\n":  # a text over several lines ends behind its line break
        at -= 1
    return at


def append_inline(text: str, shown: str, path: Sequence[str], entry: str) -> str:
    """Put an entry that stands on one line behind the value at `path`, which becomes a list if it's none."""
    node = find_node(compose_text(text, shown), path)
    if node is None:
        raise StudioFault(f"{shown}: there is no `{path[-1]}:` to add {entry} to; write it by hand")
    start, end = int(node.start_mark.index), end_of(node)
    margin, listed = " " * int(node.start_mark.column), isinstance(node, SequenceNode)
    if getattr(node, "flow_style", True):
        inner = text[start + 1 : end - 1] if listed else text[start:end]
        return over(text, node, f"[{inner}, {entry}]")
    if not listed:  # a block of lines: it moves to the right, behind a hyphen
        inner = text[start:end].replace("\n", "\n  ")
        text, end = f"{text[:start]}- {inner}{text[end:]}", start + 2 + len(inner)
    return line_after(text, end, f"{margin}- {entry}")
