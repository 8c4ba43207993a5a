"""What the desk's commands share: what was asked for, and an answer printed for a person or a machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Protocol, TypeVar

import click

from sitegen.commands.telling import tell, tell_json

Command = TypeVar("Command", bound=Callable[..., Any])


class Asked(Protocol):
    """What was asked for before the command's own name."""

    folder: Path | None
    today: str | None

    @property
    def studio(self) -> Path:
        """The studio's folder; raises when there is none."""


class Answer(Protocol):
    """An answer of the desk."""

    def as_answer(self) -> Mapping[str, Any]:
        """Return the answer for machines."""

    def lines(self) -> list[str]:
        """Write the answer for a person."""


def json_option(command: Command) -> Command:
    """Let a command print its answer for machines."""
    return click.option("--json", "as_json", is_flag=True, help="Print the answer for machines.")(command)


def say(answer: Answer, *, as_json: bool) -> None:
    """Print an answer."""
    if as_json:
        tell_json(answer.as_answer())
    else:
        tell("\n".join(answer.lines()))
