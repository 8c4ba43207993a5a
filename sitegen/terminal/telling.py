"""The one door to the terminal: whatever is printed is made fit to be shown first; the last words too."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any, TextIO

import click

from sitegen.studio.text import fit, for_machines, without_unfit
from sitegen.studio.wish import Answer
from sitegen.terminal.narrow import WIDEST, narrowed

# The one colour, for the one word that asks for something today.
_LATE = re.compile(r"\blate$|\blate(?=  )", re.MULTILINE)


def on_terminal(stream: TextIO) -> bool:
    """Tell whether a person reads there, rather than a program."""
    return stream.isatty()


def tell(text: object = "", *, err: bool = False) -> None:
    """Print lines for a person; what came from a file, a mail or a server can't steer the terminal."""
    stream, words = sys.stderr if err else sys.stdout, fit(str(text))
    if on_terminal(stream):
        words = narrowed(words, min(WIDEST, max(40, shutil.get_terminal_size().columns)))
        if "NO_COLOR" not in os.environ:  # no-color.org
            words = _LATE.sub(lambda late: click.style(late[0], fg="red"), words)
    click.echo(words, err=err)


def tell_all(lines: Iterable[str], *, err: bool = False) -> None:
    """Print lines for a person; those of a table are laid out together."""
    if together := list(lines):
        tell("\n".join(together), err=err)


def tell_table(rows: str) -> None:
    """Print a table (CSV) for another program, whole; a studio's files hold nothing that a terminal obeys."""
    click.echo(without_unfit(rows).encode(), nl=False)


def tell_json(answer: object) -> None:
    """Print an answer for machines: valid JSON whatever it holds and whatever letters the terminal has."""
    everywhere = (sys.stdout.encoding or "ascii").lower().replace("-", "") == "utf8"
    click.echo(for_machines(json.dumps(answer, ensure_ascii=not everywhere, indent=1)))


def say(answer: Answer, *, as_json: bool) -> None:
    """Print a job's answer; what stands beside it goes to the other stream."""
    if as_json:
        tell_json(answer.as_answer())
    else:
        tell_all(answer.lines())
    tell_all(getattr(answer, "asides", ()), err=True)


def program() -> str:
    """Return the words that start this program from any folder: `sitegen` where the terminal knows it."""
    started = Path(sys.argv[0])
    if shutil.which("sitegen") is not None:
        return "sitegen"
    if started.stem == "sitegen" and started.is_file():
        return shlex.quote(str(started.resolve()))
    return f"{shlex.quote(sys.executable)} -m sitegen"


class Bar:
    """A progress bar on a terminal; silence in a pipe."""

    def __init__(self, label: str) -> None:
        self.label = label
        self.bar: Any = None
        self.done = 0

    def __enter__(self) -> Bar:
        return self

    def advance(self, done: int, total: int) -> None:
        """Show that `done` of `total` are ready."""
        if not sys.stderr.isatty():
            return
        if self.bar is None:
            self.bar = click.progressbar(length=total, label=self.label, file=sys.stderr)
            self.bar.__enter__()
        self.bar.update(done - self.done)
        self.done = done

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.__exit__(None, None, None)


UNFORESEEN = 3
"""Exit status of what nobody foresaw."""
STOPPED = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the signal's number."""


def unforeseen(fault: BaseException) -> None:
    """Say in one sentence that something went wrong that nobody foresaw, and where it's noted."""
    from sitegen.jobs.report import report

    tell(report(fault), err=True)


def hush() -> None:
    """Let the rest of an answer go nowhere, where it can't be brought out."""
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, sys.stdout.fileno())
    os.close(silent)


def nobody_reads() -> None:
    """Say that the rest of an answer isn't shown once its reader has stopped."""
    hush()
    tell("Whoever read this answer has stopped, so the rest of it isn't shown.", err=True)
