"""`people`: the mailing list, consent in, unsubscribes and bounces out."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from sitegen.commands.answer import Asked
from sitegen.commands.group import Commands
from sitegen.studio.counting import counted


@click.group(cls=Commands)
def people() -> None:
    """The mailing list: who agreed, who left, what came back."""


@people.command(
    "add", epilog="Example:  sitegen people add ana@mail.example --source web --evidence 'form on the site'"
)
@click.argument("address")
@click.option("--name", default="", help="As they wrote it.")
@click.option(
    "--source", required=True, help="How they agreed: web, show sheet, purchase, in person, not confirmed."
)
@click.option("--evidence", required=True, help="Where that stands, like 'sheet QDF27-1 row 7'.")
@click.option("--about", "interests", default="", help="What they asked to hear of, separated by semicolons.")
@click.option("--joined", help="Day they agreed, like 2026-10-04 (today, if left out).")
@click.option("--zone", default="", help="Where their clock stands, like America/Halifax, if you know it.")
@click.pass_obj
def add(asked: Asked, /, address: str, **given: str | None) -> None:
    """Put one person on the list, with the proof of their consent."""
    from sitegen.jobs import people as job

    plan = job.add(asked.studio, address, job.Given(**given), asked.today, _keeps)
    _print_plan(plan, dry_run=False)


@people.command(
    "import",
    epilog="Example:  sitegen people import sheet.csv --source 'show sheet' --dry-run",
)
@click.argument("table", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.option(
    "--source", required=True, help="How they agreed: web, show sheet, purchase, in person, not confirmed."
)
@click.option("--evidence", default="", help="Where that stands, like 'sheet QDF27-1'.")
@click.option(
    "--about", "interests", default="", help="What they asked to hear of, where the table doesn't say."
)
@click.option("--joined", help="Day they agreed, where the table doesn't say.")
@click.option("--dry-run", is_flag=True, help="Only say what would happen.")
@click.pass_obj
def import_(asked: Asked, /, table: Path, dry_run: bool, **given: str | None) -> None:
    """Take people over from any table; done twice, it adds nothing the second time."""
    from sitegen.jobs import people as job

    keeps = None if dry_run else _keeps
    plan = job.take_over(asked.studio, table, job.Given(**given), asked.today, keeps)
    _print_plan(plan, dry_run=dry_run)


def _keeps(address: str, odd: str) -> bool:
    """Ask about a likely slip where someone can answer; elsewhere it's taken as it stands, and told."""
    if not sys.stdin.isatty():
        return True
    return click.confirm(f"{address}: {odd} Take it as it is written?", default=False)


def _print_plan(plan: object, *, dry_run: bool) -> None:
    from sitegen.jobs import people as job

    for line in job.told_plan(plan):  # type: ignore[arg-type]
        click.echo(line)
    click.echo("Nothing is written yet." if dry_run else "people.csv is up to date.")


@people.command("leave", epilog="Example:  sitegen people leave ana@mail.example")
@click.argument("address")
@click.pass_obj
def leave(asked: Asked, address: str) -> None:
    """Note that someone asked to leave; they get no more letters."""
    from sitegen.jobs import people as job

    rows = job.leave(asked.studio, address, asked.today)
    click.echo(
        f"{address} has left ({counted(rows, 'row', 'rows')} changed)."
        if rows
        else f"{address} had left already."
    )


@people.command("list", epilog="Example:  sitegen people list --who 'commissions and not buyer'")
@click.option(
    "--who", default="", help="Plain words: commissions, buyer, show sheet, left, … with and, or, not."
)
@click.pass_obj
def list_(asked: Asked, who: str) -> None:
    """List people, everyone or those that plain words pick."""
    from sitegen.jobs import people as job

    found = job.pick(asked.studio, who)
    for one in found:
        click.echo(f"{one.email}  {one.name}".rstrip())
    click.echo(counted(len(found), "person", "people"), err=True)


@people.command("export", epilog="Example:  sitegen people export ana@mail.example")
@click.argument("address")
@click.pass_obj
def export(asked: Asked, address: str) -> None:
    """Print all that is held on one person, for their own question."""
    from sitegen.jobs import people as job

    for line in job.told_held(job.held_on(asked.studio, address)):
        click.echo(line)


@people.command("forget", epilog="Example:  sitegen people forget ana@mail.example")
@click.argument("address")
@click.option("--yes", is_flag=True, help="Don't ask.")
@click.pass_obj
def forget(asked: Asked, address: str, yes: bool) -> None:
    """Erase a person; only a salted hash is kept, so that they stay off the list."""
    from sitegen.jobs import people as job

    if not yes:
        click.confirm(f"Erase {address} from people.csv? This can't be undone.", abort=True)
    rows, elsewhere = job.erase(asked.studio, address)
    click.echo(f"{counted(rows, 'row', 'rows')} erased.")
    for place in elsewhere:
        click.echo(f"  - {address} also stands in {place}; decide there yourself")


@people.command("replies", epilog="Example:  sitegen people replies inbox.mbox")
@click.argument("post_bag", type=click.Path(path_type=Path, exists=True), metavar="MBOX")
@click.pass_obj
def replies(asked: Asked, post_bag: Path) -> None:
    """Read what came back (an mbox file, a Maildir folder or one .eml) and note who left or bounced."""
    from sitegen.jobs import people as job

    found, rows = job.hear(asked.studio, post_bag, asked.today)
    for line in job.told_replies(found):
        click.echo(line)
    click.echo(f"{counted(rows, 'row', 'rows')} of people.csv changed.")
