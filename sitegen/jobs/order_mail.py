"""Read a mail in which somebody asks for a commission, to look over before it's in the book."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC
from pathlib import Path
from typing import Any

from sitegen.desk.find import Sitting, one_line
from sitegen.jobs.reading import ORDERS, sit
from sitegen.letters import Asking, read_asking
from sitegen.studio.fault import Fault
from sitegen.studio.order_lines import write_time
from sitegen.studio.text import short
from sitegen.studio.wish import ask, wish

# Characters of a note in the book; the mail itself holds the rest.
_MOST = 2_000


@wish
class ReadMail:
    """The mail."""

    mail: str = ask("The whole mail, saved or copied: sender, day and text.", file=True, there=True)


@dataclass(frozen=True)
class MailRead:
    """What a request says, as far as it can be made out."""

    name: str = field(repr=False)
    email: str = field(repr=False)
    on: str
    """When it came in, as `--on` reads it; empty where that isn't plain."""
    tier: str
    """What is asked for, where just one kind is named."""
    notes: str = field(repr=False)
    doubts: tuple[str, ...]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {name: getattr(self, name) for name in ("name", "email", "on", "tier", "notes")}

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        return list(self.doubts)


def read_mail(folder: Path, wish: ReadMail, today: str | None) -> MailRead:
    """Find who asks, when and for what; nothing is written. Raises Fault for an empty mail."""
    return read(sit(folder, today, ORDERS), wish.mail)


def read(desk: Sitting, mail: str) -> MailRead:
    """Find who asks, when and for what."""
    if not mail.strip():
        raise Fault("there is nothing in it; paste the mail with its sender and its day")
    found = read_asking(mail)
    on, late = _came(desk, found)
    stop = "" if found.subject.endswith(("?", "!", ".", "…")) else "."
    words = one_line(f"{found.subject}{stop} {found.text}" if found.subject else found.text)
    said = f"{words} {found.subject}".casefold()
    tiers = [tier.name for tier in desk.studio.commissions.tiers if tier.name.casefold() in said]
    notes = short(words, _MOST)
    return MailRead(
        one_line(found.name), found.email, on, tiers[0] if len(tiers) == 1 else "", notes,
        tuple(_doubts(found, late, on, cut=notes != words)),
    )  # fmt: skip


def _came(desk: Sitting, found: Asking) -> tuple[str, bool]:
    """Return when a mail came in by the studio's clock, and whether that would lie ahead."""
    at = found.at
    if at is None:
        return "", False
    here = desk.moment.tzinfo
    local = at.astimezone(here) if at.tzinfo is not None else at.replace(tzinfo=here)
    if local.astimezone(UTC).date() > desk.moment.astimezone(UTC).date():
        return "", True
    clock = f" {write_time(local.time())}" if at.tzinfo is not None or (at.hour, at.minute) != (0, 0) else ""
    return f"{local.date()}{clock}", False


def _doubts(found: Asking, late: bool, on: str, *, cut: bool) -> list[str]:
    return [
        *(["No sender's address was found; fill it in."] if not found.email else []),
        *(["No sender's name was found; fill it in."] if found.email and not found.name else []),
        *(["The day it gives lies ahead; fill in when it came."] if late else []),
        *(["No day was found in it; fill in when it came."] if not on and not late else []),
        *(["The time is the sender's own clock."] if on and not found.by_the_post else []),
        *(["Nothing is left of its text but what it quotes."] if not found.text else []),
        *(["It is long, so its beginning is noted; keep the mail."] if cut else []),
    ]
