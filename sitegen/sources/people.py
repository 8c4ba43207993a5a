"""people.csv: the mailing list (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from enum import StrEnum
from typing import Generic, TypeVar
from zoneinfo import ZoneInfo

from sitegen.sources.addresses import as_kept, fault_of
from sitegen.sources.complaints import Notebook
from sitegen.sources.people_table import LONGEST_CELL
from sitegen.studio.fields import not_one_of, read_day, read_zone
from sitegen.studio.foreign import short
from sitegen.studio.mailing import last_exits, signed_again
from sitegen.studio.person import Consent, Interest, Left, Person, Why

COLUMNS = ("email", "name", "interests", "joined", "consent", "evidence", "left")
# May stand after them: where the person's clock stands.
ZONE = "zone"
LEFT_CELL = COLUMNS.index("left")

Word = TypeVar("Word", bound=StrEnum)
Value = TypeVar("Value")


def read_people(text: str, notes: Notebook) -> tuple[Person, ...]:
    """Read the list; every row that can't be read is a complaint and is left out."""
    rows = _rows(text, notes)
    header = next(rows, None)
    if header is None:
        return ()
    columns = _columns(header[1], notes)
    if columns is None:
        return ()
    reader = _Reader(columns, notes)
    people = [reader.person(line, row) for line, row in rows]
    found = tuple(person for person in people if person is not None)
    _warn_of_twins(found, notes)
    return found


def has_zone(header: list[str]) -> bool:
    """Tell whether a header has the column that may follow the seven."""
    return [word.strip().lower() for word in header] == [*COLUMNS, ZONE]


def _rows(text: str, notes: Notebook) -> Iterator[tuple[int, list[str]]]:
    """Yield each record with the line it starts in; a quoted field may span lines."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    line = 1
    while True:
        try:
            row = next(reader, None)
        except csv.Error as fault:
            notes.error(
                line,
                f"the quotes in this row don't match ({short(fault)}); a quote inside quotes is doubled, "
                "and no text goes on for pages",
            )
            return
        if row is None:
            return
        if row:
            yield line, row
        line = reader.line_num + 1


def _columns(header: list[str], notes: Notebook) -> int | None:
    """Return how many columns there are; None after a complaint."""
    words = [word.strip().lower() for word in header]
    if words == list(COLUMNS) or has_zone(header):
        return len(words)
    if len(words) == 1 and ";" in words[0]:
        notes.error(1, "the columns are separated by semicolons; save the file with commas")
    else:
        notes.error(1, f"the first line must read {','.join(COLUMNS)} (and may end in ,{ZONE})")
    return None


class _Column(Generic[Value]):
    """Reads the cells of one column; a list of thousands holds few different texts, so each is read once."""

    def __init__(self, read: Callable[[int, str, Notebook], Value], notes: Notebook) -> None:
        self._read, self._notes = read, notes
        self._known: dict[str, Value] = {}

    def __call__(self, line: int, text: str) -> Value:
        if text in self._known:
            return self._known[text]
        before = len(self._notes.complaints)
        value = self._read(line, text, self._notes)
        if len(self._notes.complaints) == before:  # a fault is told in each row that has it
            self._known[text] = value
        return value


class _Reader:
    """Reads rows into people."""

    def __init__(self, columns: int, notes: Notebook) -> None:
        self._columns, self._notes = columns, notes
        self._interests = _Column(_read_interests, notes)
        self._joined = _Column(_read_joined, notes)
        self._consent = _Column(_read_consent, notes)
        self._left = _Column(_read_left, notes)
        self._zone = _Column(_read_zone, notes)

    def person(self, line: int, row: list[str]) -> Person | None:
        """Read one row; None after a complaint."""
        notes = self._notes
        if len(row) != self._columns:
            notes.error(
                line,
                f"this row has {len(row)} fields instead of {self._columns}; "
                "a text that holds a comma must stand in double quotes",
            )
            return None
        email, name, interests, joined, consent, evidence, left, *more = map(str.strip, row)
        before = len(notes.complaints)
        if fault := fault_of(email):
            notes.error(
                line, f"'{short(email)}' can't be written to: {fault}" if email else "the address is missing"
            )
        if longest := _too_long(row):
            notes.error(line, longest)
        person = Person(
            email=as_kept(email),
            name=name,
            interests=self._interests(line, interests),
            joined=self._joined(line, joined),
            consent=self._consent(line, consent),
            evidence=evidence,
            left=self._left(line, left),
            line=line,
            zone=self._zone(line, more[0]) if more else None,
        )
        return person if len(notes.complaints) == before else None


def _too_long(row: Sequence[str]) -> str:
    """Say which cell is longer than can be meant; nothing if none is."""
    columns = (*COLUMNS, ZONE)
    found = next((name for name, cell in zip(columns, row, strict=False) if len(cell) > LONGEST_CELL), None)
    return f"{found} is too long; write at most {LONGEST_CELL} characters" if found else ""


def _read_interests(line: int, text: str, notes: Notebook) -> frozenset[Interest]:
    words = [word for word in re.split(r"\s*;\s*", text) if word]
    found = [_word(line, "interests", word, Interest, notes) for word in words]
    return frozenset(word for word in found if word is not None)


def _read_joined(line: int, text: str, notes: Notebook) -> date | None:
    return _day(line, "joined", text, notes)


def _read_consent(line: int, text: str, notes: Notebook) -> Consent | None:
    return _word(line, "consent", text, Consent, notes)


def _read_left(line: int, text: str, notes: Notebook) -> Left | None:
    if not text:
        return None
    day, _, why = text.partition(" ")
    on = _day(line, "left", day, notes)
    word = _word(line, "left", why or "asked", Why, notes)
    return Left(on, word) if on and word else None


def _read_zone(line: int, text: str, notes: Notebook) -> ZoneInfo | None:
    if not text:
        return None
    try:
        return read_zone(text)
    except ValueError as fault:
        notes.error(line, f"zone {fault}")
        return None


def _word(line: int, column: str, text: str, kind: type[Word], notes: Notebook) -> Word | None:
    word = " ".join(text.lower().split())
    if not word:
        return None
    if word in set(kind):
        return kind(word)
    notes.error(line, f"{column} {not_one_of(text, [str(one) for one in kind])}")
    return None


def _day(line: int, column: str, text: str, notes: Notebook) -> date | None:
    if not text:
        return None
    try:
        return read_day(text)
    except ValueError as fault:
        notes.error(line, f"{column} {fault}")
        return None


def _warn_of_twins(people: tuple[Person, ...], notes: Notebook) -> None:
    """Speak of an address that stands twice, and say what follows from it."""
    exits = last_exits(people)
    rows: dict[str, list[Person]] = {}
    for person in people:
        rows.setdefault(person.key, []).append(person)
    for key, same in rows.items():
        exit_ = exits.get(key)
        if exit_ and any(signed_again(one, exit_[0]) for one in same):
            continue  # left, and came back: that is how it should look
        for twin in same[1:]:
            notes.warn(twin.line, f"'{twin.email}' also stands in line {same[0].line}; {_follows(exit_)}")


def _follows(exit_: tuple[Left, Person] | None) -> str:
    if exit_ is None:
        return "one letter is sent"
    return (
        f"no letter is sent, since line {exit_[1].line} left on {exit_[0].on}; only a later yes of their "
        "own, with its date, brings them back"
    )
