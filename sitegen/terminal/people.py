"""`people`: the mailing list, consent in, unsubscribes and bounces out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sitegen.studio.counting import counted
from sitegen.studio.foreign import fit
from sitegen.terminal import asking
from sitegen.terminal.group import Asked, Commands, plain, shown
from sitegen.terminal.telling import Bar, tell, tell_all

if TYPE_CHECKING:
    from sitegen.jobs.people import AddPerson, ImportPeople, OnePerson, PickPeople
    from sitegen.jobs.replies import RepliesWish


def _keeps(address: str, odd: str) -> bool:
    """Ask about a likely slip where someone can answer; elsewhere it's taken as it stands, and told."""
    if not asking.someone_is_there():
        return True
    return click.confirm(fit(f"{address}: {odd} Take it as it is written?"), default=False)


@shown("people add", "people.add", "ana@mail.example --source web --evidence 'form on the site'")
def add(asked: Asked, wish: AddPerson) -> None:
    """Put one person on the list, with the proof of their consent."""
    from sitegen.jobs import people as jobs

    tell_all(jobs.add(asked.studio, wish, asked.today, _keeps).lines())


@shown("people import", "people.take_over", "sheet.csv --source 'show sheet' --dry-run")
def import_(asked: Asked, wish: ImportPeople) -> None:
    """Take people over from any table; done twice, it adds nothing the second time."""
    from sitegen.jobs import people as jobs

    tell_all(jobs.take_over(asked.studio, wish, asked.today, _keeps).lines())


@shown("people list", "people.pick", "--who 'commissions and not buyer'")
def list_(asked: Asked, wish: PickPeople) -> None:
    """List people, everyone or those that plain words pick."""
    from sitegen.jobs import people as jobs

    found = jobs.pick(asked.studio, wish, asked.today)
    tell_all(found.lines())
    tell(counted(len(found.people), "person", "people"), err=True)


@shown(
    "people forget", "people.erase", "agnes.wolfram@example.net",
    click.Option(["--yes"], is_flag=True, help="Don't ask."),
)  # fmt: skip
def forget(asked: Asked, wish: OnePerson, yes: bool) -> None:
    """Erase a person; only a salted hash is kept, so that they stay off the list."""
    from sitegen.jobs import people as jobs

    if not yes:
        asking.agree(f"Erase {wish.address} from people.csv? This can't be undone.")
    tell_all(jobs.erase(asked.studio, wish).lines())


@shown("people replies", "replies.hear", "inbox.mbox")
def replies(asked: Asked, wish: RepliesWish) -> None:
    """Read what came back (an mbox file, a Maildir folder, one .eml, or --imap) and note who left or bounced.

    With --imap the server is named by SITEGEN_IMAP_HOST, _PORT, _SECURITY (tls, starttls; none for this
    machine only), _USER and _PASSWORD in the environment; what's missing is asked for. The password is kept
    nowhere, and nothing in the mailbox is marked, moved or deleted.
    """
    from sitegen.jobs import replies as jobs

    with Bar("Messages") as bar:
        done = jobs.hear(asked.studio, wish, asked.today, asking.mail_settings, bar.advance)
    tell_all(done.lines())


people = Commands(
    "people",
    help="The mailing list: who agreed, who left, what came back.",
    commands=[
        add,
        import_,
        plain("people leave", "people.leave", "agnes.wolfram@example.net",
            """Note that someone asked to leave; they get no more letters.

            A sign that nobody was given changes nothing.
            """, json=False),
        list_,
        plain("people export", "people.held_on", "agnes.wolfram@example.net",
            "Print all that is held on one person, for their own question.", json=False),
        forget,
        replies,
    ],
)  # fmt: skip
