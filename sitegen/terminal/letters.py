"""`announce` and `send`: letters are written first, looked at, and posted afterwards."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sitegen.jobs.letter_kinds import KINDS
from sitegen.terminal.asking import mail_settings, own_words
from sitegen.terminal.group import Commands, plain

if TYPE_CHECKING:
    from sitegen.jobs.letters import LetterWish
    from sitegen.jobs.posting import SendWish


def _with_words(wish: LetterWish) -> LetterWish:
    """Add what the artist has to say: as given, or asked for where someone can answer."""
    return wish if getattr(wish, "words", "none") else replace(wish, words=own_words())


def _sure(wish: SendWish) -> str:
    if not wish.is_for_all:
        return ""
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
    """, sure=_sure, bar="Letters", settings=mail_settings,
)  # fmt: skip
