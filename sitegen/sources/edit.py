"""Change one value in a YAML file and leave every other byte as it stands."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from sitegen.sources.complaints import StudioFault
from sitegen.sources.text import rewrite
from sitegen.sources.yaml_text import Loader


def set_value(file: Path, shown: str, path: Sequence[str | int], value: str) -> bool:
    """Write `value` over the scalar at `path`; False when it says so already.

    `shown` is the file's name in messages. Comments, order, quoting, line endings and blank lines
    survive byte for byte. Raises StudioFault if the value can't be found or changed safely; the file
    is then untouched.
    """
    return rewrite(file, lambda text: replace_value(text, shown, path, value))


def replace_value(text: str, shown: str, path: Sequence[str | int], value: str) -> str:
    """Return `text` with the scalar at `path` replaced by `value`."""
    before = plain_values(text, shown)
    node = find_node(compose_text(text, shown), path)
    if not isinstance(node, ScalarNode):
        raise StudioFault(f"{shown}: there is no line `{path[-1]}: …` to change; add one first")
    line = node.start_mark.line + 1
    if node.style in {"|", ">"} or node.start_mark.line != node.end_mark.line:
        raise StudioFault(
            f"{shown}, line {line}: write `{path[-1]}` on one line first, like `{path[-1]}: {value}`"
        )
    start, end = node.start_mark.index, node.end_mark.index
    # An empty value has no text to stand in for; the colon needs its space.
    gap = " " if start == end and text[start - 1 : start] == ":" else ""
    changed = text[:start] + gap + _quoted(value, node.style) + text[end:]
    _put(before, path, value)
    if plain_values(changed, shown) != before:
        raise StudioFault(f"{shown}, line {line}: this line can't be changed safely; please edit it by hand")
    return changed


def quoted_if_needed(value: str) -> str:
    """Return a text as YAML would read it back: plain where that is safe, else in quotes."""
    try:
        plain = plain_values(f"key: {value}\n", "") == {"key": value} and "\n" not in value and value != ""
    except StudioFault:
        plain = False
    return value if plain and value.lower() not in {"~", "null"} else _quoted(value, "'")


def _quoted(value: str, style: str | None) -> str:
    if style == "'":
        return "'" + value.replace("'", "''") + "'"
    if style == '"':
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return value


def compose_text(text: str, shown: str) -> Node | None:
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


def plain_values(text: str, shown: str) -> object:
    try:
        return yaml.load(text, Loader=Loader)  # noqa: S506 (the base loader makes text, lists and dicts only)
    except yaml.YAMLError as fault:
        raise StudioFault(f"{shown} can't be read; `sitegen check` says why") from fault


def find_node(node: Node | None, path: Sequence[str | int]) -> Node | None:
    for part in path:
        if isinstance(node, MappingNode):
            node = next((value for key, value in node.value if key.value == part), None)
        elif isinstance(node, SequenceNode) and isinstance(part, int) and part < len(node.value):
            node = node.value[part]
        else:
            return None
    return node


def _put(values: object, path: Sequence[str | int], value: str) -> None:
    inner = values
    for part in path[:-1]:
        inner = inner[part]  # type: ignore[index]
    inner[path[-1]] = value  # type: ignore[index]
