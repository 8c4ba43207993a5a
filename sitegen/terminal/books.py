"""`books`: income, wage, what's owed, what shows brought in."""

from __future__ import annotations

import click

from sitegen.terminal.group import Asked
from sitegen.terminal.telling import json_option, say, tell, tell_table


@click.command("books", epilog="Example:  sitegen books --year 2026 --csv > books-2026.csv")
@click.option("--year", type=click.IntRange(1900, 9999), help="Without it, this year.")
@click.option("--csv", "as_csv", is_flag=True, help="Print a table for the accountant (CSV).")
@click.option("--close", is_flag=True, help="Keep a past year as it is: no later change alters it.")
@json_option
@click.pass_obj
def books(asked: Asked, year: int | None, as_csv: bool, close: bool, as_json: bool) -> None:
    """Add up a year: income by stream, costs, an hour's wage, what is owed, what each show brought in."""
    from sitegen.jobs import books as job

    if as_csv and as_json:
        raise click.UsageError("--csv or --json, not both")
    if close:
        done, file = job.close(asked.studio, asked.today, year)
        say(done, as_json=as_json)
        tell(f"Closed: {file}", err=True)
    elif as_csv:
        tell_table(job.ledger(asked.studio, asked.today, year))
    else:
        say(job.books(asked.studio, asked.today, year), as_json=as_json)
