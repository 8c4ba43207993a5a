"""Where a newcomer would trip: run as the README says it, from the outside, with the real program."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest

from sitegen.carried import carried
from sitegen.jobs.guide import pages
from sitegen.terminal.main import main

ROOT = Path(__file__).resolve().parents[2]
ADD = ["people", "add", "ada@mail.example", "--source", "web", "--evidence", "form on the site"]
# The guide adds this one itself.
ADDED = "the-moth-clerk"


def run(where: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "sitegen", "--today", "2026-11-25", *words],
        cwd=where, capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_the_programs_own_folder_is_no_studio() -> None:
    """Who forgot --studio in the folder of the README must not write into the starter."""
    before = {path: path.read_bytes() for path in (ROOT / "content").rglob("*") if path.is_file()}
    for words in (
        ["check"],
        ["build"],
        ADD,
        ["piece", "mark", "first-piece", "sold"],
    ):
        done = run(ROOT, *words)
        assert done.returncode == 1, words
        assert done.stderr.startswith("this is the program's own folder"), words

    assert {path: path.read_bytes() for path in (ROOT / "content").rglob("*") if path.is_file()} == before


@pytest.mark.parametrize("studio", ["content", "demo"])
def test_a_carried_studio_is_never_written_into(studio: str) -> None:
    """Even when it's named: it's there to be copied."""
    before = {path: path.read_bytes() for path in carried(studio).rglob("*.csv")}
    done = run(ROOT, "--studio", studio, *ADD)

    assert done.returncode == 1
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


def examples() -> list[str]:
    """Return every example of the program's own help."""
    found: list[str] = []

    def look(command: click.Command) -> None:
        found.extend(re.findall(r"sitegen .*", command.epilog or ""))
        for inner in command.commands.values() if isinstance(command, click.Group) else ():
            look(inner)

    look(main)
    return found


def guide_lines() -> list[str]:
    texts = [page.text for page in pages() if page.topic != "fields"]
    return [line.strip() for text in texts for line in re.findall(r"^    sitegen .*$", text, re.MULTILINE)]


@pytest.mark.parametrize("line", sorted({*examples(), *guide_lines()}))
def test_examples_name_what_exists(line: str) -> None:
    """A piece, a show, an order or a round in an example is one of the demo's, so that it can be tried."""
    demo = carried("demo")
    words = shlex.split(line, comments=True)
    if (
        words[1:3] in (["piece", "mark"], ["piece", "worth"], ["piece", "return"])
        or words[1] == "certificate"
    ):
        slug = next((one for one in words[3 if words[1] == "piece" else 2 :] if not one.startswith("-")), "")
        assert slug in {"", ADDED} or (demo / "pieces" / slug / "piece.yaml").is_file(), line
    if words[1:3] == ["announce", "pieces"]:
        for slug in words[3:]:
            if slug.startswith("-"):
                break
            assert (demo / "pieces" / slug).is_dir(), line
    if words[1] == "sheet" or words[1:3] == ["announce", "show"]:
        slug = words[2] if words[1] == "sheet" else words[3]
        assert (demo / "shows" / f"{slug}.yaml").is_file(), line
    rounds = re.findall(r"^  - name: (.*)$", (demo / "commissions.yaml").read_text("utf-8"), re.MULTILINE)
    if words[1] == "draw" and len(words) > 2 and not words[2].startswith("-"):
        assert words[2] in rounds, line
