"""`announce` and `send`: letters are written first, looked at, and posted afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from sitegen.studio.counting import counted
from sitegen.terminal.group import Asked, Commands
from sitegen.terminal.telling import tell

if TYPE_CHECKING:
    from sitegen.jobs.letters import Own, Written
    from sitegen.letters import Announcement

Command = TypeVar("Command", bound=Callable[..., Any])


def own_options(command: Command) -> Command:
    """Let the artist add to a letter, and look at it."""
    options = [
        click.option(
            "--note",
            type=click.Path(path_type=Path, dir_okay=False),
            help="Your own words, a Markdown file; ![](moth-usher) shows a piece.",
        ),
        click.option(
            "--pictures",
            "showing",
            type=click.Choice(["carried", "linked", "none"]),
            default="carried",
            show_default=True,
            help="Inside the letter, from your site, or not at all.",
        ),
        click.option(
            "--name", default="", metavar="WORD", help="Sets a second letter on the same thing apart."
        ),
        click.option("--show", "opened", is_flag=True, help="Open the letter in the browser."),
    ]
    for option in reversed(options):
        command = option(command)
    return command


@click.group(cls=Commands)
def announce() -> None:
    """Write a letter to everyone who asked to hear of it. Nothing is posted yet."""


@announce.command("commissions", epilog="Example:  sitegen announce commissions --note words.md")
@click.argument("round_name", required=False, metavar="[ROUND]")
@click.option(
    "--head-start", type=click.IntRange(0, 336), metavar="HOURS", help="The waiting list may ask earlier."
)
@own_options
@click.pass_obj
def announce_commissions(asked: Asked, /, round_name: str | None, head_start: int | None, **own: Any) -> None:
    """Write the letter that says a round of commissions opens (the open or next one, unless named)."""
    from sitegen.jobs import letters

    words = _own(own)
    with letters.at_desk(asked.studio, asked.today, own["name"]) as desk:
        both = letters.commissions(desk, round_name, words, head_start)
    for made in both:
        _print(desk, made, own["opened"])


@announce.command("pieces", epilog="Example:  sitegen announce pieces star-darner --pictures linked")
@click.argument("slugs", nargs=-1, metavar="[SLUG…]")
@click.option(
    "--since", type=click.DateTime(["%Y-%m-%d"]), help="All available pieces finished since that day."
)
@own_options
@click.pass_obj
def announce_pieces(asked: Asked, /, slugs: tuple[str, ...], since: object, **own: Any) -> None:
    """Write the letter that says new pieces have come. Each must be available."""
    from datetime import datetime

    from sitegen.jobs import letters

    day = since.date() if isinstance(since, datetime) else None
    if not slugs and day is None:
        raise click.UsageError("name the pieces, or give --since DATE")
    words = _own(own)
    with letters.at_desk(asked.studio, asked.today, own["name"]) as desk:
        made = letters.pieces(desk, slugs, day, words)
    _print(desk, made, own["opened"])


@announce.command("show", epilog="Example:  sitegen announce show winter-fair-2027")
@click.argument("slug", metavar="SHOW")
@own_options
@click.pass_obj
def announce_show(asked: Asked, /, slug: str, **own: Any) -> None:
    """Write the letter that invites to a coming show."""
    from sitegen.jobs import letters

    words = _own(own)
    with letters.at_desk(asked.studio, asked.today, own["name"]) as desk:
        made = letters.show(desk, slug, words)
    _print(desk, made, own["opened"])


def _own(own: Mapping[str, Any]) -> Own:
    """Return what the artist adds: their words from a file, or asked for where someone can answer."""
    from sitegen.jobs import letters
    from sitegen.letters import Showing
    from sitegen.terminal import asking

    words = letters.read_note(own["note"]) if own["note"] else asking.own_words()
    return letters.Own(words, Showing(own["showing"]))


def _print(desk: Written, made: Announcement, opened: bool) -> None:
    from sitegen.jobs import letters

    for line in letters.told(desk, made):
        tell(line)
    if opened:
        click.launch(str(made.folder / "letter.html"))


@click.command("send", epilog="Example:  sitegen send commissions-winter-2027 --limit 50")
@click.argument("ident", metavar="ID")
@click.option("--to-me", is_flag=True, help="Post only the trial copy, to your own address.")
@click.option("--limit", type=click.IntRange(1), help="At most so many people in this run.")
@click.option(
    "--pace", type=click.FloatRange(0), default=20.0, show_default=True, help="Letters a minute; 0: no limit."
)
@click.option(
    "--mbox", type=click.Path(path_type=Path, dir_okay=False), help="Write one mailbox file instead."
)
@click.option("--has", "has", metavar="ADDRESS", help="Someone in doubt has the letter.")
@click.option("--has-not", "has_not", metavar="ADDRESS", help="Someone in doubt hasn't got it.")
@click.option("--yes", is_flag=True, help="Don't ask before posting.")
@click.pass_obj
def send(asked: Asked, /, ident: str, **how: Any) -> None:
    """Post a letter over SMTP. It can be stopped and run again; nobody ever gets it twice.

    The post office is named by SITEGEN_SMTP_HOST, _PORT, _SECURITY (tls, starttls; none for this machine
    only), _USER and _PASSWORD in the environment; what's missing is asked for. The password is kept nowhere.
    """
    from sitegen.jobs import posting
    from sitegen.letters.gate import OUTGOING
    from sitegen.terminal.asking import mail_settings

    folder = asked.studio
    decisions = [(how[word], word == "has") for word in ("has", "has_not") if how[word] is not None]
    for address, has_it in decisions:
        posting.decide(folder, ident, address, has_it=has_it)
        tell(f"Noted: {address} {'has it' if has_it else 'has not got it; the next send posts it'}.")
    if decisions:
        return
    if how["mbox"] is not None:
        boxed = posting.box(folder, ident, how["mbox"], asked.today)
        tell(f"{counted(boxed, 'letter', 'letters')} in {how['mbox']}")
    elif how["to_me"]:
        settings = mail_settings(OUTGOING)
        tell(f"The trial copy went to {posting.post_to_me(folder, ident, settings)}.")
    else:
        _post(asked, ident, how)


def _post(asked: Asked, ident: str, how: Mapping[str, Any]) -> None:
    from sitegen.jobs import posting
    from sitegen.letters.gate import OUTGOING
    from sitegen.terminal.asking import mail_settings
    from sitegen.terminal.telling import Bar

    if not how["yes"]:
        click.confirm(f"Post {ident} to everyone in its recipients.csv who hasn't got it?", abort=True)
    settings = mail_settings(OUTGOING)
    with Bar("Letters") as bar:
        wish = posting.Wish(ident, how["pace"], how["limit"], bar.advance, settings)
        result, bounced = posting.post_until_stopped(asked.studio, wish, asked.today)
    for line in posting.told(result, bounced):
        tell(line)
    if result.stopped or result.in_doubt:
        raise SystemExit(1)
