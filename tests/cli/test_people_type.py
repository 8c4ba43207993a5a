"""A sheet typed in at the prompt: it asks row by row, saves each, and goes on where it stopped."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sitegen.terminal import telling
from sitegen.terminal.main import main
from tests import makers


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio whose last show has been."""
    studio = makers.studio(tmp_path / "studio")
    past = makers.SHOW.replace("2027-02-27", "2026-10-03").replace("2027-02-28", "2026-10-04")
    makers.write(studio / "shows" / "harbour-2026.yaml", past.replace("Quayside", "Harbour"))
    return studio


def typing(folder: Path, *words: str, keys: str = "", day: str = "2026-11-24") -> Result:
    return CliRunner().invoke(
        main, ["--studio", str(folder), "--today", day, "people", "type", *words], input=keys
    )


def evidence(folder: Path) -> list[tuple[str, str]]:
    text = (folder / "people.csv").read_text("utf-8")
    return [(row["email"], row["evidence"]) for row in csv.DictReader(text.splitlines())][3:]


def test_it_asks_row_by_row_and_goes_on_where_it_stopped(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Name, address, boxes; a question mark; a slip that isn't kept is asked for again; empty ends."""
    monkeypatch.setattr(telling, "someone_is_there", lambda: True)

    first = typing(
        folder,
        "hdf26-1",
        keys="Ada\nada@mail.example\n1 3\n?\nBo\nbo@gmial.com\n\nn\nBo\nbo@gmail.com\n2\n\n",
    )
    assert first.exit_code == 0, first.output
    assert "Row 3: did they mean @gmail.com?" in first.output
    second = typing(folder, "HDF26", keys="-\ncy@mail.example\n\n2\nDov\ndov@mail.example\n4\n\n")

    assert second.exit_code == 0, second.output
    assert "Row 4: name" in second.output
    assert evidence(folder) == [
        ("ada@mail.example", "sheet HDF26-1 row 1"),
        ("bo@gmail.com", "sheet HDF26-1 row 3"),
        ("cy@mail.example", "sheet HDF26-1 row 4"),
        ("dov@mail.example", "sheet HDF26-1 row 2"),
    ]


def test_rows_of_a_script_are_counted_and_a_fault_is_told(folder: Path) -> None:
    """The good rows are in; exit code 1 says that one is left."""
    done = typing(
        folder, "HDF26", "--row", "1 | Ada | ada@mail.example | 4", "--row", "2 | Bo | bo at", "--json"
    )

    assert done.exit_code == 1
    answer = json.loads(done.stdout)
    assert [one["is"] for one in answer["rows"]] == ["on the list", "not taken"]
    assert (answer["counts"], answer["next"], answer["on"]) == ({"on the list": 1}, 2, "2026-10-03")
    assert [one for one, _ in evidence(folder)] == ["ada@mail.example"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("HDF27-1",), "'HDF27-1' is no sheet of a show that has begun; there are HDF26"),
        (("HDF26", "--row", "Ada"), "'Ada' is no row"),
        (("HDF26", "--on", "2026-10-05"), "sheet HDF26 was signed from 2026-10-03 to 2026-10-04"),
    ],
)
def test_what_there_is_no_sheet_of_is_told(folder: Path, words: tuple[str, ...], said: str) -> None:
    refused = typing(folder, *words)

    assert refused.exit_code == 1
    assert said in refused.output
    assert evidence(folder) == []


def test_a_look_writes_nothing(folder: Path) -> None:
    before = {file: file.read_bytes() for file in folder.rglob("*") if file.is_file()}

    typing(folder, "HDF26", "--row", "1 | Ada | ada@mail.example | 4", "--dry-run")
    typing(folder, "HDF26")

    assert {file: file.read_bytes() for file in folder.rglob("*") if file.is_file()} == before


def test_what_was_changed_by_hand_in_between_isnt_taken_back_with_it(folder: Path) -> None:
    """Rows of one page go back as one, but no further than to the artist's own change."""
    file = folder / "people.csv"
    typing(folder, "HDF26", "--row", "1 | Ada | ada@mail.example | 4")
    typing(folder, "HDF26", "--row", "2 | Bo | bo@mail.example | 4")
    file.write_bytes(file.read_bytes() + b"eva@mail.example,Eva,,2026-11-01,web,my own note,\r\n")
    by_hand = file.read_bytes()
    typing(folder, "HDF26", "--row", "3 | Cy | cy@mail.example | 4")
    typing(folder, "HDF26", "--row", "4 | Dov | dov@mail.example | 4")

    undone = CliRunner().invoke(main, ["--studio", str(folder), "undo"])

    assert undone.exit_code == 0, undone.output
    assert file.read_bytes() == by_hand


@pytest.mark.parametrize("form", ["landscape", "cards"])
def test_a_row_stands_on_the_page_it_was_printed_on(folder: Path, form: str) -> None:
    """Wide sheets and cards have fewer rows a page; the table that was printed with them tells."""
    printed = CliRunner().invoke(
        main,
        ["--studio", str(folder), "--today", "2026-09-01", "sheet", "harbour-2026", "--form", form, "--json"],
    )
    each = json.loads(printed.output)["rows_a_page"]

    typed = typing(folder, "HDF26", "--row", f"{each} | Ada | ada@mail.example | 1", "--row",
                   f"{each + 1} | Bo | bo@mail.example | 1")  # fmt: skip

    assert typed.exit_code == 0, typed.output
    assert [where for _, where in evidence(folder)] == [
        f"sheet HDF26-1 row {each}", f"sheet HDF26-2 row {each + 1}"
    ]  # fmt: skip
