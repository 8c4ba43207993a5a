"""Nothing that a person reads in a terminal is wider than 80 columns; a pipe gets its lines as they are."""

from __future__ import annotations

import re
import shutil
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.carried import carried
from sitegen.desk.words import table
from sitegen.terminal import telling
from sitegen.terminal.telling import narrowed
from tests.cli.runner import run

SHOWN = [
    "today", "check", "slots", "slots --why", "week", "week --why", "books", "books --why", "stock", "order list", "order show A26-1",
    "order show A26-4", "money ahead", "money years", "money shows", "money booking winter-fair-2027",
    "money prices", "piece worth egg-sitter", "piece register", "people list",
    "plan 940","plan egg-sitter", "terms list", "announce list", "order letter A26-1",
    "order letter R26-1", "price-list", "inventory", "guide", "undo --list",
    "order show a26-9", "piece worth eggsitter",
]  # fmt: skip
# What stays whole to be copied: a path, an address, a command's own word.
WHOLE = re.compile(r"\S{40,}")


def wide(line: str) -> int:
    """Count a terminal's columns by Unicode's own table of widths (UAX #11)."""
    return sum(
        2 if unicodedata.east_asian_width(one) in "WF" else not unicodedata.combining(one) for one in line
    )


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("d") / "demo"
    shutil.copytree(carried("demo"), folder)
    return folder


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(telling, "on_terminal", lambda _stream: True)
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setenv("NO_COLOR", "1")


@pytest.mark.usefixtures("terminal")
@pytest.mark.parametrize("words", SHOWN)
def test_nothing_is_wider_than_a_terminal(demo: Path, words: str) -> None:
    """Each command that prints, on the demo: at most 80 columns, also where a sentence refuses."""
    shown = run(demo, *words.split()).output

    assert shown.strip()
    assert "Usage:" not in shown
    assert not [line for line in shown.splitlines() if wide(line) > 80 and not WHOLE.search(line)]


@pytest.mark.parametrize("group", ["clock", "money", "order", "people", "piece"])
def test_a_groups_name_alone_shows_its_commands(demo: Path, group: str) -> None:
    """What it can do, as `--help` has it, and nothing about a mistake."""
    assert run(demo, group).output == run(demo, group, "--help").output


def test_a_pipe_gets_lines_as_they_are_and_no_colour(demo: Path) -> None:
    """Programs that read an answer line by line aren't disturbed."""
    shown = run(demo, "order", "list").output

    assert "\x1b" not in shown
    assert any("late" in line and "A26-1" in line for line in shown.splitlines())


def test_colour_is_for_what_is_late_and_gives_way(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One word is red on a terminal; NO_COLOR (no-color.org) puts it out."""
    monkeypatch.setattr(telling, "on_terminal", lambda _stream: True)
    monkeypatch.delenv("NO_COLOR", raising=False)
    painted: list[str] = []
    monkeypatch.setattr("click.echo", lambda text="", **_: painted.append(str(text)))
    run(demo, "books", "--why")
    monkeypatch.setenv("NO_COLOR", "1")
    run(demo, "books", "--why")

    assert "\x1b[31mlate\x1b[0m" in painted[0]
    assert "\x1b" not in painted[1]


CELL = st.lists(
    st.text("abcXYZ é人形", min_size=1, max_size=9).map(lambda one: one.strip() or "a"), max_size=6
)
ROWS = st.integers(2, 7).flatmap(
    lambda across: st.lists(
        st.lists(CELL.map(" ".join), min_size=across, max_size=across), min_size=2, max_size=5
    )
)


@settings(max_examples=30, deadline=None)
@given(ROWS)
def test_no_word_of_a_table_is_lost(rows: list[list[str]]) -> None:
    """However narrow it gets: the same letters, and no line wider than asked, as every word is short."""
    lines = "\n".join(table([["head", *row] for row in rows]))
    shown = narrowed(lines, 80)

    assert max(map(wide, shown.splitlines())) <= 80
    assert sorted("".join(lines.split())) == sorted("".join(shown.split()))


def test_a_currency_is_said_once_and_amounts_stay_flush_right() -> None:
    """Six columns of money lose their letters, not their places."""
    rows = [["Month by month", *["comes"] * 6], *[["December 2026", *["1,502.83 EUR"] * 6] for _ in range(2)]]
    shown = narrowed("\n".join(table(rows)), 80).splitlines()

    assert shown[0] == "Amounts in EUR."
    assert shown[-1].count("1,502.83") == 6
    assert {len(line) for line in shown[1:]} == {len(shown[-1])}


def test_a_bar_counts_on_a_terminal_and_anew_for_a_second_letter(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a pipe it's silent; whoever sits there sees each count come to its end."""
    with telling.bar("Letters") as advance:
        advance(1, 2)

    assert capsys.readouterr().err == ""

    monkeypatch.setattr("click._termui_impl.isatty", lambda _stream: True)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    with telling.bar("Letters") as advance:
        for done, total in ((1, 2), (2, 2), (1, 3), (3, 3)):
            advance(done, total)
    shown = capsys.readouterr().err

    assert shown.count("100%") == 2
    assert "50%" in shown
    assert "33%" in shown
