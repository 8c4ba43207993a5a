"""What one letter to one client says, before a theme puts it into words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum


class Matter(StrEnum):
    """What a letter to a client is about; the theme has a block of sentences for each."""

    OFFER = "offer"
    CONFIRMATION = "confirmation"
    """Straight after the yes: everything agreed on, and how to pay."""
    LAPSED = "lapsed"
    DECLINED = "declined"
    AHEAD = "payment ahead"
    """A part that will be due soon; nobody is reminded of anything."""
    DUE = "payment due"
    """A part that is due and still within the days of grace."""
    REMINDER = "reminder"
    """A part that is late."""
    FINISHED = "finished"
    CALLED_OFF = "called off"
    DELAY = "delay"
    """A new day that stands if the client says nothing (16 CFR 435.2(b)(1)(ii))."""
    LONG_DELAY = "long delay"
    """A new day that needs the client's yes, or none at all (16 CFR 435.2(b)(1)(iii))."""
    RENEWED_DELAY = "renewed delay"
    """Put off again: any further day needs a yes (16 CFR 435.2(b)(2))."""


# What may hold of an order, by the names that a theme's `when:` uses.
CIRCUMSTANCES = frozenset({
    "by_client", "by_maker", "by_nobody", "due", "due_today", "kept_all", "kept_none", "kept_part", "late",
    "no_day", "nothing_typed", "overdue", "owed_in_part", "owed_in_whole", "plan_floats", "postage_extra",
    "postage_included", "sent_in_part", "sent_in_whole", "timely", "typed", "unpaid", "paid",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Due:
    """One part of a payment plan."""

    day: date
    amount: Decimal
    standing: str
    """paid, to come, due or late; the theme says it in its own words."""


@dataclass(frozen=True, slots=True)
class LetterClient:
    """Who the letter is for."""

    code: str
    tier: str
    name: str = field(repr=False)
    email: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class ClientLetter:
    """What one letter to one client says."""

    matter: Matter
    client: LetterClient
    days: Mapping[str, date] = field(default_factory=dict)
    """Days named in the sentences, by place; each can be named as a month too, as {promised_month}."""
    sums: Mapping[str, Decimal] = field(default_factory=dict)
    """Amounts named in the sentences, by place: price, postage, owed, balance, paid, kept, …"""
    texts: Mapping[str, str] = field(default_factory=dict)
    """The artist's words and facts named in the sentences: why, brief, includes, how_to_pay, …"""
    holds: frozenset[str] = frozenset()
    """Which of the CIRCUMSTANCES hold."""
    parts: tuple[Due, ...] = ()
    note: str = ""
    """The artist's own words, in Markdown."""
    remarks: tuple[str, ...] = ()
    """What the artist should know before posting it."""
    lengths: Mapping[str, int] = field(default_factory=dict)
    """Lengths named in the sentences, in millimetres: height."""
