"""`people`, `announce` and `send`: the list, and letters to it, written, looked at, then posted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sitegen.jobs.letter_kinds import KINDS
from sitegen.studio.person import Interest
from sitegen.studio.text import fit
from sitegen.terminal import asking
from sitegen.terminal.asking import mail_settings, own_words
from sitegen.terminal.group import JSON, Asked, Commands, plain, shown
from sitegen.terminal.telling import say, tell_all

if TYPE_CHECKING:
    from sitegen.jobs.letters import LetterWish
    from sitegen.jobs.people import OnePerson
    from sitegen.jobs.posting import SendWish
    from sitegen.jobs.sheets import TypeRows


_BOXES = ", ".join(f"{place} {one}" for place, one in enumerate(Interest, start=1))


def _keeps(address: str, odd: str) -> bool:
    """Ask about a likely slip where someone can answer; elsewhere it's taken as it stands, and told."""
    if not asking.someone_is_there():
        return True
    return click.confirm(fit(f"{address}: {odd} Take it as it is written?"), default=False)


def _sure(_: Path, wish: OnePerson) -> str:
    return f"Erase {wish.address} from people.csv? This can't be undone."


@shown("people type", "sheets.type_rows", "SFAT26-1\nSFAT26 --row '31 | Ada | ada@mail.example | 1 3'", JSON)
def type_rows(asked: Asked, wish: TypeRows, *, as_json: bool = False) -> None:
    """Type a show's sign-up sheet into the list, row by row; each is saved at once.

    At a terminal it asks, and goes on after the row where you stopped; with --row it takes these rows.
    The code stands on the sheet; it and the row become the evidence, the show's day the day they agreed.
    """
    from sitegen.jobs import sheets as jobs

    answer = jobs.type_rows(asked.find(), wish, asked.today, _keeps)
    if as_json or wish.rows or not asking.someone_is_there():
        say(answer, as_json=as_json)
    else:
        tell_all(answer.lines())
        row = answer.sheet.next
        while typed := _row_at_prompt(row):
            if typed.isdecimal():
                row = int(typed)
                continue
            answer = jobs.type_rows(asked.find(), replace(wish, rows=(typed,)), asked.today, _keeps)
            tell_all(answer.lines() if answer.is_well else answer.lines()[:-1])
            row += answer.is_well
    if not answer.is_well:
        raise SystemExit(1)


def _row_at_prompt(row: int) -> str:
    """Ask for a row of the paper; nothing ends it, a number goes to that row."""
    name = click.prompt(
        f"Row {row}: name (- for none, ? if it can't be read, a number for another row, empty to stop)",
        default="", show_default=False,
    ).strip()  # fmt: skip
    if not name or name.isdecimal() or name == "?":
        return name if name != "?" else f"{row} | ?"
    address = click.prompt("  address").strip()
    boxes = click.prompt(f"  boxes ({_BOXES})", default="", show_default=False)
    return " | ".join([str(row), *(part.replace("|", " ") for part in (name.strip("-"), address, boxes))])


people = Commands(
    "people",
    help="The mailing list: who agreed, who left, what came back.",
    commands=[
        plain("people add", "people.add", "ana@mail.example --source web --evidence 'form on the site'",
            "Put one person on the list, with the proof of their consent.", keeps=_keeps),
        plain("people import", "people.take_over", "sheet.csv --source 'show sheet' --dry-run",
            "Take people over from any table; done twice, it adds nothing the second time.", keeps=_keeps),
        type_rows,
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


def _with_words(wish: LetterWish) -> LetterWish:
    """Add what the artist has to say: as given, or asked for where someone can answer."""
    return wish if getattr(wish, "words", "none") else replace(wish, words=own_words())


def _for_all(folder: Path, wish: SendWish) -> str:
    if not wish.is_for_all:
        return ""
    from sitegen.jobs.posting import letter_of

    letter_of(folder, wish.ident)  # that there's none is said before anything is asked
    return f"Post {wish.ident} to everyone in its recipients.csv who hasn't got it?"


announce = Commands(
    "announce",
    help="Write a letter to everyone who asked to hear of it. Nothing is posted yet.",
    commands=[
        *(plain(f"announce {kind.name}", kind.job, kind.example, kind.told, fill=_with_words, opens=True)
          for kind in KINDS),
        plain("announce list", "letters_made.made", "commissions-winter-2027",
            "List the letters that were made and who has them, and the drafts to clients."),
        plain("announce discard", "letters.throw_away", "commissions-winter-2027",
            "Throw away a letter that nobody has; one that was posted, even to one person, stays."),
    ],
)  # fmt: skip
send = plain(
    "send", "posting.send", "commissions-winter-2027 --limit 50",
    """Post a letter over SMTP. It can be stopped and run again; nobody ever gets it twice.

    The post office is named by SITEGEN_SMTP_HOST, _PORT, _SECURITY (tls, starttls; none for this machine
    only), _USER and _PASSWORD in the environment; what's missing is asked for. The password is kept nowhere.
    """, sure=_for_all, bar="Letters", settings=mail_settings,
)  # fmt: skip
