"""The sign-up sheets of shows: their codes, the rows of a page, and what of them is typed in."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from sitegen import paper
from sitegen.desk.find import Sitting
from sitegen.jobs.reading import once
from sitegen.sources import StudioFault
from sitegen.sources.people_typed import RowIs, RowOutcome, notes_of, row_in, rows_of
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Person
from sitegen.studio.text import counted, short
from sitegen.voice.theme_files import find_theme

_SHEET = re.compile(r"\bsheet ([A-Z0-9]+)\b", re.IGNORECASE)
"""How the evidence of a person names a sheet."""


@dataclass(frozen=True)
class ShowSheet:
    """A show's sheets, and what became of their rows so far."""

    code: str
    """Without the page, like HDF27."""
    show: str
    first_day: date
    last_day: date
    a_page: int
    """Rows of a page."""
    rows: Mapping[int, RowIs]

    @property
    def next(self) -> int:
        """The row to go on with."""
        return max(self.rows, default=0) + 1

    def page(self, row: int) -> int:
        """Return on which page a row stands."""
        return (row - 1) // self.a_page + 1

    def counted(self) -> str:
        """Count the paper in a sentence."""
        if not self.rows:
            return "Nothing of it is typed in yet."
        parts = (f"{count} {state}" for state, count in Counter(self.rows.values()).most_common())
        return f"{counted(len(self.rows), 'row is', 'rows are')} typed in: {', '.join(parts)}."


@dataclass(frozen=True)
class TypedSheet:
    """What came of the rows just typed, and how the sheet stands."""

    sheet: ShowSheet
    day: date
    """When they signed."""
    outcomes: tuple[RowOutcome, ...] = ()
    here: Mapping[int, Person] = field(default_factory=dict, repr=False)
    """Who stands on the list by a row."""
    domains: tuple[str, ...] = ()
    """What addresses often end in, the most frequent first."""

    @property
    def changes(self) -> tuple[RowOutcome, ...]:
        """What there is to take back."""
        return tuple(outcome for outcome in self.outcomes if outcome.state is RowIs.ON)

    @property
    def is_well(self) -> bool:
        """False where a row is left to be typed again."""
        return not any(outcome.state in {RowIs.FAULTY, RowIs.ASKED} for outcome in self.outcomes)

    def again(self, number: int) -> RowOutcome | None:
        """Return what is wrong with a row that is to be typed again."""
        wrong = (outcome for outcome in self.outcomes if outcome.state in {RowIs.FAULTY, RowIs.ASKED})
        return next((one for one in wrong if one.number == number), None)

    def as_answer(self) -> Mapping[str, Any]:
        """Return the answer for machines."""
        rows = [
            {"row": outcome.number, "is": str(outcome.state), "said": outcome.said, "better": outcome.better}
            for outcome in self.outcomes
        ]
        sheet = self.sheet
        counts = Counter(str(state) for state in sheet.rows.values())
        return {
            "sheet": sheet.code, "show": sheet.show, "on": self.day.isoformat(), "rows_a_page": sheet.a_page,
            "rows": rows, "counts": dict(sorted(counts.items())), "next": sheet.next,
        }  # fmt: skip

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        rows = [f"Row {outcome.number}: {outcome.said}" for outcome in self.outcomes]
        return [*rows, f"Sheet {self.sheet.code}: {self.sheet.counted()} Row {self.sheet.next} is next."]


def sheets_of(folder: Path, sitting: Sitting, a_page: int | None = None) -> tuple[ShowSheet, ...]:
    """Return the sheets of all shows that have begun, the latest first. Raises Fault."""
    notes = notes_of(folder)
    front = once(
        sitting.studio, "sheets", sitting.today, lambda: front_of_house(sitting.studio, sitting.moment)
    )
    theme, found = find_theme(folder, front.card.theme), []
    for show in front.shows:
        code = paper.sheet_code(show, front.shows)
        here = {row: RowIs.ON for person in sitting.studio.people if (row := row_in(code, person))}
        rows, noted = here | rows_of(notes, code), notes.get(code, {}).get("a_page")

        def count(show: Any = show) -> int:
            return paper.sheet_rows(front, show, theme, paper=front.card.paper)

        if show.first_day <= sitting.today:
            each = a_page or noted or once(sitting.studio, ("rows", show.slug), front.card, count)
            found.append(ShowSheet(code, show.name, show.first_day, show.last_day, each, rows))
    return tuple(sorted(found, key=lambda one: one.first_day, reverse=True))


def signed_up(sitting: Sitting) -> dict[str, list[str]]:
    """Return by show the addresses, folded, that came to the list by its sheet, as their evidence says.

    Those who left since are among them.
    """
    studio = sitting.studio

    def found() -> dict[str, list[str]]:
        front = front_of_house(studio, sitting.moment)
        codes = {paper.sheet_code(show, front.shows): show.slug for show in front.shows}
        signed: dict[str, list[str]] = {slug: [] for slug in codes.values()}
        for person in studio.people:
            match = _SHEET.search(person.evidence)
            if match and (slug := codes.get(match[1].upper())):
                signed[slug].append(person.key)
        return signed

    return once(studio, "signed up", sitting.today, found)


def named_sheet(sheets: Sequence[ShowSheet], code: str) -> ShowSheet:
    """Return the sheet of a code, with or without its page. Raises StudioFault."""
    bare = code.strip().upper().partition("-")[0]
    found = next((sheet for sheet in sheets if sheet.code == bare), None)
    if found is None:
        known = f"there are {', '.join(one.code for one in sheets)}" if sheets else "none has begun yet"
        raise StudioFault(f"'{short(code)}' is no sheet of a show that has begun; {known}")
    return found


def signed_on(sheet: ShowSheet, day: date | None, today: date) -> date:
    """Return the day that people signed a sheet: the one named, else the show's first. Raises StudioFault."""
    last = min(sheet.last_day, today)
    if day is not None and not sheet.first_day <= day <= last:
        raise StudioFault(f"--on {day}: sheet {sheet.code} was signed from {sheet.first_day} to {last}")
    return day or sheet.first_day
