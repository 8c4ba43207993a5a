"""`people`: the mailing list, consent in, unsubscribes and bounces out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sitegen.studio.counting import counted
from sitegen.studio.foreign import fit
from sitegen.terminal.group import Asked, Commands
from sitegen.terminal.telling import tell

if TYPE_CHECKING:
    from sitegen.jobs.people import Where
    from sitegen.letters import Reply


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
@click.option("--asked-again", is_flag=True, help="They were forgotten, and now ask for letters themselves.")
@click.option("--zone", default="", help="Where their clock stands, like America/Halifax, if you know it.")
@click.pass_obj
def add(asked: Asked, /, address: str, **given: Any) -> None:
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
def import_(asked: Asked, /, table: Path, dry_run: bool, **given: Any) -> None:
    """Take people over from any table; done twice, it adds nothing the second time."""
    from sitegen.jobs import people as job

    keeps = None if dry_run else _keeps
    plan = job.take_over(asked.studio, table, job.Given(**given), asked.today, keeps)
    _print_plan(plan, dry_run=dry_run)


def _keeps(address: str, odd: str) -> bool:
    """Ask about a likely slip where someone can answer; elsewhere it's taken as it stands, and told."""
    from sitegen.terminal import asking

    if not asking.someone_is_there():
        return True
    return click.confirm(fit(f"{address}: {odd} Take it as it is written?"), default=False)


def _print_plan(plan: object, *, dry_run: bool) -> None:
    from sitegen.jobs import people as job

    for line in job.told_plan(plan):  # type: ignore[arg-type]
        tell(line)
    tell("Nothing is written yet." if dry_run else "people.csv is up to date.")


@people.command("leave", epilog="Example:  sitegen people leave agnes.wolfram@example.net")
@click.argument("address", required=False)
@click.option("--token", "tokens", multiple=True, help="The sign at the end of someone's own leave address.")
@click.option(
    "--tokens",
    "noted",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="A file of such signs, or the log of the server behind leave_address.",
)
@click.pass_obj
def leave(asked: Asked, address: str | None, tokens: tuple[str, ...], noted: Path | None) -> None:
    """Note that someone asked to leave; they get no more letters.

    A sign that nobody was given changes nothing.
    """
    from sitegen.jobs import people as job

    if (address is None) == (not tokens and noted is None):
        raise click.UsageError("give an address, or --token, or --tokens FILE")
    if address is None:
        found, rows = job.leave_by_token(asked.studio, tokens, noted, asked.today)
        for line in job.told_replies(found):
            tell(line)
        tell(f"{counted(rows, 'row', 'rows')} of people.csv changed.")
        return
    rows = job.leave(asked.studio, address, asked.today)
    tell(
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
        tell(f"{one.email}  {one.name}".rstrip())
    tell(counted(len(found), "person", "people"), err=True)


@people.command("export", epilog="Example:  sitegen people export agnes.wolfram@example.net")
@click.argument("address")
@click.pass_obj
def export(asked: Asked, address: str) -> None:
    """Print all that is held on one person, for their own question."""
    from sitegen.jobs import people as job

    for line in job.told_held(job.held_on(asked.studio, address)):
        tell(line)


@people.command("forget", epilog="Example:  sitegen people forget agnes.wolfram@example.net")
@click.argument("address")
@click.option("--yes", is_flag=True, help="Don't ask.")
@click.pass_obj
def forget(asked: Asked, address: str, yes: bool) -> None:
    """Erase a person; only a salted hash is kept, so that they stay off the list."""
    from sitegen.jobs import people as job

    if not yes:
        click.confirm(f"Erase {address} from people.csv? This can't be undone.", abort=True)
    rows, letters, elsewhere = job.erase(asked.studio, address)
    tell(f"{counted(rows, 'row', 'rows')} erased.")
    if letters:
        tell(f"Erased from {counted(letters, 'letter', 'letters')} in out/letters too.")
    for place in elsewhere:
        tell(f"  - {address} also stands in {place}; decide there yourself")


@people.command("replies", epilog="Example:  sitegen people replies inbox.mbox")
@click.argument(
    "post_bag", type=click.Path(path_type=Path, exists=True), metavar="[MBOX|MAILDIR]", required=False
)
@click.option("--imap", is_flag=True, help="Look into the mailbox on your provider's server instead.")
@click.option("--folder", default="INBOX", show_default=True, help="Which folder there.")
@click.option("--days", type=click.IntRange(1), default=60, show_default=True, help="How far back there.")
@click.pass_obj
def replies(asked: Asked, post_bag: Path | None, imap: bool, folder: str, days: int) -> None:
    """Read what came back (an mbox file, a Maildir folder, one .eml, or --imap) and note who left or bounced.

    With --imap the server is named by SITEGEN_IMAP_HOST, _PORT, _SECURITY (tls, starttls; none for this
    machine only), _USER and _PASSWORD in the environment; what's missing is asked for. The password is kept
    nowhere, and nothing in the mailbox is marked, moved or deleted.
    """
    from sitegen.jobs import people as job
    from sitegen.letters import messages_in

    if (post_bag is None) != imap:
        raise click.UsageError("name a mailbox file or folder, or give --imap (not both)")
    if post_bag is not None:
        found, rows = job.hear(asked.studio, lambda: messages_in(post_bag), asked.today)
    else:
        found, rows = _over_imap(asked, job.Where(folder, days))
    for line in job.told_replies(found):
        tell(line)
    tell(f"{counted(rows, 'row', 'rows')} of people.csv changed.")


def _over_imap(asked: Asked, where: Where) -> tuple[list[Reply], int]:
    from sitegen.jobs import people as job
    from sitegen.letters.gate import INCOMING
    from sitegen.terminal.asking import mail_settings
    from sitegen.terminal.telling import Bar

    settings = mail_settings(INCOMING)
    with Bar("Messages") as bar:
        return job.hear(
            asked.studio,
            lambda: job.over_imap(asked.studio, settings, where, asked.today, bar.advance),
            asked.today,
        )
