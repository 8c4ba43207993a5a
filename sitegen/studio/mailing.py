"""Decide who a letter goes to, and say of everyone else why not.

The choice rests on what each row of people.csv proves, not on goodwill: a row without provable
consent is left out, and one row that left keeps the whole address out until a later signature.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from sitegen.studio.person import Consent, Interest, Left, Person, Why, consent_lapsed

# A person said yes to letters in so many words; a purchase only implies it.
EXPLICIT = frozenset({Consent.WEB, Consent.SHOW_SHEET, Consent.IN_PERSON})

# RFC 5321 section 4.5.3.1 (local part, domain) and RFC 3696 erratum 1690 (the whole).
LONGEST_LOCAL, LONGEST_DOMAIN, LONGEST_ADDRESS = 64, 255, 254

# RFC 5322 section 3.2.3, dot-atom: what needs no quoting in front of the @.
_LOCAL = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
# RFC 1123 section 2.1 host names, with at least one dot: no letter goes to a bare machine name.
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_DOMAIN = re.compile(rf"{_LABEL}(?:\.{_LABEL})+")


class Reason(StrEnum):
    """Why someone doesn't get a letter."""

    LEFT = "left"
    NO_CONSENT = "no consent"
    NOT_CONFIRMED = "not confirmed"
    LAPSED = "consent lapsed"
    NOT_YET = "joined later"
    OTHER_INTERESTS = "other interests"
    SAME_ADDRESS = "same address"
    UNREACHABLE = "address unusable"
    FORGOTTEN = "forgotten"
    ELSEWHERE = "in the other letter"


@dataclass(frozen=True, slots=True)
class Chosen:
    """Someone who gets the letter."""

    person: Person
    address: str = field(repr=False)
    """The address in ASCII, ready for an envelope."""
    key: str = field(repr=False)
    """The address as compared."""
    why: str = field(repr=False)
    """What their row proves, for the artist."""


@dataclass(frozen=True, slots=True)
class Skipped:
    """Someone who doesn't get the letter."""

    person: Person
    reason: Reason
    why: str = field(repr=False)
    """The reason in words, for the artist."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Everyone on the list, each in one of two places, in the list's order."""

    chosen: tuple[Chosen, ...]
    skipped: tuple[Skipped, ...]


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
    if (
        len(local) > LONGEST_LOCAL
        or len(host) > LONGEST_DOMAIN
        or len(local) + 1 + len(host) > LONGEST_ADDRESS
    ):
        raise ValueError("the address is longer than any mail server takes")
    return f"{local}@{host}"


def _ascii_domain(domain: str) -> str | None:
    if domain.isascii():
        return domain.lower()
    import idna  # noqa: PLC0415 (its tables are large and few lists need them)

    try:
        return idna.encode(domain, uts46=True).decode("ascii")
    except idna.IDNAError:
        return None


def choose(
    people: Sequence[Person],
    interest: Interest,
    today: date,
    forgotten: Callable[[str], bool] = lambda key: False,
) -> Choice:
    """Put everyone into one of two lists: who gets a letter on `interest`, and who doesn't, with why.

    `forgotten` tells whether the holder of a key asked to be erased. Someone who named no interest
    hears of everything if they agreed in so many words; a buyer who named none hears of nothing,
    because the purchase alone doesn't show that they want letters.
    """
    exits = _last_exits(people)
    verdicts = [_verdict(person, interest, today, exits.get(address_key(person.email))) for person in people]
    winners = _winners(people, verdicts)
    chosen, skipped = [], []
    for place, (person, verdict) in enumerate(zip(people, verdicts, strict=True)):
        key = address_key(person.email)
        if verdict is not None:
            skipped.append(Skipped(person, *verdict))
        elif forgotten(key):
            skipped.append(Skipped(person, Reason.FORGOTTEN, "asked to be forgotten"))
        elif winners[key] != place:
            other = people[winners[key]]
            skipped.append(Skipped(person, Reason.SAME_ADDRESS, f"same address as {_row(other)}"))
        else:
            chosen.append(Chosen(person, deliverable(person.email), key, proof(person)))
    return Choice(tuple(chosen), tuple(skipped))


def consented(person: Person, today: date) -> tuple[Reason, str] | None:
    """Say what is missing from a person's consent, or None if it stands on `today`."""
    if person.consent is None:
        return Reason.NO_CONSENT, "no consent noted"
    if person.consent is Consent.NOT_CONFIRMED:
        return Reason.NOT_CONFIRMED, "never confirmed"
    if person.joined is not None and person.joined > today:
        return Reason.NOT_YET, f"joined {person.joined}, which is still to come"
    if person.consent is Consent.PURCHASE and person.joined is None:
        return Reason.LAPSED, "bought something, but no date says when; a purchase counts for two years"
    if consent_lapsed(person, today):
        return Reason.LAPSED, f"bought something on {person.joined}; a purchase counts for two years"
    return None


def proof(person: Person) -> str:
    """Say in a few words what a row proves: how, where and when the person agreed."""
    how = str(person.consent) if person.consent else "no consent"
    since = f"joined {person.joined}" if person.joined else ""
    about = ", ".join(sorted(person.interests)) or "any subject"
    return "; ".join(part for part in (how, person.evidence.strip(), since, f"about {about}") if part)


def _last_exits(people: Iterable[Person]) -> dict[str, tuple[Left, Person]]:
    exits: dict[str, tuple[Left, Person]] = {}
    for person in people:
        if person.left is None:
            continue
        key = address_key(person.email)
        if key not in exits or exits[key][0].on < person.left.on:
            exits[key] = person.left, person
    return exits


def _verdict(
    person: Person, interest: Interest, today: date, gone: tuple[Left, Person] | None
) -> tuple[Reason, str] | None:
    if person.left is not None:
        return Reason.LEFT, _exit_words(person.left)
    if gone is not None and not _signed_again(person, gone[0]):
        return Reason.LEFT, f"{_row(gone[1])} has the same address and {_exit_words(gone[0])}"
    return consented(person, today) or _uninterested(person, interest) or _unreachable(person)


def _signed_again(person: Person, exit_: Left) -> bool:
    return person.joined is not None and person.joined > exit_.on and person.consent in EXPLICIT


def _uninterested(person: Person, interest: Interest) -> tuple[Reason, str] | None:
    if interest in person.interests:
        return None
    if person.interests:
        return Reason.OTHER_INTERESTS, f"asked for {', '.join(sorted(person.interests))}; not for {interest}"
    if person.consent in EXPLICIT:
        return None
    return Reason.OTHER_INTERESTS, f"bought something, but never asked for letters on {interest}"


def _unreachable(person: Person) -> tuple[Reason, str] | None:
    try:
        deliverable(person.email)
    except ValueError as fault:
        return Reason.UNREACHABLE, str(fault)
    return None


def _winners(people: Sequence[Person], verdicts: Sequence[object]) -> dict[str, int]:
    """Pick one row an address: the latest plain yes, else the latest; the first of equals."""
    best: dict[str, int] = {}
    for place, person in enumerate(people):
        if verdicts[place] is not None:
            continue
        key = address_key(person.email)
        if key not in best or _weight(people[best[key]]) < _weight(person):
            best[key] = place
    return best


def _weight(person: Person) -> tuple[bool, date]:
    return person.consent in EXPLICIT, person.joined or date.min


def _row(person: Person) -> str:
    return f"line {person.line}" if person.line else "another row"


_EXITS = {
    Why.ASKED: "asked to leave on {on}",
    Why.BOUNCED: "could no longer be reached on {on}",
    Why.COMPLAINED: "complained on {on}",
}


def _exit_words(exit_: Left) -> str:
    return _EXITS[exit_.why].format(on=exit_.on)
