"""Someone on the mailing list, whether they may be written to, and how their address goes on an envelope.

People are picked by plain words: `commissions and not buyer`, `shows or classes`, `left`.

People are plain dataclasses rather than checked models: a list of ten thousand must load in a blink,
and each field is read by its own line of code in the sources room.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from zoneinfo import ZoneInfo

from sitegen.studio.text import ascii_domain

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
    return f"{folded}@{ascii_domain(domain) or domain.casefold()}"


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
    host = ascii_domain(domain)
    if not _LOCAL.fullmatch(local) or host is None or not _DOMAIN.fullmatch(host):
        raise ValueError("the address isn't one that mail can be sent to")
    whole = f"{local}@{host}"
    if len(local) > LONGEST_LOCAL or len(host) > LONGEST_DOMAIN or len(whole) > LONGEST_ADDRESS:
        raise ValueError("the address is longer than any mail server takes")
    return whole


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


Test = Callable[[Person], bool]


def _said(word: Interest | Consent | Why) -> Test:
    return lambda who: word in {*who.interests, who.consent, who.left.why if who.left else None}


_WORDS: dict[str, Test] = {
    **{str(word): _said(word) for word in (*Interest, *Consent, *Why)},
    "buyer": _said(Consent.PURCHASE),
    "no consent": lambda person: person.consent is None,
    "left": lambda person: person.left is not None,
    "nameless": lambda person: not person.name,
    "everyone": lambda person: True,
}
_LINKS = {"and", "or", "not", "(", ")"}
# What binds last comes first.
_JOINED = (("or", any), ("and", all))


def picker(words: str, more: Mapping[str, Test] = MappingProxyType({})) -> Test:
    """Turn words into a test of a person; `not` binds closest, then `and`, then `or`.

    `more` are words that rest on the whole list. Raises ValueError with a sentence for a word that isn't
    known or a phrase that isn't whole.
    """
    # `not confirmed` is a word of the list, not the opposite of one.
    parts = re.split(
        r"(\(|\)|\band\b|\bor\b|\bnot(?! confirmed\b(?! by))\b)", " ".join(words.lower().split())
    )
    left = [part.strip() for part in parts if part.strip()]
    test = _read(left, {**_WORDS, **more})
    if left:
        raise ValueError(f"'{' '.join(left)}' is too much in '{words}'; join words with and, or, not")
    return test


def _read(left: list[str], known: Mapping[str, Test], level: int = 0) -> Test:
    """Read a test off the words that are left, which it shortens."""
    if level == len(_JOINED):
        return _single(left, known)
    word, how = _JOINED[level]
    tests = [_read(left, known, level + 1)]
    while left[:1] == [word]:
        del left[0]
        tests.append(_read(left, known, level + 1))
    return lambda person: how(test(person) for test in tests)


def _single(left: list[str], known: Mapping[str, Test]) -> Test:
    if not left:
        raise ValueError(f"a word is missing; use {', '.join(known)}")
    first = left.pop(0)
    if first == "not":
        test = _single(left, known)
        return lambda person: not test(person)
    if first == "(":
        test = _read(left, known)
        if left[:1] != [")"]:
            raise ValueError("a bracket isn't closed; add ')'")
        del left[0]
        return test
    if first in _LINKS or first not in known:
        from sitegen.studio.fields import not_one_of  # noqa: PLC0415 (the terminal's start needn't wait for it)

        raise ValueError(not_one_of(first, list(known)))
    return known[first]
