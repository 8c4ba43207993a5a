"""Decide who a letter goes to, and say of everyone else why not.

The choice rests on what each row of people.csv proves, not on goodwill: a row without provable
consent is left out, and one row that left keeps the whole address out until a later signature.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence, Set
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from sitegen.studio.person import Consent, Interest, Left, Person, Why, deliverable, last_day_of_consent
from sitegen.studio.text import counted

# A person said yes to letters in so many words; a purchase only implies it.
EXPLICIT = frozenset({Consent.WEB, Consent.SHOW_SHEET, Consent.IN_PERSON, Consent.CONFIRMED})


Exit = tuple[Left, Person]
"""When and why an address left, and the row that notes it."""


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
    NO_NEED = "needs no asking"


Verdict = tuple[Reason, str] | None
"""Why someone gets no letter, and that in words for the artist; None for who gets it."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Someone who gets the letter."""

    person: Person
    address: str = field(repr=False)  # the address in ASCII, ready for an envelope
    key: str = field(repr=False)  # the address as compared
    why: str = field(repr=False)  # what their row proves, for the artist


@dataclass(frozen=True, slots=True)
class Skipped:
    """Someone who doesn't get the letter."""

    person: Person
    reason: Reason
    why: str = field(repr=False)  # the reason in words, for the artist


@dataclass(frozen=True, slots=True)
class Choice:
    """Everyone on the list, each in one of two places, in the list's order."""

    chosen: tuple[Chosen, ...]
    skipped: tuple[Skipped, ...]

    @property
    def reasons(self) -> dict[str, int]:
        """Count who is left out, by reason."""
        return dict(sorted(Counter(str(skipped.reason) for skipped in self.skipped).items()))


def choose(
    people: Sequence[Person],
    interest: Interest | None,
    today: date,
    forgotten: Callable[[str], bool] = lambda key: False,
) -> Choice:
    """Put everyone into one of two lists: who gets a letter on `interest`, and who doesn't, with why.

    Without an interest it is the letter that asks whether they want any: for those who never confirmed.
    `forgotten` tells whether the holder of a key asked to be erased. Someone who named no interest
    hears of everything if they agreed in so many words; a buyer who named none hears of nothing,
    because the purchase alone doesn't show that they want letters.
    """
    exits = last_exits(people)
    if interest is None:
        agreed = {person.key for person in people if _barred(person, today, exits.get(person.key)) is None}
        verdicts = [_of_asking(person, today, exits.get(person.key), agreed) for person in people]
    else:
        verdicts = [
            _barred(one, today, exits.get(one.key)) or _uninterested(one, interest) or _unreachable(one)
            for one in people
        ]
    winners = _winners(people, verdicts)
    chosen, skipped = [], []
    for place, (person, verdict) in enumerate(zip(people, verdicts, strict=True)):
        key = person.key
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


# So many days ahead it is told that a consent ends (common practice, no source).
CONSENT_DAYS = 60


@dataclass(frozen=True, slots=True)
class ListStanding:
    """Where the addresses of the list stand, each folded and in one place."""

    writable: frozenset[str]  # can be written to now, if they are interested
    left: frozenset[str]  # asked to leave, or complained
    bounced: frozenset[str]
    unproven: frozenset[str]  # no consent that holds today, or none that can be shown
    ending: frozenset[str]  # of the writable, those whose only consent ends soon

    def said(self) -> tuple[str, ...]:
        """Say it in sentences."""
        everyone = sum(map(len, (self.writable, self.left, self.bounced, self.unproven)))
        can = f"{len(self.writable):,} of {everyone:,} can be written to now."
        gone = f"{len(self.left):,} left, {len(self.bounced):,} can't be reached any more, "
        unproven = f"for {len(self.unproven):,} no consent stands that could be shown."
        ending = (
            f"For {counted(len(self.ending), 'person', 'people')} consent ends within {CONSENT_DAYS} days: a "
            "purchase counts for two years (Canada), unless they agree in so many words."
        )
        return (can, gone + unproven, *([ending] if self.ending else []))


def standing(
    people: Sequence[Person], today: date, forgotten: Callable[[str], bool] = lambda key: False
) -> ListStanding:
    """Say of each address whether it can be written to on `today`, and if not, why."""
    exits = last_exits(people)
    keys = [person.key for person in people]
    writable = frozenset(
        key
        for key, person in zip(keys, people, strict=True)
        if _barred(person, today, exits.get(key)) is None and not (_unreachable(person) or forgotten(key))
    )
    gone = {key: exit_[0].why for key, exit_ in exits.items() if key not in writable}
    bounced = frozenset(key for key, why in gone.items() if why is Why.BOUNCED)
    return ListStanding(
        writable=writable,
        left=frozenset(gone) - bounced,
        bounced=bounced,
        unproven=frozenset(keys) - writable - gone.keys(),
        ending=frozenset(person.key for _, person in lapsing(people, today, CONSENT_DAYS)) & writable,
    )


def why_not(
    people: Sequence[Person], key: str, today: date, forgotten: Callable[[str], bool] = lambda key: False
) -> str:
    """Say why the holder of a folded address can't be written to on `today`; nothing if they can."""
    if forgotten(key):
        return "asked to be forgotten"
    rows = [person for person in people if person.key == key]
    gone = last_exits(rows).get(key)
    whys = [_barred(person, today, gone) or _unreachable(person) for person in rows]
    return "" if None in whys else next((why[1] for why in whys[::-1] if why), "isn't on the list")


def lapsing(people: Sequence[Person], today: date, days: int) -> tuple[tuple[date, Person], ...]:
    """Return whose only consent ends within so many days, the first to end first, an address once.

    Whoever left, or has agreed in so many words in another row, isn't among them.
    """
    plain = {person.key for person in people if person.consent in EXPLICIT or person.left is not None}
    ends = [(last, person) for person in people if (last := last_day_of_consent(person)) is not None]
    last_of: dict[str, tuple[date, Person]] = {}
    for last, end in sorted(ends, key=lambda pair: pair[0]):
        last_of[end.key] = last, end  # of several purchases the latest counts
    only = [pair for key, pair in last_of.items() if key not in plain]
    soon = [pair for pair in only if 0 <= (pair[0] - today).days <= days]
    return tuple(sorted(soon, key=lambda pair: (pair[0], pair[1].line)))


def proof(person: Person) -> str:
    """Say in a few words what a row proves: how, where and when the person agreed."""
    how = str(person.consent) if person.consent else "no consent"
    since = f"joined {person.joined}" if person.joined else ""
    about = ", ".join(sorted(person.interests)) or "any subject"
    return "; ".join(part for part in (how, person.evidence.strip(), since, f"about {about}") if part)


def last_exits(people: Iterable[Person]) -> dict[str, Exit]:
    """Return the latest exit of each folded address that left."""
    exits: dict[str, Exit] = {}
    for person in people:
        if person.left is not None:
            known = exits.get(person.key)
            if known is None or known[0].on < person.left.on:
                exits[person.key] = person.left, person
    return exits


def _of_asking(person: Person, today: date, gone: Exit | None, agreed: Set[str]) -> Verdict:
    """Say why someone isn't asked: they agreed, left, or left and haven't given their address again since."""
    if person.left is not None:
        return Reason.LEFT, _exit_words(person.left)
    if person.consent is not Consent.NOT_CONFIRMED or person.key in agreed:
        return Reason.NO_NEED, "nothing is open to be confirmed"
    since = person.joined or date.min
    if gone is not None and since <= gone[0].on:
        return Reason.LEFT, _other_left(*gone)
    if since > today:
        return Reason.NOT_YET, f"joined {since}, which is still to come"
    return _unreachable(person)


def _barred(person: Person, today: date, gone: Exit | None) -> Verdict:
    """Say why someone may not be written to, whatever their interests."""
    if person.left is not None:
        return Reason.LEFT, _exit_words(person.left)
    if gone is not None and not signed_again(person, gone[0]):
        return Reason.LEFT, _other_left(*gone)
    return _unproven(person, today)


def _unproven(person: Person, today: date) -> Verdict:
    if person.consent is None:
        return Reason.NO_CONSENT, "no consent noted"
    if person.consent is Consent.NOT_CONFIRMED:
        return Reason.NOT_CONFIRMED, "never confirmed"
    if person.joined is not None and person.joined > today:
        return Reason.NOT_YET, f"joined {person.joined}, which is still to come"
    if person.consent is Consent.PURCHASE and (last_day_of_consent(person) or date.min) < today:
        when = f" on {person.joined}" if person.joined else ", but no date says when"
        return Reason.LAPSED, f"bought something{when}; a purchase counts for two years"
    return None


def signed_again(person: Person, exit_: Left) -> bool:
    """Tell whether a row is a plain yes of a later day than an exit."""
    return person.joined is not None and person.joined > exit_.on and person.consent in EXPLICIT


def _uninterested(person: Person, interest: Interest) -> Verdict:
    if interest in person.interests or (not person.interests and person.consent in EXPLICIT):
        return None
    asked = f"asked for {', '.join(sorted(person.interests))}; not for {interest}"
    bought = f"bought something, but never asked for letters on {interest}"
    return Reason.OTHER_INTERESTS, asked if person.interests else bought


def _unreachable(person: Person) -> Verdict:
    try:
        deliverable(person.email)
    except ValueError as fault:
        return Reason.UNREACHABLE, str(fault)
    return None


def _winners(people: Sequence[Person], verdicts: Sequence[object]) -> dict[str, int]:
    """Pick one row an address: the latest plain yes, else the latest; the first of equals."""
    best: dict[str, tuple[bool, date, int]] = {}
    for place, person in enumerate(people):
        if verdicts[place] is None:
            weight = person.consent in EXPLICIT, person.joined or date.min, -place
            best[person.key] = max(weight, best.get(person.key, weight))
    return {key: -place for key, (_, _, place) in best.items()}


def _row(person: Person) -> str:
    return f"line {person.line}" if person.line else "another row"


_EXITS = {
    Why.ASKED: "asked to leave on {on}",
    Why.BOUNCED: "could no longer be reached on {on}",
    Why.COMPLAINED: "complained on {on}",
}


def _exit_words(exit_: Left) -> str:
    return _EXITS[exit_.why].format(on=exit_.on)


def _other_left(exit_: Left, row: Person) -> str:
    return f"{_row(row)} has the same address and {_exit_words(exit_)}"
