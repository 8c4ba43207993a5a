"""people.csv: the mailing list (RFC 4180, UTF-8), and mail addresses as it should take them."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from enum import StrEnum
from functools import lru_cache, partial
from typing import Any, TypeVar

from sitegen.sources.text import Notebook
from sitegen.studio.fields import not_one_of, read_day, read_zone
from sitegen.studio.mailing import last_exits, signed_again
from sitegen.studio.person import Consent, Interest, Left, Person, Why
from sitegen.studio.text import short

COLUMNS = ("email", "name", "interests", "joined", "consent", "evidence", "left")
# May stand after them: where the person's clock stands.
ZONE = "zone"
# Letters in a cell: no name, address or note that someone wrote on a form is longer.
LONGEST_CELL = 1_000

Word = TypeVar("Word", bound=StrEnum)


def read_people(text: str, notes: Notebook) -> tuple[Person, ...]:
    """Read the list; every row that can't be read is a complaint and is left out."""
    rows: list[tuple[int, list[str]]] = []
    for line, row, fault in csv_rows(text, strict=True):
        if fault:
            doubled = "a quote inside quotes is doubled, and no text goes on for pages"
            notes.error(line, f"the quotes in this row don't match ({fault}); {doubled}")
            break
        rows += [(line, row)] if row else []
    header = [word.strip().lower() for word in rows[0][1]] if rows else []
    if header == [*COLUMNS] or has_zone(header):
        people = [_person(line, row, header, notes) for line, row in rows[1:]]
        found = tuple(person for person in people if person is not None)
        _warn_of_twins(found, notes)
        return found
    if len(header) == 1 and ";" in header[0]:
        notes.error(1, "the columns are separated by semicolons; save the file with commas")
    elif header:
        notes.error(1, f"the first line must read {','.join(COLUMNS)} (and may end in ,{ZONE})")
    return ()


def has_zone(header: list[str]) -> bool:
    """Tell whether a header has the column that may follow the seven."""
    return [word.strip().lower() for word in header] == [*COLUMNS, ZONE]


def csv_rows(text: str, **how: Any) -> Iterator[tuple[int, list[str], str]]:
    """Yield each record with the line it starts in and what is wrong with its quotes; one may span lines."""
    reader, line = csv.reader(io.StringIO(text, newline=""), **how), 1
    while True:
        row, fault = list[str](), ""
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            fault = short(error)
        yield line, row, fault
        line = reader.line_num + 1


def _person(line: int, row: list[str], columns: list[str], notes: Notebook) -> Person | None:
    """Read one row; None after a complaint."""
    if len(row) != len(columns):
        counts = f"this row has {len(row)} fields instead of {len(columns)}"
        notes.error(line, f"{counts}; a text that holds a comma must stand in double quotes")
        return None
    before, email = len(notes.complaints), row[0].strip()
    if fault := fault_of(email):
        wrong = f"'{short(email)}' can't be written to: {fault}" if email else "the address is missing"
        notes.error(line, wrong)
    cells = dict(zip(columns, row, strict=True))
    if longest := next((name for name, cell in cells.items() if len(cell) > LONGEST_CELL), ""):
        notes.error(line, f"{longest} is too long; write at most {LONGEST_CELL} characters")
    read: dict[str, Any] = {}
    for name, cell in cells.items():
        try:
            read[name] = _READERS.get(name, str)(cell.strip())
        except ValueError as faults:
            for sentence in faults.args:
                notes.error(line, f"{name} {sentence}")
    if len(notes.complaints) > before:
        return None
    return Person(**{**read, "email": as_kept(email)}, line=line)


# A list of thousands holds few different texts in these columns, so each is read once.
@lru_cache(maxsize=4096)
def _interests(text: str) -> frozenset[Interest]:
    words = [word for word in re.split(r"\s*;\s*", text) if word]
    return frozenset(_all((partial(_word, Interest), word) for word in words))


@lru_cache(maxsize=4096)
def _day(text: str) -> date | None:
    return read_day(text) if text else None


@lru_cache(maxsize=4096)
def _left(text: str) -> Left | None:
    day, _, why = text.partition(" ")
    if not text:
        return None
    on, word = _all([(_day, day), (partial(_word, Why), why or "asked")])
    return Left(on, word) if on and word else None


def _word(kind: type[Word], text: str) -> Word | None:
    word = " ".join(text.lower().split())
    if word and word not in set(kind):
        raise ValueError(not_one_of(text, [str(word) for word in kind]))
    return kind(word) if word else None


def _all(parts: Iterable[tuple[Callable[[str], Any], str]]) -> list[Any]:
    """Read every part of a cell. Raises ValueError with all that is wrong."""
    found, wrong = list[Any](), list[str]()
    for read, part in parts:
        try:
            found.append(read(part))
        except ValueError as fault:
            wrong += fault.args
    if wrong:
        raise ValueError(*wrong)
    return found


_READERS: Mapping[str, Callable[[str], Any]] = {
    "interests": _interests, "joined": _day, "consent": lru_cache(partial(_word, Consent)), "left": _left,
    ZONE: lru_cache(lambda text: read_zone(text) if text else None),
}  # fmt: skip


def _warn_of_twins(people: tuple[Person, ...], notes: Notebook) -> None:
    """Speak of an address that stands twice, and say what follows from it."""
    exits = last_exits(people)
    rows: dict[str, list[Person]] = {}
    for person in people:
        rows.setdefault(person.key, []).append(person)
    for key, same in rows.items():
        exit_ = exits.get(key)
        if exit_ and any(signed_again(person, exit_[0]) for person in same):
            continue  # left, and came back: that is how it should look
        follows = "one letter is sent"
        if exit_ is not None:
            cure = "only a later yes of their own, with its date, brings them back"
            follows = f"no letter is sent, since line {exit_[1].line} left on {exit_[0].on}; {cure}"
        for twin in same[1:]:
            notes.warn(twin.line, f"'{twin.email}' also stands in line {same[0].line}; {follows}")


# A plain pattern, stricter than the library, lets the usual address through without asking it, because that
# takes some 30 µs an address and a list has thousands.
# RFC 5321 4.5.3.1.1: a local part of at most 64 octets; RFC 3696 erratum 1690: 254 characters in all;
# RFC 1035 2.3.4: a label of at most 63. Dot-atom local part, letters-digits-hyphens domain.
_PLAIN = re.compile(
    r"(?=.{1,64}@)(?=.{3,254}\Z)[A-Za-z0-9_+-]+(?:\.[A-Za-z0-9_+-]+)*"
    r"@(?:[A-Za-z0-9](?:[A-Za-z0-9]|-(?!-)){0,61}[A-Za-z0-9]?\.)+[A-Za-z]{2,63}\Z"
)


# RFC 6761, RFC 6762, RFC 7686: no mail from outside reaches these.
_NOWHERE = ("arpa", "local", "localhost", "onion")
# RFC 2606's example domains are taken: the demo and everyone's first tries live there.
_EXAMPLE = re.compile(r"(?:[.@]example\.(?:com|net|org)|\.(?:example|test|invalid))\Z", re.IGNORECASE)


def fault_of(address: str) -> str | None:
    """Say what is wrong with an address, in a few words; None when it can be written to."""
    if _PLAIN.match(address) and "-." not in address and "-@" not in address:
        top = address.rpartition(".")[2].lower()
        if top not in _NOWHERE:
            return None
    from email_validator import EmailNotValidError, validate_email  # noqa: PLC0415 (slow to import, rarely needed)

    example = bool(_EXAMPLE.search(address))
    try:
        validate_email(address, check_deliverability=False, globally_deliverable=not example, strict=True)
    except EmailNotValidError as fault:
        return str(fault).rstrip(".")
    return None


def as_kept(address: str) -> str:
    """Return the address as it is stored: local part as typed, domain in lower case (RFC 5321 §2.4)."""
    local, _, domain = address.strip().rpartition("@")
    return f"{local}@{domain.lower()}"
