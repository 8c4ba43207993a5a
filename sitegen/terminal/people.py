"""`people`: the mailing list, consent in, unsubscribes and bounces out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sitegen.studio.text import fit
from sitegen.terminal import asking
from sitegen.terminal.group import Commands, plain

if TYPE_CHECKING:
    from sitegen.jobs.people import OnePerson


def _keeps(address: str, odd: str) -> bool:
    """Ask about a likely slip where someone can answer; elsewhere it's taken as it stands, and told."""
    if not asking.someone_is_there():
        return True
    return click.confirm(fit(f"{address}: {odd} Take it as it is written?"), default=False)


def _sure(wish: OnePerson) -> str:
    return f"Erase {wish.address} from people.csv? This can't be undone."


people = Commands(
    "people",
    help="The mailing list: who agreed, who left, what came back.",
    commands=[
        plain("people add", "people.add", "ana@mail.example --source web --evidence 'form on the site'",
            "Put one person on the list, with the proof of their consent.", keeps=_keeps),
        plain("people import", "people.take_over", "sheet.csv --source 'show sheet' --dry-run",
            "Take people over from any table; done twice, it adds nothing the second time.", keeps=_keeps),
        plain("people leave", "people.leave", "agnes.wolfram@example.net",
            """Note that someone asked to leave; they get no more letters.

            A sign that nobody was given changes nothing.
            """),
        plain("people list", "people.pick", "--who 'commissions and not buyer'",
            "List people, everyone or those that plain words pick."),
        plain("people export", "people.held_on", "agnes.wolfram@example.net",
            "Print all that is held on one person, for their own question."),
        plain("people forget", "people.erase", "agnes.wolfram@example.net",
            "Erase a person; only a salted hash is kept, so that they stay off the list.", sure=_sure),
        plain("people replies", "replies.hear", "inbox.mbox",
            """Read what came back (an mbox file, a Maildir folder, one .eml, or --imap) and note who left or
            bounced.

            With --imap the server is named by SITEGEN_IMAP_HOST, _PORT, _SECURITY (tls, starttls; none for
            this machine only), _USER and _PASSWORD in the environment; what's missing is asked for. The
            password is kept nowhere, and nothing in the mailbox is marked, moved or deleted.
            """, bar="Messages", settings=asking.mail_settings),
    ],
)  # fmt: skip
