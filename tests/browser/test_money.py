"""Money at the desk: every sum as the JSON, the CSV and a calculation by hand have it; a year closed in two steps."""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some
from playwright.sync_api import Browser

from sitegen.browser.screens.money import FILLS, bars
from tests import makers
from tests.browser.conftest import Got, Visitor, by_keyboard, looking, opened
from tests.cli.runner import run

HARE = "\n  hours: {{all: {}}}\n  supplies: [{{what: eyes, cost: {}}}]\n  sold: {{on: {}, price: {}, stream: {}}}"
PIECES = {
    "hare": makers.piece_yaml(
        "Hare", "sold", price="", number="", private=HARE.format(10, 20, "2026-05-01", 500, "originals")
    ),
    "owl": makers.piece_yaml(
        "Owl", "sold", price="", number="", private=HARE.format(8, 15, "2026-06-06", 400, "shows")
    ),
    "toad": makers.piece_yaml(
        "Toad", "sold", price="", number="", private=HARE.format(5, 5, "2025-03-01", 300, "originals")
    ),
    "ferry-ghost": makers.piece_yaml(),
}
FAIR = """\
name: Spring Fair
from: 2026-06-06
private:
  costs: [{what: table, cost: 100}]
  sales: [{what: pin moths, price: 60}]
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = makers.studio(tmp_path / "studio", PIECES)
    makers.write(folder / "shows" / "spring-2026.yaml", FAIR)
    return folder


def rows(got: Got, heading: str) -> dict[str, list[str]]:
    """Return a table's rows below a heading, by their first cell; what is small in it counts as the next one."""
    (table,) = got.page.xpath(f"(//h2[starts-with(., '{heading}')]/following::table)[1]")
    found = {}
    for row in table.xpath(".//tr[td or th[@scope='row']]"):
        small = row[0].xpath(".//small")
        cells = [" ".join(cell.text_content().split()) for cell in [*small, *row[1:]]]
        name = row[0].text_content().removesuffix("".join(one.text_content() for one in small))
        found[" ".join(name.split())] = cells
    return found


def plain(said: str) -> str:
    return re.sub(r"[^0-9.-]", "", said.partition("(")[0].replace("−", "-"))


def answer(visitor: Visitor, *words: str) -> Any:
    typed = ["--today", "2026-11-24", *words, "--json"]
    return json.loads(run(visitor.desk.folder, *typed).stdout)


def test_a_year_by_hand(visitor: Visitor) -> None:
    """Fees 3 % of 500, 400 and 60: 28.80 (15, 12 and 1.80). Overhead 310 x 11 months.

    Originals: 500 - 15 - 20 = 465 over 10 h. Shows: 460 - 13.80 - 15 - 100 = 331.20 over 8 h.
    """
    got = visitor.get("/money/2026")

    streams = rows(got, "By stream")
    assert streams["Originals"] == ["500.00", "35.00", "465.00", "46.50 (10 h)"]
    assert streams["Shows"] == ["460.00", "128.80", "331.20", "41.40 (8 h)"]
    assert streams["Overhead"] == ["", "3,410.00", "−3,410.00", ""]
    assert streams["In all"] == ["960.00", "3,573.80", "−2,613.80", "−145.21 (18 h)"]
    assert rows(got, "Shows")["Spring Fair"] == ["460.00", "100.00", "331.20", "41.40 (8 h)"]
    assert "no tax advice" in got.words


def test_every_sum_of_the_page_is_the_answers_and_the_tables(visitor: Visitor) -> None:
    got, told = visitor.get("/money/2026"), answer(visitor, "books", "--year", "2026")

    streams = rows(got, "By stream")
    for one in told["streams"]:
        if Decimal(one["income"]):
            shown = [plain(cell) for cell in streams[one["name"].capitalize()]]
            assert shown == [one["income"], one["costs"], one["left"], one["hourly"] or ""]
    in_all = [plain(cell) for cell in streams["In all"]]
    assert (in_all[0], in_all[2], in_all[3]) == (told["total"], told["left"], told["hourly"])
    costs = rows(got, "What it cost")
    assert {name.lower(): plain(cells[0]) for name, cells in costs.items() if name != "In all"} == {
        name: sum_ for name, sum_ in told["costs"].items() if Decimal(sum_)
    }
    stands = {name: plain(cells[0]) for name, cells in rows(got, "Where the money").items()}
    assert list(stands.values()) == [
        told[name] for name in ("received", "sent_back", "in_advance", "to_return", "unpaid")
    ]
    owed = {name: [plain(cell) for cell in cells[:3]] for name, cells in rows(got, "Still owed").items()}
    assert owed == {one["code"]: [one["paid"], one["balance"], one["due_now"]] for one in told["owed"]}

    table = list(csv.DictReader(io.StringIO(visitor.get("/money/2026/books.csv").text)))
    income = [row for row in table if row["kind"] in {"sale", "kept", "refund"}]
    came = sum((Decimal(row["in"] or 0) - Decimal(row["out"] or 0) for row in income), Decimal(0))
    spent = {"fees", "supplies", "show cost", "overhead", "expense"}
    went = sum((Decimal(row["out"] or 0) for row in table if row["kind"] in spent), Decimal(0))
    assert (came, came - went) == (Decimal(told["total"]), Decimal(told["left"]))


def test_the_table_is_the_terminals_to_the_byte(visitor: Visitor) -> None:
    got = visitor.get("/money/2026/books.csv")
    typed = run(visitor.desk.folder, "--today", "2026-11-24", "books", "--year", "2026", "--csv")

    assert got.text.encode() == typed.stdout_bytes
    assert got.headers["content-disposition"] == 'attachment; filename="books-2026.csv"'


def test_the_years_stand_beside_each_other(visitor: Visitor) -> None:
    got = visitor.get("/money")

    shown = rows(got, "The years")
    for place, year in enumerate(("2026", "2025")):
        told = answer(visitor, "books", "--year", year)
        for name, sum_ in (
            *told["income"].items(),
            ("income", told["total"]),
            ("what is left", told["left"]),
        ):
            if Decimal(sum_):
                assert plain(shown[name.capitalize()][place]) == sum_
        assert plain(shown["An hour sold"][place]) == told["hourly"]
        assert plain(shown["An hour of originals, before overhead"][place]) == told["streams"][0]["hourly"]
    drawn = " ".join(got.page.xpath("(//figure)[1]")[0].text_content().split())
    assert "Originals 2026 500.00 2025 300.00" in drawn
    assert "table below" in got.page.xpath("string((//figure)[1]//*[local-name()='title'])")


def test_what_is_to_come_is_the_answers(demo: Visitor) -> None:
    told = answer(demo, "money", "ahead")

    shown = rows(demo.get("/money"), "What is to come")
    months = [
        [plain(cell) or "0.00" for cell in cells[:4]] for name, cells in shown.items() if name != "In all"
    ]
    assert months == [[one["late"], one["due"], one["to_come"], one["total"]] for one in told["months"]]
    assert [plain(cell) for cell in shown["In all"][:4]] == [
        told[name] for name in ("late", "due", "to_come", "total")
    ]
    owed = answer(demo, "books")["owed"]
    assert Decimal(told["total"]) == sum(Decimal(one["balance"]) for one in owed)


def test_a_year_is_closed_in_two_steps(visitor: Visitor) -> None:
    kept = visitor.desk.folder / "closed" / "2025.json"

    shown = visitor.do("/money/2025", "/do/answers.books")
    assert shown.status == 200
    assert "Nothing is written yet" in shown.words
    assert not kept.exists()

    closed = visitor.after(visitor.do(shown, "/do/answers.books"))
    assert json.loads(kept.read_text("utf-8"))["year"] == 2025
    assert "Closed on 24 November 2026" in closed.words
    assert not closed.page.xpath("//form[@action='/do/answers.books']")

    visitor.do(closed, "/do/undo.undo")
    assert not kept.exists()


def test_what_was_shown_isnt_closed_once_it_is_something_else(visitor: Visitor) -> None:
    shown = visitor.do("/money/2025", "/do/answers.books")
    toad = visitor.desk.folder / "pieces" / "toad" / "piece.yaml"
    makers.write(toad, toad.read_text("utf-8").replace("price: 300", "price: 310"))

    again = visitor.do(shown, "/do/answers.books")

    assert again.status == 200
    assert "310.00 EUR" in again.words
    assert not (visitor.desk.folder / "closed").exists()


def test_this_year_offers_no_closing_and_a_year_to_come_is_refused(visitor: Visitor) -> None:
    assert not visitor.get("/money/2026").page.xpath("//form[@action='/do/answers.books']")
    assert visitor.get("/money/2027").status == 422
    form = visitor.filled("/money/2025", "/do/answers.books") | {"year": "2026"}
    assert visitor.send("/do/answers.books", form).status == 422


def test_a_piece_not_begun_by_hand(visitor: Visitor) -> None:
    """Thirty hours at 28 and supplies of 60; 310 a month over 24 h a week of 52 weeks."""
    got = visitor.get("/money/worth?hours=30&supplies=60&price=900")

    shown = rows(got, "A piece not yet begun")
    overhead = Decimal(310) * 12 / (24 * 52) * 30
    floor = (60 + 30 * 28 + overhead) * 100 / 97
    assert plain(shown["Hours"][0]) == "840.00"
    assert plain(shown["Overhead"][0]) == f"{overhead:.2f}"
    assert abs(Decimal(plain(shown["Floor"][0])) - floor) < Decimal("0.01")
    assert "below the floor" in got.words
    assert "no tax advice" in got.words


def test_a_piece_is_found_by_its_title(visitor: Visitor) -> None:
    assert "what it was sold for on 1 May 2026" in visitor.get("/money/worth?slug=hare&price=&tier=").words
    assert "The Ferry Ghost" in visitor.get("/money/plan?what=the+ferry+ghost").words


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/money/worth?slug=nobody", "nobody"), ("/money/worth?hours=a%20lot", "a lot"),
        ("/money/worth?hours=3&slug=hare", "Name one piece"), ("/money/plan?what=1,00,0", "1,00,0"),
        ("/money/plan?what=100&instalments=99", "99"), ("/money/worth?slug=%3Cb%3Ex%3C%2Fb%3E", "<b>x</b>"),
    ],
)  # fmt: skip
def test_what_cant_be_answered_is_said_above_the_fields_and_kept(
    visitor: Visitor, path: str, said: str
) -> None:
    got = visitor.get(path)

    assert got.status == 422
    assert said in got.page.xpath("string(//*[@role='alert'])")
    assert "sitegen" not in got.page.xpath("string(//main)")
    assert said in got.page.xpath("//input/@value") or len(got.page.xpath("//input[@value!='']")) >= 1


def test_what_has_to_be_noted_first_is_said_with_the_way_there(visitor: Visitor) -> None:
    folder = visitor.desk.folder
    makers.add_piece(folder, "new-one", makers.piece_yaml("New One", number="", price="", private=""))
    settings = (folder / "studio.yaml").read_text("utf-8")

    worth, plan = visitor.get("/money/worth?slug=new+one"), visitor.get("/money/plan?what=New+One")
    makers.write(folder / "studio.yaml", settings.replace("  rate: 28\n", ""))
    bare = visitor.get("/money/worth?hours=30")

    for got, said, way in (
        (worth, "No hours are noted for New One", "/pieces/new-one"), (plan, "has no price", "/pieces/new-one"),
        (bare, "What an hour has to earn", "/settings/part/bench"),
    ):  # fmt: skip
        assert said in got.page.xpath("string(//*[@role='alert'])")
        assert way in got.page.xpath("//*[@role='alert']//a/@href")
        assert visitor.get(way).status == 200


def test_a_part_of_one_title_alone_finds_its_piece(visitor: Visitor) -> None:
    assert "what it was sold for" in visitor.get("/money/worth?slug=har").words
    assert visitor.get("/money/worth?slug=e").status == 422


def test_a_plan_sums_to_its_price(visitor: Visitor) -> None:
    """1000.01 less a deposit of 30 % (300.00) in three: 233.34, 233.34, 233.33."""
    shown = rows(visitor.get("/money/plan?what=1000.01&start=2027-01-31"), "Payment plan")

    assert [cells[-1] for cells in shown.values()] == [
        "300.00", "233.34", "233.34", "233.33", "1,000.01",
    ]  # fmt: skip
    assert list(shown)[:3] == ["31 January 2027", "28 February 2027", "31 March 2027"]


def test_many_instalments_carry_the_caution_on_credit(visitor: Visitor) -> None:
    words = visitor.get("/money/plan?what=2000&instalments=6").words

    assert "consumer credit" in words
    assert "no legal advice" in words


@pytest.mark.parametrize(("currency", "digits"), [("JPY", 0), ("KWD", 3)])
def test_other_currencies_to_the_coin(tmp_path: Path, currency: str, digits: int) -> None:
    folder = makers.studio(tmp_path / "s", PIECES)
    text = (folder / "studio.yaml").read_text("utf-8").replace("currency: EUR", f"currency: {currency}")
    makers.write(folder / "studio.yaml", text)
    orders = folder / "commissions.yaml"
    price = "43100" if digits == 0 else "431.005"
    orders.write_text(orders.read_text("utf-8").replace("price: 431", f"price: {price}"), "utf-8")
    if digits == 0:
        for file in folder.glob("pieces/*/piece.yaml"):
            makers.write(file, file.read_text("utf-8").replace("23.57", "23"))
    with opened(folder) as visitor:
        told = answer(visitor, "money", "ahead")
        shown = rows(visitor.get("/money"), "What is to come")

    assert Decimal(told["total"]) == Decimal(price)
    assert plain(shown["In all"][3]) == price


def test_nothing_yet_is_said(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s", {})
    makers.write(folder / "commissions.yaml", "tiers:\n  - {name: Small figure, from_price: 420}\n")
    with opened(folder) as visitor:
        got = visitor.get("/money")

    assert got.status == 200
    assert "Nothing has come in yet." in got.words
    assert "No plan that was agreed on has anything to come." in got.words


@pytest.mark.slow
def test_a_year_is_closed_by_keyboard_alone(browser: Browser, visitor: Visitor) -> None:
    with looking(browser, visitor) as page:
        page.goto(f"{visitor.address}/money")
        by_keyboard(page, "close the year")
        page.keyboard.press("Enter")
        page.wait_for_url("**/money/2025#close")
        by_keyboard(page, "Show what would be kept")
        page.keyboard.press("Enter")
        page.wait_for_selector(".shown")
        by_keyboard(page, "Close the year")
        page.keyboard.press("Enter")
        page.wait_for_url("**/money/2025?said=*")

        assert (visitor.desk.folder / "closed" / "2025.json").is_file()


@given(
    groups=some.lists(
        some.lists(some.lists(some.integers(-900_000, 900_000), max_size=3), max_size=4), max_size=4
    )
)
def test_bars_are_as_long_as_their_sums(groups: list[list[list[int]]]) -> None:
    made = [
        (f"g{at}", [("", "", [(FILLS[n], Decimal(one)) for n, one in enumerate(sums)]) for sums in rows])
        for at, rows in enumerate(groups)
    ]
    drawn = bars(made)
    longest = max((sum(map(abs, sums)) for rows in groups for sums in rows), default=0)
    laid = [bar for _, found in drawn for bar in found]

    assert len(laid) == sum(map(len, groups))
    for bar, sums in zip(laid, [sums for rows in groups for sums in rows], strict=True):
        lengths = [float(length.rstrip("%")) for _, length, _ in bar[3]]
        assert lengths == pytest.approx([100 * abs(one) / longest for one in sums if one], abs=0.006)
        assert [fill == "open" for _, _, fill in bar[3]] == [one < 0 for one in sums if one]
        assert float(bar[2].rstrip("%")) <= 100


def test_what_comes_and_goes_is_the_answers_and_the_tables(visitor: Visitor) -> None:
    """Every sum of a month on the page is that of the JSON, and the month's rows of the CSV sum to it."""
    file = visitor.desk.folder / "studio.yaml"
    own = "  budget: 900\n  in_hand: {on: 2026-11-20, amount: 4200}\n  set_aside: 20%\n"
    makers.write(file, f"{file.read_text('utf-8')}{own}sales_tax: {{name: VAT, rate: 23%}}\n")
    got, told = visitor.get("/money"), answer(visitor, "money", "ahead")

    names = ("comes", "overhead", "shows", "expenses", "sales_tax", "set_aside", "left", "budget", "in_hand")
    shown = [[plain(cell) for cell in cells] for cells in rows(got, "What comes").values()]
    assert shown == [
        [one[name] if Decimal(one[name]) or name in {"comes", "left", "in_hand"} else "" for name in names]
        for one in told["flow"]
    ]
    table = visitor.get("/money/ahead.csv")
    assert (
        table.text.encode()
        == run(visitor.desk.folder, "--today", "2026-11-24", "money", "ahead", "--csv").stdout_bytes
    )
    for one in told["flow"]:
        sums = [
            Decimal(row["amount"])
            for row in csv.DictReader(io.StringIO(table.text))
            if row["month"] == one["month"]
        ]
        assert sum(sums) == Decimal(one["left"]) - Decimal(one["budget"])
    assert "What carries 2026: originals, with" in got.words
    assert "to the end of" in got.words


def test_what_is_missing_for_the_months_leads_to_its_fields(visitor: Visitor) -> None:
    flow = visitor.get("/money").page.xpath("//p[contains(., 'how long your money lasts')]")[0]

    assert "`" not in flow.text_content()
    assert "yaml" not in flow.text_content()
    (place,) = flow.xpath(".//a/@href")
    names = visitor.get(place).page.xpath("//form//@name")
    assert {"private.in_hand.on", "private.in_hand.amount", "private.budget"} <= set(names)


def test_a_table_says_its_currency_once(demo: Visitor) -> None:
    """Where figures stand below each other, the unit is named above them (common practice, no source)."""
    money = ("/money", "/money/2026", "/money/prices", "/money/worth?slug=moth-usher", "/money/plan?what=940")

    for address in (*money, "/orders", "/orders/A26-1", "/shows", "/pieces/moth-usher"):
        page = demo.get(address).page
        assert page.xpath("//table/caption[contains(., 'EUR')]|//table//th[contains(., 'EUR')]"), address
        assert not page.xpath("//td[contains(@class, 'sum')][contains(., 'EUR')]"), address


def test_on_a_phone_no_sum_is_cut_and_each_is_named(browser: Browser, demo: Visitor) -> None:
    """At 360 px, a usual phone's width (common practice, no source)."""
    with looking(browser, demo, 360) as page:
        page.goto(f"{demo.address}/money")
        out = "[...document.querySelectorAll('.ledger')].filter(it => it.getBoundingClientRect().right > innerWidth)"
        assert page.evaluate(f"{out}.length") == 0
        assert page.evaluate("document.querySelectorAll('.wide').length") == 0
        cells = "[...document.querySelectorAll('.years tbody tr:last-child > td')].map(it => it.getBoundingClientRect().top)"
        assert len(set(page.evaluate(cells))) == 1  # the years of a row stand side by side
        assert "EUR" not in " ".join(page.locator(".plot").all_text_contents())
        page.goto(f"{demo.address}/orders/A26-1")
        bare = (
            "[...document.querySelectorAll('.folds tbody td')].filter(it => it.textContent.trim())"
            ".filter(it => ['none', 'normal'].includes(getComputedStyle(it, '::before').content)).length"
        )
        assert page.evaluate(bare) == 0
