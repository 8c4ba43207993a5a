"""The one door to the terminal: whatever is printed is made fit to be shown first."""

from __future__ import annotations

import json
import sys

import click

from sitegen.studio.foreign import fit, for_machines, without_unfit


def tell(text: object = "", *, err: bool = False) -> None:
    """Print lines for a person; what came from a file, a mail or a server can't steer the terminal."""
    click.echo(fit(str(text)), err=err)


def tell_table(rows: str) -> None:
    """Print a table (CSV) for another program, whole; a studio's files hold nothing that a terminal obeys."""
    click.echo(without_unfit(rows).encode(), nl=False)


def tell_json(answer: object) -> None:
    """Print an answer for machines: valid JSON whatever it holds and whatever letters the terminal has."""
    everywhere = (sys.stdout.encoding or "ascii").lower().replace("-", "") == "utf8"
    click.echo(for_machines(json.dumps(answer, ensure_ascii=not everywhere, indent=1)))
