"""Put a line into a YAML file, or take an entry of a list out, and leave every other byte as it stands.

Every change is checked by reading the result back: if it doesn't say exactly what was wanted, nothing is
changed and the artist is asked to do it by hand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.edit import compose_text, find_node, plain_values, quoted_if_needed, replace_value

_IN_BRACKETS = "{}: write `{}:` with a hyphen and a line of its own for each entry first, not in brackets"
Value = str | Mapping[str, str]
"""A text, or a block of texts written on one line as `{sculpting: 3.5}`."""
Path = Sequence[str | int]


def put_value(text: str, shown: str, path: Path, value: Value) -> str:
    """Return `text` with `value` at `path`: over what stands there, or on a line of its own.

    The block that holds it must be there, save that a missing or empty one is made for its last key.
    Raises StudioFault if that can't be done safely.
    """
    if isinstance(value, Mapping):
        for key, word in value.items():
            text = put_value(text, shown, [*path, key], word)
        return text
    node = find_node(compose_text(text, shown), path)
    if isinstance(node, ScalarNode) and (node.value or node.start_mark.index != node.end_mark.index):
        return _replaced(text, shown, path, value)
    changed, wanted = _with_line(text, shown, path, value), plain_values(text, shown)
    _put(wanted, path, value)
    return checked(changed, wanted, shown)


def _replaced(text: str, shown: str, path: Path, value: str) -> str:
    """Replace a scalar; a plain one takes quotes where the new value needs them."""
    node = find_node(compose_text(text, shown), path)
    plain = isinstance(node, ScalarNode) and node.style is None
    if plain and flow_word(value) != value:
        wanted = plain_values(text, shown)
        _put(wanted, path, value)
        start, end = node.start_mark.index, node.end_mark.index  # type: ignore[union-attr]
        if "\n" not in text[start:end]:
            return checked(text[:start] + flow_word(value) + text[end:], wanted, shown)
    return replace_value(text, shown, path, value)


def _with_line(text: str, shown: str, path: Path, value: str) -> str:
    root = compose_text(text, shown)
    node, key = find_node(root, path[:-1]), str(path[-1])
    entry = f"{key}: {flow_word(value)}"
    there = find_node(root, path)
    if isinstance(there, ScalarNode):  # the key is there with nothing behind it
        at = int(there.start_mark.index)
        return text[:at] + (" " if text[at - 1] == ":" else "") + flow_word(value) + text[at:]
    if isinstance(node, MappingNode):
        return _into_flow(text, node, entry) if node.flow_style else _into_block(text, node, entry)
    if isinstance(node, ScalarNode) and node.start_mark.index == node.end_mark.index:
        at = int(node.start_mark.index)
        return text[:at] + (" " if text[at - 1] == ":" else "") + f"{{{entry}}}" + text[at:]
    if node is None and len(path) > 1:
        above = find_node(root, path[:-2])
        if isinstance(above, MappingNode):
            block = f"{path[-2]}: {{{entry}}}"
            return _into_flow(text, above, block) if above.flow_style else _into_block(text, above, block)
    raise StudioFault(f"{shown}: there is no place for `{entry}`; please write it by hand")


def _into_flow(text: str, node: MappingNode, entry: str) -> str:
    """Put an entry behind the last one of `{a: 1, b: 2}`."""
    if not node.value:
        at = int(node.start_mark.index) + 1
        return text[:at] + entry + text[at:]
    at = end_of(node.value[-1][1])
    return text[:at] + f", {entry}" + text[at:]


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
    beside = single[near[0]] if near else None
    if beside is None:
        at = int(node.value[0][0].start_mark.index)
        return text[:at] + entry + newline_of(text) + columns + text[at:]
    at = line_end(text, int(beside.end_mark.index))
    return _line_after(text, at, columns + entry)


def _line_after(text: str, at: int, line: str) -> str:
    """Put a line behind the line that ends at `at`, where its line break starts or the file ends."""
    return text[:at] + newline_of(text) + line + text[at:]


def append_entry(text: str, shown: str, key: str, lines: Sequence[str], entry: Mapping[str, Any]) -> str:
    """Return `text` with one more entry at the end of the list under `key`.

    `lines` are the entry's lines without indentation and hyphen; a comment line may stand before the first.
    """
    root = compose_text(text, shown)
    wanted: Any = plain_values(text, shown) or {}
    had = wanted.get(key)
    wanted[key] = [*(had if isinstance(had, list) else []), dict(entry)]
    node = find_node(root, [key])
    if isinstance(node, SequenceNode) and node.value and not node.flow_style:
        at = line_end(text, _content_end(text, node.value[-1]))
        changed = _line_after(text, at, _entry(text, lines, node.start_mark.column))
    elif isinstance(node, SequenceNode) and node.value:
        raise StudioFault(_IN_BRACKETS.format(shown, key))
    elif node is not None:
        changed = _first_entry(text, node, lines)
    else:
        gap = "" if not text or text.endswith("\n") else newline_of(text)
        changed = f"{text}{gap}{key}:{newline_of(text)}{_entry(text, lines, 2)}{newline_of(text)}"
    return checked(changed, wanted, shown)


def _first_entry(text: str, node: Node, lines: Sequence[str]) -> str:
    """Put the first entry below `queue:`, `queue: []` or `queue: ~`."""
    bare = text[: node.start_mark.index].rstrip(" ") + text[node.end_mark.index :]
    at = line_end(bare, len(text[: node.start_mark.index].rstrip(" ")))
    return _line_after(bare, at, _entry(text, lines, 2))


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
    wanted: Any = plain_values(text, shown)
    del wanted[key][number]
    if not isinstance(node, SequenceNode) or node.flow_style:
        raise StudioFault(_IN_BRACKETS.format(shown, key))
    item = node.value[number]
    start = text.rindex("-", 0, item.start_mark.index)
    first = text.rfind("\n", 0, start) + 1
    end = line_end(text, _content_end(text, item))
    end += len(re.match(r"\r?\n?", text[end:])[0])  # type: ignore[index]
    changed = text[:first] + text[end:]
    if not wanted[key]:
        wanted[key] = ""
    return checked(changed, wanted, shown), _comments(text[first:end])


def _comments(part: str) -> list[str]:
    """Return the comments of a part of a file, each with its #."""
    masked = list(part)
    for token in yaml.scan(part, Loader=yaml.BaseLoader):
        if isinstance(token, yaml.ScalarToken):
            span = range(token.start_mark.index, token.end_mark.index)
            for at in span:
                masked[at] = "x" if masked[at] not in "\r\n" else masked[at]
    return [found.rstrip() for found in re.findall(r"#[^\r\n]*", "".join(masked))]


def flow_word(value: str) -> str:
    """Write a text so that it reads the same inside and outside of braces."""
    word = quoted_if_needed(value)
    if word != value:
        return word
    try:
        same = plain_values(f"{{key: {value}, end: x}}\n", "") == {"key": value, "end": "x"}
    except StudioFault:
        same = False
    return value if same else "'" + value.replace("'", "''") + "'"


def newline_of(text: str) -> str:
    """Return how the file ends its lines."""
    return "\r\n" if "\r\n" in text else "\n"


def line_end(text: str, at: int) -> int:
    """Return where the line that holds `at` ends: before its line break, or at the end of the file."""
    found = re.compile(r"\r?\n|\r?\Z").search(text, at)
    return found.start() if found else len(text)


def _content_end(text: str, node: Node) -> int:
    """Return where a node's last character stands, comments and blank lines after it left out."""
    at = end_of(node)
    while at > 0 and text[at - 1] in "\r\n":  # a text over several lines ends behind its line break
        at -= 1
    return at


def end_of(node: Node) -> int:
    """Return where a node ends; of a block, where its last value does."""
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        key, value = node.value[-1]
        return max(int(key.end_mark.index), end_of(value))
    if isinstance(node, SequenceNode) and not node.flow_style and node.value:
        return end_of(node.value[-1])
    return int(node.end_mark.index)


def _put(values: Any, path: Path, value: str) -> None:
    for part in path[:-1]:
        if isinstance(values, dict) and not values.get(str(part)):
            values[str(part)] = {}
        values = values[part]
    values[path[-1]] = value


def checked(changed: str, wanted: object, shown: str, cure: str = "please edit it by hand") -> str:
    """Return the changed text if it says exactly what was wanted. Raises StudioFault, with what to do."""
    try:
        says = plain_values(changed, shown)
    except StudioFault:
        says = None
    if says != wanted:
        raise StudioFault(f"{shown} can't be changed safely here; {cure}")
    return changed
