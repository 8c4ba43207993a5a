"""One open desk: its studio, what was said last on it, what takes its time; how it writes days and sums."""

from __future__ import annotations

import hashlib
import hmac
import os
import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cache, cached_property
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from pydantic import BaseModel

from sitegen.jobs.posting import SendWish, WallClock, refuse_settings, send
from sitegen.jobs.reading import sit
from sitegen.jobs.report import report
from sitegen.jobs.where import named
from sitegen.studio.asked import Answer, Fault
from sitegen.studio.money import in_currency
from sitegen.studio.whole import Studio
from sitegen.voice.voice import Tongue, english

# What was said is kept for so many pages, so that going back still shows it.
_SAID = 60
# And so many pages that are being written, one in each window.
TRIED = 8


@dataclass(frozen=True)
class Spoken:
    """What a job answered, kept until the next page shows it."""

    lines: tuple[str, ...]
    asides: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()  # files below out/, by their path there
    undoes: int = 0  # what is taken back with it, by its number; 0 for nothing


@dataclass
class LongJob:
    """One long job in a thread of its own, whatever windows are open: how far it is, or how it ended."""

    total: int = 0
    done: int = 0
    answer: Any = None
    fault: str = ""
    waits: str = ""  # why nothing goes on for a while
    ended: bool = False
    clock: WallClock = field(default_factory=WallClock)
    thread: threading.Thread | None = None

    def count(self, done: int, total: int) -> None:
        """Note how far it is."""
        self.done, self.total, self.waits = done, total, ""

    def wait(self, said: str) -> None:
        """Note why nothing goes on for a while."""
        self.waits = said

    def now(self) -> dict[str, Any]:
        """Say how far it is, for a page that is open."""
        return {"done": self.done, "total": self.total, "waits": self.waits, "ended": self.ended}

    def begin(self, called: str, job: Callable[[], Any]) -> threading.Thread:
        """Do a job under this name, and keep what it answers or what went wrong."""

        def through() -> None:
            named(called)
            try:
                self.answer = job()
            except (Fault, OSError) as fault:
                self.fault = str(fault)
            except Exception as fault:  # noqa: BLE001 (the last resort: whoever looks is told)
                self.fault = report(fault)
            finally:
                self.ended = True

        self.thread = threading.Thread(target=through, daemon=True)
        self.thread.start()
        return self.thread


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
    working: LongJob = field(default_factory=LongJob)
    """How far the form is that was sent last, where its job counts."""

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

    def speak(self, answer: Answer, undoes: int = 0) -> str:
        """Keep a job's answer for the next page; return the word it's found by.

        `undoes` is what is taken back with it, by its number; 0 for nothing.
        """
        out, word = (self.folder / "out").resolve(), secrets.token_urlsafe(6)
        there = [Path(file).resolve() for file in getattr(answer, "opens", ())]
        opens = tuple(path.relative_to(out).as_posix() for path in there if path.is_relative_to(out))
        said = Spoken(tuple(answer.lines()), tuple(getattr(answer, "asides", ())), opens, undoes)
        keep(self.spoken, word, said, _SAID)
        return word

    @property
    def tongue(self) -> DeskTongue:
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


# What a form asks of a mail server; the environment names the same things in capitals.
_SERVER = ("host", "port", "security", "user")


def server_of(kind: str, values: Mapping[str, str]) -> dict[str, str]:
    """Return a form's mail server, SMTP or IMAP, as the environment would name it."""
    found = {f"SITEGEN_{kind}_{name.upper()}": values.get(name, "").strip() for name in _SERVER}
    return {**found, f"SITEGEN_{kind}_PASSWORD": values.get("password", "")}


class Outbox:
    """The letters that go out, or went out, from this desk."""

    def __init__(self, folder: Path, today: str | None) -> None:
        self._folder, self._today = folder, today
        self._lock = threading.Lock()
        self._of: dict[str, LongJob] = {}
        self._typed: dict[str, str] = {}

    def of(self, ident: str) -> LongJob | None:
        """Return the latest posting of a letter."""
        return self._of.get(ident)

    def runs(self, ident: str) -> bool:
        """Tell whether a letter is going out just now."""
        return ident in self._of and not self._of[ident].ended

    def known(self) -> dict[str, str]:
        """Return what of the post office is known already, as the form asks for it: never a password."""
        there = {name: os.environ.get(f"SITEGEN_SMTP_{name.upper()}", "").strip() for name in _SERVER}
        return there | self._typed

    def settings(self, values: Mapping[str, str]) -> dict[str, str]:
        """Return a form's post office as the environment would name it. Raises Fault for what can't be right.

        A password that was left out is the environment's, if it's for the same server and name.
        """
        found, there = server_of("SMTP", values), os.environ.get
        same = all(there(name, "") == found[name] for name in ("SITEGEN_SMTP_HOST", "SITEGEN_SMTP_USER"))
        if same and not found["SITEGEN_SMTP_PASSWORD"]:
            found["SITEGEN_SMTP_PASSWORD"] = there("SITEGEN_SMTP_PASSWORD", "")
        refuse_settings(found)
        self._typed = {name: found[f"SITEGEN_SMTP_{name.upper()}"] for name in _SERVER}
        return found

    def post(self, wish: SendWish, total: int, settings: Mapping[str, str]) -> bool:
        """Begin to post a letter; return False if it's being posted already."""
        with self._lock:
            if self.runs(wish.ident):
                return False
            made = self._of[wish.ident] = LongJob(min(total, wish.limit or total))
            # The settings go to the thread alone, so that they are gone when it ends.
            rest = (lambda _: settings, made.count, made.clock, made.wait)
            made.begin("post a letter", lambda: send(self._folder, wish, self._today, *rest).as_answer())
            return True

    def close(self, tell: Callable[[str], None]) -> None:
        """Stop all that goes out between two letters, and say how far it came. It takes a letter's time."""
        running = {ident: job for ident, job in self._of.items() if not job.ended}
        for ident, job in running.items():
            job.clock.stop()
            tell(f"“{ident}” is going out; the letter in hand is finished first.")
        for ident, job in running.items():
            if job.thread is not None:
                job.thread.join()
            ended = job.fault or "{posted} posted, {left} to go. Nobody gets it twice.".format_map(job.answer)
            tell(f"“{ident}” stopped: {ended}")


@cache
def days() -> Tongue:
    """Write days, where no sum is said."""
    return english().tongue


@cache
def speaks(currency: str, digits: int) -> DeskTongue:
    """Write days and sums in English, as all of the desk is."""
    return DeskTongue(days().locale, days().words, currency, digits)


class DeskTongue(Tongue):
    """Writes each sum as the jobs' sentences do, so that a page has one way for it."""

    def money(self, amount: Decimal) -> str:
        return in_currency(amount, self.currency, self.digits)

    exact_money = money

    def figure(self, amount: Decimal) -> str:
        """Write a sum for a table that says its currency once."""
        return self.money(amount).removesuffix(f" {self.currency}").replace("-", "−")


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

    def as_day(found: re.Match[str]) -> str:
        with suppress(ValueError):
            return days().day(date.fromisoformat(found[0]))
        return found[0]

    return re.sub(r"(?<!['“`=-])(?<!like )\b[0-9]{4}-[01][0-9]-[0-3][0-9]\b(?![-’'])", as_day, sentence)


def digest(*values: object) -> str:
    """Return a short word that is another one if any of the values is."""
    text = "\0".join(repr(_whole(value)) for value in values)
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def _whole(value: object) -> object:
    """Return a value with what its models don't show of themselves: names and sums."""
    if isinstance(value, list | tuple):
        return [_whole(part) for part in value]
    return value.model_dump() if isinstance(value, BaseModel) else value
