"""The guide is there, and what it tells people to type is understood."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
import yaml
from click.testing import CliRunner

from sitegen.jobs.guide import pages
from sitegen.terminal.main import main

ROOT = Path(__file__).resolve().parents[2]
TEXTS = {page.topic: page.text for page in pages()} | {
    "README": (ROOT / "README.md").read_text(encoding="utf-8")
}


def typed() -> list[tuple[str, str]]:
    """Return each line that the guide gives to type, with its page."""
    return [
        (topic, line.strip())
        for topic, text in TEXTS.items()
        for line in re.findall(r"^    (?:\S*/)?sitegen .*$", text, re.MULTILINE)
    ]


@pytest.mark.parametrize(("topic", "line"), typed())
def test_what_the_guide_says_to_type_is_understood(
    topic: str, line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    words = shlex.split(line, comments=True)[1:]
    for word in words:
        if "." in word and "/" not in word:
            Path(word).touch()
    command: click.Command = main
    context = click.Context(main)

    while isinstance(command, click.Group):
        while words[0].startswith("--"):
            words = words[2:]
        found = command.get_command(context, words[0])
        assert found is not None, line
        command, name, words = found, words[0], words[1:]
        if not isinstance(command, click.Group):
            command.make_context(name, list(words), parent=context)


def test_the_guide_lists_its_pages_and_shows_each() -> None:
    listed = CliRunner().invoke(main, ["guide"]).output

    for page in pages():
        assert f"  {page.topic}" in listed
        assert page.title in listed
        assert CliRunner().invoke(main, ["guide", page.topic]).output.strip() == page.text.strip()


def test_a_page_that_is_not_there_gets_the_nearest() -> None:
    result = CliRunner().invoke(main, ["guide", "lettres"])

    assert result.exit_code == 1
    assert result.output == "the guide has no page 'lettres'; did you mean 'letters'?\n"


def test_the_readme_names_every_page() -> None:
    linked = set(re.findall(r"sitegen/guide/([\w-]+)\.md\)", TEXTS["README"]))

    assert linked == {page.topic for page in pages()} - {"fields"}
    assert "`sitegen guide fields`" in TEXTS["README"]


def test_the_readme_is_short() -> None:
    assert TEXTS["README"].count("\n") <= 150


def test_the_page_of_fields_has_every_line_that_a_file_may_hold() -> None:
    """Held against what the starter and the demo really say; a few lines are known to be asked for."""
    text = TEXTS["fields"]

    for line in (
        "- `site`: web address, needed, like `https://studio.example/`",
        "- `private.weekly_hours`: number. Bench hours in a usual week.",
        "- `photos[].detail`: yes or no (usually no). A detail may be cropped for a card; a whole figure never is.",
        "- `tiers[].from_price`: amount, needed, like `420`",
        "- `rounds[].way`: one of draw, first come, waiting list (usually first come)",
    ):
        assert line in text.splitlines()


@pytest.mark.parametrize("studio", ["demo", "content"])
def test_the_page_of_fields_knows_the_lines_of_the_carried_studios(studio: str) -> None:
    # One block may stand for a list of one.
    named = set(re.findall(r"^ *- `([^`]+)`", TEXTS["fields"].replace("[]", ""), re.MULTILINE))
    files = [
        ROOT / studio / "studio.yaml",
        ROOT / studio / "commissions.yaml",
        *(ROOT / studio).glob("*/*/piece.yaml"),
    ]
    for file in files:
        for key in keys_of(yaml.load(file.read_text("utf-8"), Loader=yaml.BaseLoader), ""):  # noqa: S506
            assert re.sub("^waiting", "queue", key.replace("[]", "")) in named, (file, key)


def keys_of(tree: object, within: str) -> Iterator[str]:
    """Yield the path of each line; what hangs below names of the artist's own is left out."""
    if isinstance(tree, list):
        for entry in tree:
            yield from keys_of(entry, f"{within}[]")
    elif isinstance(tree, dict) and not within.endswith(("hours", "theme_options")):
        for key, value in tree.items():
            path = f"{within}.{key}".removeprefix(".")
            yield path
            yield from keys_of(value, path)
