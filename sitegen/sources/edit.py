"""Change a YAML file at one place, and leave every other byte as it stands.

`put` writes a value at a path, `take_out` takes one away; `append` adds an entry, `move` moves one. Comments,
order, quoting, line endings and blank lines survive. Every change is checked by reading the result back: if
it doesn't say exactly what was wanted, nothing is changed and the artist is asked to do it by hand.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from pathlib import Path as File
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.text import rewrite
from sitegen.sources.yaml_nodes import (
    Path,
    column_of,
    compose_text,
    end_of,
    find_node,
    in_braces,
    is_nothing,
    line_end,
    lines_after,
    newline_of,
    plain_values,
    start_of,
    value_at,
)  # fmt: skip
from sitegen.sources.yaml_text import NOTHING
from sitegen.sources.yaml_words import (
    Value,
    entry,
    flow,
    in_quotes,
    indented,
    item,
    literal,
    plain,
    says,
    word,
)

Names = Callable[[Path], Sequence[str]]
"""Returns the names that may stand beside the one at a path, in the order in which a person reads them."""


def set_value(file: File, shown: str, path: Path, value: str) -> bool:
    """Write `value` at `path`; False when it says so already.

    `shown` is the file's name in messages. Raises StudioFault if that can't be done safely.
    """
    return rewrite(file, lambda text: put(text, shown, path, value))


def put(text: str, shown: str, path: Path, value: Value, names: Names = lambda _: ()) -> str:
    """Return `text` with `value` at `path`: over what stands there, else where it belongs by `names`.

    Blocks that are missing or empty are made; of a block that's there only what differs changes. Raises
    StudioFault if that can't be done safely.
    """
    node = find_node(compose_text(text, shown), path)
    if isinstance(value, Mapping) and isinstance(node, MappingNode):
        for gone in [key.value for key, _ in node.value if key.value not in value]:
            text = take_out(text, shown, [*path, gone])
        for key, inner in value.items():
            text = put(text, shown, [*path, key], inner, names)
        return text
    had = plain_values(text, shown) or {}
    if node is not None and not is_nothing(node) and value_at(had, path) == plain(value):
        return text
    wanted = with_value(had, shown, path, plain(value))
    place = f"{shown}, line {node.start_mark.line + 1}" if node is not None else shown
    return first_good(_puts(text, compose_text(text, shown), path, value, names), [wanted], place)


def take_out(text: str, shown: str, path: Path) -> str:
    """Return `text` without what stands at `path`; the same text if nothing does.

    A name with a comment of its own above stays without its value, so that it can be filled in again there.
    Raises StudioFault if that can't be done safely.
    """
    root = compose_text(text, shown)
    node, holder = find_node(root, path), find_node(root, path[:-1])
    if node is None or holder is None or (is_nothing(node) and isinstance(holder, MappingNode)):
        return text
    made = _out_of_braces if getattr(holder, "flow_style", False) else _out_of_block
    return first_good(made(text, holder, path[-1]), _without(plain_values(text, shown), path), shown)


def first_good(made: Iterable[str], wanted: Sequence[object], shown: str) -> str:
    """Return the first text that says exactly what was wanted. Raises StudioFault, with what to do."""
    for text in made:
        if any(says(text, one) for one in wanted):
            return text
    raise StudioFault(f"{shown} can't be changed safely here; please edit it by hand")


def with_value(values: Any, shown: str, path: Path, value: Any) -> Any:
    """Return the values with one more at a path. Raises StudioFault if there's no place for it."""
    made = deepcopy(values)
    inner = made
    try:
        for part in path[:-1]:
            if isinstance(inner, dict) and inner.get(str(part), "") in tuple(NOTHING):
                inner[str(part)] = {}
            inner = inner[part]
        inner[path[-1]] = value
    except (LookupError, TypeError):
        raise StudioFault(f"{shown}: there is no place for `{path[-1]}`; please write it by hand") from None
    return made


def _without(values: Any, path: Path) -> list[Any]:
    """Return the ways in which values may say nothing at a path: no name, an empty one, an empty block."""
    gone = deepcopy(values)
    del value_at(gone, path[:-1])[path[-1]]
    ways = [gone]
    if len(path) > 1 and not value_at(gone, path[:-1]):
        ways.append(with_value(values, "", path[:-1], ""))
    return ways if isinstance(path[-1], int) else [*ways, with_value(values, "", path, "")]


def _puts(text: str, root: Node | None, path: Path, value: Value | None, names: Names) -> Iterator[str]:
    """Yield texts with a value at a path, the best looking first."""
    depth = next(at for at in range(len(path), -1, -1) if not at or find_node(root, path[:at]) is not None)
    node, rest = find_node(root, path[:depth]), [str(part) for part in path[depth:]]
    if isinstance(node, MappingNode) and rest:
        yield from _inserted(text, root, node, rest[0], _nested(rest[1:], value), names(path[: depth + 1]))
    elif depth and node is not None and (is_nothing(node) or not rest):
        yield from over(text, root, path[:depth], _nested(rest, value))
    elif not depth and (node is None or is_nothing(node)):
        gap = "" if not text or text.endswith("\n") else newline_of(text)
        lines = entry(rest[0], _nested(rest[1:], value), *steps(None))
        yield text + gap + newline_of(text).join([*lines, ""])


def _nested(path: Sequence[str], value: Value | None) -> Value | None:
    for part in reversed(path):
        value = {part: value}
    return value


def steps(root: Node | None) -> tuple[int, int]:
    """Return by how many columns a file moves its inner blocks, and its lists, to the right."""
    found = {MappingNode: 2, SequenceNode: 2}
    for key, value in root.value if isinstance(root, MappingNode) else ():
        if type(value) in found and not value.flow_style and value.value:
            found[type(value)] = column_of(value) - int(key.start_mark.column)
    return found[MappingNode], found[SequenceNode]


def over(text: str, root: Node | None, path: Path, value: Value | None) -> Iterator[str]:
    """Yield texts with a value written over the one at a path, its comment kept."""
    node, holder = find_node(root, path), find_node(root, path[:-1])
    if node is None or holder is None:
        return
    inside, newline, (step, dash) = in_braces(root, path), newline_of(text), steps(root)
    head, comment, tail = _around(text, node, inside=inside)
    lines: Sequence[str] = []
    if isinstance(value, str):
        lines = literal(value, step) or []
    elif isinstance(holder, MappingNode) and is_nothing(node):
        lines = entry(str(path[-1]), value, step, dash)
        lines = ["", *lines[1:]] if lines[1:] else []
    if lines and not inside:
        more = "".join(newline + line for line in indented(lines[1:], column_of(holder)))
        yield (head + lines[0] if lines[0] else head.rstrip(" ")) + comment + more + tail
    if not isinstance(value, str):
        yield head + ("" if value is None else flow(value)) + comment + tail
        return
    if isinstance(node, ScalarNode) and node.style in {"'", '"'} and "\n" not in value:
        yield head + in_quotes(value, node.style) + comment + tail
    yield head + word(value, inside=inside) + comment + tail


def _around(text: str, node: Node, *, inside: bool) -> tuple[str, str, str]:
    """Return what stands before a value, the comment on its line, and what stands after both."""
    start, end = start_of(node), end_of(text, node)
    gap = " " if start == end and text[start - 1 : start] in {":", "-"} else ""
    if inside:
        return text[:start] + gap, "", text[end:]
    if isinstance(node, ScalarNode) and node.style in {"|", ">"}:
        header = re.compile(r"[|>][0-9+-]*([^\r\n]*)").match(text, start)
        return text[:start], header[1] if header else "", text[end:]
    return text[:start] + gap, text[end : line_end(text, end)], text[line_end(text, end) :]


def _inserted(
    text: str, root: Node | None, node: MappingNode, key: str, value: Value | None, order: Sequence[str]
) -> Iterator[str]:
    """Yield texts with one more entry in a block: behind the one that stands before it in the order."""
    before = order[: order.index(key)] if key in order else [one.value for one, _ in node.value]
    known = {one.value: inner for one, inner in node.value}
    last = next((known[name] for name in reversed(before) if name in known), None)
    first = node.value[0][0].start_mark.index if node.value else start_of(node) + 1
    line = f"{word(key, inside=True)}: {flow(value or '')}"
    if node.flow_style:
        at = first if last is None else end_of(text, last)
        yield text[:at] + (line + ", " * bool(node.value) if last is None else f", {line}") + text[at:]
        return
    for lines in (entry(key, value, *steps(root)), [line]):
        columns, newline = " " * column_of(node), newline_of(text)
        if last is None:
            yield text[:first] + "".join(one + newline + columns for one in lines) + text[first:]
        else:
            yield lines_after(
                text, _below_example(text, end_of(text, last), key), indented(lines, len(columns))
            )


def _below_example(text: str, at: int, key: str) -> int:
    """Return where the example of a key ends that stands as a comment below `at`; else `at`."""
    below = re.compile(r"[^\r\n]*((?:\r?\n[ \t]*(?:#[^\r\n]*)?(?=\r?\n|\Z))*)").match(text, at)
    example = rf"(?m)^[ \t]*#( *){re.escape(key)}:[^\r\n]*(?:\r?\n[ \t]*#\1 +[^\r\n]*)*"
    found = re.search(example, below[1]) if below else None
    return below.start(1) + found.end() if below and found else at


def _out_of_braces(text: str, holder: Node, part: str | int) -> Iterator[str]:
    """Yield the text without an entry of `{a: 1, b: 2}` or `[a, b]`."""
    ends = [
        (start_of(one[0]), end_of(text, one[1]))
        if isinstance(one, tuple)
        else (start_of(one), end_of(text, one))
        for one in holder.value
    ]
    at = place_of(holder, part)
    start, end = ends[at]
    if at:
        between = text[ends[at - 1][1] : start]
        kept = between.replace(",", "", 1) if "#" in between else " " * between.startswith(" ")
        yield text[: ends[at - 1][1]] + kept + text[end:]
    else:
        yield text[:start] + text[ends[1][0] if len(ends) > 1 else end :]


def place_of(holder: Node, part: str | int) -> int:
    """Return at which place a part of a block or list stands, from 0."""
    return part if isinstance(part, int) else [key.value for key, _ in holder.value].index(part)


def _out_of_block(text: str, holder: Node, part: str | int) -> Iterator[str]:
    """Yield the text without an entry that stands on lines of its own."""
    if isinstance(holder, SequenceNode):
        start, end = item_spans(text, holder)[place_of(holder, part)]
        yield _without_lines(text, start, end)
        return
    at = place_of(holder, part)
    (key, value), alone = holder.value[at], len(holder.value) == 1
    start, end = start_of(key), end_of(text, value)
    line = text.rfind("\n", 0, start) + 1
    above = text[:line].rstrip("\r\n").rpartition("\n")[2].lstrip()
    if text[line:start].strip():  # behind a hyphen
        following = re.compile(r"[^\r\n]*\s*").match(text, end)
        yield text[:start] + ("{}" + text[end:] if alone else text[following.end() if following else end :])
    elif above.startswith("#"):
        _, comment, tail = _around(text, value, inside=False)
        yield text[: text.index(":", int(key.end_mark.index)) + 1] + comment + tail
    else:
        yield _without_lines(text, start, end)


def _without_lines(text: str, start: int, end: int) -> str:
    """Return the text without the lines from one character to another."""
    first = text.rfind("\n", 0, start) + 1
    after = re.compile(r"\r?\n|\Z").search(text, line_end(text, end))
    return text[:first] + text[after.end() if after else len(text) :]


def item_spans(text: str, node: SequenceNode) -> list[tuple[int, int]]:
    """Return from where to where each entry of a list reaches: with its hyphen and its line's comment."""
    if node.flow_style:
        return [(start_of(one), end_of(text, one)) for one in node.value]
    spans: list[tuple[int, int]] = []
    for one in node.value:
        hyphen = re.compile(rf"(?m)^ {{{column_of(node)}}}(?=-)").search(text, spans[-1][1] if spans else 0)
        start = hyphen.end() if spans and hyphen else start_of(node)
        spans.append((start, line_end(text, end_of(text, one))))
    return spans


def append(
    text: str, shown: str, path: Path, value: Value, names: Names = lambda _: (), comments: Sequence[str] = ()
) -> str:
    """Return `text` with one more entry at the end of the list at `path`; what is no list becomes one.

    `comments` are lines above it, each with its #. Raises StudioFault if that can't be done safely.
    """
    root, values = compose_text(text, shown), plain_values(text, shown) or {}
    node, had = find_node(root, path), value_at(values, path)
    earlier = [] if node is None or is_nothing(node) else had if isinstance(had, list) else [had]
    wanted = with_value(values, shown, path, [*earlier, plain(value)])
    if earlier:
        return first_good(_continued(text, root, path, value, comments), [wanted], shown)
    if in_braces(root, path):
        return put(text, shown, path, [value], names)
    placed = put(text, shown, path, "x", names)
    return first_good(_begun(placed, compose_text(placed, shown), path, value, comments), [wanted], shown)


def _begun(text: str, root: Node | None, path: Path, value: Value, comments: Sequence[str]) -> Iterator[str]:
    """Yield texts with the first entry of a list in the place of what stands there."""
    node, holder = find_node(root, path), find_node(root, path[:-1])
    if node is None or holder is None:
        return
    start, end = start_of(node), end_of(text, node)
    bare = text[:start].rstrip(" ")
    lines = [*comments, *item(value, *steps(root), one_line="private" in path)]
    yield lines_after(bare + text[end:], len(bare), indented(lines, column_of(holder) + steps(root)[1]))
    yield f"{text[:start]}[{flow(value)}]{text[end:]}"


def _continued(
    text: str, root: Node | None, path: Path, value: Value, comments: Sequence[str]
) -> Iterator[str]:
    """Yield texts with one more entry of a list, or a list of what stood there and one more."""
    node = find_node(root, path)
    if node is None:
        return
    start, end, listed = start_of(node), end_of(text, node), isinstance(node, SequenceNode)
    if getattr(node, "flow_style", True):
        inner = text[start + 1 : end_of(text, node.value[-1])] if listed else text[start:end]
        rest = text[end_of(text, node.value[-1]) :] if listed else f"]{text[end:]}"
        yield f"{text[:start]}[{inner}, {flow(value)}{rest}"
        return
    column = int(node.start_mark.column)
    if not listed:  # a block of lines: it moves to the right, behind a hyphen
        inner = re.sub(r"\n(?=[^\r\n])", "\n  ", text[start:end])
        text, end = f"{text[:start]}- {inner}{text[end:]}", start + 2 + len(inner)
    braces = not listed or getattr(node.value[-1], "flow_style", False)
    for lines in (item(value, *steps(root), one_line=braces), [f"- {flow(value)}"]):
        yield lines_after(text, end, indented([*comments, *lines], column))


def move(text: str, shown: str, path: Path, to: int) -> str:
    """Return `text` with the entry at `path` in another place of its list; what stands between stays."""
    node, at = find_node(compose_text(text, shown), path[:-1]), path[-1]
    if not isinstance(node, SequenceNode) or not isinstance(at, int) or max(at, to) >= len(node.value):
        raise StudioFault(f"{shown}: there is no such entry to move; look at the file and try again")
    places = list(range(len(node.value)))
    places.insert(to, places.pop(at))
    values, spans = plain_values(text, shown), item_spans(text, node)
    had = value_at(values, path[:-1])
    made, last = "", 0
    for (start, end), (taken, until) in zip(spans, (spans[place] for place in places), strict=True):
        made, last = made + text[last:start] + text[taken:until], end
    wanted = with_value(values, shown, path[:-1], [had[one] for one in places])
    return first_good([made + text[last:]], [wanted], shown)


def comments_of(text: str, shown: str, path: Path) -> list[str]:
    """Return the comments that stand in an entry of a list, each with its #."""
    node, at = find_node(compose_text(text, shown), path[:-1]), path[-1]
    if not isinstance(node, SequenceNode) or not isinstance(at, int):
        return []
    start, end = item_spans(text, node)[at]
    part = text[text.rfind("\n", 0, start) + 1 : end]
    masked = list(part)
    for token in yaml.scan(part, Loader=yaml.BaseLoader):
        if isinstance(token, yaml.ScalarToken):
            for place in range(token.start_mark.index, token.end_mark.index):
                masked[place] = "x" if masked[place] not in "\r\n" else masked[place]
    return [found.rstrip() for found in re.findall(r"#[^\r\n]*", "".join(masked))]
