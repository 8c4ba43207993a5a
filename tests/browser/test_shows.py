"""Shows at the desk: what each brought, its lines and facts in its file, the paper for its table."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Browser

from tests import makers
from tests.browser.conftest import Visitor, by_keyboard, looking, opened
from tests.browser.test_malice import FORM
from tests.browser.test_money import plain, rows
from tests.cli.runner import run
from tests.paper.reading import reader

HARE = """
  hours: {all: 10}
  supplies: [{what: eyes, cost: 20}]
  sold: {on: 2026-06-06, price: 500, stream: shows}"""
FAIR = """\
name: Spring Fair # the one by the river
from: 2026-06-06
private:
  hours: 14
  costs:
    - {what: table, cost: 100} # paid in March
    - {what: van, cost: 30.50}
  sales:
    - {what: "pin moths, six", price: 60}
"""
SIGNED = "dora@mail.example,Dora,shows,2026-06-06,show sheet,sheet SF26-1 row 2,\r\n"

CAME = """\
  - {code: S-1, tier: Small figure, step: on the bench, since: 2026-11-01, moves: 2026-06-20 request, private: {name: Dora, email: DORA@mail.example, price: 640}}
  - {code: S-2, tier: Small figure, step: declined, since: 2026-07-01, private: {name: Dora, email: dora@mail.example, price: 999}}
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    pieces = {"hare": makers.piece_yaml("Hare", "sold", price="", number="", private=HARE)}
    folder = makers.studio(tmp_path / "studio", pieces | {"ferry-ghost": makers.piece_yaml()})
    makers.write(folder / "shows" / "spring.yaml", FAIR)
    people = folder / "people.csv"
    people.write_bytes(people.read_bytes() + SIGNED.encode())
    book = folder / "commissions.yaml"
    book.write_text(book.read_text("utf-8").replace("waiting:", f"{CAME}waiting:"), "utf-8")
    return folder


def text_of(visitor: Visitor, slug: str = "spring") -> str:
    return (visitor.desk.folder / "shows" / f"{slug}.yaml").read_text("utf-8")


def answer(visitor: Visitor) -> Any:
    return json.loads(run(visitor.desk.folder, "--today", "2026-11-24", "money", "shows", "--json").stdout)


def test_what_a_show_brought_by_hand(visitor: Visitor) -> None:
    """560 sold, 130.50 cost; less 3 % (16.80) and supplies of 20: 392.70 over ten hours; one signed up.

    With the show's own 14 hours that is 392.70 / 24 = 16.3625 an hour. Who signed asked for a piece of 640 two
    weeks later; what was declined doesn't count.
    """
    shown = rows(visitor.get("/shows"), "What they brought")

    assert shown["Spring Fair"][1:] == [
        "560.00",
        "130.50",
        "392.70",
        "10",
        "39.27",
        "16.36",
        "1",
        "1, 640.00",
    ]
    said = visitor.get("/shows/spring").words
    assert "brought 560.00 EUR and cost 130.50 EUR" in said
    assert "392.70 EUR is left, 39.27 EUR an hour of the 10 h" in said
    assert "With the 14 h of the show itself an hour was worth 16.36 EUR." in said
    assert "within 12 months came of it: S-1, 640.00 EUR in all" in said
    written = run(visitor.desk.folder, "--today", "2026-11-24", "money", "shows", "--csv").stdout
    (row,) = [one for one in csv.DictReader(io.StringIO(written)) if one["show"] == "spring"]
    assert (row["earned"], row["worth"], row["commissions"], row["commissioned"], row["signed"]) == (
        "392.70", "16.36", "S-1", "640.00", "1"
    )  # fmt: skip
    said = run(visitor.desk.folder, "--today", "2026-11-24", "money", "shows").stdout
    assert "392.70 EUR" in said
    assert "16.36 EUR" in said
    assert "1, 640.00 EUR" in said


def test_every_sum_is_the_answers(demo: Visitor) -> None:
    shown = rows(demo.get("/shows"), "What they brought")
    told = {one["name"]: one for one in answer(demo)["shows"]}

    assert len(shown) == 2
    for name, cells in shown.items():
        one = told[name]
        assert [plain(cell) for cell in cells[1:4]] == [one["sales"], one["costs"], one["earned"]]
        assert (plain(cells[5]), cells[7]) == (one["hourly"], str(one["signed"]))
    assert sum(one["signed"] for one in told.values()) == 41  # rows of sheets in the invented people.csv


def test_a_fair_of_the_same_name_each_year_is_two_shows(visitor: Visitor) -> None:
    before = FAIR.replace("2026", "2025").replace("60}", "45}")
    makers.write(visitor.desk.folder / "shows" / "spring-before.yaml", before)

    told = {one["show"]: one for one in answer(visitor)["shows"]}

    assert (told["spring"]["sales"], told["spring-before"]["sales"]) == ("560.00", "45.00")


def test_what_is_spent_before_a_show_of_next_year_is_said(visitor: Visitor) -> None:
    told = {one["show"]: one for one in answer(visitor)["shows"]}["quayside-2027"]

    assert (told["costs"], told["earned"]) == ("137.00", "-137.00")


def test_a_line_is_changed_and_all_else_stays(visitor: Visitor) -> None:
    before = text_of(visitor)

    fields = {"private.costs.1.cost": "35.75"}
    page = visitor.after(visitor.send("/sheet/show_lines", lines(visitor, "costs") | fields))

    assert text_of(visitor) == before.replace("30.50", "35.75")
    visitor.do(page, "/do/undo.undo")
    assert text_of(visitor) == before


def lines(visitor: Visitor, kind: str) -> dict[str, str]:
    page = visitor.get("/shows/spring").page
    (form,) = page.xpath(f"//section[@id='{kind}']//form[@action='/sheet/show_lines']")
    return {name: str(value) for name, value in form.form_values()}


def test_a_line_comes_in_and_one_goes(visitor: Visitor) -> None:
    visitor.after(visitor.do("/shows/spring", "/sheet/costs", what="lamps", cost="12"))
    assert "lamps" in text_of(visitor)
    visitor.after(visitor.do("/shows/spring", "/sheet/sales", what="a toad", price="18"))
    assert rows(visitor.get("/shows"), "What they brought")["Spring Fair"][1:3] == ["578.00", "142.50"]

    page = visitor.get("/shows/spring").page
    (form,) = page.xpath("//form[@id='out-costs-1']")
    visitor.after(visitor.send("/do/edits.remove", dict(form.form_values())))

    assert "{what: table" not in text_of(visitor)
    assert "{what: van, cost: 30.50}" in text_of(visitor)
    assert visitor.send("/do/edits.remove", dict(form.form_values())).status == 422


def test_what_changed_meanwhile_is_not_written_over(visitor: Visitor) -> None:
    typed = lines(visitor, "costs") | {"private.costs.1.cost": "35.75"}
    by_hand = text_of(visitor).replace("30.50", "31")
    makers.write(visitor.desk.folder / "shows" / "spring.yaml", by_hand)

    got = visitor.send("/sheet/show_lines", typed)

    assert got.status == 422
    assert "35.75" in got.page.xpath("//input/@value")
    assert text_of(visitor) == by_hand


@pytest.mark.parametrize("cost", ["a lot", "-5", "1,50,0"])
def test_a_cost_that_is_none_is_said_and_kept(visitor: Visitor, cost: str) -> None:
    before = text_of(visitor)

    got = visitor.do("/shows/spring", "/sheet/costs", what="lamps", cost=cost)

    assert got.status == 422
    assert cost in got.page.xpath("string(//*[@role='alert'])")
    assert {"lamps", cost} <= set(got.page.xpath("//input/@value"))
    assert text_of(visitor) == before


def test_a_new_show_and_its_facts(visitor: Visitor) -> None:
    got = visitor.do("/shows/new", "/sheet/new_show", name="Harbour Doll Fair", **{"from": "2027-05-01"})

    assert got.to.startswith("/shows/harbour-doll-fair?")
    assert "2027-05-01" in text_of(visitor, "harbour-doll-fair")
    page = visitor.do(visitor.after(got), "/sheet/show", venue="The Rope Walk", to="2027-05-02")
    assert "Saturday 1 to Sunday 2 May 2027, The Rope Walk" in visitor.after(page).words
    assert "Harbour Doll Fair" in visitor.get("/shows").words


def test_a_show_that_ends_before_it_begins_is_refused(visitor: Visitor) -> None:
    got = visitor.do(
        "/shows/new", "/sheet/new_show", name="Odd", **{"from": "2027-05-02", "to": "2027-05-01"}
    )

    assert got.status == 422
    assert "before it starts" in got.words
    assert "Odd" in got.page.xpath("//input/@value")
    assert not (visitor.desk.folder / "shows" / "odd.yaml").exists()


@pytest.mark.parametrize("name", ["nothing", "../studio", "..", "%2e%2e%2fstudio"])
def test_what_is_no_show_is_said(visitor: Visitor, name: str) -> None:
    before = {file: file.read_bytes() for file in visitor.desk.folder.rglob("*.yaml")}
    form = visitor.filled("/shows/spring", "/sheet/show") | {"show": name, "name": "taken"}

    assert visitor.get(f"/shows/{name}").status in {404, 422}
    assert visitor.send("/sheet/show", form).status == 422
    assert {file: file.read_bytes() for file in visitor.desk.folder.rglob("*.yaml")} == before


def test_what_somebody_typed_is_text(visitor: Visitor) -> None:
    hostile = '<script>alert(1)</script>"><b>'
    visitor.do("/shows/spring", "/sheet/costs", what=hostile, cost="1")
    visitor.do("/shows/spring", "/sheet/show", name=hostile)

    for path in ("/shows", "/shows/spring", "/money/2026"):
        got = visitor.get(path)
        assert got.status == 200
        assert not got.page.xpath("//script[not(@src)] | //main//b")
    assert hostile in visitor.get("/shows/spring").page.xpath("//input/@value")


def test_a_form_of_another_desk_is_refused(visitor: Visitor) -> None:
    before = text_of(visitor)
    form = visitor.filled("/shows/spring", "/sheet/costs", what="lamps", cost="12") | {"mark": "another"}

    assert visitor.send("/sheet/costs", form).status == 422
    assert text_of(visitor) == before


def test_the_sheet_is_printed_from_the_shows_page(visitor: Visitor) -> None:
    got = visitor.after(visitor.do("/shows/spring", "/do/papers.sheet", paper="letter", pages="3"))

    (link,) = {*got.page.xpath("//a[contains(@href, 'sheet-spring.pdf')]/@href")}
    pdf = visitor.get(link)
    assert pdf.headers["content-type"] == "application/pdf"
    printed = reader((visitor.desk.folder / "out" / "paper" / "sheet-spring.pdf").read_bytes())
    assert len(printed.pages) == 3
    assert [float(one) for one in printed.pages[0].mediabox[2:]] == [612, 792]  # Letter: ANSI/ASME Y14.1
    assert "Its sign-up sheet" not in visitor.get("/shows").words  # the one to come isn't printed yet


def test_cards_are_printed_of_what_is_ticked(visitor: Visitor) -> None:
    page = visitor.get("/do/papers.cards")
    assert page.page.xpath("//input[@name='slugs']/@value") == ["ferry-ghost"]  # the hare is sold

    got = visitor.after(visitor.do(page, "/do/papers.cards", slugs="ferry-ghost"))
    assert (visitor.desk.folder / "out" / "paper" / "cards.pdf").is_file()
    assert "cards.pdf" in got.words


def test_a_piece_that_is_named_can_be_ticked_though_it_is_sold(visitor: Visitor) -> None:
    boxes = visitor.get("/do/papers.cards?slugs=hare").page.xpath("//input[@name='slugs']")

    assert [(box.get("value"), box.get("checked") is not None) for box in boxes] == [
        ("hare", True), ("ferry-ghost", False),
    ]  # fmt: skip


def test_a_certificate_is_printed_from_its_piece(visitor: Visitor) -> None:
    got = visitor.after(visitor.do("/pieces/hare", "/do/papers.certificate"))

    assert (visitor.desk.folder / "out" / "paper" / "certificate-hare.pdf").is_file()
    assert "certificate-hare.pdf" in got.words
    assert visitor.do("/do/papers.certificate", "/do/papers.certificate", slug="nobody").status == 422


def test_no_shows_yet(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    (folder / "shows" / "quayside-2027.yaml").unlink()
    with opened(folder) as visitor:
        assert "None is noted." in visitor.get("/shows").words


@pytest.mark.slow
def test_a_cost_is_noted_by_keyboard_alone(browser: Browser, visitor: Visitor) -> None:
    with looking(browser, visitor) as page:
        page.goto(f"{visitor.address}/money")
        by_keyboard(page, "Shows and paper")
        page.keyboard.press("Enter")
        page.wait_for_url("**/shows")
        by_keyboard(page, "Spring Fair")
        page.keyboard.press("Enter")
        page.wait_for_url("**/shows/spring")
        by_keyboard(page, "What needed")
        page.keyboard.type("lamps")
        page.keyboard.press("Tab")
        page.keyboard.type("12.25")
        page.keyboard.press("Enter")
        page.wait_for_url("**/shows/spring?said=*")

        assert "lamps" in text_of(visitor)
        assert Decimal("142.75") == Decimal(plain(rows(visitor.get("/shows"), "What they")["Spring Fair"][2]))


def test_of_a_show_to_come_it_is_said_when_it_begins_and_what_it_cost_so_far(visitor: Visitor) -> None:
    said = visitor.get("/shows/quayside-2027").words

    assert "It begins in 95 days, Saturday 27 February 2027, and cost 137.00 EUR so far." in said


def test_a_class_has_no_sheet_but_an_invitation(studio: Path) -> None:
    makers.write(studio / "shows" / "heads-2027.yaml", makers.CLASS)
    with opened(studio) as desk:
        assert "/letters/write/class?slug=heads-2027" in desk.get("/shows").page.xpath(
            "//ul[@class='agenda']//a/@href"
        )
        page = desk.get("/shows/heads-2027")
        assert "263.00 EUR a place, 6 places." in page.words
        assert "Print the sign-up sheet" not in page.words
        told = desk.do("/shows/heads-2027", "/sheet/show", attendance="full", includes="clay and soup")
        assert told.status == 303
        text = (studio / "shows" / "heads-2027.yaml").read_text("utf-8")
        assert "attendance: full\n" in text
        assert "includes: clay and soup\n" in text
        assert "/letters/write/class" not in desk.get("/shows/heads-2027").text


def test_what_is_brought_is_ticked_by_title_and_kept_as_it_stands(demo: Visitor) -> None:
    file = demo.desk.folder / "shows" / "winter-fair-2027.yaml"
    before, page = file.read_text("utf-8"), demo.get("/shows/winter-fair-2027")
    (form,) = page.page.xpath("//form[@action='/sheet/show']")
    boxes = form.xpath(".//input[@name='bring']")
    assert {box.get("value") for box in boxes if box.get("checked") is not None} >= {
        "owl-on-the-late-shift",
        "star-darner",
    }
    titles = [box.getparent().text_content().strip() for box in boxes]
    assert "Owl on the Late Shift" in titles

    fields = [(name, str(value).removeprefix("\n")) for name, value in form.form_values()]
    demo.ask("POST", "/sheet/show", urlencode(fields).encode(), Origin=demo.address, Content_Type=FORM)
    assert file.read_text("utf-8") == before

    fewer = [field for field in fields if field != ("bring", "star-darner")]
    got = demo.ask("POST", "/sheet/show", urlencode(fewer).encode(), Origin=demo.address, Content_Type=FORM)
    assert "Saved: What you bring." in demo.after(got).words
    assert "star-darner" not in file.read_text("utf-8")
    assert "owl-on-the-late-shift" in file.read_text("utf-8")
