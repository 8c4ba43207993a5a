"""Add an entry to a list of a YAML file, or move one, and leave every other byte as it stands."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import yaml
from yaml.nodes import Node, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.edit import Names, first_good, item_spans, put, steps, with_value
from sitegen.sources.yaml_nodes import (
    Path,
    column_of,
    compose_text,
    end_of,
    find_node,
    in_braces,
    is_nothing,
    lines_after,
    plain_values,
    start_of,
    value_at,
)  # fmt: skip
from sitegen.sources.yaml_words import Value, flow, indented, item, plain


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
