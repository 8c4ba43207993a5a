"""A whole small year in yen and in Kuwaiti dinars, added up anew from its files: nothing here asks the program how.

Minor units are ISO 4217's (JPY none, KWD three). The rules are the guide's sentences (`money`, `orders`); sums are
made with Python's decimal, files are read with PyYAML, days of the plan are those of a calendar by hand. Every total
stands in the terminal, in the answer for machines, in the table and on the desk.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from tests import makers
from tests.browser.conftest import Got, opened
from tests.cli.runner import on

DAY = date(2026, 11, 25)  # six days of November are left, this one with them
DIGITS = {"JPY": 0, "KWD": 3}
TAX = {"JPY": "{name: consumption tax, rate: 10%}", "KWD": "{name: VAT, rate: 5%}"}
# §N§ stands for N of the currency's smallest coins.
STUDIO = """\
studio: Reed & Rook
maker: Ottoline Example
site: https://reed.example/
contact: hello@reed.example
currency: CURRENCY
time_zone: Asia/Tokyo
sales_tax: TAX
payment_plan: {deposit: 30%, weekend: keep, grace_days: 7, bands: [{instalments: 3}]}
private:
  rate: §1500§
  overhead: §21000§
  fees: 4.5%
  weekly_hours: 18
  margin: 15%
  set_aside: 12.5%
  budget: §90001§
  in_hand: {on: 2026-11-25, amount: §350001§}
  days_away: [{from: 2026-08-03, to: 2026-08-16}, {from: 2026-12-20, to: 2027-01-03}]
  takings:
    - {on: 2026-01-15, what: patrons, stream: supporters, amount: §5003§}
    - {on: 2026-12-12, what: winter class, stream: classes, amount: §12001§, hours: 5}
  expenses:
    - {on: 2026-02-28, what: kiln, amount: §8889§}
    - {on: 2026-12-30, what: shelf, amount: §2223§}
"""
PIECES = {
    "heron": """{title: Heron, status: sold, finished: 2026-02-01, private: {hours: {all: 21.5}, supplies:
  [{what: eyes, cost: §3333§}, {what: silk, cost: §1001§}],
  sold: {on: 2026-02-10, price: §54999§}}}""",
    # 37.5 % of 78001 is 29250.375, so 29250 is kept; 48751 come in December.
    "owl": """{title: Owl, status: sold, finished: 2026-05-30, away: [{place: Rook Rooms, since: 2026-06-01,
  private: {share: 37.5%}}], private: {hours: {all: 30.25}, supplies: [{what: eyes, cost: §2777§}],
  sold: {on: 2026-06-06, price: §78001§, at: Rook Rooms, fee: §29250§, due: 2026-12-20}}}""",
    "toad": """{title: Toad, status: sold, finished: 2026-02-20, private: {hours: {all: 11}, supplies:
  [{what: moss, cost: §777§}], sold: [
  {on: 2026-03-03, price: §33333§, stream: shows, returned: 2026-04-04, refund: §20001§},
  {on: 2026-09-09, price: §31111§}]}}""",
    "moth": """{title: Moth, status: available, price: §60001§, finished: 2026-10-10,
  private: {hours: {all: 25}, supplies: [{what: wire, cost: §1999§}]}}""",
    "wren": """{title: Wren, status: sold, finished: 2025-11-20,
  private: {hours: {all: 16}, sold: {on: 2025-11-30, price: §40007§}}}""",
}
COMMISSIONS = """\
tiers: [{name: Small, from_price: §50000§}]
queue:
  - code: W-1
    tier: Small
    step: shipped
    moves: 2026-01-10 accepted; 2026-02-15 on the bench; 2026-04-20 finished; 2026-05-05 shipped
    private: {price: §64003§, hours: {all: 22}, paid: 2026-01-10 §19201§; 2026-03-10 §44802§}
  - code: W-2
    tier: Small
    step: on the bench
    moves: 2026-08-31 accepted; 2026-10-12 on the bench
    private: {price: §99997§, plan_from: 2026-08-31, deposit: 30%, instalments: 3, hours: {all: 6}, paid: 2026-08-31 §29999§; 2026-09-30 §23333§}
  - code: W-3
    tier: Small
    step: called off
    moves: 2026-06-01 accepted; 2026-07-07 called off
    private: {price: §50000§, called_off_by: client, kept: §8001§, paid: 2026-06-01 §20009§; 2026-07-09 -§12008§}
"""
SHOWS = {
    "fair-2026": """{name: Reed Fair, from: 2026-03-03, to: 2026-03-04, private: {hours: 12,
  costs: [{what: table, cost: §9001§, on: 2025-12-01}, {what: van, cost: §4503§}],
  sales: [{what: toad, price: §33333§}, {what: pins, price: §2507§}]}}""",
    "fair-2027": """{name: Reed Fair, from: 2027-01-16, private: {
  costs: [{what: table, cost: §7001§, on: 2026-12-05}, {what: van, cost: §3001§}]}}""",
    "class-2026": """{name: Heads, kind: class, from: 2026-10-03, private: {hours: 9,
  costs: [{what: clay, cost: §4007§}], sales: [{what: five places, price: §30011§}]}}""",
}


def in_coins(text: str, currency: str) -> str:
    digits = DIGITS[currency]
    written = re.sub("§([0-9]+)§", lambda found: f"{Decimal(found[1]).scaleb(-digits):f}", text)
    return written.replace("CURRENCY", currency).replace("TAX", TAX[currency])


@pytest.fixture(params=sorted(DIGITS))
def studio(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    currency, folder = request.param, tmp_path / "studio"
    makers.write(folder / "studio.yaml", in_coins(STUDIO, currency))
    makers.write(folder / "commissions.yaml", in_coins(COMMISSIONS, currency))
    makers.write(folder / "people.csv", makers.PEOPLE)
    for name, text in SHOWS.items():
        makers.write(folder / "shows" / f"{name}.yaml", in_coins(text, currency))
    for slug, text in PIECES.items():
        makers.write(folder / "pieces" / slug / "piece.yaml", in_coins(text, currency))
    return folder


def amount_of(*written: str) -> Decimal:
    return sum(map(Decimal, written), Decimal(0))


class Line(NamedTuple):
    """What one day brings: income of a stream, what of it bears the usual fees, a fee agreed on, money that came."""

    on: str
    stream: str = ""
    income: Decimal = Decimal(0)
    charged: Decimal = Decimal(0)
    fee: Decimal = Decimal(0)
    supplies: Decimal = Decimal(0)
    hours: Decimal = Decimal(0)
    came: Decimal = Decimal(0)


class Files:
    """A studio's files as PyYAML reads them, and sums to the coin."""

    def __init__(self, folder: Path) -> None:
        def read(file: Path) -> Any:
            return yaml.load(file.read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 (text only: no value is guessed)

        self.own = read(folder / "studio.yaml")
        self.desk = self.own["private"]
        self.pieces = {file.parent.name: read(file) for file in folder.glob("pieces/*/piece.yaml")}
        self.orders = {one["code"]: one for one in read(folder / "commissions.yaml")["queue"]}
        self.shows = {file.stem: read(file) for file in folder.glob("shows/*.yaml")}
        self.currency = self.own["currency"]
        self.digits = DIGITS[self.currency]

    def coin(self, exact: Decimal) -> Decimal:
        """Round to the coin, a half away from zero."""
        return exact.quantize(Decimal(1).scaleb(-self.digits), ROUND_HALF_UP)

    def plain(self, amount: Decimal) -> str:
        return f"{self.coin(amount):f}"

    def said(self, amount: Decimal) -> str:
        return f"{self.coin(amount):,f} {self.currency}"

    def supplies(self, slug: str) -> Decimal:
        return amount_of(*(one["cost"] for one in self.pieces[slug]["private"].get("supplies", [])))

    def lines(self) -> Iterator[Line]:
        """Yield what each sale, payment, table and taking brings."""
        for slug, piece in self.pieces.items():
            sales = piece["private"].get("sold", [])
            for n, sale in enumerate(sales if isinstance(sales, list) else [sales]):
                yield from self.of_sale(slug, sale, first=n == 0)
        yield from self.of_orders()
        for show in self.shows.values():
            yield from self.of_show(show)
        for taking in self.desk["takings"]:
            amount = amount_of(taking["amount"])
            yield Line(
                taking["on"], taking["stream"], amount, came=amount, hours=Decimal(taking.get("hours", 0))
            )

    def of_sale(self, slug: str, sale: dict[str, str], *, first: bool) -> Iterator[Line]:
        """Hours and supplies go with the first sale; of what a gallery still owes only its own part has come."""
        price, fee, stream = (
            amount_of(sale["price"]),
            amount_of(sale.get("fee", "0")),
            sale.get("stream", "originals"),
        )
        yield Line(
            sale["on"], stream, price, charged=Decimal(0) if "fee" in sale else price, fee=fee,
            came=fee if "due" in sale else price, supplies=self.supplies(slug) * first,
            hours=Decimal(self.pieces[slug]["private"]["hours"]["all"]) * first,
        )  # fmt: skip
        if "returned" in sale:
            back = -amount_of(sale["refund"])
            yield Line(sale["returned"], stream, back, came=back)

    def of_orders(self) -> Iterator[Line]:
        """W-1 was shipped: its price is income on that day. W-3 was called off: what is kept of it, on that day."""
        sent, ended = (self.orders[code]["private"] for code in ("W-1", "W-3"))
        price, kept = amount_of(sent["price"]), amount_of(ended["kept"])
        yield Line("2026-05-05", "commissions", price, charged=price, hours=Decimal(sent["hours"]["all"]))
        yield Line("2026-07-07", "commissions", kept, charged=kept)
        for order in self.orders.values():
            for day, amount in (entry.split() for entry in order["private"]["paid"].split("; ")):
                yield Line(day, came=Decimal(amount))

    def of_show(self, show: dict[str, Any]) -> Iterator[Line]:
        """A line that names a piece tells of the piece's own sale; a class's money bears no fees."""
        is_class = show.get("kind") == "class"
        for line in show["private"].get("sales", []):
            if line["what"] not in self.pieces:
                price, hours = amount_of(line["price"]), Decimal(show["private"]["hours"])
                yield Line(
                    show["from"], "classes" if is_class else "shows", price, came=price,
                    charged=price * (not is_class), hours=hours * is_class,
                )  # fmt: skip

    def year(self, year: int) -> dict[str, Any]:
        """Add up a year to the end of it, or to DAY."""
        first, last = f"{year}-01-01", min(f"{year}-12-31", str(DAY))
        lines = [line for line in self.lines() if first <= line.on <= last]
        paid = [
            (cost.get("on", show["from"]), cost["cost"])
            for show in self.shows.values()
            for cost in show["private"]["costs"]
        ]
        spent = [(one["on"], one["amount"]) for one in self.desk["expenses"]]
        shows, expenses = (
            amount_of(*(cost for on, cost in dated if first <= on <= last)) for dated in (paid, spent)
        )
        usual, agreed, supplies, hours, came = (
            sum((getattr(line, name) for line in lines), Decimal(0))
            for name in ("charged", "fee", "supplies", "hours", "came")
        )
        income = {
            stream: sum((line.income for line in lines if line.stream == stream), Decimal(0))
            for stream in ("originals", "commissions", "shows", "classes", "supporters", "other")
        }
        costs = {
            "fees": self.coin(usual * Decimal("0.045")) + agreed, "supplies": supplies, "shows": shows,
            "overhead": amount_of(self.desk["overhead"]) * int(last[5:7]), "expenses": expenses,
        }  # fmt: skip
        total = sum(income.values(), Decimal(0))
        left = total - sum(costs.values(), Decimal(0))
        return {
            "income": income, "costs": costs, "total": total, "left": left, "hours": hours, "received": came,
            "sent_back": -sum((line.came for line in lines if line.came < 0), Decimal(0)),
            "hourly": self.coin(left / hours),
        }  # fmt: skip


SUMS = ("total", "left", "received", "sent_back", "hourly")


def told(folder: Path, *words: str) -> str:
    done = on(str(DAY), folder, *words)
    assert done.exit_code == 0, done.output
    return str(done.stdout)


def sums_on(got: Got) -> set[str]:
    """Return the sums in the cells of a page's tables and in its sentences, each without its sign."""
    texts = (part.text_content() for part in got.page.xpath("//td | //p"))
    return {sum_.rstrip(".,") for text in texts for sum_ in re.findall("[0-9][0-9,.]*", text)}


@pytest.mark.parametrize("year", [2026, 2025])
def test_the_books(studio: Path, year: int) -> None:
    """Terminal, JSON, CSV and desk, to the coin."""
    files = Files(studio)
    expected = files.year(year)
    words = ("books", "--year", str(year))
    answer = json.loads(told(studio, *words, "--json"))

    for part in ("income", "costs"):
        assert answer[part] == {name: files.plain(amount) for name, amount in expected[part].items()}
    assert {name: answer[name] for name in SUMS} == {name: files.plain(expected[name]) for name in SUMS}
    assert Decimal(answer["hours"]) == expected["hours"]

    rows = list(csv.DictReader(io.StringIO(told(studio, *words, "--csv"))))

    def in_rows(*kinds: str) -> Decimal:
        return sum(
            (Decimal(row["in"] or 0) - Decimal(row["out"] or 0) for row in rows if row["kind"] in kinds),
            Decimal(0),
        )

    kinds = {
        "fees": "fees",
        "supplies": "supplies",
        "shows": "show cost",
        "overhead": "overhead",
        "expenses": "expense",
    }
    assert in_rows("sale", "kept", "refund") == expected["total"]
    assert {name: -in_rows(kind) for name, kind in kinds.items()} == expected["costs"]
    assert in_rows("received") == expected["received"]
    assert {row["currency"] for row in rows} == {files.currency}

    said = told(studio, *words, "--why")
    shown = [*expected["income"].values(), *expected["costs"].values(), *(expected[name] for name in SUMS)]
    with opened(studio, str(DAY)) as desk:
        cells = sums_on(desk.get(f"/money/{year}"))
        table = desk.get(f"/money/{year}/books.csv").text
    assert list(csv.DictReader(io.StringIO(table))) == rows
    for amount in filter(None, shown):
        assert files.said(amount) in said
        assert f"{files.coin(abs(amount)):,f}" in cells


def test_where_the_money_stands(studio: Path) -> None:
    """By hand, in smallest coins. W-2 has paid 53332 of 99997 in advance. The gallery owes 78001 - 29250 = 48751.

    30 % of 99997 is 29999.1, so 29999; the other 69998 in three: 23333, 23333, 23332, on 30 September, 31 October,
    30 November. The first is paid; October's is 25 days late, November's is to come: 46665 in all.
    """
    files = Files(studio)
    scale = Decimal(1).scaleb(-files.digits)
    answer = json.loads(told(studio, "books", "--json"))
    assert (answer["in_advance"], answer["to_return"], answer["unpaid"]) == tuple(
        files.plain(n * scale) for n in (53332, 0, 48751)
    )
    owed = {one["code"]: (one["paid"], one["balance"], one["due_now"], one["late"]) for one in answer["owed"]}
    assert owed == {
        "W-2": (*(files.plain(n * scale) for n in (53332, 46665, 23333)), True),
        "owl": (*(files.plain(n * scale) for n in (29250, 48751, 0)), False),
    }
    ahead = json.loads(told(studio, "money", "ahead", "--json"))
    parts = {
        (part["name"], part["due"]): (part["standing"], part["amount"])
        for month in ahead["months"]
        for part in month["parts"]
    }
    assert parts == {
        ("W-2", "2026-10-31"): ("late", files.plain(23333 * scale)),
        ("W-2", "2026-11-30"): ("to come", files.plain(23332 * scale)),
        ("owl", "2026-12-20"): ("to come", files.plain(48751 * scale)),
    }


def test_month_by_month(studio: Path) -> None:
    """What comes and goes from today: late money isn't counted; tax in a price is price x rate / (100 + rate)."""
    files = Files(studio)
    scale = Decimal(1).scaleb(-files.digits)
    rate = Decimal(files.own["sales_tax"]["rate"].removesuffix("%"))
    overhead, budget = (Decimal(files.desk[name]) for name in ("overhead", "budget"))
    in_hand, expected = Decimal(files.desk["in_hand"]["amount"]), []
    months = (
        # what comes, show costs, expenses, the share of the month that is left
        ("2026-11", 23332, 0, 0, Decimal(6) / 30),
        ("2026-12", 48751 + 12001, 7001, 2223, Decimal(1)),
        ("2027-01", 0, 3001, 0, Decimal(1)),
        ("2027-02", 0, 0, 0, Decimal(1)),
    )
    for month, *coins, share in months:
        comes, shows, expenses = (n * scale for n in coins)
        tax = files.coin(comes * rate / (100 + rate))
        aside = files.coin((comes - tax) * Decimal("0.125"))
        of_overhead, of_budget = files.coin(overhead * share), files.coin(budget * share)
        left = comes - of_overhead - shows - expenses - tax - aside
        in_hand += left - of_budget
        sums = (comes, of_overhead, shows, expenses, tax, aside, left, of_budget, in_hand)
        expected.append([month, *map(files.plain, sums)])

    flow = json.loads(told(studio, "money", "ahead", "--json"))
    found = [list(row.values()) for row in flow["flow"]]
    assert found[: len(expected)] == expected
    rows = list(csv.DictReader(io.StringIO(told(studio, "money", "ahead", "--csv"))))
    for row_of in expected:
        of = {row["what"]: Decimal(row["amount"]) for row in rows if row["month"] == row_of[0]}
        assert (of["comes"], of["shows"]) == (Decimal(row_of[1]), -Decimal(row_of[3]))
    said = told(studio, "money", "ahead")
    with opened(studio, str(DAY)) as desk:
        cells = sums_on(desk.get("/money"))
        assert list(csv.DictReader(io.StringIO(desk.get("/money/ahead.csv").text))) == rows
    for row_of in expected:
        for amount in filter(None, map(Decimal, row_of[1:])):
            assert files.said(amount) in said
            assert f"{files.coin(abs(amount)):,f}" in cells


def test_the_years_beside_each_other_and_what_the_fair_brought(studio: Path) -> None:
    """Reed Fair of 2026: toad less its refund is its piece's; 33333 - 20001 + 2507 sold; cost 9001 + 4503 in two years."""
    files = Files(studio)
    scale = Decimal(1).scaleb(-files.digits)
    answer = json.loads(told(studio, "money", "years", "--json"))["years"]
    assert [(one["year"], one["total"], one["left"], one["hourly"]) for one in answer] == [
        (year, *(files.plain(files.year(year)[name]) for name in ("total", "left", "hourly")))
        for year in (2026, 2025)
    ]
    shows = {one["show"]: one for one in json.loads(told(studio, "money", "shows", "--json"))["shows"]}
    assert {slug: (one["sales"], one["costs"]) for slug, one in shows.items()} == {
        "fair-2026": (files.plain(35840 * scale), files.plain(13504 * scale)),
        "fair-2027": (files.plain(Decimal(0)), files.plain(10002 * scale)),
        "class-2026": (files.plain(30011 * scale), files.plain(4007 * scale)),
    }


def test_what_a_piece_is_worth(studio: Path) -> None:
    """Moth: 25 h and 1999 of supplies. Weeks worked: 52 less 14 days away in the twelve months to today, so 50.

    An hour's overhead is 21000 x 12 / (18 x 50) = 280. Cost 1999 + 25 x (1500 + 280) = 46499. Floor: / 0.955, up to
    the coin: 48690.05..., 48691. Fair: 46499 x 1.15 / 0.955 = 55993.56, 55994. At 60001 an hour earns
    (60001 x 0.955 - 1999 - 7000) / 25 = 1932.08, half a coin up.
    """
    files = Files(studio)
    scale = Decimal(1).scaleb(-files.digits)
    answer = json.loads(told(studio, "piece", "worth", "moth", "--json"))
    hourly = (Decimal(60001) * Decimal("0.955") - 1999 - 7000) / 25
    expected = {"supplies": 1999, "overhead": 7000, "floor": 48691, "fair": 55994}
    if files.digits == 3:  # the same to a thousandth of a dinar
        assert answer["floor"] == "48.691"
    assert {name: answer[name] for name in expected} == {
        name: files.plain(n * scale) for name, n in expected.items()
    }
    assert answer["hourly"] == files.plain(hourly * scale)
    for name, hours, shelved in (("needed", IN_ALL, 0), ("needed_for_all", WORKED, 1999)):
        an_hour = (hours * 1500 + shelved + RUNNING - OTHER) / SOLD
        price = ((25 * an_hour + 1999) / Decimal("0.955")).to_integral_value(ROUND_CEILING)
        assert answer[name] == files.plain(price * scale)


# From 26 November 2025 to today. Sold by the hour: heron, owl, toad, W-1 and wren; with them the class. Made: those
# but wren, finished before; moth; the class. Running: twelve months of overhead, 9001 + 4503 + 4007 of shows, the kiln.
# Other: class and patrons, less what went back for toad; pins, what is kept of W-3 and toad's second sale, less fees.
SOLD = Decimal("21.5") + Decimal("30.25") + 11 + 22 + 16
IN_ALL = SOLD + 9
WORKED = Decimal("21.5") + Decimal("30.25") + 11 + 22 + 25 + 9
RUNNING = Decimal(12 * 21000 + 9001 + 4503 + 4007 + 8889)
OTHER = 30011 + 5003 - 20001 + (2507 + 8001 + 31111) * Decimal("0.955")
