"""`plan`: deposit and instalments to the last coin."""

from __future__ import annotations

from typing import Any

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import json_option, say


@click.command("plan", epilog="Example:  sitegen plan 1000.01 --deposit 20% --parts 4 --start 2027-01-31")
@click.argument("what", metavar="PRICE|SLUG|CODE")
@click.option("--deposit", help="A percentage (20%) or an amount; without it, as studio.yaml says.")
@click.option(
    "--parts",
    "instalments",
    type=click.IntRange(0, 60),
    help="Instalments besides the deposit; without it, by the price's band.",
)
@click.option("--start", metavar="DATE", help="The day the deposit is due; without it, today.")
@click.option("--charge", help="An amount taken for paying later.")
@click.option("--weekend", type=click.Choice(["keep", "next weekday"]), help="What a due date on one does.")
@click.option("--currency", metavar="CODE", help="ISO 4217 letters; without it, the studio's.")
@json_option
@click.pass_obj
def plan(asked: Asked, /, what: str, as_json: bool, **given: Any) -> None:
    """Lay out a payment plan for a price or a piece, or show how a commission's plan stands.

    A price is digits with a point; a piece goes by its folder's name; a commission by its code in the
    queue, which shows what is paid, due and late.
    """
    from sitegen.jobs import desk

    say(desk.plan(asked.folder, asked.today, what, desk.PlanWish(**given)), as_json=as_json)
