"""people.csv edited: every byte that isn't meant stays."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from sitegen.sources import StudioFault
from sitegen.sources.people import read_people
from sitegen.sources.people_rows import forget, forgotten_in, mentions, set_left
from sitegen.sources.text import Notebook
from sitegen.studio.person import Left, Why
from tests import makers

LEFT = Left(date(2027, 1, 9), Why.ASKED)
ODD = (
    b"\xef\xbb\xbfemail,name,interests,joined,consent,evidence,left\r\n"
    b'ada@example.com,"Ada, the\nelder",commissions,2026-02-01,web,"form ""A""",\n'
    b"\r\n"
    b'"ben@example.com",Ben,,,,,\r\n'
    b'ADA@Example.com,"Ada",,,,,2026-01-05 asked'
)


@pytest.mark.parametrize("end", ["\r\n", "\n"])
def test_only_the_row_that_is_meant_changes(tmp_path: Path, end: str) -> None:
    """Other rows, their quoting and line ends survive byte for byte."""
    file = tmp_path / "people.csv"
    file.write_bytes(ODD)

    assert set_left(file, {"ben@example.com": LEFT}) == 1
    assert file.read_bytes() == ODD.replace(
        b'"ben@example.com",Ben,,,,,\r\n', b"ben@example.com,Ben,,,,,2027-01-09 asked\r\n"
    )


def test_an_exit_that_is_noted_stays_as_it_is(tmp_path: Path) -> None:
    """The first date and reason hold; all rows of the address are noted; twice does nothing more."""
    file = tmp_path / "people.csv"
    file.write_bytes(ODD)

    assert set_left(file, {"ada@example.com": LEFT}) == 1
    assert file.read_bytes().count(b"2027-01-09 asked") == 1
    assert file.read_bytes().endswith(b"2026-01-05 asked")
    assert set_left(file, {"ada@example.com": LEFT}) == 0


def test_all_rows_of_a_person_are_taken_out(tmp_path: Path) -> None:
    """However the address is written."""
    file = tmp_path / "people.csv"
    file.write_bytes(ODD)

    assert forget(tmp_path, "ada@example.com") == 2
    assert b"Ada" not in file.read_bytes()
    assert b'"ben@example.com",Ben,,,,,\r\n' in file.read_bytes()


def test_a_file_that_cant_be_read_is_left_alone(tmp_path: Path) -> None:
    """Quotes that don't match."""
    file = tmp_path / "people.csv"
    file.write_bytes(ODD + b'\r\n"open')

    with pytest.raises(StudioFault, match=r"people\.csv: the quotes don't match"):
        forget(tmp_path, "ada@example.com")
    assert file.read_bytes() == ODD + b'\r\n"open'


def test_the_forgotten_are_gone_and_stay_suppressed(tmp_path: Path) -> None:
    """No address is kept, only a salted hash; two studios' hashes differ."""
    for name in ("one", "two"):
        makers.studio(tmp_path / name)
        assert forget(tmp_path / name, "Ana@Mail.example") == 1

    kept = [(tmp_path / name / "sent" / "forgotten.json").read_text() for name in ("one", "two")]
    assert "ana" not in (tmp_path / "one" / "people.csv").read_text().lower()
    assert "ana" not in kept[0].lower().replace("salt", "")
    assert kept[0] != kept[1]
    test = forgotten_in(tmp_path / "one")
    assert test("ana@mail.example")
    assert not test("ben@post.example")
    assert forget(tmp_path / "one", "ben@post.example") == 1
    assert forgotten_in(tmp_path / "one")("ana@mail.example")


def test_where_else_an_address_stands(tmp_path: Path) -> None:
    """Orders and the waiting list are for the artist to judge."""
    folder = makers.studio(tmp_path)

    assert mentions(folder, "Waiting.Client@mail.example") == ["commissions.yaml, line 22"]
    assert not forgotten_in(folder)("anyone@example.com")


ZONED = (
    b"email,name,interests,joined,consent,evidence,left,zone\r\n"
    b"ada@example.com,Ada,,2026-02-01,web,form,,America/Halifax\r\n"
    b"ben@example.com,Ben,,2026-02-01,web,form,,\r\n"
)


def test_a_list_with_zones_keeps_them(tmp_path: Path) -> None:
    """An exit goes into its own column; the zone stays after it."""
    file = tmp_path / "people.csv"
    file.write_bytes(ZONED)

    assert set_left(file, {"ada@example.com": LEFT}) == 1
    assert set_left(file, {"ada@example.com": LEFT}) == 0
    assert file.read_bytes() == ZONED.replace(b",,America", b",2027-01-09 asked,America")
    assert forget(tmp_path, "ben@example.com") == 1


def told(
    *rows: str, header: str = "email,name,interests,joined,consent,evidence,left"
) -> list[tuple[int, str]]:
    notes = Notebook("people.csv")
    read_people("\r\n".join([header, *rows, ""]), notes)
    return [(complaint.line, complaint.message) for complaint in notes.complaints]


def test_an_unknown_zone_is_told_with_its_row() -> None:
    """And with what would be right."""
    header = "email,name,interests,joined,consent,evidence,left,zone"

    assert told("a@post.example,,,,,,,Europe/Dublin", "b@post.example,,,,,,,Dublin time", header=header) == [
        (
            3,
            "zone 'Dublin time' is not a time zone of the IANA list; write it like Europe/Dublin or America/Halifax",
        )
    ]


@pytest.mark.parametrize(
    ("second", "said"),
    [
        ("ADA@Example.com,,,2026-05-01,web,,", "also stands in line 2; one letter is sent"),
        ("ada@example.com,,,2026-05-01,web,,2026-09-14 asked", "also stands in line 2; no letter is sent, since line 3 left on 2026-09-14; only a later yes of their own, with its date, brings them back"),
    ],
)  # fmt: skip
def test_an_address_that_stands_twice(second: str, said: str) -> None:
    """What follows from it is said, and no more."""
    ((line, message),) = told("ada@example.com,,,2026-02-01,web,,", second)

    assert (line, message) == (
        3,
        f"'{second.split(',', maxsplit=1)[0].replace('Example', 'example')}' {said}",
    )


def test_who_left_and_signed_again_is_no_oddity() -> None:
    """That's what an import makes of them."""
    assert (
        told(
            "ada@example.com,,,2026-02-01,web,,2026-09-14 asked", "ada@example.com,,,2026-10-04,show sheet,,"
        )
        == []
    )


def test_one_mailbox_in_two_spellings_is_one(tmp_path: Path) -> None:
    """Letters in parts, and a domain in its two forms."""
    ((line, message),) = told("bo@bücher.example,,,,web,,", "Bo@xn--bcher-kva.example,,,,web,,")

    assert (line, "one letter is sent" in message) == (3, True)
