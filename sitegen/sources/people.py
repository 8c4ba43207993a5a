"""people.csv: the mailing list (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import date
from enum import StrEnum
from typing import TypeVar

from sitegen.sources.addresses import as_kept, fault_of
from sitegen.sources.complaints import Notebook
from sitegen.studio.fields import not_one_of
from sitegen.studio.person import Consent, Interest, Left, Person, Why

COLUMNS = ("email", "name", "interests", "joined", "consent", "evidence", "left")

Word = TypeVar("Word", bound=StrEnum)


def read_people(text: str, notes: Notebook) -> tuple[Person, ...]:
    """Read the list; every row that can't be read is a complaint and is left out."""
    rows = _rows(text, notes)
    header = next(rows, None)
    if header is None:
        return ()
    if not _header_is_right(header[1], notes):
        return ()
    people = [_person(line, row, notes) for line, row in rows]
    found = tuple(person for person in people if person is not None)
    _warn_of_twins(found, notes)
    return found


def _rows(text: str, notes: Notebook) -> Iterator[tuple[int, list[str]]]:
    """Yield each record with the line it starts in; a quoted field may span lines."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    line = 1
    while True:
        try:
            row = next(reader, None)
        except csv.Error as fault:
            notes.error(
                line, f"the quotes in this row don't match ({fault}); a quote inside quotes is doubled"
            )
            return
        if row is None:
            return
        if row:
            yield line, row
        line = reader.line_num + 1


def _header_is_right(header: list[str], notes: Notebook) -> bool:
    words = [word.strip().lower() for word in header]
    if words == list(COLUMNS):
        return True
    if len(words) == 1 and ";" in words[0]:
        notes.error(1, "the columns are separated by semicolons; save the file with commas")
    else:
        notes.error(1, f"the first line must read {','.join(COLUMNS)}")
    return False


def _person(line: int, row: list[str], notes: Notebook) -> Person | None:
    if len(row) != len(COLUMNS):
        notes.error(
            line,
            f"this row has {len(row)} fields instead of {len(COLUMNS)}; "
            "a text that holds a comma must stand in double quotes",
        )
        return None
    email, name, interests, joined, consent, evidence, left = (cell.strip() for cell in row)
    before = len(notes.complaints)
    if fault := fault_of(email):
        notes.error(line, f"'{email}' can't be written to: {fault}" if email else "the address is missing")
    person = Person(
        email=as_kept(email),
        name=name,
        interests=frozenset(_interests(line, interests, notes)),
        joined=_day(line, "joined", joined, notes),
        consent=_word(line, "consent", consent, Consent, notes),
        evidence=evidence,
        left=_left(line, left, notes),
        line=line,
    )
    return person if len(notes.complaints) == before else None


def _interests(line: int, text: str, notes: Notebook) -> list[Interest]:
    words = [word for word in re.split(r"\s*;\s*", text) if word]
    found = [_word(line, "interests", word, Interest, notes) for word in words]
    return [word for word in found if word is not None]


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
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        notes.error(line, f"{column} '{text}' is not a date; write year-month-day, like 2026-05-14")
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        notes.error(line, f"{column} '{text}' is a date that doesn't exist; look at a calendar")
        return None


def _left(line: int, text: str, notes: Notebook) -> Left | None:
    if not text:
        return None
    day, _, why = text.partition(" ")
    on = _day(line, "left", day, notes)
    word = _word(line, "left", why or "asked", Why, notes)
    return Left(on, word) if on and word else None


def _warn_of_twins(people: tuple[Person, ...], notes: Notebook) -> None:
    first: dict[str, int] = {}
    for person in people:
        if person.key in first:
            notes.warn(
                person.line,
                f"'{person.email}' also stands in line {first[person.key]}; one letter is sent, and none "
                "if either row has left",
            )
        first.setdefault(person.key, person.line)
