"""A sign-up sheet typed in row by row: each row is saved at once, in any order, as often as it's typed.

The list holds what was typed; beside it `sent/sheets.json` notes of each row of the paper what became of it,
without a name or an address, so that the paper is counted whole and who is forgotten is nowhere kept.
Who signs twice counts by their first row: so the order of typing changes nothing.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Any

from sitegen.disk import own_folder, put
from sitegen.sources.people import LONGEST_CELL, as_kept, fault_of
from sitegen.sources.people_import import common_domains, meant, merged_with, near_domain, refusal, row_for
from sitegen.sources.people_rows import Ledger
from sitegen.sources.text import StudioFault, readable
from sitegen.studio.person import Consent, Interest, Person, address_key
from sitegen.studio.text import named, short, unfit_for_text

# More rows than a weekend's sheets have.
LAST_ROW = 9_999
UNREADABLE = "?"
_PLACES = [str(place) for place, _ in enumerate(Interest, start=1)]
_NOTES = "sent/sheets.json"


class RowIs(StrEnum):
    """What became of a row of the paper."""

    ON = "on the list"
    THERE = "was on the list already"
    SIGNED_TWICE = "signed twice"
    OUT = "stays off the list"
    UNREADABLE = "can't be read"
    FAULTY = "not taken"
    ASKED = "to be looked at"


NOTED = frozenset(RowIs) - {RowIs.FAULTY, RowIs.ASKED}
"""What is kept of a row; the others are still to do."""


@dataclass(frozen=True, slots=True)
class TypedRow:
    """A row as it was typed."""

    number: int
    address: str = field(default="", repr=False)
    name: str = field(default="", repr=False)
    interests: frozenset[Interest] = frozenset()
    before: str = field(default="", repr=False)  # the address it brought before, where it's put right


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What came of a row just now."""

    number: int
    state: RowIs
    said: str = field(repr=False)
    better: str = field(default="", repr=False)  # the address that was likely meant


def read_row(text: str) -> TypedRow:
    """Read `31 | Ada Example | ada@mail.example | 1 3`: number, name, address, boxes ticked.

    A name of `?` is a row that can't be read. A fifth part is the address that is put right.
    Raises StudioFault.
    """
    parts = [" ".join(part.split()) for part in text.split("|")]
    if not parts[0].isdecimal() or not 1 <= int(parts[0][:6]) <= LAST_ROW or len(parts) > 5:
        like = "31 | Ada Example | ada@mail.example | 1 3"
        raise StudioFault(f"'{short(text)}' is no row; write it like '{like}'")
    _, name, address, boxes, before = (*parts, "", "", "", "")[:5]
    try:
        ticked = frozenset(list(Interest)[_PLACES.index(box)] for box in re.findall(r"[^\s,]", boxes))
    except ValueError:
        raise StudioFault(f"row {parts[0]}: boxes are {', '.join(_PLACES)}, in the sheet's order") from None
    return TypedRow(int(parts[0]), address, name, ticked, before)


def row_in(code: str, person: Person) -> int:
    """Return which row of a show's sheets is someone's evidence; 0 for none."""
    if not person.evidence.startswith(f"sheet {code}-"):
        return 0
    found = re.fullmatch(r"[0-9]+ row ([0-9]{1,4})(?:; .*)?", person.evidence.removeprefix(f"sheet {code}-"))
    return int(found[1]) if found else 0


@dataclass
class Typing:
    """One show's sheets while rows are typed in."""

    code: str
    page: Callable[[int], int]  # on which page a row stands
    day: date  # when they signed
    today: date
    people: list[Person] = field(repr=False)
    forgotten: Callable[[str], bool]
    keeps: Callable[[str, str], bool]
    consent: Consent = Consent.SHOW_SHEET  # what a row proves; less where they are asked by mail first
    states: dict[int, RowIs] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.common = common_domains(self.people)
        self.ledger = Ledger(self.people)
        self.here: dict[int, Person] = {}
        """Who stands on the list by a row of this sheet."""
        for person in self.people:
            if (number := row_in(self.code, person)) and person.left is None:
                self.here.setdefault(number, person)

    def often(self) -> tuple[str, ...]:
        """Return what addresses often end in, the most frequent on the list first."""
        common = self.common
        return tuple(sorted(common, key=lambda one: (-common[one], not one.endswith(".com"), len(one), one)))

    def take(self, row: TypedRow) -> RowOutcome:
        """Take one row over, or say why not."""
        state, said, better = self._taken(row)
        if state in NOTED:
            self.states[row.number] = state
        return RowOutcome(row.number, state, said, better)

    def _taken(self, row: TypedRow) -> tuple[RowIs, str, str]:
        number, mine = row.number, self.here.get(row.number)
        typed = as_kept(row.address) if "@" in row.address else row.address
        key = address_key(typed)
        if mine is not None and mine.key not in {key, address_key(row.before)}:
            return RowIs.FAULTY, f"this row is in already, with {mine.email}", ""
        if fault := _fault(typed, row.name):
            return RowIs.FAULTY, fault, ""
        if row.name == UNREADABLE:
            self._put(mine, None)
            return RowIs.UNREADABLE, "can't be read", ""
        evidence = f"sheet {self.code}-{self.page(number)} row {number}"
        person = Person(typed, row.name, row.interests, self.day, self.consent, evidence)
        if why := refusal(person, self.ledger.rows(key), self.today, self.forgotten(key)):
            self._put(mine, None)
            return RowIs.OUT, why, ""
        near = near_domain(typed, self.common) if mine is None or mine.key != key else None
        odd = f"did they mean @{near}?" if near else ""
        if odd and not self.keeps(typed, odd):
            return RowIs.ASKED, odd, meant(typed, odd)
        state, said = self._placed(number, person, mine)
        return state, f"{said}; {odd} It is taken as written" if odd else said, ""

    def _placed(self, number: int, person: Person, mine: Person | None) -> tuple[RowIs, str]:
        rows = self.ledger.rows(person.key)
        here = row_for(person, rows)
        left = max((row.left.on for row in rows if row.left), default=None)
        on = RowIs.ON, RowIs.ON + (f"; left on {left} and signed again" if left else "")
        if mine is not None and mine.key == person.key:
            here = mine
        elif here is None:
            self._put(mine, replace(person, zone=mine.zone) if mine else person)
            return on
        else:
            self._put(mine, None)
        theirs = row_in(self.code, here)
        if theirs and theirs < number:
            return RowIs.SIGNED_TWICE, f"signed twice; row {theirs} counts"
        if theirs > number:
            self.states[theirs] = RowIs.SIGNED_TWICE
        merged = _as_signed(here, person, by_sheet=bool(theirs))
        if merged != here:
            self._put(here, merged)
        if merged.evidence == person.evidence:
            return on
        return RowIs.THERE, RowIs.THERE + ("; what is new is added" if merged != here else "")

    def _put(self, before: Person | None, after: Person | None) -> None:
        """Write someone in the place of who stood there; None takes out whom only this row brought in."""
        self.ledger.put(before, after)
        if before is not None:
            self.here.pop(row_in(self.code, before), None)
        if after is not None and (number := row_in(self.code, after)):
            self.here[number] = after


def _as_signed(here: Person, person: Person, *, by_sheet: bool) -> Person:
    """Return who is on the list as the row says, where the sheet is all that says so, or the stronger yes."""
    if by_sheet and here.consent is Consent.CONFIRMED:
        return replace(here, interests=person.interests, name=person.name or here.name)
    merged = replace(here, interests=person.interests) if by_sheet else merged_with(here, person)
    if not by_sheet and merged.evidence != person.evidence:
        return merged
    name = person.name or here.name
    return replace(merged, name=name, evidence=person.evidence, joined=person.joined)


def _fault(address: str, name: str) -> str:
    if name == UNREADABLE:
        return "marked as one that can't be read, and yet it has an address" if address else ""
    if not address:
        return "the address is missing"
    if unfit := unfit_for_text(name):
        return f"the name holds a character that can't be shown ({named(unfit[0])})"
    if len(name) > LONGEST_CELL:
        return f"the name is longer than {LONGEST_CELL} letters"
    return fault_of(address) or ""


def save(folder: Path, sheet: Typing, a_page: int) -> int:
    """Write what was typed into people.csv and what became of the rows beside it; return how many changed."""
    count = sheet.ledger.write(folder / "people.csv")
    note = notes_of(folder)
    rows = {**rows_of(note, sheet.code), **sheet.states}
    kept = {"a_page": a_page, "rows": dict(sorted(rows.items()))}
    if note.get(sheet.code) != kept:
        own_folder(folder / "sent")
        text = json.dumps({**note, sheet.code: kept}, indent=1, sort_keys=True) + "\n"
        put(folder / _NOTES, text.encode(), private=True)
    return count


def notes_of(folder: Path) -> dict[str, Any]:
    """Return what is noted of all sheets, by their code. Raises StudioFault if it is damaged."""
    file = folder / _NOTES
    if not file.exists():
        return {}
    cure = "put it back from a copy, or take it away: who was typed in stays on the list"
    with readable(f"{file} is damaged; {cure}"):
        found = json.loads(file.read_text("utf-8"))
        if not all(1 <= sheet["a_page"] <= LAST_ROW for sheet in found.values()):
            raise ValueError("no number of rows")
        for sheet in found.values():
            sheet["rows"] = {int(number): RowIs(state) for number, state in sheet["rows"].items()}
        return dict(found)


def rows_of(note: Mapping[str, Any], code: str) -> dict[int, RowIs]:
    """Return what became of the rows of one show's sheets."""
    return dict(note.get(code, {"rows": {}})["rows"])
