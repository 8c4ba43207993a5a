"""`books`, from the outside."""

from __future__ import annotations

import json
from pathlib import Path

from tests import makers
from tests.cli.runner import contents, run

SOLD = "\n  hours: {sculpting: 10}\n  sold: {on: 2026-05-20, price: 480, stream: originals, to: Secret Buyer}"


def test_the_books_for_people_machines_and_the_accountant_write_no_file(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s", {"ghost": makers.piece_yaml(status="sold", private=SOLD)})
    before = contents(folder)

    told = run(folder, "books", "--year", "2026")
    answer = json.loads(run(folder, "books", "--json").stdout)
    table = run(folder, "books", "--csv")

    assert told.exit_code == 0
    assert "originals    " in told.output
    assert "no tax advice" in told.output
    assert (answer["year"], answer["total"], answer["income"]["originals"]) == (2026, "480.00", "480.00")
    rows = table.stdout_bytes.split(b"\r\n")
    assert rows[0] == b"date,kind,stream,what,in,out,currency,hours,show"
    assert [row for row in rows if row.startswith(b"2026-05-20,sale,originals,The Ferry Ghost,480.00,,EUR,")]
    assert contents(folder) == before


def test_asking_for_both_tables_is_wrong_usage_and_a_year_to_come_is_refused(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    assert run(folder, "books", "--csv", "--json").exit_code == 2
    assert (
        run(folder, "books", "--year", "2028").output
        == "2028 hasn't begun; the books of 2026 are the latest\n"
    )
