"""`piece worth`: what a piece costs, and what an hour of it earns."""

from __future__ import annotations

import click

from sitegen.commands.answer import Asked, json_option, say


@click.command("worth", epilog="Example:  sitegen piece worth moth-usher")
@click.argument("slug", required=False)
@click.option("--hours", help="Without SLUG: how many hours you think it takes.")
@click.option("--supplies", default="0", help="With --hours: what you'd buy for it.")
@click.option("--price", help="With --hours: the price you have in mind.")
@json_option
@click.pass_obj
def worth(
    asked: Asked, slug: str | None, hours: str | None, supplies: str, price: str | None, as_json: bool
) -> None:
    """Say what a piece cost, what would be fair, and what an hour earns at the asking price.

    Before you begin a piece, give --hours instead of its name.

    For your eyes only: nothing of it is written anywhere.
    """
    from sitegen.jobs import desk

    if hours is not None and slug is None:
        say(desk.quote(asked.studio, hours, supplies, price), as_json=as_json)
        return
    if slug is None or hours is not None:
        raise click.UsageError("Name one piece, or say --hours for one that isn't begun.")
    if price is not None or supplies != "0":
        raise click.UsageError("A piece's supplies and price are in its piece.yaml; leave the options out.")
    say(desk.worth(asked.studio, slug), as_json=as_json)
