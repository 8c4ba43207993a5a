"""What goes where, what is on hand and what it's worth: from the files to paper, table and desk."""

from __future__ import annotations

import csv
import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from sitegen.desk.worth import stock
from sitegen.sources import read
from tests.cli.runner import contents, on, run
from tests.paper.reading import everything, flowing

# Each piece's file, and by hand what it is on 2026-06-30 in the evening: the supplies and hours at 28.
STOCK = {
    "kept": ("status: available\nprice: 480\nfinished: 2026-05-01\nprivate:\n  hours: {sewing: 10.5}\n"
             "  supplies: [{what: eyes, cost: 20.10}]\n", ("20.10", "294.00", "314.10", "480.00")),
    "sold-later": ("status: sold\nprice: 300\nfinished: 2026-05-02\nprivate:\n  hours: {sewing: 1}\n"
                   "  sold: {on: 2026-07-01, price: 300}\n", ("0.00", "28.00", "28.00", "300.00")),
    "sold-that-day": ("status: sold\nprice: 300\nfinished: 2026-05-02\nprivate:\n"
                      "  sold: {on: 2026-06-30, price: 300}\n", None),
    "came-back": ("status: available\nprice: 99\nfinished: 2025-01-01\nprivate:\n"
                  "  sold: {on: 2026-01-01, price: 90, returned: 2026-06-30, refund: 90}\n",
                  ("0.00", "0.00", "0.00", "99.00")),
    "with-a-buyer-then": ("status: available\nprice: 99\nfinished: 2025-01-01\nprivate:\n"
                          "  sold: {on: 2026-01-01, price: 90, returned: 2026-07-05, refund: 90}\n", None),
    "finished-later": ("status: available\nprice: 70\nfinished: 2026-07-01\n", None),
    "on-the-bench": ("status: in progress\n", None),
    "not-for-sale": ("status: not for sale\nfinished: 2026-06-30\n", ("0.00", "0.00", "0.00", "")),
}  # fmt: skip


@pytest.fixture
def shelf(folder: Path) -> Path:
    """Return a studio whose pieces are those above."""
    for old in (folder / "pieces").iterdir():
        for file in old.iterdir():
            file.unlink()
        old.rmdir()
    for slug, (text, _) in STOCK.items():
        (folder / "pieces" / slug).mkdir()
        (folder / "pieces" / slug / "piece.yaml").write_text(f"title: '{slug}'\n{text}")
    return folder


def test_stock_of_a_day_by_hand(shelf: Path) -> None:
    """What was sold, came back, or was finished by that evening; screen, JSON and table say the same."""
    answer = json.loads(on("2026-12-01", shelf, "stock", "--on", "2026-06-30", "--json").output)
    sums = ("supplies", "hours_at_rate", "cost", "price")
    wanted = {slug: row for slug, (_, row) in STOCK.items() if row is not None}

    assert {one["piece"]: tuple(one[name] for name in sums) for one in answer["pieces"]} == wanted
    totals = {
        name: str(sum(Decimal(row[at] or 0) for row in wanted.values())) for at, name in enumerate(sums)
    }
    assert answer["totals"] == totals == {
        "supplies": "20.10", "hours_at_rate": "322.00", "cost": "342.10", "price": "879.00"
    }  # fmt: skip
    table = list(csv.DictReader(Path(answer["file"]).read_text("utf-8").splitlines()))
    assert {row["piece"]: tuple(row[name] for name in sums) for row in table[:-1]} == wanted
    assert {name: table[-1][name] for name in sums} == totals
    screen = on("2026-12-01", shelf, "stock", "--on", "2026-06-30").output
    assert "On hand on 2026-06-30: 4 pieces" in screen
    for sum_ in totals.values():
        assert sum_ in screen
    assert "on-the-bench: on the bench today and not counted" in screen
    assert "no tax advice" in screen


def test_stock_of_a_day_to_come_is_refused(shelf: Path) -> None:
    """Nobody knows it."""
    result = on("2026-12-01", shelf, "stock", "--on", "2026-12-31")

    assert result.exit_code == 1
    assert "2026-12-31 is still to come" in result.output


@pytest.mark.parametrize(
    ("day", "count"), [("2024-12-31", 0), ("2025-06-30", 2), ("2026-06-29", 3), ("2026-07-05", 5)]
)
def test_a_piece_is_on_hand_from_its_day_to_its_sale(shelf: Path, day: str, count: int) -> None:
    """Counted by hand, day by day."""
    found = stock(read(shelf).sound(), date.fromisoformat(day), date(2026, 12, 1))

    assert len(found.lines_of) == count


def test_two_tables_on_one_day_can_t_have_one_piece(shelf: Path) -> None:
    """`check` says so with file and line; on other days, or where one is called off, it may go to both."""
    show = shelf / "shows" / "quayside-2027.yaml"
    show.write_text(show.read_text() + "bring: kept, not-for-sale\n")
    other = shelf / "shows" / "other.yaml"
    other.write_text("name: Other\nfrom: 2027-02-28\nto: 2027-03-01\nbring: kept, nobody\n")
    said = run(shelf, "check").output

    assert "'kept' is promised to Other (2027-02-28 to 2027-03-01) on the same days" in said
    assert "shows/quayside-2027.yaml, line" in said
    assert "there is no piece 'nobody'" in said
    other.write_text("name: Other\nfrom: 2027-03-01\nbring: kept\n")
    assert "promised" not in run(shelf, "check").output
    other.write_text("name: Other\nfrom: 2027-02-28\nbring: kept\nattendance: cancelled\n")
    assert "promised" not in run(shelf, "check").output


def test_lists_are_printed_and_nothing_private_goes_public(shelf: Path) -> None:
    """The inventory is for the insurer; no value of it, and no list of what goes where, is in the site."""
    show = shelf / "shows" / "quayside-2027.yaml"
    show.write_text(show.read_text() + "bring: kept, sold-later\n")
    for words in (
        ["price-list"],
        ["price-list", "quayside-2027"],
        ["packing"],
        ["slip", "sold-later"],
        ["inventory"],
    ):
        result = run(shelf, *words)
        assert result.exit_code == 0, result.output
    out = shelf / "out" / "paper"

    assert "sold-later is sold, so it isn't on the list" in run(shelf, "packing").output
    assert "sold-later" not in flowing((out / "packing-quayside-2027.pdf").read_bytes())
    assert "together €748.00" in flowing((out / "inventory-private.pdf").read_bytes()), "480 + 99 + 99 + 70"
    assert run(shelf, "slip", "kept").exit_code == 1
    assert run(shelf, "build").exit_code == 0
    site = contents(shelf / "out" / "site")
    assert not [
        name for name, body in site.items() if b"314.10" in body or b"inventory" in body or b"bring" in body
    ]
    for public in ("prices.pdf", "packing-quayside-2027.pdf"):
        assert b"314.10" not in everything((out / public).read_bytes())


def test_what_is_away_is_not_on_the_studios_own_price_list(shelf: Path) -> None:
    """Who buys at the studio can't have what stands at a gallery; back the same day, it is on the list."""
    file = shelf / "pieces" / "kept" / "piece.yaml"
    text = file.read_text()
    for back, there in (("", False), (", back: 2026-12-01", True)):
        file.write_text(f"{text}away:\n  - {{place: The Heron Room, since: 2026-11-01{back}}}\n")
        assert on("2026-12-01", shelf, "price-list").exit_code == 0
        printed = flowing((shelf / "out" / "paper" / "prices.pdf").read_bytes())
        assert ("kept" in printed, "came-back" in printed) == (there, True)
