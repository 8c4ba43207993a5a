"""Ask the person at the terminal, where there is one; in a pipe nothing is asked."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Protocol

import click

from sitegen.terminal.telling import tell

if TYPE_CHECKING:
    from sitegen.studio.outward import Publishing
    from sitegen.studio.wish import Answer


class Server(Protocol):
    """A kind of mail server, as its settings are named in the environment."""

    @property
    def name(self) -> str: ...  # SMTP or IMAP
    @property
    def provider_says(self) -> str: ...  # how mail providers name its settings


def someone_is_there() -> bool:
    """Tell whether a question can be answered."""
    return sys.stdin.isatty()


def mail_settings(kind: Server) -> Mapping[str, str]:
    """Return the environment's settings of a mail server, and ask for what is missing; nothing is kept."""
    found = dict(os.environ)
    if not someone_is_there():
        return found
    prefix = f"SITEGEN_{kind.name}"
    if not found.get(f"{prefix}_HOST"):
        tell(f"Your mail provider names these under {kind.provider_says}.")
        found[f"{prefix}_HOST"] = click.prompt("Server")
        found[f"{prefix}_USER"] = found.get(f"{prefix}_USER") or click.prompt("User name")
    if found.get(f"{prefix}_USER") and not found.get(f"{prefix}_PASSWORD"):
        found[f"{prefix}_PASSWORD"] = click.prompt(
            f"Password of {found[f'{prefix}_USER']} at {found[f'{prefix}_HOST']} (kept nowhere)",
            hide_input=True,
        )
    return found


def web_password(place: Publishing) -> str:
    """Return the password of a user at a host: from the environment, or asked for; it is kept nowhere."""
    found = os.environ.get("SITEGEN_PUBLISH_PASSWORD", "")
    if found or not someone_is_there():
        return found
    end = "; Enter alone if a key opens the door" if place.way == "sftp" else ""
    asked = f"Password of {place.user} at {place.host} (kept nowhere{end})"
    return str(click.prompt(asked, hide_input=True, default="", show_default=False))


def trusts(answer: Answer) -> bool:
    """Show what is to be trusted and ask; where nobody can answer, it isn't."""
    tell("\n".join(answer.lines()), err=True)
    return someone_is_there() and click.confirm("Is it the same?", err=True)


def own_words() -> str:
    """Ask for a few words of the artist's own."""
    if not someone_is_there() or not click.confirm(
        "Write a few words of your own at the top?", default=False
    ):
        return ""
    tell("Write them here, a paragraph or more (Markdown). A line with only a full stop ends them.")
    lines = iter(lambda: click.prompt("", prompt_suffix="> ", default="", show_default=False), ".")
    return "\n".join(lines)
