"""`announce` and `send`: letters are written first, looked at, and posted afterwards."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import click

from sitegen.terminal.asking import agree, mail_settings, own_words
from sitegen.terminal.group import SHOW, Asked, Commands, shown
from sitegen.terminal.telling import Bar, tell_all

if TYPE_CHECKING:
    from sitegen.jobs.letters import AnnounceCommissions, AnnouncePieces, AnnounceShow, Letters, LetterWish
    from sitegen.jobs.posting import SendWish

Wished = TypeVar("Wished", bound="LetterWish")


@shown("announce commissions", "letters.commissions", "--note words.md", SHOW)
def commissions(asked: Asked, wish: AnnounceCommissions, opened: bool) -> None:
    """Write the letter that says a round of commissions opens (the open or next one, unless named)."""
    from sitegen.jobs import letters

    _show(letters.commissions(asked.studio, _with_words(wish), asked.today), opened)


@shown("announce pieces", "letters.pieces", "star-darner --pictures linked", SHOW)
def pieces(asked: Asked, wish: AnnouncePieces, opened: bool) -> None:
    """Write the letter that says new pieces have come. Each must be available."""
    from sitegen.jobs import letters

    _show(letters.pieces(asked.studio, _with_words(wish), asked.today), opened)


@shown("announce show", "letters.show", "winter-fair-2027", SHOW)
def show(asked: Asked, wish: AnnounceShow, opened: bool) -> None:
    """Write the letter that invites to a coming show."""
    from sitegen.jobs import letters

    _show(letters.show(asked.studio, _with_words(wish), asked.today), opened)


def _with_words(wish: Wished) -> Wished:
    """Add what the artist has to say: as given, or asked for where someone can answer."""
    return wish if wish.words else replace(wish, words=own_words())


def _show(done: Letters, opened: bool) -> None:
    tell_all(done.lines())
    for letter in done.letters if opened else ():
        click.launch(str(letter.folder / "letter.html"))


announce = Commands(
    "announce",
    help="Write a letter to everyone who asked to hear of it. Nothing is posted yet.",
    commands=[commissions, pieces, show],
)


@shown(
    "send", "posting.send", "commissions-winter-2027 --limit 50",
    click.Option(["--yes"], is_flag=True, help="Don't ask before posting."),
)  # fmt: skip
def send(asked: Asked, wish: SendWish, yes: bool) -> None:
    """Post a letter over SMTP. It can be stopped and run again; nobody ever gets it twice.

    The post office is named by SITEGEN_SMTP_HOST, _PORT, _SECURITY (tls, starttls; none for this machine
    only), _USER and _PASSWORD in the environment; what's missing is asked for. The password is kept nowhere.
    """
    from sitegen.jobs import posting

    folder = asked.studio
    if wish.is_for_all and not yes:
        agree(f"Post {wish.ident} to everyone in its recipients.csv who hasn't got it?")
    with Bar("Letters") as bar:
        done = posting.send(folder, wish, asked.today, mail_settings, bar.advance)
    tell_all(done.lines())
    if not done.is_whole:
        raise SystemExit(1)
