"""The list: take people over, let them go, look at them, erase them, read what they answered."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from sitegen.disk import sweep_parts
from sitegen.disk.states import forget_states
from sitegen.jobs.letters import leave_key
from sitegen.jobs.pen import pen, writes
from sitegen.jobs.where import moment_in
from sitegen.letters import (
    Meaning,
    Posting,
    Reader,
    Reply,
    Slips,
    make_token,
    note_temporary,
    sent_to,
)
from sitegen.letters.erase import erase_from_letters
from sitegen.letters.gate import INCOMING, gate_from
from sitegen.letters.inbox import Corner, messages_at
from sitegen.sources import StudioFault, read
from sitegen.sources.people import COLUMNS, ZONE
from sitegen.sources.people_import import ImportPlan, Source, apply_import, plan_import, read_table
from sitegen.sources.people_rows import forget, forgotten_in, mentions, no_longer_forgotten, row_of, set_left
from sitegen.studio.addresses import address_key
from sitegen.studio.counting import counted as many
from sitegen.studio.fault import Fault
from sitegen.studio.fields import one_of
from sitegen.studio.people_filter import picker
from sitegen.studio.person import Consent, Interest, Left, Person, Why
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Given:
    """How someone agreed, as typed on the command line."""

    source: str | None
    evidence: str | None = ""
    interests: str | None = ""
    joined: str | None = None
    name: str | None = ""
    zone: str | None = ""
    asked_again: bool = False
    """They were forgotten, and now ask for letters themselves."""


Keeps = Callable[[str, str], bool]
"""Asked about an address and what is odd about it; True takes it as it stands."""


def take_over(
    folder: Path, table: Path, given: Given, today: str | None, keeps: Keeps | None = None
) -> ImportPlan:
    """Import a table; without `keeps` only say what would happen."""
    with pen(folder) if keeps is not None else nullcontext():
        return _import(folder, table.read_bytes(), given, today, keeps)


@writes
def add(folder: Path, address: str, given: Given, today: str | None, keeps: Keeps) -> ImportPlan:
    """Put one person on the list. Raises StudioFault if they can't be."""
    row = io.StringIO()
    csv.writer(row).writerows([["email", "name", "zone"], [address, given.name or "", given.zone or ""]])
    day = given.joined or str(_today(read(folder).sound(), today))
    plan = _import(folder, row.getvalue().encode(), replace(given, joined=day), today, keeps)
    if plan.refused and given.asked_again and no_longer_forgotten(folder, address):
        plan = _import(folder, row.getvalue().encode(), replace(given, joined=day), today, keeps)
    if plan.refused:
        raise StudioFault(f"{address}: {plan.refused[0].why}")
    return plan


def _import(folder: Path, table: bytes, given: Given, today: str | None, keeps: Keeps | None) -> ImportPlan:
    studio = read(folder).sound()
    new = read_table(table, _source(given))
    plan = plan_import(studio.people, new, _today(studio, today), forgotten_in(folder))
    if keeps is not None:
        for one in list(plan.questions):
            if not keeps(one.address, one.why):
                plan.leave_out(one)
        apply_import(folder / "people.csv", plan)
    return plan


def _source(given: Given) -> Source:
    try:
        consent = Consent(one_of(Consent)(given.source))
        words = [word.strip() for word in (given.interests or "").split(";")]
        interests = frozenset(Interest(one_of(Interest)(word)) for word in words if word)
        joined = date.fromisoformat(given.joined) if given.joined else None
    except ValueError as fault:
        raise StudioFault(str(fault)) from fault
    return Source(consent, given.evidence or "", joined, interests)


def _today(studio: Studio, pretended: str | None) -> date:
    return moment_in(studio.settings.time_zone, pretended).date()


def told_plan(plan: ImportPlan) -> list[str]:
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
    return lines + [f"Look again, line {one.line}: {one.address} ({one.why})" for one in questions]


def _stands(person: Person) -> str:
    interests = ", ".join(sorted(person.interests)) or "any subject"
    return f"{person.name or 'nameless'}; {person.consent or 'no consent'}; {interests}"


@writes
def leave(folder: Path, address: str, today: str | None) -> int:
    """Note that someone left; return how many rows changed. Raises StudioFault for a stranger."""
    key = address_key(address)
    studio = read(folder).sound()
    if key not in {one.key for one in studio.people}:
        raise StudioFault(f"'{address}' isn't in people.csv")
    return set_left(folder / "people.csv", {key: Left(_today(studio, today), Why.ASKED)})


@writes
def leave_by_token(
    folder: Path, tokens: Sequence[str], noted: Path | None, today: str | None
) -> tuple[list[Reply], int]:
    """Note who left by the web address of the letters: by tokens, and by a file of them or a server's log."""
    studio = read(folder).sound()
    slips = Slips(studio.people, leave_key(folder / "sent"), studio.settings.leave_address)
    replies = slips.read(tokens)
    if noted is not None:
        # Only a line feed ends a line: what a visitor's program calls itself may hold any other sign.
        with noted.open(encoding="utf-8", errors="replace", newline="\n") as lines:
            replies += slips.read(lines)
    return replies, set_left(folder / "people.csv", _exits(replies, _today(studio, today)))


def pick(folder: Path, words: str) -> list[Person]:
    """List the people that words pick."""
    try:
        test = picker(words or "everyone")
    except ValueError as fault:
        raise StudioFault(f"--who: {fault}") from fault
    return [one for one in read(folder).sound().people if test(one)]


@dataclass(frozen=True)
class Held:
    """All that is held on one person."""

    rows: list[tuple[str, ...]]
    letters: list[Posting]
    elsewhere: list[str]
    """Other places in the studio's files."""


def held_on(folder: Path, address: str) -> Held:
    """Gather what is held on one person, for their question."""
    key = address_key(address)
    rows = [row_of(one) for one in read(folder).sound().people if one.key == key]
    token = make_token(leave_key(folder / "sent"), key)
    return Held(rows, sent_to(folder / "sent", token), mentions(folder, address))


@writes
def erase(folder: Path, address: str) -> tuple[int, int, list[str]]:
    """Forget a person; return rows and letters they're gone from, and where else they stand."""
    for place in (
        folder,
        folder / "sent",
        folder / "out",
        folder / "out" / "paper",
        folder / "out" / "letters",
    ):
        sweep_parts(place)
    forget_states(folder, address)
    rows = forget(folder, address)
    letters = erase_from_letters(folder / "out" / "letters", address_key(address))
    return rows, letters, mentions(folder, address)


def told_held(held: Held) -> list[str]:
    """Say what is held on one person."""
    if not (held.rows or held.letters or held.elsewhere):
        return ["Nothing is held on this address."]
    lines = ["people.csv:"] if held.rows else []
    columns = (*COLUMNS, ZONE)
    lines += [
        f"  {column}: {cell}"
        for row in held.rows
        for column, cell in zip(columns, row, strict=True)
        if cell or column != ZONE
    ]
    lines += [f"Letter {one.letter}: {one.event}, {one.at}" for one in held.letters]
    return lines + [f"Also in {place}" for place in held.elsewhere]


Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Where:
    """Which messages of a mailbox on a server to look at."""

    folder: str
    days: int
    """So many days back."""


# So often a mailbox is read again because the list was changed meanwhile.
_TRIES = 5
_SHOWN = frozenset({Meaning.LOOK, Meaning.UNREADABLE})


def told_replies(replies: list[Reply]) -> list[str]:
    """Count the messages by meaning, and show those that need the artist's own eyes."""
    lines = [f"{count:>6} {meaning}" for meaning, count in counted(replies).most_common()]
    return lines + [f"  - {one.said}" for one in replies if one.meaning in _SHOWN and one.said]


def over_imap(
    folder: Path, settings: Mapping[str, str], where: Where, pretended: str | None, progress: Progress
) -> Iterator[bytes]:
    """Yield the messages of a mailbox on its server; nothing there is changed."""
    since = _today(read(folder).sound(), pretended) - timedelta(days=where.days)
    return messages_at(gate_from(settings, INCOMING), Corner(since, where.folder), progress)


def hear(
    folder: Path, messages: Callable[[], Iterable[bytes]], pretended: str | None
) -> tuple[list[Reply], int]:
    """Read what came back and note who left; return what each message meant, and how many rows changed.

    A server may take its time, so nothing is held while messages come in; if the list was changed meanwhile,
    they are fetched and read again. Raises StudioFault if that happens again and again.
    """
    file = folder / "people.csv"
    for _ in range(_TRIES):
        before, studio = _bytes(file), read(folder).sound()
        today, secret = _today(studio, pretended), leave_key(folder / "sent")
        replies, broken_off = _heard(messages(), studio.people, secret)
        with pen(folder):
            if _bytes(file) != before:
                continue
            leaving: dict[str, Left] = {
                key: Left(today, Why.BOUNCED) for key in note_temporary(folder / "sent", secret, replies)
            }
            rows = set_left(file, leaving | _exits(replies, today))
            break
    else:
        raise StudioFault(
            "people.csv was changed each time while the messages were read, so nothing is noted; run it again"
        )
    if broken_off is not None:
        raise StudioFault(
            f"{broken_off}\nBefore that, {many(len(replies), 'message was', 'messages were')} read and "
            f"{many(rows, 'row', 'rows')} of people.csv changed. Nothing read is lost; run it again"
        ) from broken_off
    return replies, rows


def _bytes(file: Path) -> bytes:
    return file.read_bytes() if file.exists() else b""


def _heard(
    messages: Iterable[bytes], people: Sequence[Person], secret: bytes
) -> tuple[list[Reply], Fault | None]:
    """Read messages to their end, or until the mailbox breaks off: what was read till then counts."""
    reader, replies = Reader(people, secret), list[Reply]()
    try:
        for one in messages:
            replies.append(reader.read(one))
    except (Fault, OSError) as fault:
        if not replies:
            raise
        return replies, fault if isinstance(fault, Fault) else StudioFault(str(fault))
    return replies, None


_WHY: Mapping[Meaning, Why] = {
    Meaning.BOUNCED: Why.BOUNCED, Meaning.LEAVE: Why.ASKED, Meaning.COMPLAINED: Why.COMPLAINED,
}  # fmt: skip


def _exits(replies: list[Reply], today: date) -> dict[str, Left]:
    """Note each exit once; a complaint outweighs a wish to leave, and that a bounce."""
    found: dict[str, Left] = {}
    for meaning, why in _WHY.items():
        found |= {one.key: Left(today, why) for one in replies if one.meaning is meaning and one.key}
    return found


def counted(replies: list[Reply]) -> Counter[Meaning]:
    """Count the messages by meaning."""
    return Counter(one.meaning for one in replies)
