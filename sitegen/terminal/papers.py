"""`cards` and `certificate`: paper that goes with a piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import tell

if TYPE_CHECKING:
    from sitegen.jobs.papers import Printed

size_option = click.option(
    "--paper", "size", type=click.Choice(["a4", "letter"]), help="Without it: as studio.yaml says."
)


@click.command("cards", epilog="Example:  sitegen cards keeper-of-unclaimed-keys star-darner --paper letter")
@click.argument("slugs", nargs=-1, metavar="[SLUG…]")
@size_option
@click.pass_obj
def cards(asked: Asked, slugs: tuple[str, ...], size: str | None) -> None:
    """Print table cards, a wall label a piece, to cut apart: every available piece, unless named.

    A card carries a price only while its piece is available.
    """
    from sitegen.jobs import papers

    _print("Cards", papers.cards(asked.studio, asked.today, slugs, size))


@click.command("certificate", epilog="Example:  sitegen certificate moth-usher")
@click.argument("slug")
@size_option
@click.pass_obj
def certificate(asked: Asked, slug: str, size: str | None) -> None:
    """Print a piece's certificate of authenticity, one page to sign. It carries no price."""
    from sitegen.jobs import papers

    _print("Certificate", papers.certificate(asked.studio, asked.today, slug, size))


@click.command("agreement", epilog="Example:  sitegen agreement A26-2 --paper letter")
@click.argument("what", metavar="CODE|PIECE")
@size_option
@click.option("--start", metavar="DATE", help="Day the deposit is due, where none was accepted yet (today).")
@click.option("--client", metavar="NAME", help="Who signs, where the file doesn't say it.")
@click.pass_obj
def agreement(asked: Asked, what: str, size: str | None, start: str | None, client: str | None) -> None:
    """Print the agreement on one commission (its code) or on a finished piece paid for in parts (its folder).

    It has the work, the payments with their days, the terms in the version that was accepted (else the one
    in force), and lines for both signatures. It names one client: hand it to nobody else.
    """
    from sitegen.jobs import papers

    _print("Agreement", papers.agreement(asked.studio, asked.today, what, size, start, client))


def _print(what: str, printed: Printed) -> None:
    tell(f"{what}:  {printed.file}")
    for sentence in printed.warnings:
        tell(f"  - {sentence}")
