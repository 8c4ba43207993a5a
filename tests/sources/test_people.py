"""people.csv: every row that can't be read is told with its line, and what can be read is read as it's meant."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from sitegen.sources.people import read_people
from sitegen.sources.text import Notebook
from sitegen.studio.person import Consent, Interest, Left, Person, Why

HEAD = "email,name,interests,joined,consent,evidence,left"


def read(text: str) -> tuple[tuple[Person, ...], list[tuple[int, str, str]]]:
    notes = Notebook("people.csv")
    people = read_people(text, notes)
    return people, [(one.line, str(one.level), one.message) for one in notes.complaints]


def told(row: str, head: str = HEAD) -> list[str]:
    """Return what is said of a row; all of it must point at the row's line."""
    people, said = read(f"{head}\n{row}\n")
    assert {line for line, _, _ in said} <= {2}
    assert bool(people) is not any(level == "error" for _, level, _ in said)
    return [message for _, _, message in said]


@pytest.mark.parametrize("head", [HEAD, HEAD.upper(), " Email , Name,INTERESTS,joined,consent,evidence,left"])
def test_a_row_is_read_as_it_is_meant(head: str) -> None:
    """Capitals and blanks don't matter; an exit without a word was asked for; the zone may be missing."""
    people, said = read(
        f"{head}\n"
        'Ada@EXAMPLE.com, Ada ,Shows ;  new  pieces;,2026-03-02,Show  Sheet,"row 4, A",2026-09-14\n'
        "bo@example.com,,,,,,2026-09-14 Bounced\n"
    )

    assert said == []
    assert people == (
        Person(
            "Ada@example.com", "Ada", frozenset({Interest.SHOWS, Interest.NEW_PIECES}), date(2026, 3, 2),
            Consent.SHOW_SHEET, "row 4, A", Left(date(2026, 9, 14), Why.ASKED), 2,
        ),
        Person("bo@example.com", left=Left(date(2026, 9, 14), Why.BOUNCED), line=3),
    )  # fmt: skip


def test_a_zone_may_stand_behind() -> None:
    people, said = read(f"{HEAD},Zone\nada@example.com,,,,,,,Asia/Tokyo\nbo@example.com,,,,,,,\n")

    assert said == []
    assert [person.zone for person in people] == [ZoneInfo("Asia/Tokyo"), None]


LONG = "write at most 1000 characters"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (",Ada,,,,,", ["the address is missing"]),
        ("ada,Ada,,,,,", ["'ada' can't be written to: "]),
        ("ada@example.com,Ada,,,,", ["this row has 6 fields instead of 7; a text that holds a comma must stand in double quotes"]),
        ("ada@example.com,Ada, A,,,,,", ["this row has 8 fields instead of 7; "]),
        ("ada@example.com,,show,,,,", ["interests 'show' is not one of commissions, new pieces, shows, classes; did you mean 'shows'?"]),
        ("ada@example.com,,shows;x;y,,,,", ["interests 'x' is not one of ", "interests 'y' is not one of "]),
        ("ada@example.com,,,2.3.2026,,,", ["joined '2.3.2026' is not a date; write year-month-day, like 2026-05-14"]),
        ("ada@example.com,,,,webb,,", ["consent 'webb' is not one of "]),
        ("ada@example.com,,,,,,yes", ["left 'yes' is not a date; "]),
        ("ada@example.com,,,,,,2026-02-30 asked", ["left '2026-02-30' is a date that doesn't exist"]),
        ("ada@example.com,,,,,,2026-02-03 aksed", ["left 'aksed' is not one of asked, bounced, complained; did you mean 'asked'?"]),
        (f"ada@example.com,{'n' * 1000},,,,,", []),
        (f"ada@example.com,{'n' * 1001},,,,,", [f"name is too long; {LONG}"]),
        (f"ada@example.com,,,,,{'e' * 1001},", [f"evidence is too long; {LONG}"]),
        ("ada,Ada,show,2.3.2026,,,", ["'ada' can't be written to: ", "interests 'show' is", "joined '2.3.2026' is"]),
        ('ada@example.com,"Ada" B,,,,,', ["the quotes in this row don't match ("]),
    ],
)  # fmt: skip
def test_a_row_that_cant_be_read_is_told(row: str, said: list[str]) -> None:
    found = told(row)

    assert len(found) == len(said)
    assert [one for one, start in zip(found, said, strict=True) if not one.startswith(start)] == []


def test_a_zone_that_cant_be_read_is_told() -> None:
    zoned = f"{HEAD},zone"

    assert told("ada@example.com,,,,,,,Tokyo", zoned)[0].startswith(
        "zone 'Tokyo' is not a time zone of the IANA"
    )
    assert told(f"ada@example.com,,,,,,,{'z' * 1001}", zoned)[0] == f"zone is too long; {LONG}"
    assert told("ada@example.com,,,,,,", zoned)[0].startswith("this row has 7 fields instead of 8")


@pytest.mark.parametrize(
    ("head", "said"),
    [
        (HEAD.replace(",", ";"), "the columns are separated by semicolons; save the file with commas"),
        ("email,name", f"the first line must read {HEAD} (and may end in ,zone)"),
        (f"{HEAD},zone,more", f"the first line must read {HEAD} (and may end in ,zone)"),
        ("email", f"the first line must read {HEAD} (and may end in ,zone)"),
    ],
)
def test_columns_that_arent_ours_are_told(head: str, said: str) -> None:
    assert read(f"{head}\nada@example.com,,,,,,\n") == ((), [(1, "error", said)])


def test_a_fault_is_told_in_each_row_that_has_it_and_rows_span_lines() -> None:
    people, said = read(
        f'{HEAD}\nada@example.com,"Ada\nB",x,,,,\n\nbo@example.com,,x,,,,\ncy@example.com,,shows,,,,'
    )

    assert [person.email for person in people] == ["cy@example.com"]
    assert [line for line, _, _ in said] == [2, 5]
    assert people[0].line == 6
    assert read("") == ((), [])


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["a@x.example,,,,,,", "A@x.example,,,,,,", "a@X.example,,,,,,"], [(3, "'A@x.example' also stands in line 2; one letter is sent"), (4, "'a@x.example' also stands in line 2; one letter is sent")]),
        (["a@x.example,,,,,,", "b@x.example,,,,,,"], []),
        (["a@x.example,,,,,,2026-01-02", "A@x.example,,,2026-01-02,web,,"], [(3, "'A@x.example' also stands in line 2; no letter is sent, since line 2 left on 2026-01-02; only a later yes of their own, with its date, brings them back")]),
        (["a@x.example,,,,,,2026-01-02", "A@x.example,,,2026-01-03,web,,"], []),
    ],
)  # fmt: skip
def test_an_address_that_stands_twice_is_told_with_what_follows(
    rows: list[str], said: list[tuple[int, str]]
) -> None:
    _, found = read("\n".join([HEAD, *rows]))

    assert found == [(line, "warning", sentence) for line, sentence in said]
