"""The guide is there, and what it tells people to type is understood."""

from __future__ import annotations

import csv
import functools
import itertools
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
import yaml
from click.testing import CliRunner

from sitegen.carried import carried
from sitegen.jobs.guide import pages
from sitegen.terminal.main import main

ROOT = Path(__file__).resolve().parents[2]
TEXTS = {page.topic: page.text for page in pages()} | {
    "README": (ROOT / "README.md").read_text(encoding="utf-8")
}


def examples(command: click.Command = main) -> Iterator[str]:
    """Yield every example of the program's own help."""
    yield from re.findall(r"sitegen .*", command.epilog or "")
    if isinstance(command, click.Group):
        for name in command.list_commands(click.Context(command)):
            inner = command.get_command(click.Context(command), name)
            assert inner is not None
            yield from examples(inner)


def typed() -> list[str]:
    """Return each line that the guide, the README or a command's help gives to type."""
    texts = [re.findall(r"^    (?:\S*/)?(sitegen .*)$", text, re.MULTILINE) for text in TEXTS.values()]
    return sorted({*itertools.chain(*texts), *examples()})


@functools.cache
def existing() -> dict[str, set[str]]:
    """What the demo has, by the name that the commands give it; and what the guide's own lines add to it."""
    demo = carried("demo")
    book = yaml.load((demo / "commissions.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)  # noqa: S506
    files = list(demo.glob("pieces/*/piece.yaml"))
    pieces = {path.parent.name for path in files} | {"the-moth-clerk"}
    available = {path.parent.name for path in files if "\nstatus: available\n" in path.read_text("utf-8")}
    shows = {path.stem for path in demo.glob("shows/*.yaml")}
    orders = {order["code"] for order in book["queue"]} | {"W27-1"}
    rounds = {one["name"] for one in book["rounds"]}
    with (demo / "people.csv").open(encoding="utf-8", newline="") as stream:
        people = {row["email"] for row in csv.DictReader(stream)}
    return {
        "slug": pieces | shows, "slugs": available, "show": shows, "code": orders, "what": pieces | orders,
        "round": rounds, "round_name": rounds, "tier": {tier["name"] for tier in book["tiers"]}, "address": people,
        "sheet": {"SFAT26", "SFAT26-1"},
    }  # fmt: skip


@pytest.mark.parametrize("line", typed())
def test_what_people_are_told_to_type_is_understood_and_names_what_exists(
    line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every piece, show, order, round, size and person in an example is the demo's, so that it can be tried."""
    monkeypatch.chdir(tmp_path)
    words = shlex.split(line.partition(" > ")[0], comments=True)[1:]
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
    named = command.make_context(name, list(words), parent=context).params
    if line.startswith("sitegen people add"):
        del named["address"]  # hers is a new one
    for key, names in existing().items():
        value = named.get(key) or ()
        for one in value if isinstance(value, tuple) else (value,):
            assert one in names or re.fullmatch(r"[\d.]+", one), (line, one)


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
        "- `site`: web address, needed, like `https://studio.example/`. Where the site will live. Until you have an "
        "address of your own, leave this one; it leads nowhere.",
        "- `private.weekly_hours`: number, like `20`. Bench hours in a usual week.",
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
