"""Someone on the mailing list, whether they may be written to, and how their address goes on an envelope.

People are plain dataclasses rather than checked models: a list of ten thousand must load in a blink,
and each field is read by its own line of code in the sources room.
"""

import re
import unicodedata
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from zoneinfo import ZoneInfo

# RFC 5321 section 4.5.3.1 (local part, domain) and RFC 3696 erratum 1690 (the whole).
LONGEST_LOCAL, LONGEST_DOMAIN, LONGEST_ADDRESS = 64, 255, 254

# RFC 5322 section 3.2.3, dot-atom: what needs no quoting in front of the @.
_LOCAL = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
# RFC 1123 section 2.1 host names, with at least one dot: no letter goes to a bare machine name.
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_DOMAIN = re.compile(rf"{_LABEL}(?:\.{_LABEL})+")


def address_key(address: str) -> str:
    """Fold an address for comparison: case, composed letters, and the domain in its ASCII form.

    RFC 5321 section 2.4 lets a server tell `Ada@` from `ada@`; no two people share one but for case,
    so the folded form is only ever compared, and the address is kept and written to as typed.
    """
    typed = address.strip()
    if typed.isascii():
        return typed.lower()
    local, _, domain = unicodedata.normalize("NFC", typed).rpartition("@")
    folded = unicodedata.normalize("NFC", local.casefold())
    return f"{folded}@{_ascii_domain(domain) or domain.casefold()}"


def deliverable(address: str) -> str:
    """Return the address in the form every mail server takes: ASCII, the domain as IDNA writes it.

    Raises ValueError, with a sentence, for an address that can't be put on an envelope.
    """
    local, at, domain = unicodedata.normalize("NFC", address).rpartition("@")
    if not at:
        raise ValueError("the address has no @")
    if not local.isascii():
        raise ValueError(
            "few mail servers take letters beyond a–z before the @; write to this person by hand"
        )
    host = _ascii_domain(domain)
    if not _LOCAL.fullmatch(local) or host is None or not _DOMAIN.fullmatch(host):
        raise ValueError("the address isn't one that mail can be sent to")
    whole = f"{local}@{host}"
    if len(local) > LONGEST_LOCAL or len(host) > LONGEST_DOMAIN or len(whole) > LONGEST_ADDRESS:
        raise ValueError("the address is longer than any mail server takes")
    return whole


def _ascii_domain(domain: str) -> str | None:
    if domain.isascii():
        return domain.lower()
    import idna  # noqa: PLC0415 (its tables are large and few lists need them)

    try:
        return idna.encode(domain, uts46=True).decode("ascii")
    except idna.IDNAError:
        return None


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
    CONFIRMED = "confirmed by mail"  # answered the letter that asks, from the mailbox itself
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

    email: str = field(repr=False)  # as typed, the domain in lower case
    name: str = field(default="", repr=False)
    interests: frozenset[Interest] = frozenset()
    joined: date | None = None
    consent: Consent | None = None
    evidence: str = field(default="", repr=False)
    left: Left | None = None
    line: int = 0  # line of people.csv, so that a later message can point at it
    zone: ZoneInfo | None = None
    """Where their clock stands, if it's known: a letter then gives times in it too."""

    @property
    def key(self) -> str:
        """The address as compared."""
        return address_key(self.email)


def last_day_of_consent(person: Person) -> date | None:
    """Return the last day on which a purchase counts as consent; None for a yes in so many words."""
    if person.consent is not Consent.PURCHASE or person.joined is None:
        return None
    year = person.joined.year + PURCHASE_YEARS
    try:
        return person.joined.replace(year=year)
    except ValueError:  # 29 February in a common year
        return person.joined.replace(year=year, day=28)
