"""From the sheet at a table to the list, and from there to a letter that names sheet and row."""

from __future__ import annotations

import csv
from email import message_from_bytes
from pathlib import Path

import pytest

from tests.cli.runner import on


def filled(table: Path, people: int) -> None:
    """Write into a sheet's table as a spreadsheet does, leaving its last rows open."""
    header, *rows = list(csv.reader(table.read_text("utf-8").splitlines()))
    for number, row in enumerate(rows[:people], start=1):
        row[3:6] = f"Ann Nr {number}", f"ann{number}@mail.example", "x"
    with table.open("w", encoding="utf-8-sig", newline="") as stream:
        csv.writer(stream, delimiter=";").writerows([header, *rows])


def _plain(file: Path) -> tuple[str, str]:
    """Return whom a message is to, and its text as one run of words."""
    message = message_from_bytes(file.read_bytes())
    body = next(part for part in message.walk() if part.get_content_type() == "text/plain")
    content = body.get_payload(decode=True)
    assert isinstance(content, bytes)
    return message["To"].rpartition("<")[2].rstrip(">"), " ".join(content.decode().split())


@pytest.mark.slow
def test_a_thousand_rows_from_the_sheet_to_the_list_to_the_letter(folder: Path) -> None:
    """The table mirrors the paper's rows; imported, each letter names the sheet and the row it rests on."""
    printed = on("2027-02-20", folder, "sheet", "quayside-2027", "--pages", "56", "--json")
    table = next((folder / "out/paper").glob("*.csv"))
    filled(table, 1000)
    said = on("2027-03-02", folder, "people", "import", str(table), "--source", "show sheet")

    assert printed.exit_code == said.exit_code == 0, said.output
    assert "1,000" in said.output or "1000" in said.output
    book = folder / "commissions.yaml"
    book.write_text(book.read_text().replace("2027-01-", "2027-03-"))
    made = on("2027-03-02", folder, "announce", "commissions")
    assert made.exit_code == 0, made.output
    letters = dict(map(_plain, next((folder / "out/letters").iterdir()).glob("eml/*.eml")))
    for number in range(1, 1001):
        page = (number - 1) // 18 + 1
        assert f"(sheet QDF27-{page}, no. {number}; " in letters[f"ann{number}@mail.example"]
    again = on("2027-02-20", folder, "sheet", "quayside-2027", "--pages", "2")
    assert "Filled in already, and left as it is" in again.output
    assert len(table.read_bytes().splitlines()) == 56 * 18 + 1
