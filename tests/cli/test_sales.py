"""A sale and a return are noted with the standing, in one edit; nothing sold goes uncounted in silence."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from sitegen.sources import read
from sitegen.sources.changes import with_sale
from sitegen.sources.yaml_script import opened
from tests import makers
from tests.cli.runner import run

PIECE = "pieces/owl/piece.yaml"


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    return makers.studio(
        tmp_path / "s", {"owl": makers.piece_yaml("Owl", private="\n  hours: {sculpting: 10}  # h")}
    )


def piece_of(studio: Path) -> str:
    return (studio / PIECE).read_text("utf-8")


def income(studio: Path, number: int) -> str:
    answer = json.loads(run(studio, "books", "--year", str(number), "--json").stdout)
    return str(answer["income"]["originals"])


def test_a_sale_is_noted_with_the_standing(studio: Path) -> None:
    before = piece_of(studio)
    done = run(
        studio, "piece", "mark", "owl", "sold", "--price", "450.50", "--on", "2026-11-20", "--stream", "shows",
        "--to", "A. Collector",
    )  # fmt: skip

    assert done.exit_code == 0, done.output
    text = piece_of(studio)
    assert "status: sold" in text
    assert "sold: {on: 2026-11-20, price: 450.50, stream: shows, to: A. Collector}" in text
    assert "hours: {sculpting: 10}  # h" in text
    assert len(text.splitlines()) == len(before.splitlines()) + 1
    (piece,) = read(studio).sound().pieces
    assert piece.private.sold is not None
    assert str(piece.private.sold.price) == "450.50"


def test_a_script_that_says_yes_takes_the_asking_price_and_today(studio: Path) -> None:
    assert run(studio, "piece", "mark", "owl", "sold", "--yes").exit_code == 0
    (piece,) = read(studio).sound().pieces

    sold = piece.private.sold
    assert sold is not None
    assert (sold.price, sold.on.isoformat(), str(sold.stream)) == (piece.price, "2026-11-25", "originals")


def test_without_a_price_it_is_said_what_is_missing_also_by_check_and_books(studio: Path) -> None:
    done = run(studio, "piece", "mark", "owl", "sold")

    assert "status: sold" in piece_of(studio)
    assert "What it was sold for isn't noted, so the books don't count it" in " ".join(done.output.split())
    assert "`sitegen piece mark owl sold --price" in done.output
    checked = run(studio, "check").output
    assert "the piece is sold, but what it was sold for isn't noted" in checked
    assert "owl" in run(studio, "books", "--year", "2026").output
    again = run(studio, "piece", "mark", "owl", "sold", "--price", "480", "--on", "2026-11-24")
    assert again.exit_code == 0
    assert "isn't noted" not in run(studio, "check").output


def test_a_piece_made_to_order_is_named_too_until_its_sale_is_noted(studio: Path) -> None:
    assert run(studio, "piece", "mark", "owl", "commissioned").exit_code == 0

    assert "the piece is commissioned, but what it was sold for isn't noted" in run(studio, "check").output
    assert "pieces/owl/piece.yaml says commissioned, but not for how much" in run(studio, "books").output
    assert run(studio, "piece", "mark", "owl", "commissioned", "--price", "480").exit_code == 0
    assert "stream: commissions" in piece_of(studio)
    assert "isn't noted" not in run(studio, "check").output
    assert "for how much" not in run(studio, "books").output


def test_of_many_without_a_price_twenty_are_named_and_the_rest_counted(studio: Path) -> None:
    for number in range(24):
        home = studio / "pieces" / f"owlet-{number:02}"
        shutil.copytree(studio / "pieces" / "owl", home)
        text = (home / "piece.yaml").read_text("utf-8")
        text = re.sub(r"(?m)^number: .*", f"number: 2026-{number + 10}", text)
        makers.write(home / "piece.yaml", re.sub(r"(?m)^status: .*", "status: sold", text))

    told = " ".join(run(studio, "books").output.split())
    assert len(re.findall("but not for how much", told)) == 20
    assert "So it is with 4 more; `sitegen check` names each with its line." in told
    checked = run(studio, "check").output
    assert len(re.findall("what it was sold for isn't noted", checked)) == 24


def test_a_show_that_names_a_folder_that_was_renamed_is_named_by_check(studio: Path) -> None:
    """The sale counts once: by the piece, which was sold there at that price."""
    fair = studio / "shows" / "quayside-2027.yaml"
    makers.write(
        fair,
        makers.SHOW.replace("2027-02", "2026-05").rstrip() + "\n  sales: [{what: owl-of-old, price: 480}]\n",
    )
    words = ("--price", "480", "--on", makers.SHOW.split("from: ")[1][:10].replace("2027-02", "2026-05"))
    assert run(studio, "piece", "mark", "owl", "sold", *words, "--stream", "shows").exit_code == 0

    told = "names owl-of-old, which is no piece now; it's taken for owl, sold there at that price. Write `was: owl-of-old`"
    assert f"shows/quayside-2027.yaml: {told}" in run(studio, "check").output
    assert told in run(studio, "books").output
    assert json.loads(run(studio, "books", "--json").stdout)["total"] == "480.00"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--price", "4,800"], "has a comma"),
        (["--price", "480", "--on", "2027-01-01"], "lies ahead"),
        (["--price", "480", "--stream", "fairs"], "not one of originals, commissions, shows"),
    ],
)
def test_a_slip_changes_nothing(studio: Path, words: list[str], said: str) -> None:
    before = piece_of(studio)
    done = run(studio, "piece", "mark", "owl", "sold", *words)

    assert done.exit_code == 1
    assert said in done.output
    assert piece_of(studio) == before


def test_a_piece_comes_back_and_is_sold_again(studio: Path) -> None:
    """Each on its own day: 480 in 2025, 400 back in 2026 and 500 for the second sale, so 100 in that year."""
    assert run(studio, "piece", "mark", "owl", "sold", "--price", "480", "--on", "2025-12-20").exit_code == 0
    back = run(studio, "piece", "return", "owl", "--refund", "400", "--on", "2026-02-01")
    assert back.exit_code == 0, back.output
    assert "status: available" in piece_of(studio)
    twice = run(studio, "piece", "return", "owl", "--refund", "80")
    assert twice.exit_code == 1
    assert "has no sale noted that it could come back from" in twice.output
    early = run(studio, "piece", "mark", "owl", "sold", "--price", "500", "--on", "2026-01-15")
    assert early.exit_code == 1
    assert "came back on 2026-02-01" in early.output
    assert run(studio, "piece", "mark", "owl", "sold", "--price", "500", "--on", "2026-03-01").exit_code == 0
    (piece,) = read(studio).sound().pieces
    first, second = piece.private.sales
    assert [str(one) for one in (first.price, first.refund, second.price)] == ["480.00", "400.00", "500.00"]

    assert income(studio, 2025) == "480.00"
    assert income(studio, 2026) == "100.00"


def test_the_same_day_and_the_whole_price_are_no_slips(studio: Path) -> None:
    """Sold and back on one day for all of it, and sold again that day; a coin more, or a day before, is a slip."""
    on = ["--on", "2026-05-14"]
    assert run(studio, "piece", "mark", "owl", "sold", "--price", "480", *on).exit_code == 0
    more = run(studio, "piece", "return", "owl", "--refund", "480.01", *on)
    assert "480.01 EUR is more than that to send back" in more.output
    early = run(studio, "piece", "return", "owl", "--refund", "480", "--on", "2026-05-13")
    assert "it can't have come back on 2026-05-13, before that" in early.output
    gone = run(studio, "piece", "return", "owl", "--refund", "480", "--status", "sold", *on)
    assert "a piece that came back isn't sold" in gone.output
    assert run(studio, "piece", "return", "owl", "--refund", "480", *on).exit_code == 0
    assert run(studio, "piece", "mark", "owl", "sold", "--price", "470", *on).exit_code == 0

    assert income(studio, 2026) == "470.00"


LAYOUTS = [
    "title: O\nstatus: available\n",
    "title: O\nstatus: available\nprivate:\n",
    "title: O\nstatus: available\nprivate: {}\n",
    "title: O\nstatus: available\nprivate: {hours: {a: 1}}\n",
    "title: O\nstatus: available\nprivate:\n  hours: {a: 1}  # note\n\nprice: 480\n",
    "title: O\r\nstatus: available\r\nprivate:\r\n    hours:\r\n        a: 1\r\n",
    "title: O\nstatus: available\nprivate:\n  sold:\n  hours: {a: 1}\n",
    "title: O\nstatus: sold\nprivate:\n  sold: {on: 2026-01-01, price: 480}\n",
    "title: O\nstatus: sold\nprivate:\n  sold:\n    on: 2026-01-01  # the first\n    price: 480\n  tier: X\n",
    "title: O\nstatus: sold\nprivate:\n  sold: [{on: 2026-01-01, price: 480}]\n",
    "title: O\nstatus: sold\nprivate:\n  sold:\n    - {on: 2026-01-01, price: 480}\n  tier: X\n",
]


@pytest.mark.parametrize("layout", LAYOUTS)
@settings(max_examples=8, deadline=None)
@given(
    to=some.text(some.characters(exclude_categories=["C"]), min_size=1, max_size=30).map(
        lambda one: " ".join(one.split())
    )
)
def test_a_sale_can_be_written_into_any_layout(layout: str, to: str) -> None:
    """Read back it's what was meant, and no line that was there is lost."""

    sale = {"on": "2026-05-14", "price": "480.00", "stream": "originals", **({"to": to} if to else {})}
    text = with_sale(layout, "piece.yaml", sale)

    before: Any = opened(layout, "x").values
    after: Any = opened(text, "x").values
    had = (before.get("private") or {}).get("sold") or []
    earlier = [had] if isinstance(had, dict) else had
    now = after["private"]["sold"]
    assert (now if isinstance(now, list) else [now]) == [*earlier, sale]
    assert without(before, "private") == without(after, "private")
    assert without(before.get("private") or {}, "sold") == without(after["private"], "sold")
    for line in layout.splitlines():
        if "#" in line:
            assert line.split("#")[-1].strip() in text


def without(values: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key != name}
