"""Change a YAML file at one place, and leave every other byte as it stands.

`put` writes a value at a path, `take_out` takes one away; `append` adds an entry, `move` moves one. Comments,
order, quoting, line endings and blank lines survive. Every change is checked by reading the result back: if
it doesn't say exactly what was wanted, nothing is changed and the artist is asked to do it by hand.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from difflib import SequenceMatcher
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources import yaml_script
from sitegen.sources.text import StudioFault
from sitegen.sources.yaml_script import Begun, Path, Script, Value, is_flow, is_nothing, opened, start_of
from sitegen.sources.yaml_text import NOTHING, Loader

Names = Callable[[Path], Sequence[str]]
"""Returns the names that may stand beside the one at a path, in the order in which a person reads them."""


def put(text: str, shown: str, path: Path, value: Value, names: Names = lambda _: ()) -> str:
    """Return `text` with `value` at `path`: over what stands there, else where it belongs by `names`.

    Blocks that are missing or empty are made; of a block or list that's there only what differs changes.
    Raises StudioFault if that can't be done safely.
    """
    script = opened(text, shown)
    node, had = script.node(path), script.said(path)
    if isinstance(value, Mapping) and isinstance(node, MappingNode):
        for gone in [key.value for key, _ in node.value if key.value not in value]:
            text = take_out(text, shown, [*path, gone])
        for key, inner in value.items():
            text = put(text, shown, [*path, key], inner, names)
        return text
    if not isinstance(value, str | Mapping) and value and had and isinstance(node, SequenceNode):
        return _listed(text, shown, path, value, names)
    if node is not None and not is_nothing(node) and had == yaml_script.plain(value):
        return text
    place = f"{shown}, line {node.start_mark.line + 1}" if node is not None else shown
    return _first_good(
        _puts(script, path, value, names), [_with(script, path, yaml_script.plain(value))], place
    )


def _listed(text: str, shown: str, path: Path, wanted: Sequence[Value], names: Names) -> str:
    """Return the text with a list's entries as they are to be; those that stay keep their lines."""
    had = [json.dumps(yaml_script.plain(value)) for value in opened(text, shown).said(path)]
    new = [json.dumps(yaml_script.plain(value)) for value in wanted]
    for kind, start, end, first, last in reversed(SequenceMatcher(None, had, new).get_opcodes()):
        over = min(end - start, last - first) if kind != "equal" else end - start
        for number in reversed(range(start + over, end)):
            text = take_out(text, shown, [*path, number])
        for number in range(over):
            text = put(text, shown, [*path, start + number], wanted[first + number], names)
        for number in range(first + over, last):
            text = append(text, shown, path, wanted[number], names)
            length = len(opened(text, shown).said(path))
            text = move(text, shown, [*path, length - 1], start + number - first)
    return text


def take_out(text: str, shown: str, path: Path) -> str:
    """Return `text` without what stands at `path`; the same text if nothing does.

    A name with a comment of its own above stays without its value, so that it can be filled in again there.
    Raises StudioFault if that can't be done safely.
    """
    script, part = opened(text, shown), path[-1]
    node, holder = script.node(path), script.node(path[:-1])
    if not isinstance(holder, MappingNode | SequenceNode) or node is None:
        return text
    listed = isinstance(holder, SequenceNode)
    if is_nothing(node) and not listed:
        return text
    gone = deepcopy(script.values)
    inner = gone
    for step in path[:-1]:
        inner = inner[step]
    del inner[part]
    # It may say nothing in three ways: no name, an empty block around it, an empty one.
    ways = [gone, *([] if inner or len(path) == 1 else [_with(script, path[:-1], "")])]
    ways += [] if listed else [_with(script, path, "")]
    at = int(part) if listed else [key.value for key, _ in holder.value].index(part)
    if is_flow(holder):
        made = _out_of_braces(script, holder, at)
    elif listed:
        made = script.without_lines(*script.spans(holder)[at])
    else:
        made = _out_of_block(script, holder, at)
    return _first_good([made], ways, shown)


def _first_good(made: Iterable[str], wanted: Sequence[object], shown: str) -> str:
    """Return the first text that says exactly what was wanted. Raises StudioFault, with what to do."""
    for text in made:
        if any(yaml_script.says(text, value) for value in wanted):
            return text
    raise StudioFault(f"{shown} can't be changed safely here; please edit it by hand")


def _with(script: Script, path: Path, value: Any) -> Any:
    """Return the values with one more at a path. Raises StudioFault if there's no place for it."""
    made = deepcopy(script.values)
    inner = made
    try:
        for part in path[:-1]:
            if isinstance(inner, dict) and inner.get(str(part), "") in tuple(NOTHING):
                inner[str(part)] = {}
            inner = inner[part]
        inner[path[-1]] = value
    except (LookupError, TypeError):
        no_place = f"there is no place for `{path[-1]}`; please write it by hand"
        raise StudioFault(f"{script.shown}: {no_place}") from None
    return made


def _puts(script: Script, path: Path, value: Value | None, names: Names) -> Iterator[str]:
    """Yield texts with a value at a path, the best looking first."""
    depth = next(at for at in range(len(path), -1, -1) if not at or script.node(path[:at]) is not None)
    node, text = script.node(path[:depth]), script.text
    for part in reversed(path[depth + 1 :]):
        value = {str(part): value}
    rest = str(path[depth]) if depth < len(path) else None
    if isinstance(node, MappingNode) and rest is not None:
        yield from _inserted(script, node, rest, value, names(path[: depth + 1]))
    elif depth and node is not None and (is_nothing(node) or rest is None):
        yield from _over(script, path[:depth], value if rest is None else {rest: value})
    elif rest is not None and (node is None or is_nothing(node)):
        gap = "" if not text or text.endswith("\n") else script.newline
        yield text + gap + script.newline.join([*yaml_script.entry(rest, value, *script.steps()), ""])


def _over(script: Script, path: Path, value: Value | None) -> Iterator[str]:
    """Yield texts with a value written over the one at a path, its comment kept."""
    node, holder = script.node(path), script.node(path[:-1])
    if node is None or holder is None:
        return
    inside = any(is_flow(script.node(path[:depth])) for depth in range(len(path)))
    step, dash = script.steps()
    head, comment, tail = _around(script, node, inside=inside)
    lines: Sequence[str] = []
    if isinstance(value, str):
        lines = yaml_script.literal(value, step) or []
    elif isinstance(holder, MappingNode) and (is_nothing(node) or not node.value):
        lines = yaml_script.entry(str(path[-1]), value, step, dash)
        lines = ["", *lines[1:]] if lines[1:] else []
    if lines and not inside:
        more = "".join(
            script.newline + line for line in yaml_script.indented(lines[1:], yaml_script.column_of(holder))
        )
        yield (head + lines[0] if lines[0] else head.rstrip(" ")) + comment + more + tail
    if not isinstance(value, str):
        yield head + ("" if value is None else yaml_script.flow(value)) + comment + tail
        return
    if isinstance(node, ScalarNode) and node.style in {"'", '"'} and "\n" not in value:
        yield head + yaml_script.in_quotes(value, node.style) + comment + tail
    yield head + yaml_script.word(value, inside=inside) + comment + tail


def _around(script: Script, node: Node, *, inside: bool) -> tuple[str, str, str]:
    """Return what stands before a value, the comment on its line, and what stands after both."""
    text, start, end = script.text, start_of(node), script.end(node)
    gap = " " if start == end and text[start - 1 : start] in {":", "-"} else ""
    if inside:
        return text[:start] + gap, "", text[end:]
    if isinstance(node, ScalarNode) and node.style in {"|", ">"}:
        header = re.compile(r"[|>][0-9+-]*([^\r\n]*)").match(text, start)
        return text[:start], header[1] if header else "", text[end:]
    return text[:start] + gap, text[end : script.line_end(end)], text[script.line_end(end) :]


def _inserted(
    script: Script, node: MappingNode, key: str, value: Value | None, order: Sequence[str]
) -> Iterator[str]:
    """Yield texts with one more entry in a block: behind the one that stands before it in the order."""
    before = order[: order.index(key)] if key in order else [key.value for key, _ in node.value]
    known = {key.value: inner for key, inner in node.value}
    last = next((known[name] for name in reversed(before) if name in known), None)
    text, line = script.text, f"{yaml_script.word(key, inside=True)}: {yaml_script.flow(value or '')}"
    first = start_of(node.value[0][0]) if node.value else start_of(node) + 1
    at = first if last is None else script.end(last)
    if node.flow_style:
        more = f", {line}" if last is not None else line + ", " * bool(node.value)
        yield text[:at] + more + text[at:]
        return
    for lines in (yaml_script.entry(key, value, *script.steps()), [line]):
        columns = " " * yaml_script.column_of(node)
        if last is None:
            yield text[:at] + "".join(line + script.newline + columns for line in lines) + text[at:]
        else:
            yield script.with_lines(_below_example(text, at, key), yaml_script.indented(lines, len(columns)))


def _below_example(text: str, at: int, key: str) -> int:
    """Return where the example of a key ends that stands as a comment below `at`; else `at`."""
    below = re.compile(r"[^\r\n]*((?:\r?\n[ \t]*(?:#[^\r\n]*)?(?=\r?\n|\Z))*)").match(text, at)
    example = rf"(?m)^[ \t]*#( *){re.escape(key)}:[^\r\n]*(?:\r?\n[ \t]*#\1 +[^\r\n]*)*"
    found = re.search(example, below[1]) if below else None
    return below.start(1) + found.end() if below and found else at


def _out_of_braces(script: Script, holder: MappingNode | SequenceNode, at: int) -> str:
    """Return the text without an entry of `{a: 1, b: 2}` or `[a, b]`."""
    text, spans = script.text, script.spans(holder)
    start, end = spans[at]
    if not at:
        return text[:start] + text[spans[1][0] if len(spans) > 1 else end :]
    before = spans[at - 1][1]
    between = text[before:start]
    kept = between.replace(",", "", 1) if "#" in between else " " * between.startswith(" ")
    return text[:before] + kept + text[end:]


def _out_of_block(script: Script, holder: MappingNode | SequenceNode, at: int) -> str:
    """Return the text without a name that stands on a line of its own."""
    text, (start, end), (key, value) = script.text, script.spans(holder)[at], holder.value[at]
    line = text.rfind("\n", 0, start) + 1
    above = text[:line].rstrip("\r\n").rpartition("\n")[2].lstrip()
    if text[line:start].strip():  # behind a hyphen
        if len(holder.value) == 1:
            return f"{text[:start]}{{}}{text[end:]}"
        return text[:start] + text[script.line_end(end) :].lstrip()
    if above.startswith("#"):
        _, comment, tail = _around(script, value, inside=False)
        return text[: text.index(":", int(key.end_mark.index)) + 1] + comment + tail
    return script.without_lines(start, end)


def append(
    text: str, shown: str, path: Path, value: Value, names: Names = lambda _: (), comments: Sequence[str] = ()
) -> str:
    """Return `text` with one more entry at the end of the list at `path`; what is no list becomes one.

    `comments` are lines above it, each with its #. Raises StudioFault if that can't be done safely.
    """
    script = opened(text, shown)
    node, had = script.node(path), script.said(path)
    if node is None or is_nothing(node) or had == []:
        return put(text, shown, path, Begun(value, comments, braces="private" in path), names)
    wanted = _with(script, path, [*(had if isinstance(had, list) else [had]), yaml_script.plain(value)])
    return _first_good(_continued(script, node, value, comments), [wanted], shown)


def _continued(script: Script, node: Node, value: Value, comments: Sequence[str]) -> Iterator[str]:
    """Yield texts with one more entry of a list, or a list of what stood there and one more."""
    text, start, end, listed = script.text, start_of(node), script.end(node), isinstance(node, SequenceNode)
    if getattr(node, "flow_style", True):
        last = script.end(node.value[-1]) if listed else end
        rest = text[last:] if listed else f"]{text[end:]}"
        yield f"{text[:start]}[{text[start + listed : last]}, {yaml_script.flow(value)}{rest}"
        return
    steps, braces = script.steps(), not listed or is_flow(node.value[-1])
    if not listed:  # a block of lines: it moves to the right, behind a hyphen
        inner = re.sub(r"\n(?=[^\r\n])", "\n  ", text[start:end])
        script = opened(f"{text[:start]}- {inner}{text[end:]}", script.shown)
        end = start + 2 + len(inner)
    for lines in (yaml_script.item(value, *steps, one_line=braces), [f"- {yaml_script.flow(value)}"]):
        yield script.with_lines(end, yaml_script.indented([*comments, *lines], int(node.start_mark.column)))


def move(text: str, shown: str, path: Path, to: int) -> str:
    """Return `text` with the entry at `path` in another place of its list; what stands between stays."""
    script, at = opened(text, shown), path[-1]
    node, had = script.node(path[:-1]), script.said(path[:-1])
    if not isinstance(node, SequenceNode) or not isinstance(at, int) or max(at, to) >= len(node.value):
        raise StudioFault(f"{shown}: there is no such entry to move; look at the file and try again")
    places = list(range(len(node.value)))
    places.insert(to, places.pop(at))
    spans = script.spans(node)
    made, last = "", 0
    for (start, end), (taken, until) in zip(spans, (spans[place] for place in places), strict=True):
        made, last = made + text[last:start] + text[taken:until], end
    wanted = _with(script, path[:-1], [had[place] for place in places])
    return _first_good([made + text[last:]], [wanted], shown)


def comments_of(text: str, shown: str, path: Path) -> list[str]:
    """Return the comments that stand in an entry of a list, each with its #."""
    script, at = opened(text, shown), path[-1]
    node = script.node(path[:-1])
    if not isinstance(node, SequenceNode) or not isinstance(at, int):
        return []
    start, end = script.spans(node)[at]
    part = text[text.rfind("\n", 0, start) + 1 : end]
    for token in yaml.scan(part, Loader=Loader):
        if isinstance(token, yaml.ScalarToken):
            start, end = token.start_mark.index, token.end_mark.index
            part = part[:start] + part[start:end].replace("#", "x") + part[end:]
    return [found.rstrip() for found in re.findall(r"#[^\r\n]*", part)]
