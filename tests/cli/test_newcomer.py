"""Where a newcomer would trip: run as the README says it, from the outside, with the real program."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from sitegen.carried import carried
from sitegen.terminal.main import main

ROOT = Path(__file__).resolve().parents[2]
ADD = ["people", "add", "ada@mail.example", "--source", "web", "--evidence", "form on the site"]


def run(where: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "sitegen", "--today", "2026-11-25", *words],
        cwd=where, capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_the_programs_own_folder_is_no_studio(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who forgot --studio in the folder of the README must not write into the starter."""
    monkeypatch.chdir(ROOT)
    before = {path: path.read_bytes() for path in (ROOT / "content").rglob("*") if path.is_file()}
    for words in (["check"], ["build"], ADD, ["piece", "mark", "first-piece", "sold"]):
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 1, words
        assert done.stderr.startswith("this is the program's own folder"), words

    assert {path: path.read_bytes() for path in (ROOT / "content").rglob("*") if path.is_file()} == before


@pytest.mark.parametrize("studio", ["content", "demo"])
def test_a_carried_studio_is_never_written_into(studio: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even when it's named: it's there to be copied."""
    before = {path: path.read_bytes() for path in carried(studio).rglob("*.csv")}
    monkeypatch.chdir(ROOT)
    done = CliRunner().invoke(main, ["--studio", studio, *ADD])

    assert done.exit_code == 1
    assert done.stderr.startswith(f"{studio} is the program's own")
    assert {path: path.read_bytes() for path in carried(studio).rglob("*.csv")} == before


def test_the_lines_of_the_readme_go_on_working(tmp_path: Path) -> None:
    """The first hour, typed as it stands: `sitegen` is a word in a terminal that took the program's folder in."""
    readme = (ROOT / "README.md").read_text("utf-8").split("## Your own studio")[1].split("\n## ")[0]
    lines = re.findall(r"^    (.*)$", readme, re.MULTILINE)
    activate, *typed = lines

    assert activate == ". .venv/bin/activate"
    where = tmp_path
    for line in typed:
        program, *words = shlex.split(line, comments=True)
        if program == "cd":
            where = where / words[0]
        else:
            assert program == "sitegen"
            assert run(where, *words).returncode == 0, line


def test_begin_says_how_to_go_on_from_where_one_stands(tmp_path: Path) -> None:
    """The command that it names can be copied and works."""
    said = run(tmp_path, "begin", "my-studio").stdout
    (command,) = re.findall(r"`(.*? check)`", said)
    done = subprocess.run(shlex.split(command), cwd=tmp_path, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stderr
