"""`money prices` and `piece reprice`, from outside: the same figures everywhere, nothing without a yes."""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from sitegen.studio.money import read_amount
from tests import makers
from tests.browser.conftest import looking, opened, too_wide, violations
from tests.cli.runner import on, own, run

CONTENT = Path(__file__).parents[2] / "content"
PIECES = {
    f"p-{n}": makers.piece_yaml(
        f"Piece {n}", "sold" if n % 2 else "available", number=f"2026-0{n}", price=str(400 + 30 * n),
        height_mm=str(280 + 10 * n), finished=f"2026-0{n}-14",
        private=f"\n  hours: {{sculpting: {18 + n}}}  # by the clock"
        + (f"\n  sold: {{on: 2026-0{n}-20, price: {391 + 30 * n}, to: Quillon Buyer}}" if n % 2 else ""),
    )
    for n in range(1, 8)
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return makers.studio(tmp_path / "studio", PIECES)


def told(folder: Path, *words: str, code: int = 0, stdin: str = "") -> str:
    done = run(folder, *words, typed=stdin)
    assert done.exit_code == code, done.output
    return str(done.output)


def test_every_total_is_one_on_screen_json_csv_and_desk(folder: Path) -> None:
    """By hand: 460 + 520 + 580 asked for, 421 + 481 + 541 + 601 sold, 431 agreed on: 4,035."""
    answer = json.loads(told(folder, "money", "prices", "--json"))
    rows = list(csv.DictReader(io.StringIO(told(folder, "money", "prices", "--csv"))))
    said = told(folder, "money", "prices")

    assert answer["total"] == "4035.00"
    assert sum(Decimal(one["price"]) for one in answer["prices"]) == Decimal("4035.00")
    assert sum(Decimal(row["price"]) for row in rows) == Decimal("4035.00")
    assert "8 prices, 4,035.00 EUR together" in said
    with opened(folder, "2026-11-25") as desk:
        page = desk.get("/money/prices")
        assert "4,035.00 EUR together" in page.words
        assert page.page.xpath("//tfoot//td")[-1].text_content() == "4,035.00"  # its head names the currency
        cells = page.page.xpath("//table[last()]//tbody/tr/td[@data-of='Price']")
        assert (
            sum(Decimal(cell.text_content().removesuffix(" EUR").replace(",", "")) for cell in cells[-8:])
            == 4035
        )
        assert list(csv.DictReader(io.StringIO(desk.get("/money/prices.csv").text))) == rows
        for line in answer["lines"]:
            assert line["slope"] is None or f"{Decimal(line['slope']):,} EUR more" in page.words
            assert line["slope"] is None or f"{Decimal(line['slope']):,} EUR more" in said
    assert "Quillon" not in said


def test_a_look_writes_nothing_and_a_yes_writes_todays_step(folder: Path) -> None:
    """Comments stay; a second time on the day changes nothing; taken back, all is as it was."""
    words = (
        "piece",
        "reprice",
        "--by",
        "5%",
        "--nearest",
        "10",
        "--tiers",
        "--on",
        "2026-11-25",
        "--on",
        "2027-02-01",
    )
    before = {file: file.read_bytes() for file in sorted(folder.rglob("*.yaml"))}

    assert "Nothing is changed." in told(folder, *words, code=1, stdin="n\n")
    assert {file: file.read_bytes() for file in before} == before

    said = told(folder, *words, stdin="y\n")
    assert "Piece 2       460.00      480.00      500.00" in said
    assert "A-1, Secret Client: 431.00 EUR, agreed on (on the bench)" in said
    assert "Piece 1" not in said
    text = (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")
    assert "price: 480\n" in text
    assert "priced: 2026-11-25\n" in text
    assert "# by the clock" in text
    assert "from_price: 440\n" in (folder / "commissions.yaml").read_text("utf-8")
    after = {file: file.read_bytes() for file in before}
    assert "Piece 2: its price was set today already, and stays." in told(folder, *words)
    assert {file: file.read_bytes() for file in before} == after
    assert json.loads(told(folder, "money", "prices", "--json"))["prices"][-1]["on"] == "2026-11-25"

    told(folder, "undo")
    assert {file: file.read_bytes() for file in before} == before


def test_prices_that_posted_letters_told_are_older_quotes(folder: Path, tmp_path: Path) -> None:
    """Of a piece and of a tier, once it is posted even to one person; a price that stays isn't older."""
    day = ("--today", "2026-11-25")
    told(folder, *day, "announce", "pieces", "p-2", "p-4")
    told(folder, *day, "announce", "commissions")
    words = ("piece", "reprice", "--by", "5%", "--nearest", "10", "--tiers", "--on", "2027-02-01")
    assert "by the letter" not in told(folder, *day, *words, code=1, stdin="n\n")

    for letter in ("pieces-2026-11-25-p-2-and-1-more", "commissions-winter-2027"):
        told(folder, *day, "send", letter, "--mbox", str(tmp_path / f"{letter}.mbox"))
    said = told(folder, *day, *words, code=1, stdin="n\n")

    assert "  p-2: 460.00 EUR, told to 1 person by the letter pieces-2026-11-25-p-2-and-1-more\n" in said
    assert "  Small figure: 420.00 EUR, told to 1 person by the letter commissions-winter-2027\n" in said
    told(folder, *day, "piece", "reprice", "p-2", "--to", "480", "--yes")
    after = told(folder, *day, "piece", "reprice", "p-2", "--to", "480")
    assert "p-2: 460.00 EUR, told to 1 person by the letter" in after  # once it's raised too

    told(folder, *day, "undo")
    stays = ("piece", "reprice", "p-2", "--to", "460", "--on", "2027-02-01")
    assert "by the letter" not in told(folder, *day, *stays, code=1, stdin="n\n")


def test_later_steps_are_kept_and_written_on_their_day_by_her_deed(folder: Path) -> None:
    """By hand, 5 % to the nearest 10: 460, 483, so 480; 504, so 500. The tier 420, 441, so 440; 462, so 460.

    Nothing changes by itself: on 1 February prices are as they were, `today` names them, and a word writes them.
    """
    steps = ("--by", "5%", "--nearest", "10", "--on", "2027-02-01", "--on", "2027-08-01")
    before = own(folder)
    assert "Nothing is changed." in told(folder, "piece", "reprice", "p-2", *steps, code=1, stdin="n\n")
    assert own(folder) == before

    said = told(folder, "piece", "reprice", "p-2", "--tiers", *steps, "--yes")
    assert "What is to hold from 2027-02-01 and 2027-08-01 is kept" in said
    text = (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")
    assert "price: 460\n" in text
    assert "  next_prices: 2027-02-01 480; 2027-08-01 500\n" in text
    assert "next_prices: 2027-02-01 440; 2027-08-01 460" in (folder / "commissions.yaml").read_text("utf-8")
    told(folder, "check")

    kept = own(folder)
    assert "price step" not in on("2027-01-31", folder, "today", "--json").output
    assert on("2027-01-31", folder, "piece", "reprice", "--yes").exit_code == 1
    due = on("2027-02-03", folder, "today").output
    assert (
        "2 prices were to change 2 days ago, Monday 1 February: Piece 2 to 480.00 EUR and others."
        in " ".join(due.split())
    )
    assert "sitegen piece reprice" in due
    assert own(folder) == kept

    done = on("2027-02-03", folder, "piece", "reprice", "--yes")
    assert done.exit_code == 0, done.output
    text = (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")
    assert "price: 480\n" in text
    assert "priced: 2027-02-03\n" in text
    assert "  next_prices: 2027-08-01 500\n" in text
    assert "from_price: 440\n" in (folder / "commissions.yaml").read_text("utf-8")
    assert "price step" not in on("2027-02-03", folder, "today", "--json").output
    on("2027-02-03", folder, "undo")
    assert own(folder) == kept

    late = on("2027-09-01", folder, "piece", "reprice", "p-2", "--yes")  # two are due: the last one holds
    assert late.exit_code == 0, late.output
    text = (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")
    assert "price: 500\n" in text
    assert "next_prices" not in text
    assert "1 price was to change" in on("2027-09-01", folder, "today").output  # the tier's


def test_a_step_of_what_is_gone_is_no_errand_and_a_wrong_one_is_refused(folder: Path) -> None:
    file = folder / "pieces" / "p-2" / "piece.yaml"
    text = file.read_text("utf-8").replace("  hours:", "  next_prices: 2026-11-20 555\n  hours:")
    makers.write(file, text.replace("status: available", "status: on hold"))
    assert "price step" not in told(folder, "today", "--json")

    makers.write(file, text.replace("2026-11-20 555", "2026-11-20 -555"))
    said = " ".join(told(folder, "check", code=1).split())
    assert "piece.yaml, line" in said
    assert "'2026-11-20 -555.00' is no price of that day; write it like 2027-02-01 506" in said


def test_a_step_of_today_said_twice_keeps_its_later_ones(folder: Path) -> None:
    """A command that was cut short and is said again raises nothing twice, and loses no later step."""
    words = ("piece", "reprice", "p-2", "--by", "5%", "--nearest", "10", "--on", "2026-11-25")
    told(folder, *words, "--yes")
    told(folder, *words, "--on", "2027-02-01", "--yes")
    once = own(folder)
    told(folder, *words, "--on", "2027-02-01", "--yes")

    text = (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")
    assert "price: 480\n" in text
    assert "next_prices: 2027-02-01 500\n" in text
    assert own(folder) == once


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (("p-1", "--by", "5%"), 1, "p-1 is sold"),
        (("p-2", "--by", "5%", "--on", "2026-11-24"), 1, "--on 2026-11-24 lies behind"),
        (("p-2", "--by", "a lot"), 1, "is no percentage"),
        (("p-2", "--by", "-90%", "--nearest", "100"), 1, "would cost nothing"),
        (("p-2", "p-4", "--to", "500"), 2, "--to is for one piece"),
        (("p-2",), 1, "no step of a price is due; say by how much: --by PERCENT"),
        (("p-2", "--on", "2027-02-01"), 2, "say by how much"),
        (("p-2", "--by", "5", "--to", "500"), 2, "say either --by PERCENT"),
        (("p-9", "--by", "5%"), 1, "p-9"),
    ],
)
def test_what_cant_be_is_said(folder: Path, words: tuple[str, ...], code: int, sentence: str) -> None:
    assert sentence in " ".join(told(folder, "piece", "reprice", *words, code=code).split())


def test_the_desk_shows_what_would_be_written_first(folder: Path) -> None:
    with opened(folder, "2026-11-25") as desk:
        form = desk.filled("/do/pieces.reprice", "/do/pieces.reprice") | {"slugs": "p-2", "to": "555.50"}
        shown = desk.send("/do/pieces.reprice", form)
        cells = shown.page.xpath("//tr[contains(., '555.50')]/*")
        assert [cell.text_content() for cell in cells] == ["Piece 2", "460.00", "555.50"]
        assert "price: 460" in (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")
        done = desk.do(shown, "/do/pieces.reprice")
        assert done.to.startswith("/money/prices")
        assert "price: 555.50\n" in (folder / "pieces" / "p-2" / "piece.yaml").read_text("utf-8")


@pytest.mark.slow
def test_the_page_of_prices_is_for_everyone(folder: Path, browser: Browser) -> None:
    """Rules of axe-core, no sideways scroll at 320 px, in both lights; dots as many as prices have a size."""
    with opened(folder, "2026-11-25") as desk, looking(browser, desk) as page:
        page.goto(desk.address + "/do/pieces.reprice")
        assert violations(page) == []
        assert too_wide(page) <= 0
        page.set_viewport_size({"width": 320, "height": 900})
        page.emulate_media(color_scheme="dark")
        page.goto(desk.address + "/money/prices")
        assert violations(page) == []
        assert too_wide(page) <= 0
        assert page.locator("svg[aria-labelledby=plot-size] circle").count() == 8


@pytest.mark.parametrize("prices", [(), ("0", "0"), ("480",)])
def test_few_prices_or_none_are_no_fault(tmp_path: Path, prices: tuple[str, ...]) -> None:
    given = {
        f"p-{n}": makers.piece_yaml(
            "Given away", "sold", number="", height_mm=str(300 + n),
            private=f"\n  sold: {{on: 2026-06-0{n + 1}, price: {price}}}",
        )
        for n, price in enumerate(prices)
    }  # fmt: skip
    folder = makers.studio(tmp_path / "studio", given)
    makers.write(folder / "commissions.yaml", "")
    assert ("No price is noted yet" in told(folder, "money", "prices")) == (not prices)
    with opened(folder, "2026-11-25") as desk:
        assert desk.get("/money/prices").status == 200


@pytest.mark.parametrize("words", ["piece add", "order add", "order move"])
def test_help_shows_prices_as_they_are_read(folder: Path, words: str) -> None:
    """What is named as an example is read, to the amount that it says; no help forbids what is read."""
    said = next(
        line for line in told(folder, *words.split(), "--help").split("--") if line.startswith("price")
    )

    written = re.findall(r"[0-9]+(?:,[0-9]+)?", said.partition("like ")[2])
    assert len(written) == 2, said
    assert [read_amount(one, 2) for one in written] == [Decimal(one.replace(",", ".")) for one in written]
    assert "only" not in said


def test_the_starter_says_of_prices_what_is_read() -> None:
    comment = next(
        line
        for line in (CONTENT / "pieces" / "first-piece" / "piece.yaml").read_text("utf-8").splitlines()
        if line.startswith("#") and "1,500" in line
    )
    good, refused = comment.split(";")[0], "1,500"
    for written in re.findall(r"[0-9]+(?:[.,][0-9]+)?", good):
        assert read_amount(written, 2) == Decimal(written.replace(",", "."))
    with pytest.raises(ValueError, match="1500 without a thousands mark"):
        read_amount(refused, 2)
