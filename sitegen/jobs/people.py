"""The list: take people over, let them go, look at them, erase them."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from sitegen.desk.find import Sitting, read_day
from sitegen.disk import sweep_parts
from sitegen.disk.states import forget_states
from sitegen.jobs.letters import leave_key, letters_of
from sitegen.jobs.posting import exits, heard
from sitegen.jobs.reading import PEOPLE, once, sit
from sitegen.jobs.sheets import ASKS, Keeps
from sitegen.jobs.where import pen, writes
from sitegen.letters.cautions import PROOF, PURCHASE
from sitegen.letters.folder import erase_from_letters, make_token
from sitegen.letters.record import postings
from sitegen.letters.replies import Slips
from sitegen.sources import people_import as tables
from sitegen.sources.people import ZONE
from sitegen.sources.people_import import meant as meant  # noqa: PLC0414 (for who asks about an address)
from sitegen.sources.people_rows import forget, forgotten_in, mentions, row_of, set_left, suppress
from sitegen.studio import person as persons
from sitegen.studio.asked import Fault, Said, WishFault, ask, told, wish
from sitegen.studio.fields import did_you_mean, one_of
from sitegen.studio.mailing import ListStanding, standing, why_not
from sitegen.studio.person import Consent, Interest, Left, Person, Test, Why, address_key
from sitegen.studio.text import counted, quoted, unmarked

HOW = f"How they agreed: {', '.join(Consent)}."
CAUTION = (
    f"Whoever writes to people: {PROOF}. Where a purchase is all there is, {PURCHASE}. Not legal advice; the "
    "rules where you and they live may ask for more."
)


@wish
class AddPerson:
    address: str = ask(word=True)
    name: str = ask("As they wrote it.", default="")
    source: str = ask(HOW)
    evidence: str = ask("Where that stands, like 'sheet QDF27-1 row 7'.")
    interests: str = ask(f"What they asked to hear of: {', '.join(Interest)}.", default="", name="about")
    joined: str | None = ask("Day they agreed, like 2026-10-04 (today, if left out).", default=None)
    asked_again: bool = ask("They were forgotten, and now ask for letters themselves.", default=False)
    zone: str = ask("Where their clock stands, like America/Halifax, if you know it.", default="")


@wish
class ImportPeople:
    table: bytes = ask(word=True, file=True, there=True)
    source: str = ask(HOW)
    evidence: str = ask("Where that stands, like 'sheet QDF27-1'.", default="")
    interests: str = ask("What they asked to hear of, where the table doesn't say.", default="", name="about")
    joined: str | None = ask("Day they agreed, where the table doesn't say.", default=None)
    confirm: bool = ask(ASKS, default=False)
    dry_run: bool = ask("Only say what would happen.", default=False)


@dataclass(frozen=True)
class TakenTable:
    """What would happen to each line of a table, or did."""

    plan: tables.ImportPlan = field(repr=False)
    columns: Mapping[str, str]  # what each heading is read as; nothing for one that isn't used
    written: bool

    @property
    def counts(self) -> dict[str, int]:
        """Count the lines by what becomes of them."""
        plan = self.plan
        return {
            "added": len(plan.added), "changed": len(plan.changed), "already_there": len(plan.there),
            "refused": len(plan.refused),
        }  # fmt: skip

    def as_answer(self) -> Mapping[str, Any]:
        return self.counts

    def lines(self) -> list[str]:
        plan, by_line = self.plan, lambda count: count.line
        unread = ", ".join(quoted(heading) for heading, name in self.columns.items() if not name)
        return [
            *(f"{count:>6} {what.replace('_', ' ')}" for what, count in self.counts.items()),
            *(f"       + {addition.email}" for addition in plan.added),
            *(f"       ~ {person.email} (now {_stands(person)})" for person in plan.changed),
            *(f"Refused, line {refused.line}: {refused.address} ({refused.why})"
              for refused in sorted(plan.refused, key=by_line)),
            *(f"Look again, line {question.line}: {question.address} ({question.why})"
              for question in sorted(plan.questions, key=by_line)),
            *([f"Not read: {unread}"] if unread else []),
            "people.csv is up to date." if self.written else "Nothing is written yet.",
        ]  # fmt: skip


def _stands(person: Person) -> str:
    interests = ", ".join(sorted(person.interests)) or "any subject"
    return f"{person.name or 'nameless'}; {person.consent or 'no consent'}; {interests}"


def take_over(folder: Path, wish: ImportPeople, today: str | None, keeps: Keeps) -> TakenTable:
    """Import a table, or only say what would happen."""
    with nullcontext() if wish.dry_run else pen(folder):
        asks = wish.confirm or sit(folder, today, PEOPLE).studio.settings.confirm
        agreed = replace(_agreed(wish), asks=asks)
        plan = _import(folder, wish.table, agreed, today, None if wish.dry_run else keeps)
    return TakenTable(plan, tables.headings_of(wish.table), written=not wish.dry_run)


@writes
def add(folder: Path, wish: AddPerson, today: str | None, keeps: Keeps) -> Said:
    """Put one person on the list. Raises Fault if they can't be."""
    row = io.StringIO()
    csv.writer(row).writerows([["email", "name", "zone"], [wish.address, wish.name, wish.zone]])
    agreed, table = _agreed(wish), row.getvalue().encode()
    if agreed.joined is None:
        agreed = replace(agreed, joined=sit(folder, today, PEOPLE).today)
    plan = _import(folder, table, agreed, today, keeps)
    if plan.refused and wish.asked_again and suppress(folder, wish.address, forgotten=False):
        plan = _import(folder, table, agreed, today, keeps)
    if plan.refused:
        raise Fault(f"{wish.address}: {plan.refused[0].why}")
    (who,) = plan.added + plan.changed + plan.there
    done = "is on the list now" if plan.added else "was on the list already"
    more = f", and stands there as {_stands(who)}" if plan.changed else ""
    odd = "".join(f"; {question.why} It is taken as written" for question in plan.questions)
    return Said((f"{who.email} {done}{more}{odd}.",), TakenTable(plan, {}, written=True).counts)


def _import(
    folder: Path, table: bytes, agreed: tables.Agreement, today: str | None, keeps: Keeps | None
) -> tables.ImportPlan:
    sitting = sit(folder, today, PEOPLE)
    new = tables.read_table(table, agreed)
    plan = tables.plan_import(sitting.studio.people, new, sitting.today, forgotten_in(folder))
    if keeps is not None:
        for question in list(plan.questions):
            if not keeps(question.address, question.why):
                plan.leave_out(question)
        plan.write(folder / "people.csv")
    return plan


def _agreed(wish: AddPerson | ImportPeople) -> tables.Agreement:
    words = [word.strip() for word in re.split("[;,\n]", wish.interests)]
    with told():
        consent = one_of(Consent)(wish.source)
        interests = frozenset(one_of(Interest)(word) for word in words if word)
        joined = read_day(wish.joined, "--joined") if wish.joined else None
    return tables.Agreement(consent, wish.evidence, joined, interests)


@wish
class LeaveWish:
    """Who left: by address, or by the sign of their own leave address."""

    address: str | None = ask(default=None, word=True)
    tokens: tuple[str, ...] = ask(
        "The sign at the end of someone's own leave address.", default=(), name="token"
    )
    noted: Path | None = ask(
        "A file of such signs, or the log of the server behind leave_address.",
        default=None, name="tokens", there=True,
    )  # fmt: skip

    def __post_init__(self) -> None:
        if (self.address is None) == (not self.tokens and self.noted is None):
            raise WishFault("give an address, or --token, or --tokens FILE")


@writes
def leave(folder: Path, wish: LeaveWish, today: str | None) -> Said:
    """Note who left. Raises Fault for a stranger's address; a sign nobody was given says nothing."""
    sitting, file = sit(folder, today, PEOPLE), folder / "people.csv"
    studio = sitting.studio
    if wish.address is None:
        slips = Slips(studio.people, leave_key(folder / "sent"), studio.settings.leave_address)
        replies = slips.read(wish.tokens)
        if wish.noted is not None:
            # Only a line feed ends a line: what a visitor's program calls itself may hold any other sign.
            with wish.noted.open(encoding="utf-8", errors="replace", newline="\n") as lines:
                replies += slips.read(lines)
        return heard(replies, set_left(file, exits(replies, sitting.today)))
    key = address_key(wish.address)
    if key not in (known := {person.key: person.email for person in studio.people}):
        raise Fault(f"'{wish.address}' isn't in people.csv{did_you_mean(wish.address, [*known.values()])}")
    rows = set_left(file, {key: Left(sitting.today, Why.ASKED)})
    gone = f"{wish.address} has left ({counted(rows, 'row', 'rows')} changed)."
    return Said((gone if rows else f"{wish.address} had left already.",), {"rows": rows})


@wish
class PickPeople:
    who: str = ask("Plain words: commissions, buyer, show sheet, left, … with and, or, not.", default="")
    find: str = ask("A part of an address or a name; or such words.", default="")


@dataclass(frozen=True)
class Picked:
    """The people that words pick, in the list's order, and how the whole list stands."""

    people: tuple[Person, ...] = field(repr=False)
    standing: ListStanding = field(repr=False)

    @property
    def asides(self) -> tuple[str, ...]:
        return (counted(len(self.people), "person", "people"), *self.standing.said())

    def as_answer(self) -> Mapping[str, Any]:
        return {"people": [{"email": person.email, "name": person.name} for person in self.people]}

    def lines(self) -> list[str]:
        return [f"{person.email}  {person.name}".rstrip() for person in self.people]


def pick(folder: Path, wish: PickPeople, today: str | None) -> Picked:
    """List the people that words pick."""
    sitting = sit(folder, today, PEOPLE)
    people, file = sitting.studio.people, folder / "sent" / "forgotten.json"
    state = sitting.today, file.stat().st_mtime_ns if file.exists() else 0
    stands = once(
        sitting.studio, "standing", state, lambda: standing(people, sitting.today, forgotten_in(folder))
    )
    more: Mapping[str, Test] = {
        "can be written to": lambda person: person.key in stands.writable,
        "ends soon": lambda person: person.key in stands.ending,
    }
    with told("--who"):
        test = persons.picker(wish.who or "everyone", more)
    sought = _sought(wish.find, more, sitting)
    return Picked(tuple(person for person in people if test(person) and sought(person)), stands)


def _sought(words: str, more: Mapping[str, Test], sitting: Sitting) -> Test:
    """Return a test for words that pick, or else for a part of an address or a name."""
    try:
        return persons.picker(words or "everyone", more)
    except ValueError:
        part, people = unmarked(words.strip().casefold()), sitting.studio.people

        def texts() -> dict[int, str]:
            return {id(person): unmarked(f"{person.email} {person.name}".casefold()) for person in people}

        known = once(sitting.studio, "sought", None, texts)
        return lambda person: part in known[id(person)]


@wish
class OnePerson:
    address: str = ask(word=True)


def held_on(folder: Path, wish: OnePerson, today: str | None) -> Said:
    """Gather what is held on one person, for their question."""
    key = address_key(wish.address)
    sitting = sit(folder, today, PEOPLE)
    people = sitting.studio.people
    fault = why_not(people, key, sitting.today, forgotten_in(folder))
    rows = [row_of(person) for person in people if person.key == key]
    sent = folder / "sent"
    # Without a key no letter was ever made; to look at a person makes none.
    tokens = {make_token(leave_key(sent), key)} if (sent / "leave-key").exists() else set[str]()
    letters = [letter for own in postings(sent, tokens).values() for letter in own]
    elsewhere = mentions(folder, wish.address)
    own = [person for person in people if person.key == key and not fault]
    ends = [day for person in own if (day := persons.last_day_of_consent(person))]
    until = f" until {max(ends)}: a purchase counts for two years" if ends else ""
    stands = f"No letter is sent: {fault}." if fault else f"Can be written to{until}."
    said = (
        *(["people.csv:"] if rows else []),
        *(f"  {name}: {cell}" for row in rows for name, cell in row.items() if cell or name != ZONE),
        *([stands] if rows or forgotten_in(folder)(key) else []),
        *(f"Letter {sent.letter}: {sent.event}, {sent.at}" for sent in letters),
        *(f"Also in {place}" for place in elsewhere),
    )
    sent_out = [{"letter": sent.letter, "event": str(sent.event), "at": str(sent.at)} for sent in letters]
    facts = {"stands": stands, "rows": rows, "letters": sent_out, "elsewhere": list(elsewhere)}
    return Said(said or ("Nothing is held on this address.",), facts)


@writes
def erase(folder: Path, wish: OnePerson) -> Said:
    """Forget a person; say from where they're gone, and where else they stand."""
    address = wish.address
    for place in (".", "sent", "out", "out/paper", "out/letters"):
        sweep_parts(folder / place)
    forget_states(folder, address)
    rows = forget(folder, address)
    for file in (folder / "out" / ".incoming").glob("*/*/*"):  # brought to the desk, and not yet taken over
        if address.casefold().encode() in file.read_bytes().lower():
            file.unlink()
    letters = erase_from_letters(letters_of(folder), address_key(address))
    said = [f"{counted(rows, 'row', 'rows')} erased."]
    if letters:
        said.append(f"Erased from {counted(letters, 'letter', 'letters')} in out/letters too.")
    elsewhere = mentions(folder, address)
    said += [f"  - {address} also stands in {place}; decide there yourself" for place in elsewhere]
    return Said(tuple(said), {"rows": rows, "letters": letters, "elsewhere": list(elsewhere)})
