"""Someone on the mailing list, and whether they may be written to.

People are plain dataclasses rather than checked models: a list of ten thousand must load in a blink,
and each field is read by its own line of code in the sources room.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from zoneinfo import ZoneInfo

from sitegen.studio.addresses import address_key


class Interest(StrEnum):
    """What a person asked to hear of."""

    COMMISSIONS = "commissions"
    NEW_PIECES = "new pieces"
    SHOWS = "shows"
    CLASSES = "classes"


class Consent(StrEnum):
    """How a person agreed to letters."""

    WEB = "web"
    SHOW_SHEET = "show sheet"
    PURCHASE = "purchase"
    IN_PERSON = "in person"
    NOT_CONFIRMED = "not confirmed"


class Why(StrEnum):
    """Why a person left the list."""

    ASKED = "asked"
    BOUNCED = "bounced"
    COMPLAINED = "complained"


# A purchase counts as consent for two years and no longer: S.C. 2010 c. 23 (Canada) s. 10(10)(a), the
# strictest of the rules the letters room follows. The anniversary itself still counts.
PURCHASE_YEARS = 2


@dataclass(frozen=True, slots=True)
class Left:
    """When and why a person left."""

    on: date
    why: Why


@dataclass(frozen=True, slots=True)
class Person:
    """One row of people.csv."""

    email: str = field(repr=False)
    """As typed, the domain in lower case."""
    name: str = field(default="", repr=False)
    interests: frozenset[Interest] = frozenset()
    joined: date | None = None
    consent: Consent | None = None
    evidence: str = field(default="", repr=False)
    left: Left | None = None
    line: int = 0
    """Line of people.csv, so that a later message can point at it."""
    zone: ZoneInfo | None = None
    """Where their clock stands, if it's known: a letter then gives times in it too."""

    @property
    def key(self) -> str:
        """The address as compared."""
        return address_key(self.email)


def consent_lapsed(person: Person, today: date) -> bool:
    """Tell whether a purchase, this person's only consent, lies too far back."""
    if person.consent is not Consent.PURCHASE or person.joined is None:
        return False
    return _years_later(person.joined, PURCHASE_YEARS) < today


def _years_later(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February in a common year
        return day.replace(year=day.year + years, day=28)
