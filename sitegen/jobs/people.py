"""The list: take people over, let them go, look at them, erase them, read what they answered."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import replace
from datetime import date
from pathlib import Path

from sitegen.desk.find import Sitting
from sitegen.disk import sweep_parts
from sitegen.disk.states import forget_states
from sitegen.jobs.letters import leave_key
from sitegen.jobs.pen import pen, writes
from sitegen.jobs.reading import PEOPLE, sit
from sitegen.jobs.replies import exits, heard
from sitegen.letters import (
    Reply,
    Slips,
    make_token,
    sent_to,
)
from sitegen.letters.erase import erase_from_letters
from sitegen.sources import StudioFault
from sitegen.sources.people import COLUMNS, ZONE
from sitegen.sources.people_import import Agreement, ImportPlan, apply_import, plan_import, read_table
from sitegen.sources.people_rows import forget, forgotten_in, mentions, no_longer_forgotten, row_of, set_left
from sitegen.studio.fields import one_of
from sitegen.studio.people_filter import picker
from sitegen.studio.person import Consent, Interest, Left, Person, Why, address_key
from sitegen.studio.text import counted
from sitegen.studio.wish import Said, WishFault, ask, wish

HOW = "How they agreed: web, show sheet, purchase, in person, not confirmed."


@wish
class AddPerson:
    """One person agreed to get letters."""

    address: str = ask(word=True)
    name: str = ask("As they wrote it.", default="")
    source: str = ask(HOW)
    evidence: str = ask("Where that stands, like 'sheet QDF27-1 row 7'.")
    interests: str = ask("What they asked to hear of, separated by semicolons.", default="", name="about")
    joined: str | None = ask("Day they agreed, like 2026-10-04 (today, if left out).", default=None)
    asked_again: bool = ask("They were forgotten, and now ask for letters themselves.", default=False)
    zone: str = ask("Where their clock stands, like America/Halifax, if you know it.", default="")


@wish
class ImportPeople:
    """The people of a table agreed to get letters."""

    table: bytes = ask(word=True, file=True, there=True)
    source: str = ask(HOW)
    evidence: str = ask("Where that stands, like 'sheet QDF27-1'.", default="")
    interests: str = ask("What they asked to hear of, where the table doesn't say.", default="", name="about")
    joined: str | None = ask("Day they agreed, where the table doesn't say.", default=None)
    dry_run: bool = ask("Only say what would happen.", default=False)


Keeps = Callable[[str, str], bool]
"""Asked about an address and what is odd about it; True takes it as it stands."""


def take_over(folder: Path, wish: ImportPeople, today: str | None, keeps: Keeps) -> Said:
    """Import a table, or only say what would happen."""
    with nullcontext() if wish.dry_run else pen(folder):
        plan = _import(folder, wish.table, _agreed(wish), today, None if wish.dry_run else keeps)
    return _planned(plan, "Nothing is written yet." if wish.dry_run else "people.csv is up to date.")


@writes
def add(folder: Path, wish: AddPerson, today: str | None, keeps: Keeps) -> Said:
    """Put one person on the list. Raises StudioFault if they can't be."""
    row = io.StringIO()
    csv.writer(row).writerows([["email", "name", "zone"], [wish.address, wish.name, wish.zone]])
    agreed, table = _agreed(wish), row.getvalue().encode()
    if agreed.joined is None:
        agreed = replace(agreed, joined=sit(folder, today, PEOPLE).today)
    plan = _import(folder, table, agreed, today, keeps)
    if plan.refused and wish.asked_again and no_longer_forgotten(folder, wish.address):
        plan = _import(folder, table, agreed, today, keeps)
    if plan.refused:
        raise StudioFault(f"{wish.address}: {plan.refused[0].why}")
    return _planned(plan, "people.csv is up to date.")


def _import(
    folder: Path, table: bytes, agreed: Agreement, today: str | None, keeps: Keeps | None
) -> ImportPlan:
    sitting = sit(folder, today, PEOPLE)
    new = read_table(table, agreed)
    plan = plan_import(sitting.studio.people, new, sitting.today, forgotten_in(folder))
    if keeps is not None:
        for question in list(plan.questions):
            if not keeps(question.address, question.why):
                plan.leave_out(question)
        apply_import(folder / "people.csv", plan)
    return plan


def _agreed(wish: AddPerson | ImportPeople) -> Agreement:
    try:
        consent = Consent(one_of(Consent)(wish.source))
        words = [word.strip() for word in wish.interests.split(";")]
        interests = frozenset(Interest(one_of(Interest)(word)) for word in words if word)
        joined = date.fromisoformat(wish.joined) if wish.joined else None
    except ValueError as fault:
        raise StudioFault(str(fault)) from fault
    return Agreement(consent, wish.evidence, joined, interests)


def _planned(plan: ImportPlan, end: str) -> Said:
    """Say what an import does, a line each."""
    rows = [
        (len(plan.added), "added"), (len(plan.changed), "changed"), (len(plan.there), "already there"),
        (len(plan.refused), "refused"),
    ]  # fmt: skip
    lines = [f"{count:>6} {what}" for count, what in rows]
    lines += [f"       + {one.email}" for one in plan.added]
    lines += [f"       ~ {one.email} (now {_stands(one)})" for one in plan.changed]
    refused, questions = (sorted(found, key=lambda one: one.line) for found in (plan.refused, plan.questions))
    lines += [f"Refused, line {one.line}: {one.address} ({one.why})" for one in refused]
    lines += [f"Look again, line {one.line}: {one.address} ({one.why})" for one in questions]
    return Said((*lines, end), {what.replace(" ", "_"): count for count, what in rows})


def _stands(person: Person) -> str:
    interests = ", ".join(sorted(person.interests)) or "any subject"
    return f"{person.name or 'nameless'}; {person.consent or 'no consent'}; {interests}"


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
    """Note who left. Raises StudioFault for a stranger's address; a sign nobody was given says nothing."""
    sitting = sit(folder, today, PEOPLE)
    if wish.address is None:
        replies = _signed_off(folder, sitting, wish)
        return heard(replies, set_left(folder / "people.csv", exits(replies, sitting.today)))
    key = address_key(wish.address)
    if key not in {person.key for person in sitting.studio.people}:
        raise StudioFault(f"'{wish.address}' isn't in people.csv")
    rows = set_left(folder / "people.csv", {key: Left(sitting.today, Why.ASKED)})
    gone = f"{wish.address} has left ({counted(rows, 'row', 'rows')} changed)."
    return Said((gone if rows else f"{wish.address} had left already.",), {"rows": rows})


def _signed_off(folder: Path, sitting: Sitting, wish: LeaveWish) -> list[Reply]:
    studio = sitting.studio
    slips = Slips(studio.people, leave_key(folder / "sent"), studio.settings.leave_address)
    replies = slips.read(wish.tokens)
    if wish.noted is not None:
        # Only a line feed ends a line: what a visitor's program calls itself may hold any other sign.
        with wish.noted.open(encoding="utf-8", errors="replace", newline="\n") as lines:
            replies += slips.read(lines)
    return replies


@wish
class PickPeople:
    """Whom to list."""

    who: str = ask("Plain words: commissions, buyer, show sheet, left, … with and, or, not.", default="")


def pick(folder: Path, wish: PickPeople, today: str | None) -> Said:
    """List the people that words pick."""
    try:
        test = picker(wish.who or "everyone")
    except ValueError as fault:
        raise StudioFault(f"--who: {fault}") from fault
    found = [person for person in sit(folder, today, PEOPLE).studio.people if test(person)]
    said = (f"{person.email}  {person.name}".rstrip() for person in found)
    facts = {"people": [{"email": person.email, "name": person.name} for person in found]}
    return Said(tuple(said), facts, (counted(len(found), "person", "people"),))


@wish
class OnePerson:
    """Whose address."""

    address: str = ask(word=True)


def held_on(folder: Path, wish: OnePerson, today: str | None) -> Said:
    """Gather what is held on one person, for their question."""
    key, columns = address_key(wish.address), (*COLUMNS, ZONE)
    people = sit(folder, today, PEOPLE).studio.people
    rows = [dict(zip(columns, row_of(person), strict=True)) for person in people if person.key == key]
    letters = sent_to(folder / "sent", make_token(leave_key(folder / "sent"), key))
    elsewhere = mentions(folder, wish.address)
    said = (
        *(["people.csv:"] if rows else []),
        *(f"  {name}: {cell}" for row in rows for name, cell in row.items() if cell or name != ZONE),
        *(f"Letter {sent.letter}: {sent.event}, {sent.at}" for sent in letters),
        *(f"Also in {place}" for place in elsewhere),
    )
    sent_out = [{"letter": sent.letter, "event": str(sent.event), "at": str(sent.at)} for sent in letters]
    facts = {"rows": rows, "letters": sent_out, "elsewhere": list(elsewhere)}
    return Said(said or ("Nothing is held on this address.",), facts)


@writes
def erase(folder: Path, wish: OnePerson) -> Said:
    """Forget a person; say from where they're gone, and where else they stand."""
    address = wish.address
    for place in (".", "sent", "out", "out/paper", "out/letters"):
        sweep_parts(folder / place)
    forget_states(folder, address)
    rows = forget(folder, address)
    letters = erase_from_letters(folder / "out" / "letters", address_key(address))
    said = [f"{counted(rows, 'row', 'rows')} erased."]
    if letters:
        said.append(f"Erased from {counted(letters, 'letter', 'letters')} in out/letters too.")
    elsewhere = mentions(folder, address)
    said += [f"  - {address} also stands in {place}; decide there yourself" for place in elsewhere]
    return Said(tuple(said), {"rows": rows, "letters": letters, "elsewhere": list(elsewhere)})
