"""Pieces that go out, are sold there and come back, at the desk: every sum as in the terminal and by hand."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from lxml import html
from playwright.sync_api import Browser

from tests import makers
from tests.browser.conftest import Visitor, looking, opened, too_wide, violations
from tests.browser.test_money import plain
from tests.cli.runner import on, run
from tests.site.studio import make_site

PIECE = "/pieces/ferry-ghost"
FILE = "pieces/ferry-ghost/piece.yaml"


def told(visitor: Visitor, *words: str, day: str = "2026-11-24") -> Any:
    return json.loads(on(day, visitor.desk.folder, *words, "--json").stdout)


def sent_out(visitor: Visitor) -> None:
    fields = {"to": "The Heron Room", "town": "Lower Tansey", "kind": "gallery", "since": "2026-10-01",
              "until": "2026-11-20", "share": "37.5%", "lowest": "400"}  # fmt: skip
    said = visitor.after(visitor.do(PIECE, "/do/diary.out", **fields)).words
    assert "ferry-ghost is at The Heron Room, from 1 October 2026 until 20 November 2026" in said


def test_a_sale_at_a_gallery_is_one_sum_everywhere(visitor: Visitor) -> None:
    """By hand: 37.5 % of 455.55 is 170.83125, so 170.83 is kept; 284.72 is hers, less supplies of 23.57: 261.15."""
    sent_out(visitor)
    fields = {"status": "sold", "price": "455.55", "stream": "originals", "to": "Quillon Buyer"}
    said = visitor.after(visitor.do(PIECE, "/do/pieces.mark", **fields)).words
    assert "The Heron Room keeps 170.83 EUR, 284.72 EUR is yours" in said

    answer = told(visitor, "books")
    assert (answer["total"], answer["costs"]["fees"], answer["costs"]["supplies"]) == (
        "455.55",
        "170.83",
        "23.57",
    )
    assert answer["results"][0] == {
        "what": "The Ferry Ghost",
        "left": "261.15",
        "hours": "21.5",
        "sold": True,
    }
    folder = visitor.desk.folder
    table = list(csv.DictReader(io.StringIO(on("2026-11-24", folder, "books", "--csv").stdout)))
    sums = {kind: sum(Decimal(row["in"] or 0) - Decimal(row["out"] or 0) for row in table if row["kind"] == kind)
            for kind in ("sale", "fees", "supplies")}  # fmt: skip
    assert sums == {"sale": Decimal("455.55"), "fees": Decimal("-170.83"), "supplies": Decimal("-23.57")}
    screen = on("2026-11-24", folder, "books").stdout
    page = visitor.get("/money/2026").words
    for sum_ in ("455.55", "170.83", "261.15"):
        assert sum_ in screen
        assert sum_ in page
    (year,) = told(visitor, "money", "years")["years"]
    assert (year["left"], plain(answer["left"])) == (answer["left"], answer["left"])


def test_a_piece_that_is_due_back_is_named_and_comes_back(visitor: Visitor) -> None:
    sent_out(visitor)

    assert (
        "The Ferry Ghost was due back from The Heron Room 4 days ago, Friday 20 November."
        in visitor.get("/").words
    )
    page = visitor.get(PIECE)
    assert "Gallery: The Heron Room, Lower Tansey" in page.words
    assert page.page.xpath("//span[@class='late']")
    assert "The Heron Room" in visitor.get("/pieces").words
    visitor.after(visitor.do(page, "/do/diary.back", on="2026-11-23"))
    assert "back: 2026-11-23" in (visitor.desk.folder / FILE).read_text("utf-8")
    assert "due back" not in visitor.get("/").words
    assert not visitor.get(PIECE).page.xpath("//form[@action='/do/diary.back']")


def test_a_form_shows_what_is_wrong_and_refuses_what_is_stale(visitor: Visitor) -> None:
    fields = visitor.filled(PIECE, "/do/diary.out", to="<b>The Heron Room</b>", share="140%", kind="gallery")
    got = visitor.send("/do/diary.out", fields)
    assert got.status == 422
    assert "is not between 0% and 100%" in got.words
    assert "<b>The Heron Room</b>" not in got.text
    fields["share"] = "40%"
    run(visitor.desk.folder, "piece", "mark", "ferry-ghost", "on hold")
    assert visitor.send("/do/diary.out", fields).status == 422
    assert "Heron" not in (visitor.desk.folder / FILE).read_text("utf-8")


def test_what_came_back_is_offered_again_and_closed_years_stay(studio: Path) -> None:
    """Sold in 2025 for 500, back in 2026 with 450 refunded, sold again for 520: each sum in its own year."""
    private = "\n  hours: {sculpting: 10}\n  sold: {on: 2025-06-01, price: 500, to: Quillon Buyer}"
    makers.add_piece(studio, "ferry-ghost", makers.piece_yaml(status="sold", price="", private=private))
    with opened(studio) as visitor:
        assert run(studio, "books", "--year", "2025", "--close").exit_code == 0
        closed = told(visitor, "books", "--year", "2025")
        kept = (studio / "closed/2025.json").read_bytes()
        visitor.after(visitor.do(PIECE, "/do/pieces.take_back", refund="450", on="2026-03-02"))
        text = (studio / FILE).read_text("utf-8")
        make_site(studio)
        page = (studio / "out/site/pieces/ferry-ghost/index.html").read_text("utf-8")

        assert "price: 500.00" in text
        assert "to: Quillon Buyer" in text
        assert '"price":"500.00"' in page
        assert "https://schema.org/InStock" in page
        assert html.fromstring(page).xpath("//table[@class='plan']")
        for place in (
            "gallery/available/index.html",
            "gallery/index.html",
            "available.xml",
            "feed.xml",
            "index.html",
        ):
            assert "ferry-ghost" in (studio / "out/site" / place).read_text("utf-8"), place
        assert run(studio, "announce", "pieces", "ferry-ghost").exit_code == 0
        assert run(studio, "cards").exit_code == 0
        visitor.after(visitor.do(PIECE, "/do/pieces.mark", status="sold", price="520", to="Wilma Second"))
        books = {year: told(visitor, "books", "--year", str(year)) for year in (2025, 2026)}
        assert books[2025] == closed
        assert (studio / "closed/2025.json").read_bytes() == kept
        assert (
            "as the files and rates are now" not in on("2026-11-24", studio, "books", "--year", "2025").stdout
        )
        # By hand: 520 - 450 = 70; the usual 3 % of 520, 15.60; the hours counted with the first sale.
        assert (books[2026]["total"], books[2026]["costs"]["fees"], books[2026]["hours"]) == (
            "70.00",
            "15.60",
            "0",
        )
        assert (books[2026]["received"], books[2026]["sent_back"]) == ("70.00", "450.00")
    make_site(studio)
    for file in (path for path in (studio / "out").rglob("*") if path.is_file() and path.name[0] != "."):
        content = file.read_bytes()
        assert b"Quillon" not in content
        assert b"Wilma" not in content


def test_the_register_is_the_same_at_the_desk(visitor: Visitor) -> None:
    makers.add_piece(visitor.desk.folder, "owl", makers.piece_yaml("Owl <&>", number="2025-11", price=""))
    sent_out(visitor)
    shown = visitor.get("/register").page.xpath("//table//tr[td]")
    answer = told(visitor, "piece", "register")["numbers"]

    cells = [[" ".join(cell.text_content().split()) for cell in row] for row in shown]
    assert [cell[:2] for cell in cells] == [[one["number"], one["title"]] for one in answer]
    assert answer[1]["where"] == "The Heron Room (gallery), from 2026-10-01 until 2026-11-20"
    assert cells[1][4] == "The Heron Room (gallery), from 1 October 2026 until 20 November 2026"
    assert cells[0][4] == "at home"
    assert (
        visitor.get("/register.csv").text
        == run(visitor.desk.folder, "piece", "register", "--csv").stdout_bytes.decode()
    )


def test_what_a_show_must_sell_is_told_as_in_the_terminal(demo: Visitor) -> None:
    got = demo.get("/money/booking?cost=350&hours=24")
    said = on("2026-11-24", demo.desk.folder, "money", "booking", "350", "--hours", "24").stdout

    for line in said.splitlines():
        assert " ".join(line.split()) in got.words
    assert demo.get("/money/booking?cost=x").status == 422


@pytest.mark.slow
def test_the_page_of_a_piece_that_is_away_is_for_everyone(visitor: Visitor, browser: Browser) -> None:
    sent_out(visitor)
    with looking(browser, visitor, 320) as page:
        page.goto(visitor.address + PIECE)
        assert violations(page) == []
        assert not too_wide(page)
