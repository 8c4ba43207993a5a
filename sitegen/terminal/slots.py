"""`slots`: how many commissions fit, and when each would be done."""

from __future__ import annotations

from typing import Any

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import json_option, say


@click.command("slots", epilog="Example:  sitegen slots --from 2027-01-04 --to 2027-03-31 --confidence 0.8")
@click.option("--from", "first_day", metavar="DATE", help="New slots begin here at the earliest (today).")
@click.option("--to", "last_day", metavar="DATE", help="They must be finished by then (91 days later).")
@click.option("--confidence", default="0.8", show_default=True, help="How sure to be: 0.8, or 80%.")
@click.option("--tier", help="What the new slots are for; without it, what is asked for most.")
@json_option
@click.pass_obj
def slots(asked: Asked, /, as_json: bool, **given: Any) -> None:
    """Say how many commission slots can open, and a date for each place in the queue.

    From your weekly hours, days away and shows, the queue, pieces in progress, and the hours you tracked.
    """
    from sitegen.jobs import desk

    say(desk.slots(asked.studio, asked.today, desk.SlotsWish(**given)), as_json=as_json)
