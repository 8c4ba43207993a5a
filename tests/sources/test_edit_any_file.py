"""Any edit of any file a person may have written: it says what was wanted, and all beside it stays, byte for byte.

PyYAML's own base loader reads before and after; the writer of the files here is no part of the program.
"""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import dataclass, replace
from typing import Any

import pytest
import yaml
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from sitegen.sources import StudioFault
from sitegen.sources.edit import append, move, put, take_out
from sitegen.sources.yaml_script import flow, word

KEYS = ["title", "story", "from", "private", "hours", "photos", "alt", "up_to", "yes", "n"]
ODD = [
    "yes", "null", "~", "No", "1e3", "- a", "a: b", "a #b", "#b", ": x", "'", '"', "it's", "\t", "  lead", "trail  ", "&a", "*a", "!a",
    "%a", "@a", "`a", "|", ">", "?", "? x", "-", "---", "...", "{", "}", "[a]", "a, b", "a\nb", "a\nb\n", "\na", "a\n\nb\n", " a\n  b\n a", "a\n \nb",
    "a\n\n", "\n", "a \nb", "a\n# no comment\nb: 1\n", "- x\n- y\n", "x\u2028y\nz", "a\x85b", "\ufeffa", "🦉: 🦉", "שלום # \u200fא", "\r", "a\r\nb", "a\tb\n\tc",
    "\u00a0", "'a' b", '"a" b', "\\n", "a\\\nb", "=", "<<", "0o7", "12:30:45", "2026-05-14", "k" * 3000, "wörter " * 200,
]  # fmt: skip
TEXTS = st.one_of(
    st.sampled_from(ODD),
    st.text(
        st.characters(exclude_categories=["Cs", "Cc", "Cn", "Co"]) | st.sampled_from("\n\t :#-'\"{}[],"),
        max_size=40,
    ),
).filter(lambda text: text != "")
# YAML 1.1, 7.4: what stands before a colon has at most 1024 characters.
NAMES = TEXTS.filter(lambda text: len(text) < 500)


@dataclass(frozen=True)
class Line:
    """A line of a file, or the lines of a text."""

    path: tuple[str | int, ...]
    """Of the value that starts here, or of the block that a comment stands in."""
    text: str
    comment: str = ""
    whole: bool = True
    """It's a value with all its lines, no comment and no line with lines below it."""


class Files:
    """Writes a file as somebody might: each thing in one of the ways YAML knows."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw, self.count, self.lines = draw, 0, list[Line]()
        self.step = draw(st.sampled_from([2, 3, 4]))
        self.dash = draw(st.sampled_from([0, 2, 4]))

    def comment(self) -> str:
        self.count += 1
        return self.draw(st.sampled_from(["", "", f"  # c{self.count}.", f" # c{self.count}. it's: {{odd}}"]))

    def between(self, indent: int, path: tuple[str | int, ...]) -> None:
        self.count += 1
        kinds = [
            "",
            "",
            "",
            "\n",
            f"{' ' * indent}# c{self.count}.\n",
            f"# c{self.count}.\n",
            f"\n{' ' * indent}#title: c{self.count}.\n",
        ]
        if text := self.draw(st.sampled_from(kinds)):
            self.lines.append(Line(path, text, text.strip(), whole=False))

    def mapping(self, indent: int, path: tuple[str | int, ...], depth: int, first: str = "") -> None:
        keys = self.draw(st.lists(st.sampled_from(KEYS), min_size=1, max_size=4, unique=True))
        for key in keys:
            if not first:
                self.between(indent, path)
            self.entry(f"{first or ' ' * indent}{key}:", indent, (*path, key), depth)
            first = ""

    def entry(self, head: str, indent: int, path: tuple[str | int, ...], depth: int) -> None:
        kind = self.draw(
            st.sampled_from(
                ["scalar", "scalar", "nothing", "flow", *(["mapping", "list", "list"] if depth else [])]
            )
        )
        comment = self.comment()
        if kind == "mapping":
            self.lines.append(Line(path, f"{head}{comment}\n", comment.strip(), whole=False))
            self.mapping(indent + self.step, path, depth - 1)
        elif kind == "list":
            self.lines.append(Line(path, f"{head}{comment}\n", comment.strip(), whole=False))
            self.list(indent + self.dash, path, depth - 1)
        elif kind == "flow":
            inner = self.draw(
                st.sampled_from(
                    [
                        "[]",
                        "{}",
                        "[a, 'b']",
                        "{a: 1, 'b': \"x, y\"}",
                        "{a: , b: [1, 2]}",
                        "[{a: 1},\n      {a: 2}]",
                    ]
                )
            )
            self.lines.append(Line(path, f"{head} {inner}{comment}\n", comment.strip()))
        elif kind == "nothing":
            word = self.draw(st.sampled_from(["", " ", " ~", " null"]))
            self.lines.append(Line(path, f"{head}{word}{comment}\n", comment.strip()))
        else:
            self.scalar(head, indent, path, comment)

    def scalar(self, head: str, indent: int, path: tuple[str | int, ...], comment: str) -> None:
        margin = " " * (indent + self.draw(st.sampled_from([1, 2, 5])))
        written = self.draw(st.sampled_from([
            "plain words", "'it''s'", json.dumps("say \"x\" # \n 🦉", ensure_ascii=False), "2026-05-14", f"two\n{margin}lines", f"'in\n\n{margin}quotes'",
            f"|\n{margin}a\n{margin}  # text\n\n{margin}b", f">-\n{margin}fold\n{margin}ed", f"|-\n{margin}c", "|2\n" + " " * (indent + 2) + "   d",
        ]))  # fmt: skip
        if written[0] in "|>":
            header, _, rest = written.partition("\n")
            text = f"{head} {header}{comment}\n{rest}\n"
        else:
            text = f"{head} {written}{comment}\n"
        self.lines.append(Line(path, text, comment.strip()))

    def list(self, indent: int, path: tuple[str | int, ...], depth: int) -> None:
        for number in range(self.draw(st.integers(1, 3))):
            self.between(indent, path)
            if self.draw(st.booleans()):
                self.mapping(indent + 2, (*path, number), depth, first=" " * indent + "- ")
            else:
                comment = self.comment()
                item = self.draw(
                    st.sampled_from(
                        ["word", "'x'", "{a: 1, b: two}", f"|\n{' ' * (indent + 3)}t\n{' ' * (indent + 3)}u"]
                    )
                )
                header, _, rest = item.partition("\n")
                text = f"{' ' * indent}- {header}{comment}\n" + (f"{rest}\n" if rest else "")
                self.lines.append(Line((*path, number), text, comment.strip()))


@st.composite
def files(draw: st.DrawFn) -> tuple[list[Line], str]:
    """Return the lines of a file, and how they end."""
    made = Files(draw)
    made.mapping(0, (), 2)
    made.between(0, ())
    newline = draw(st.sampled_from(["\n", "\n", "\r\n"]))
    lines = [replace(line, text=line.text.replace("\n", newline)) for line in made.lines]
    try:
        yaml.load("".join(line.text for line in lines), Loader=yaml.BaseLoader)  # noqa: S506
    except yaml.YAMLError:
        assume(condition=False)
    return lines, newline


def read(text: str) -> Any:
    return yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506


def at(values: Any, path: tuple[str | int, ...]) -> Any:
    for part in path:
        values = values[part]
    return values


def containers(values: Any, kind: type, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Return the paths of all blocks, or of all lists."""
    found = [path] if isinstance(values, kind) else []
    inner = (
        values.items() if isinstance(values, dict) else enumerate(values) if isinstance(values, list) else ()
    )
    return found + [one for part, value in inner for one in containers(value, kind, (*path, part))]


def same_ends(one: str, other: str) -> int:
    """Return how many characters two texts share at their beginning and their end together."""
    few = min(len(one), len(other))
    start = next((n for n in range(few) if one[n] != other[n]), few)
    end = next((n for n in range(few - start) if one[-1 - n] != other[-1 - n]), few - start)
    return start + end


def comments(lines: list[Line]) -> list[str]:
    return [word for line in lines for word in line.comment.split() if word.startswith("c")]


@settings(max_examples=30)
@given(files(), TEXTS, st.data())
def test_a_value_is_written_over_another_and_nothing_else_moves(
    file: tuple[list[Line], str], value: str, data: st.DataObject
) -> None:
    lines, newline = file
    text = "".join(line.text for line in lines)
    places = [number for number, line in enumerate(lines) if line.whole]
    place = data.draw(st.sampled_from(places))
    path = lines[place].path
    wanted = deepcopy(read(text))
    at(wanted, path[:-1])[path[-1]] = value

    made = put(text, "x.yaml", path, value)

    head, tail = ("".join(line.text for line in part) for part in (lines[:place], lines[place + 1 :]))
    assert read(made) == wanted
    assert made.startswith(head)
    assert made.endswith(tail)
    inside = made[len(head) : len(made) - len(tail)]
    assert all(comment in inside for comment in comments([lines[place]]))
    assert put(made, "x.yaml", path, value) == made
    assert newline == "\n" or "\n" not in made.replace("\r\n", "")


@settings(max_examples=30)
@given(
    files(),
    st.one_of(
        TEXTS,
        st.lists(TEXTS, min_size=1, max_size=3),
        st.dictionaries(st.sampled_from(KEYS) | NAMES, TEXTS, min_size=1, max_size=3),
    ),
    st.data(),
)
def test_a_value_is_put_in_where_none_was(
    file: tuple[list[Line], str], value: Any, data: st.DataObject
) -> None:
    lines, _ = file
    text = "".join(line.text for line in lines)
    values = read(text)
    path = (
        *data.draw(st.sampled_from(containers(values, dict))),
        data.draw(st.sampled_from(["new", "a: b", "#"])),
    )
    order = data.draw(st.permutations([*KEYS, "new"]))
    wanted = deepcopy(values)
    at(wanted, path[:-1])[path[-1]] = value

    made = put(text, "x.yaml", path, value, lambda _: order)

    assert read(made) == wanted
    assert same_ends(made, text) >= len(text)
    assert all(comment in made for comment in comments(lines))


@settings(max_examples=30)
@given(files(), st.data())
def test_what_is_taken_out_takes_nothing_along(file: tuple[list[Line], str], data: st.DataObject) -> None:
    lines, _ = file
    text = "".join(line.text for line in lines)
    values = read(text)
    paths = [(*path, key) for path in containers(values, dict) for key in at(values, path)]
    paths += [(*path, number) for path in containers(values, list) for number in range(len(at(values, path)))]
    path = data.draw(st.sampled_from(paths))
    gone = deepcopy(values)
    del at(gone, path[:-1])[path[-1]]

    made = take_out(text, "x.yaml", path)

    ways = [gone]
    if isinstance(path[-1], str):
        ways.append(deepcopy(values))
        at(ways[-1], path[:-1])[path[-1]] = (
            at(read(made), path) if path[-1] in at(read(made) or {}, path[:-1]) else ""
        )
        assert at(ways[-1], path) in {"", "~", "null"} or ways.pop()
    if len(path) > 1 and not at(gone, path[:-1]):
        ways.append(deepcopy(values))
        at(ways[-1], path[:-2])[path[-2]] = ""
    assert (read(made) or {}) in ways
    assert same_ends(made, text) >= len(made) - 1 or "#" in text
    kept = [line for line in lines if line.path[: len(path)] != path]
    assert [comment for comment in comments(kept) if comment not in made] == []


@settings(max_examples=30)
@given(
    files(),
    st.one_of(TEXTS, st.dictionaries(st.sampled_from(KEYS), TEXTS, min_size=1, max_size=3)),
    st.data(),
)
def test_an_entry_is_added_at_a_lists_end(
    file: tuple[list[Line], str], value: Any, data: st.DataObject
) -> None:
    lines, _ = file
    text = "".join(line.text for line in lines)
    values = read(text)
    path = data.draw(st.sampled_from([*containers(values, list), ("new",)]))
    wanted = deepcopy(values)
    at(wanted, path[:-1])[path[-1]] = [*(at(values, path) if path != ("new",) else []), value]

    made = append(text, "x.yaml", path, value)

    assert read(made) == wanted
    assert same_ends(made, text) >= len(text) or (path != ("new",) and at(values, path) == [])
    assert all(comment in made for comment in comments(lines))


@settings(max_examples=30)
@given(files(), st.data())
def test_entries_change_places_and_no_line_is_lost(file: tuple[list[Line], str], data: st.DataObject) -> None:
    lines, _ = file
    text = "".join(line.text for line in lines)
    values = read(text)
    lists = [path for path in containers(values, list) if len(at(values, path)) > 1]
    assume(lists)
    path = data.draw(st.sampled_from(lists))
    entries = at(values, path)
    number, to = (data.draw(st.integers(0, len(entries) - 1)) for _ in range(2))
    moved = [*entries[:number], *entries[number + 1 :]]
    moved.insert(to, entries[number])
    wanted = deepcopy(values)
    at(wanted, path[:-1])[path[-1]] = moved

    made = move(text, "x.yaml", (*path, number), to)

    assert read(made) == wanted
    assert len(made) == len(text)
    assert sorted(made) == sorted(text)
    back = move(made, "x.yaml", (*path, to), number)
    assert back == text


@given(TEXTS)
def test_any_text_reads_back_on_one_line_inside_and_outside_of_braces(text: str) -> None:
    assert read(
        f"a: {word(text)}\nb: {{c: {word(text, inside=True)}, d: [{word(text, inside=True)}]}}\n"
    ) == {"a": text, "b": {"c": text, "d": [text]}}
    assert "\n" not in word(text) + word(text, inside=True)


@example("-")
@example(["-", {"-": "?"}, ":", ","])
@given(
    st.recursive(
        TEXTS,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
        max_leaves=6,
    )
)
def test_any_value_reads_back_in_braces(value: Any) -> None:
    assert read(f"a: {flow(value)}\n") == {"a": value}


@pytest.mark.parametrize("sign", ["\0", "\x07", "\x1b", "\x7f", "\ufffe", "\ud800"])
def test_a_sign_that_no_file_may_hold_is_named(sign: str) -> None:
    for text in (f"a{sign}", f"a\n{sign}b\n"):
        with pytest.raises(StudioFault, match=rf"can't be shown \(U\+{ord(sign):04X}\); take it out"):
            put("title: A\n", "x.yaml", ["title"], text)
