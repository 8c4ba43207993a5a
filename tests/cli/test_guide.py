"""The guide is there, and what it tells people to type is understood."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from sitegen.cli import main
from sitegen.jobs.guide import pages

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
    assert set(re.findall(r"sitegen/guide/([\w-]+)\.md\)", TEXTS["README"])) == {
        page.topic for page in pages()
    }


def test_the_readme_is_short() -> None:
    assert TEXTS["README"].count("\n") <= 150
