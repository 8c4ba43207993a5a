"""`piece worth`: what a piece costs, and what an hour of it earns."""

from __future__ import annotations

import click

from sitegen.commands.answer import Asked, json_option, say


@click.command("worth", epilog="Example:  sitegen piece worth moth-clerk")
@click.argument("slug")
@json_option
@click.pass_obj
def worth(asked: Asked, slug: str, as_json: bool) -> None:
    """Say what a piece cost, what would be fair, and what an hour earns at the asking price.

    For your eyes only: nothing of it is written anywhere.
    """
    from sitegen.jobs import desk

    say(desk.worth(asked.studio, slug), as_json=as_json)
