"""A closed year stays as it was: later changes of rates and files are named, and alter nothing."""

from __future__ import annotations

import json
import stat
from pathlib import Path
from typing import Any

import pytest

from tests import makers
from tests.cli.runner import run

SOLD = "\n  hours: {sculpting: 10}\n  sold: {on: 2025-06-01, price: 480}"


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    pieces = {"owl": makers.piece_yaml("Owl", status="sold", price="", private=SOLD)}
    return makers.studio(tmp_path / "s", pieces)


def year(studio: Path, number: int = 2025) -> dict[str, Any]:
    answer = json.loads(run(studio, "books", "--year", str(number), "--json").stdout)
    assert isinstance(answer, dict)
    return answer


def change(studio: Path, file: str, old: str, new: str) -> None:
    text = (studio / file).read_text("utf-8")
    assert old in text
    makers.write(studio / file, text.replace(old, new))


def test_a_closed_year_keeps_rates_and_figures(studio: Path) -> None:
    before = year(studio)
    screen = run(studio, "books", "--year", "2025").output
    table = run(studio, "books", "--year", "2025", "--csv").output
    closed = run(studio, "books", "--year", "2025", "--close")
    assert closed.exit_code == 0, closed.output
    change(studio, "pieces/owl/piece.yaml", "price: 480", "price: 430")
    change(studio, "studio.yaml", "overhead: 310", "overhead: 410")

    assert year(studio) == {**before, "closed": "2026-11-25"}
    told = run(studio, "books", "--year", "2025")
    assert told.output.startswith("The books of 2025, closed on 2026-11-25\n")
    assert screen.splitlines()[2:8] == told.output.splitlines()[2:8]
    assert "2025 was closed on 2026-11-25; as the files and rates are now, it would have" in told.output
    assert "income 430.00, not 480.00" in told.output
    assert run(studio, "books", "--year", "2025", "--csv").output == table
    (warned,) = [line for line in run(studio, "check").output.splitlines() if "closed/2025.json" in line]
    assert "income 430.00, not 480.00" in warned


def test_nothing_is_said_of_a_closed_year_that_still_adds_up(studio: Path) -> None:
    run(studio, "books", "--year", "2025", "--close")

    assert "as the files and rates are now" not in run(studio, "books", "--year", "2025").output
    assert "closed/" not in run(studio, "check").output


def test_the_next_year_says_where_it_begins_otherwise(studio: Path) -> None:
    """What was paid into 2025 after it was closed would be in neither year."""
    run(studio, "books", "--year", "2025", "--close")
    assert "was closed with" not in run(studio, "books", "--year", "2026").output
    plan = "sold: {on: 2025-06-01, price: 480}\n  plan: {to: Ada, from: 2025-05-01, price: 480, paid: 2025-05-01 100}"
    change(studio, "pieces/owl/piece.yaml", "sold: {on: 2025-06-01, price: 480}", plan)

    assert "2025 was closed with 0.00 in advance, 0.00 to go back and 0.00 unpaid" in " ".join(
        run(studio, "books", "--year", "2026").output.split()
    )


def test_a_year_is_closed_once_and_only_when_it_is_over(studio: Path) -> None:
    now = run(studio, "books", "--year", "2026", "--close")
    assert now.exit_code == 1
    assert now.output == "2026 isn't over; it can be closed from 2027-01-01 on\n"
    run(studio, "books", "--close")
    file = studio / "closed" / "2025.json"
    kept = file.read_bytes()
    again = run(studio, "books", "--year", "2025", "--close")

    assert again.exit_code == 1
    assert "2025 is closed already" in again.output
    assert file.read_bytes() == kept
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


@pytest.mark.parametrize("harm", ["", "{", "[]", '{"year": 2025}', "null", '{"format": 1, "rates": 3}'])
def test_a_damaged_file_is_told(studio: Path, harm: str) -> None:
    run(studio, "books", "--year", "2025", "--close")
    file = studio / "closed" / "2025.json"
    file.write_text(harm, "utf-8")
    done = run(studio, "books", "--year", "2025")

    assert done.exit_code == 1
    assert "closed/2025.json" in done.output
    assert "closed/2025.json" in run(studio, "check").output


def test_every_row_comes_back_as_it_was_kept(studio: Path) -> None:
    """Screen, table and JSON of a year with an order under way, an expense and a class, to the byte."""
    change(
        studio,
        "studio.yaml",
        "  overhead: 310",
        "  overhead: 310\n  expenses: [{on: 2025-03-01, what: '=kiln', amount: 80.5}]",
    )
    orders = (studio / "commissions.yaml").read_text("utf-8")
    owes = "  - {code: B-1, tier: Small figure, step: accepted, since: 2025-10-01, private: {price: 431, paid: 2025-10-03 20}}\n"
    makers.write(studio / "commissions.yaml", orders.replace("queue:\n", "queue:\n" + owes))
    asked = [["--csv"], ["--json"], []]
    before = [run(studio, "books", "--year", "2025", *words).output for words in asked]
    assert "B-1" in before[2]
    assert run(studio, "books", "--year", "2025", "--close").exit_code == 0

    after = [run(studio, "books", "--year", "2025", *words).output for words in asked]
    assert after[0] == before[0]
    assert json.loads(after[1]) == {**json.loads(before[1]), "closed": "2026-11-25"}
    assert after[2] == before[2].replace("The books of 2025\n", "The books of 2025, closed on 2026-11-25\n")
