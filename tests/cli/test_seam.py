"""One seam for two faces: a command is one job with one wish; faces hold no logic, jobs no face."""

from __future__ import annotations

import ast
import inspect
import json
from collections.abc import Iterator
from dataclasses import FrozenInstanceError, fields
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from sitegen.jobs import answers, job_of, orders, terms
from sitegen.studio.asked import WishFault, ask, wish
from sitegen.terminal.group import Command
from sitegen.terminal.main import main

PACKAGE = Path(__file__).resolve().parents[2] / "sitegen"
# What a face does while a job is at work, handed in last.
MEANWHILE = {"again", "agree", "keeps", "progress", "sale", "say", "serve", "settings", "waits", "clock"}


def commands(group: click.Group = main) -> Iterator[Command]:
    for command in group.commands.values():
        if isinstance(command, click.Group):
            yield from commands(command)
        else:
            assert isinstance(command, Command), f"{command.name} goes past the seam"
            yield command


COMMANDS = {command.job: command for command in commands()}


def test_each_command_has_a_job_of_its_own() -> None:
    assert len(COMMANDS) == len(list(commands()))


@pytest.mark.parametrize("path", sorted(COMMANDS))
def test_a_job_takes_a_studio_a_wish_and_a_day(path: str) -> None:
    taken = list(inspect.signature(job_of(path)).parameters)
    plain = [name for name in ("folder", "wish", "today") if name in taken]

    assert taken[: len(plain)] == plain
    assert set(taken[len(plain) :]) <= MEANWHILE


@pytest.mark.parametrize("path", sorted(COMMANDS))
def test_what_a_command_asks_for_are_the_fields_of_its_wish(path: str) -> None:
    """Beside them a face has options of its own: how to show an answer, and whether to ask."""
    command = COMMANDS[path]
    asked = {parameter.name for parameter in command.get_params(click.Context(command))}
    # A secret is asked for: on a command line others could read it.
    wished = (
        {one.name for one in fields(command.wish) if "secret" not in one.metadata} if command.wish else set()
    )

    assert wished <= asked
    # Both faces read a field's type as text; a module may have made its classes without.
    assert all(isinstance(field.type, str) for field in fields(command.wish or Tried))
    assert {parameter.name for parameter in command.params} <= {"as_csv", "as_json", "opened", "yes"} - wished


def test_every_job_with_a_wish_is_reached_by_a_command() -> None:
    found = {
        f"{file.stem}.{node.name}"
        for file in (PACKAGE / "jobs").glob("*.py")
        for node in ast.parse(file.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        if "wish" in [arg.arg for arg in node.args.args]
    }

    # Whoever sits at a terminal has an editor; these are for a face that shows forms.
    forms = {one for one in found if one.startswith("edit")} | {"orders.read_mail"}
    assert len(forms) == 7
    assert len(found) > 30
    assert found - forms <= COMMANDS.keys()


# The commands that say an answer in a way of their own.
SHOWN = {command.job: command._show for command in COMMANDS.values() if not inspect.ismethod(command._show)}


@pytest.mark.parametrize("path", sorted(SHOWN))
def test_a_command_calls_its_one_job(path: str) -> None:
    node = ast.parse(inspect.getsource(SHOWN[path]))
    module, _, name = path.partition(".")
    imported = [one for one in ast.walk(node) if isinstance(one, ast.ImportFrom)]
    imported = [one for one in imported if one.module != "sitegen.browser.app"]  # another face, to be opened

    assert len(SHOWN) == 5
    assert [(one.module, one.names[0].name) for one in imported] == [("sitegen.jobs", module)]
    alias = imported[0].names[0].asname or module
    called = {
        one.func.attr
        for one in ast.walk(node)
        if isinstance(one, ast.Call) and isinstance(one.func, ast.Attribute)
        if isinstance(one.func.value, ast.Name) and one.func.value.id == alias
    }
    assert called == {name}


def test_only_the_terminal_knows_the_terminal() -> None:
    """A second face calls the same jobs; none of them may ask or print there."""
    knowing = [
        file.relative_to(PACKAGE).as_posix()
        for file in PACKAGE.rglob("*.py")
        if file.parent.name != "terminal"
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if (isinstance(node, ast.Import) and any(name.name == "click" for name in node.names))
        or (isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "click")
        or (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in {"print", "input"}
        )
    ]

    assert knowing == []


@wish
class Tried:
    """A wish of this test."""

    who: str = ask("Whose.", word=True)
    sum: str | None = ask("How much.", default=None)

    def __post_init__(self) -> None:
        if self.sum == "nothing":
            raise WishFault("nothing is no sum")


def test_a_wish_is_frozen_checked_once_and_tells_nobody() -> None:
    made = Tried(who="Ana", sum="431")

    with pytest.raises(FrozenInstanceError):
        made.who = "Ben"  # type: ignore[misc]
    with pytest.raises(WishFault, match="nothing is no sum"):
        Tried(who="Ana", sum="nothing")
    with pytest.raises(TypeError):
        Tried()  # type: ignore[call-arg]
    assert "Ana" not in repr(made)
    assert "431" not in repr(made)


def test_the_terminal_and_a_caller_get_the_same_answer(folder: Path) -> None:
    """What the terminal prints for machines is the job's answer, value for value."""
    for words, done in (
        (["order", "list"], orders.book(folder, orders.ListOrders(), "2026-11-25")),
        (["terms", "list"], terms.tell(folder)),
        (["books"], answers.books(folder, answers.BooksWish(), "2026-11-25")),
    ):
        assert done is not None
        typed = ["--studio", str(folder), "--today", "2026-11-25", *words]
        assert json.loads(CliRunner().invoke(main, [*typed, "--json"]).stdout) == done.as_answer()
        assert CliRunner().invoke(main, typed).stdout.splitlines() == done.lines()


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (["build"], "asides"),
        (["terms", "keep"], "version"),
        (["piece", "mark", "ferry-ghost", "on hold"], "status"),
        (["people", "list"], "people"),
        (["people", "export", "ana@mail.example"], "rows"),
        (["people", "leave", "ana@mail.example"], "rows"),
        (["announce", "commissions"], "letters"),
        (["cards"], "file"),
        (["check"], "complaints"),
    ],
    ids=lambda words: " ".join(words) if isinstance(words, list) else "",
)
def test_every_answer_can_be_had_for_machines(folder: Path, words: list[str], key: str) -> None:
    typed = ["--studio", str(folder), "--today", "2026-11-25", *words, "--json"]
    result = CliRunner().invoke(main, typed)

    assert result.exit_code == 0, result.output
    assert key in json.loads(result.stdout)
