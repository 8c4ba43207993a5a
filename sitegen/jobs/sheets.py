"""The sign-up sheets of shows: their codes, the rows of a page, and how these are typed into the list."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext, suppress
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from sitegen.desk.find import Sitting, read_day
from sitegen.jobs.reading import PEOPLE, once, sit
from sitegen.jobs.where import pen, sheet_of
from sitegen.paper.press import Printer
from sitegen.paper.sheet import sheet_rows
from sitegen.sources import StudioFault
from sitegen.sources.people_import import rows_of as rows_in_table
from sitegen.sources.people_rows import forgotten_in
from sitegen.sources.people_typed import RowIs, RowOutcome, Typing, notes_of, read_row, row_in, rows_of, save
from sitegen.studio.asked import Fault, ask, wish
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Consent, Person
from sitegen.studio.public import sheet_code
from sitegen.studio.text import counted, short
from sitegen.voice.theme_files import find_theme

ASKS = "They are asked by mail first, and get no other letter until they say yes."
Keeps = Callable[[str, str], bool]
"""Asked about an address and what is odd about it; True takes it as it stands."""


@dataclass(frozen=True)
class ShowSheet:
    """A show's sheets, and what became of their rows so far."""

    code: str  # without the page, like HDF27
    show: str
    first_day: date
    last_day: date
    a_page: int  # rows of a page
    rows: Mapping[int, RowIs]

    @property
    def next(self) -> int:
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
    day: date  # when they signed
    outcomes: tuple[RowOutcome, ...] = ()
    here: Mapping[int, Person] = field(default_factory=dict, repr=False)  # who stands on the list by a row
    domains: tuple[str, ...] = ()  # what addresses often end in, the most frequent first

    @property
    def _wrong(self) -> dict[int, RowOutcome]:
        wrong = {RowIs.FAULTY, RowIs.ASKED}
        return {outcome.number: outcome for outcome in reversed(self.outcomes) if outcome.state in wrong}

    @property
    def is_well(self) -> bool:
        """False where a row is left to be typed again."""
        return not self._wrong

    def again(self, number: int) -> RowOutcome | None:
        """Return what is wrong with a row that is to be typed again."""
        return self._wrong.get(number)

    def as_answer(self) -> Mapping[str, Any]:
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
        rows = [f"Row {outcome.number}: {outcome.said}" for outcome in self.outcomes]
        return [*rows, f"Sheet {self.sheet.code}: {self.sheet.counted()} Row {self.sheet.next} is next."]


@wish
class TypeRows:
    sheet: str = ask(word=True)
    rows: tuple[str, ...] = ask(
        "A row: number | name | address | boxes ticked. A name of ? is a row that can't be read; a fifth "
        "part is the address that the row had before, to put it right.",
        default=(), name="row",
    )  # fmt: skip
    on: str | None = ask("Day they signed (the show's first, if left out).", default=None)
    a_page: int | None = ask(
        "Rows on a page, if the sheet was printed on other paper.", default=None, least=1, most=99
    )
    confirm: bool = ask(ASKS, default=False)
    dry_run: bool = ask("Only say what would happen.", default=False)


def typed_sheets(folder: Path, today: str | None) -> tuple[ShowSheet, ...]:
    """Return the sheets of all shows that have begun, the latest first. Raises Fault."""
    return _sheets(folder, sit(folder, today, PEOPLE | {"shows"}))


def type_rows(folder: Path, wish: TypeRows, today: str | None, keeps: Keeps) -> TypedSheet:
    """Type rows of a show's sign-up sheet into the list, each as often and in any order as one likes.

    Without rows, say how the sheet stands. Raises Fault for a sheet there is none of, or rows that are none.
    """
    typed = [read_row(text) for text in wish.rows]
    writing = bool(typed) and not wish.dry_run
    turn = f"typing in sheet {wish.sheet.strip().upper()}"
    with pen(folder, turn) if writing else nullcontext():
        sitting = sit(folder, today, PEOPLE | {"shows"})
        paper = _named(_sheets(folder, sitting, wish.a_page), wish.sheet)
        day, last = read_day(wish.on, "--on") or paper.first_day, min(paper.last_day, sitting.today)
        if not paper.first_day <= day <= last:
            raise Fault(f"--on {day}: sheet {paper.code} was signed from {paper.first_day} to {last}")
        asks = wish.confirm or sitting.studio.settings.confirm
        sheet = Typing(
            paper.code, paper.page, day, sitting.today, list(sitting.studio.people), forgotten_in(folder),
            keeps, Consent.NOT_CONFIRMED if asks else Consent.SHOW_SHEET,
        )  # fmt: skip
        outcomes = tuple(sheet.take(row) for row in typed)
        if writing:
            save(folder, sheet, paper.a_page)
    paper = replace(paper, rows={**paper.rows, **sheet.states})
    return TypedSheet(paper, day, outcomes, sheet.here, sheet.often())


def _sheets(folder: Path, sitting: Sitting, a_page: int | None = None) -> tuple[ShowSheet, ...]:
    studio, notes, found = sitting.studio, notes_of(folder), []
    front = once(studio, "sheets", sitting.today, lambda: front_of_house(studio, sitting.moment))
    press = Printer(front, find_theme(folder, front.card.theme), front.card.paper)
    for show in front.shows:
        code = sheet_code(show, front.shows)
        here = {row: RowIs.ON for person in studio.people if (row := row_in(code, person))}
        rows, noted = here | rows_of(notes, code), notes.get(code, {}).get("a_page")
        if show.first_day <= sitting.today:
            count = partial(sheet_rows, press, show)
            each = a_page or noted or _printed(folder, show.slug, code)
            each = each or once(studio, ("rows", show.slug), front.card, count)
            found.append(ShowSheet(code, show.name, show.first_day, show.last_day, each, rows))
    return tuple(sorted(found, key=lambda show_sheet: show_sheet.first_day, reverse=True))


def _printed(folder: Path, show: str, code: str) -> int:
    """Count the rows of a page as a show's sheet was printed last, by the table beside it; 0 without one."""
    table, first = sheet_of(folder, show).with_suffix(".csv"), [f"{code}-1"]
    with suppress(StudioFault, OSError):
        return sum(row[:1] == first for _, row, _ in rows_in_table(table.read_bytes()))
    return 0


def _named(sheets: Sequence[ShowSheet], code: str) -> ShowSheet:
    bare = code.strip().upper().partition("-")[0]
    found = next((sheet for sheet in sheets if sheet.code == bare), None)
    if found is None:
        known = f"there are {', '.join(known.code for known in sheets)}" if sheets else "none has begun yet"
        raise Fault(f"'{short(code)}' is no sheet of a show that has begun; {known}")
    return found
