"""A sheet typed in: each row as often and in any order as one likes; nobody comes back in silence."""

from __future__ import annotations

import csv
from contextlib import suppress
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.disk import pen
from sitegen.sources import StudioFault
from sitegen.sources.people import COLUMNS, read_people
from sitegen.sources.people_rows import forget, forgotten_in, row_of
from sitegen.sources.people_typed import (
    RowIs,
    RowOutcome,
    TypedRow,
    Typing,
    notes_of,
    read_row,
    rows_of,
    save,
)
from sitegen.sources.text import Notebook
from sitegen.studio.mailing import EXPLICIT
from sitegen.studio.person import Consent, Interest, Left, Person, Why, address_key
from tests import makers

DAY, TODAY = date(2026, 9, 12), date(2026, 11, 24)


def the_list(folder: Path) -> tuple[Person, ...]:
    return read_people((folder / "people.csv").read_text("utf-8"), Notebook("people.csv"))


def typing(folder: Path, rows: list[TypedRow], *, keeps: bool = True) -> list[RowOutcome]:
    """Type rows in one sitting and save."""
    sheet = Typing(
        "QDF26", lambda row: (row - 1) // 18 + 1, DAY, TODAY, list(the_list(folder)), forgotten_in(folder),
        lambda *_: keeps,
    )  # fmt: skip
    said = [sheet.take(row) for row in rows]
    with pen(folder):
        save(folder, sheet, 18)
    return said


def start(folder: Path, people: tuple[Person, ...] = ()) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "people.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([COLUMNS, *([*row_of(person).values()][:7] for person in people)])
    return folder


def test_the_evidence_is_the_sheet_with_its_page_and_row(tmp_path: Path) -> None:
    """The form that the sheet's own code was made for: `sheet HDF27-2 row 31` (18 rows a page)."""
    folder = start(tmp_path)

    typing(folder, [read_row("31 | Ada Example | ada@mail.example | 3 1")])

    (ada,) = the_list(folder)
    assert tuple(row_of(ada).values()) == (
        "ada@mail.example", "Ada Example", "commissions; shows", "2026-09-12", "show sheet",
        "sheet QDF26-2 row 31", "", "",
    )  # fmt: skip


ADDRESSES = [
    f"{name}@{domain}" for name in ("ada", "bo", "cy") for domain in ("mail.example", "post.example")
]
BY_NAME = {address: address[:2].title() for address in ADDRESSES}


@st.composite
def typed(draw: st.DrawFn) -> TypedRow:
    """A row of the paper: the same person may have signed in several, each with boxes of its own."""
    address = draw(st.sampled_from([*ADDRESSES, "ADA@mail.example", "?", "no address", ""]))
    if address == "?":
        return TypedRow(draw(st.integers(1, 60)), "", "?")
    ticks = draw(st.frozensets(st.sampled_from(list(Interest)), max_size=3))
    return TypedRow(draw(st.integers(1, 60)), address, BY_NAME.get(address.lower(), "Ada"), ticks)


@st.composite
def known(draw: st.DrawFn) -> Person:
    left = draw(st.sampled_from([None, None, date(2026, 3, 1), date(2026, 10, 1)]))
    address = draw(st.sampled_from(ADDRESSES))
    return Person(
        address, draw(st.sampled_from(["", BY_NAME[address]])),
        draw(st.frozensets(st.sampled_from(list(Interest)), max_size=2)), date(2026, 1, 5),
        draw(st.sampled_from([None, *Consent])), "noted before", Left(left, Why.ASKED) if left else None,
    )  # fmt: skip


def whole(rows: list[TypedRow]) -> list[TypedRow]:
    """Return one row of each number, as paper has them."""
    return list({row.number: row for row in rows}.values())


@settings(max_examples=30)
@given(
    people=st.lists(known(), max_size=4, unique_by=lambda one: one.key),
    rows=st.lists(typed(), max_size=7),
    data=st.data(),
)
def test_any_order_and_any_repetition_give_the_same_list(
    people: list[Person], rows: list[TypedRow], data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Saved at once, one by one, shuffled, twice: the same people stand there with the same evidence."""
    paper = whole(rows)
    at_once = start(tmp_path_factory.mktemp("once"), tuple(people))
    typing(at_once, paper)
    one_by_one = start(tmp_path_factory.mktemp("by-one"), tuple(people))
    again = data.draw(st.lists(st.sampled_from(paper), max_size=6)) if paper else []
    for row in data.draw(st.permutations([*paper, *again])):
        typing(one_by_one, [row])

    def stand(folder: Path) -> list[tuple[str, ...]]:
        return sorted(tuple(row_of(person).values())[:7] for person in the_list(folder))

    assert [(one[0].lower(), *one[1:]) for one in stand(one_by_one)] == [
        (one[0].lower(), *one[1:]) for one in stand(at_once)
    ]
    assert rows_of(notes_of(one_by_one), "QDF26") == rows_of(notes_of(at_once), "QDF26")


@given(
    people=st.lists(known(), max_size=4, unique_by=lambda one: one.key), rows=st.lists(typed(), max_size=7)
)
def test_the_promises_of_the_list_hold_whatever_is_typed(
    people: list[Person], rows: list[TypedRow], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Nobody twice, nobody lost, nobody back who left on that day or later or was forgotten; proof for each."""
    folder = start(tmp_path_factory.mktemp("list"), tuple(people))
    gone = {person.key: person.left.on for person in people if person.left}
    out = address_key(ADDRESSES[5])
    with pen(folder):
        forget(folder, out)

    paper = whole(rows)
    said = {row_outcome.number: row_outcome for row_outcome in typing(folder, paper)}
    after = the_list(folder)

    live = [person.key for person in after if person.left is None]
    assert len(live) == len(set(live))
    assert {person.key for person in people} - {out} <= {person.key for person in after}
    assert out not in {person.key for person in after}
    for one in after:
        if one.left is None and one.evidence != "noted before":
            number = int(one.evidence.rpartition(" ")[2])
            row = next(row for row in paper if row.number == number and address_key(row.address) == one.key)
            assert one.evidence == f"sheet QDF26-{(number - 1) // 18 + 1} row {number}"
            assert one.interests == row.interests
            assert one.consent in EXPLICIT
            assert gone.get(one.key, date.min) < DAY
            if one.key in gone:
                assert "signed again" in said[number].said
    for person in people:  # what was known is kept, unless a plain yes takes the place of a lesser one
        if person.left is None and person.key != out and person.consent in EXPLICIT:
            (now,) = (other for other in after if other.key == person.key)
            assert (now.evidence, now.joined, now.consent) == (person.evidence, person.joined, person.consent)


def test_a_row_that_is_in_is_put_right_only_by_who_knows_what_stood_there(tmp_path: Path) -> None:
    folder = start(tmp_path)
    typing(folder, [read_row("4 | Ida | ida@mail.example | 1")])

    (refused,) = typing(folder, [read_row("4 | Ira | ira@mail.example | 1")])
    assert (refused.state, [one.email for one in the_list(folder)]) == (RowIs.FAULTY, ["ida@mail.example"])
    assert "ida@mail.example" in refused.said

    (done,) = typing(folder, [read_row("4 | Ira | ira@mail.example | 2 | IDA@mail.example")])
    (ira,) = the_list(folder)
    assert (done.state, ira.email, ira.name, ira.interests) == (
        RowIs.ON, "ira@mail.example", "Ira", frozenset({Interest.NEW_PIECES})
    )  # fmt: skip


def test_a_stray_mark_on_a_row_takes_nobody_away(tmp_path: Path) -> None:
    """Marked as one that can't be read while the address still stands there: the row is looked at again."""
    folder = start(tmp_path)
    typing(folder, [read_row("4 | Ida | ida@mail.example | 1")])

    (marked,) = typing(folder, [read_row("4 | ? | ida@mail.example | | ida@mail.example")])
    (emptied,) = typing(folder, [read_row("4 |  |  |  | ida@mail.example")])

    assert (marked.state, emptied.state) == (RowIs.FAULTY, RowIs.FAULTY)
    assert [person.email for person in the_list(folder)] == ["ida@mail.example"]


@pytest.mark.parametrize(
    "right", ["4 | ? |  |  | ida@mail.example", "4 | Ana | ana@mail.example | | ida@mail.example"]
)
def test_who_was_only_a_slip_of_a_row_goes_again(tmp_path: Path, right: str) -> None:
    """The row can't be read after all, or was somebody's who is on the list: Ida never signed."""
    ana = Person("ana@mail.example", "Ana", frozenset(), DAY, Consent.WEB, "form")
    folder = start(tmp_path, (ana,))
    typing(folder, [read_row("4 | Ida | ida@mail.example | 1")])

    typing(folder, [read_row(right)])

    assert [person.email for person in the_list(folder)] == ["ana@mail.example"]


def test_twins_of_a_slip_stay(tmp_path: Path) -> None:
    """Another row of the same address isn't the sheet's, and isn't touched with it."""
    twin = Person("ida@mail.example", "Ida", frozenset(), DAY, Consent.SHOW_SHEET, "sheet QDF26-1 row 4")
    other = Person("ida@mail.example", "Ida", frozenset(), DAY, Consent.WEB, "form")
    folder = start(tmp_path, (other, twin))

    typing(folder, [read_row("4 | ? |  |  | ida@mail.example")])

    assert [person.evidence for person in the_list(folder)] == ["form"]


def test_a_likely_slip_waits_for_a_word(tmp_path: Path) -> None:
    folder = start(tmp_path)

    (asked,) = typing(folder, [read_row("2 | Bo | bo@gmial.com | 1")], keeps=False)
    assert (asked.state, asked.better, the_list(folder)) == (RowIs.ASKED, "bo@gmail.com", ())
    assert rows_of(notes_of(folder), "QDF26") == {}

    (kept,) = typing(folder, [read_row("2 | Bo | bo@gmial.com | 1")])
    assert "taken as written" in kept.said


def test_the_note_of_the_paper_names_nobody(tmp_path: Path) -> None:
    """Who is forgotten stands nowhere else."""
    folder = start(tmp_path)
    typing(folder, [read_row("1 | Ada | ada@mail.example | 1"), read_row("2 | ?")])

    text = (folder / "sent" / "sheets.json").read_text("utf-8").lower()
    assert "ada" not in text
    assert (folder / "sent" / "sheets.json").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "text",
    ["", "Ada | ada@mail.example", "0 | Ada", "10000 | Ada", "-1 | A", "1 | A | a@mail.example | 5", "1|a|b|1|c|d",
     "1 | A | a@mail.example | x"],
)  # fmt: skip
def test_what_is_no_row_is_said(text: str) -> None:
    with pytest.raises(StudioFault, match="row"):
        read_row(text)


@given(st.text(max_size=60))
def test_whatever_is_typed_is_a_row_or_a_sentence(text: str) -> None:
    with suppress(StudioFault):
        assert 1 <= read_row(text).number <= 9999


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[]",
        '{"QDF26": {"a_page": 18, "rows": []}, "X": 1}',
        '{"X": {"rows": {}}}',
        '{"X": {"a_page": 0, "rows": {}}}',
    ],
)
def test_a_damaged_note_is_said(tmp_path: Path, text: str) -> None:
    makers.write(tmp_path / "sent" / "sheets.json", text)

    with pytest.raises(StudioFault, match="damaged"):
        notes_of(tmp_path)
