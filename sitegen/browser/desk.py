"""One open desk: which studio it is about, what was said last on it, and how it writes days and sums."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cache, cached_property
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from pydantic import BaseModel

from sitegen.browser.posting import Outbox
from sitegen.jobs.reading import sit
from sitegen.jobs.where import wrote
from sitegen.studio.money import in_currency
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Answer
from sitegen.voice.voice import Tongue, english

# What was said is kept for so many pages, so that going back still shows it.
_SAID = 60
# And so many pages that are being written, one in each window.
_TRIED = 8


@dataclass(frozen=True)
class Spoken:
    """What a job answered, kept until the next page shows it."""

    lines: tuple[str, ...]
    asides: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()  # files below out/, by their path there
    undoes: int = 0  # what is taken back with it, by its number; 0 for nothing


@dataclass
class Workplace:
    """The studio at hand and the session."""

    folder: Path
    today: str | None = None
    key: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    preview: str = ""  # where the preview of the site is shown
    trials: OrderedDict[str, bytes] = field(default_factory=OrderedDict)
    """Pages as they would be, by their path on the site: what is being written is looked at."""
    spoken: OrderedDict[str, Spoken] = field(default_factory=OrderedDict)

    @cached_property
    def mark(self) -> str:
        """The word that every form of this session carries."""
        return hmac.new(self.key.encode(), b"forms", hashlib.sha256).hexdigest()[:32]

    @property
    def frames(self) -> str:
        """Where the preview comes from, as a policy names it."""
        parts = urlsplit(self.preview)
        return f"{parts.scheme}://{parts.netloc}" if parts.netloc else ""

    @cached_property
    def outbox(self) -> Outbox:
        """The letters that go out from this desk."""
        return Outbox(self.folder, self.today)

    def remember(self, said: Spoken) -> str:
        """Keep what was said for the next page; return the word it's found by."""
        word = secrets.token_urlsafe(6)
        keep(self.spoken, word, said, _SAID)
        return word

    def try_out(self, path: str, content: bytes) -> None:
        """Keep a page as it would be, to be looked at."""
        keep(self.trials, path, content, _TRIED)

    def speak(self, answer: Answer, *, can_undo: bool = False) -> str:
        """Keep a job's answer for the next page; return the word it's found by."""
        out = (self.folder / "out").resolve()
        there = [Path(one).resolve() for one in getattr(answer, "opens", ())]
        opens = tuple(one.relative_to(out).as_posix() for one in there if one.is_relative_to(out))
        asides = tuple(getattr(answer, "asides", ()))
        return self.remember(Spoken(tuple(answer.lines()), asides, opens, wrote() if can_undo else 0))

    @property
    def tongue(self) -> Tongue:
        """How it writes days and sums: in English, in the studio's currency. Raises StudioFault."""
        settings = self.read().settings
        return speaks(settings.currency, settings.digits)

    @property
    def day(self) -> date:
        """The day it is in the studio. Raises StudioFault."""
        return sit(self.folder, self.today).today

    def read(self) -> Studio:
        """Read the whole studio. Raises StudioFault with every error."""
        return sit(self.folder, self.today).studio


def keep(held: OrderedDict[str, Any], name: str, value: Any, most: int) -> None:
    """Keep something as the latest of a few. Two may do so at once."""
    held.pop(name, None)
    held[name] = value
    while len(held) > most:
        held.popitem(last=False)


@cache
def days() -> Tongue:
    """Write days, where no sum is said."""
    return english().tongue


@cache
def speaks(currency: str, digits: int) -> Tongue:
    """Write days and sums in English, as all of the desk is."""
    return _Ledger(days().locale, days().words, currency, digits)


class _Ledger(Tongue):
    """Writes each sum as the jobs' sentences do, so that a page has one way for it."""

    def money(self, amount: Decimal) -> str:
        return in_currency(amount, self.currency, self.digits)

    exact_money = money


def far(day: date, today: date) -> str:
    """Say how far off a day is."""
    days = (day - today).days
    said = {0: "today", 1: "tomorrow", -1: "yesterday"}.get(days)
    return said or (f"in {days} days" if days > 0 else f"{-days} days ago")


def away(day: date, today: date) -> str:
    """Say how far off a day is, and its date."""
    return f"{far(day, today)}, {days().full_day(day)}"


def dated(sentence: str) -> str:
    """Write the days of a sentence as people do, but for what was typed or is to be typed so."""
    return re.sub(r"(?<!['“`=-])(?<!like )\b[0-9]{4}-[01][0-9]-[0-3][0-9]\b(?![-’'])", _as_day, sentence)


def _as_day(found: re.Match[str]) -> str:
    with suppress(ValueError):
        return days().day(date.fromisoformat(found[0]))
    return found[0]


def digest(*values: object) -> str:
    """Return a short word that is another one if any of the values is."""
    text = "\0".join(repr(_whole(value)) for value in values)
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def _whole(value: object) -> object:
    """Return a value with what its models don't show of themselves: names and sums."""
    if isinstance(value, list | tuple):
        return [_whole(one) for one in value]
    return value.model_dump() if isinstance(value, BaseModel) else value
