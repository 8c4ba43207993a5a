"""`cards` and `certificate`: paper that goes with a piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sitegen.commands.answer import Asked

if TYPE_CHECKING:
    from sitegen.jobs.papers import Printed

size_option = click.option(
    "--paper", "size", type=click.Choice(["a4", "letter"]), help="Without it: as studio.yaml says."
)


@click.command("cards", epilog="Example:  sitegen cards moth-clerk toad-bailiff --paper letter")
@click.argument("slugs", nargs=-1, metavar="[SLUG…]")
@size_option
@click.pass_obj
def cards(asked: Asked, slugs: tuple[str, ...], size: str | None) -> None:
    """Print table cards, a wall label a piece, to cut apart: every available piece, unless named.

    A card carries a price only while its piece is available.
    """
    from sitegen.jobs import papers

    _print("Cards", papers.cards(asked.studio, asked.today, slugs, size))


@click.command("certificate", epilog="Example:  sitegen certificate moth-clerk")
@click.argument("slug")
@size_option
@click.pass_obj
def certificate(asked: Asked, slug: str, size: str | None) -> None:
    """Print a piece's certificate of authenticity, one page to sign. It carries no price."""
    from sitegen.jobs import papers

    _print("Certificate", papers.certificate(asked.studio, asked.today, slug, size))


def _print(what: str, printed: Printed) -> None:
    click.echo(f"{what}:  {printed.file}")
    for sentence in printed.warnings:
        click.echo(f"  - {sentence}")
