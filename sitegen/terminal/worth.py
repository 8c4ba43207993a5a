"""`piece worth`: what a piece costs, and what an hour of it earns."""

from __future__ import annotations

from typing import Any

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import json_option, say


@click.command("worth", epilog="Example:  sitegen piece worth moth-usher")
@click.argument("slug", required=False)
@click.option("--hours", help="Without SLUG: how many hours you think it takes.")
@click.option("--tier", help="Without SLUG: a size of commission, whose usual hours are taken.")
@click.option("--supplies", default="0", help="With --hours or --tier: what you'd buy for it.")
@click.option("--price", help="With --hours or --tier: the price you have in mind.")
@json_option
@click.pass_obj
def worth(asked: Asked, /, slug: str | None, as_json: bool, **given: Any) -> None:
    """Say what a piece cost, what would be fair, and what an hour earns at the asking price.

    Before you begin a piece, give --hours or --tier instead of its name.

    For your eyes only: nothing of it is written anywhere.
    """
    from sitegen.desk.worth import Quote
    from sitegen.jobs import desk

    wish = Quote(**given)
    if (wish.hours is not None) + (wish.tier is not None) + (slug is not None) != 1:
        raise click.UsageError("Name one piece, or say --hours or --tier for one that isn't begun.")
    if slug is None:
        say(desk.quote(asked.studio, wish, asked.today), as_json=as_json)
        return
    if wish != Quote():
        raise click.UsageError("A piece's supplies and price are in its piece.yaml; leave the options out.")
    say(desk.worth(asked.studio, slug, asked.today), as_json=as_json)
