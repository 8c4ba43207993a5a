"""What is lost by waiting, as a value: a sentence, by when, the one thing to do, and what it's about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any, NamedTuple

from sitegen.desk import words


class ErrandKind(StrEnum):
    """What is at stake, in the order of what can't be made good again."""

    DELIVERY = "delivery"  # the day to send it by is gone: the client may have everything back
    REFUND = "money to go back"
    LAPSED = "lapsed offer"
    OFFER = "offer"
    PROMISE = "promise"
    PAYMENT = "payment"
    RETURN = "piece due back"
    DOUBT = "letter in doubt"
    ROUND = "round"
    LETTER = "letter"
    INVITATION = "invitation"
    SHEET = "sheet"
    REFUSED = "letter refused"
    REQUEST = "request"
    SHIPPING = "shipping"
    FINISHED = "finished"
    BENCH = "bench"
    CONSENT = "consent"
    CHECKLIST = "checklist"
    TERMS = "terms"
    SALE = "sale"
    BEGINNING = "beginning"  # the starter is as it came
    BOOKS = "books"
    FILES = "files"
    SITE = "site"
    WEB = "web"
    BACKUP = "backup"


class Target(NamedTuple):
    """What an errand is about; a face turns it into a command or a link."""

    kind: str
    """order, round, show, class, letter, piece, people, site, web, backup, terms, books, files,
    checklist …"""
    name: str = ""  # code, name, slug or ident; empty where there's but one


@dataclass(frozen=True)
class Errand:
    """One thing that is better done soon."""

    kind: ErrandKind
    sentence: str
    by: date | None
    """The day after which something is lost, or since which something is; None where no day says so."""
    do: str  # the one thing to do
    target: Target


@dataclass(frozen=True)
class Today:
    """Everything that is lost by waiting, the first to be lost first."""

    day: date
    errands: tuple[Errand, ...]

    def as_answer(self) -> dict[str, Any]:
        return {
            "today": self.day.isoformat(),
            "errands": [
                words.facts(errand, "kind sentence by do") | {"target": errand.target._asdict()}
                for errand in self.errands
            ],
        }

    def lines(self) -> list[str]:
        if not self.errands:
            return ["Nothing is lost by waiting today."]
        return [line for errand in self.errands for line in (errand.sentence, f"  {errand.do}")]


# Days ahead within which things are alike: at once, this week, this month.
_STAGES = (2, 7, 31)


def by_loss(day: date, errands: Iterable[Errand]) -> Today:
    """Put errands in order, each once: by how soon, in a few stages, and within one by what is at stake.

    What has no day belongs to this month.
    """
    kinds = list(ErrandKind)

    def place(one: Errand) -> tuple[int, int, date, Target, str]:
        days = (one.by - day).days if one.by else _STAGES[-1]
        stage = sum(days > limit for limit in _STAGES)
        return stage, kinds.index(one.kind), one.by or date.max, one.target, one.sentence

    return Today(day, tuple(sorted(dict.fromkeys(errands), key=place)))
