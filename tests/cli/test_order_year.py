"""A year of an invented studio through the commands: three rounds, one of each kind, and all its money.

Every amount is worked out by hand from the studio's terms: 30 % deposit, two instalments up to 500 and three
above, the deposit kept when the client calls off, work done charged as its share of the price.
"""

from __future__ import annotations

import json
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from sitegen.sources import read
from sitegen.studio.commission import Order, same_person
from sitegen.studio.offers import takes_slot
from sitegen.studio.order_steps import HOLDING, round_of
from tests import makers
from tests.cli.runner import on

BOOK = """\
# The year's order book.
tiers:
  - name: Small figure
    from_price: 420
rounds:
  - name: Spring 2027
    opens: 2027-01-16 12:00
    closes: 2027-01-23 20:00
    slots: 3
    way: draw
    sources:
      - {name: Example Lottery of 28 January, due: 2027-01-28}
      - {name: Example Numbers of 29 January, due: 2027-01-29}
  - name: Summer 2027
    opens: 2027-06-01 12:00
    closes: 2027-06-02 12:00
    slots: 2
    way: first come
  - name: Autumn 2027
    opens: 2027-09-01 12:00
    slots: 2
    way: waiting list
queue:
waiting:
  - since: 2026-03-01   # rang from the ferry
    private: {name: Wilma, email: wilma@mail.example}
  - since: 2026-04-01
    private: {name: nobody knows, email: HOLDER@mail.example}
  - since: 2026-05-01
    private: {name: Xaver, email: xaver@mail.example}
"""


class Year:
    """A studio whose commands are run day by day; after each, nobody may hold two slots."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.came = Decimal(0)
        self.went = Decimal(0)

    def run(self, day: str, *words: str) -> str:
        result = on(day, self.folder, *words)
        assert result.exit_code == 0, f"{words}: {result.output}"
        self.check()
        return result.stdout

    def asks(self, day: str, *words: str) -> Any:
        return json.loads(self.run(day, *words, "--json"))

    def refused(self, day: str, *words: str) -> str:
        before = self.text()
        result = on(day, self.folder, *words)
        assert (result.exit_code, self.text()) == (1, before), result.output
        return result.stderr

    def pays(self, day: str, code: str, amount: str, *more: str) -> None:
        self.came += Decimal(amount)
        self.run(day, "order", "paid", code, amount, *more)

    def returns(self, day: str, code: str, amount: str) -> None:
        self.went += Decimal(amount)
        self.run(day, "order", "refund", code, amount)

    def request(self, when: str, who: str) -> str:
        words = ["order", "add", "--tier", "Small figure", "--email", f"{who}@mail.example", "--on", when]
        return str(self.asks(when[:10], *words)["code"])

    def text(self) -> str:
        return (self.folder / "commissions.yaml").read_text(encoding="utf-8")

    def order(self, code: str) -> Order:
        return next(order for order in read(self.folder).sound().commissions.queue if order.code == code)

    def who(self, code: str) -> str:
        return self.order(code).private.email.partition("@")[0].lower()

    def check(self) -> None:
        book = read(self.folder).sound().commissions
        holding = [order for order in book.queue if order.step in HOLDING]
        assert [
            pair for pair in combinations(holding, 2) if same_person(pair[0].private, pair[1].private)
        ] == []
        for one in book.rounds:
            assert sum(takes_slot(order) for order in book.queue if round_of(book, order) == one) <= one.slots
        assert all(order.moves[-1].step is order.step for order in book.queue)
        assert self.text().startswith("# The year's order book.\n")


@pytest.fixture
def year(tmp_path: Path) -> Year:
    made = makers.studio(tmp_path / "s", pieces={})
    makers.write(made / "commissions.yaml", BOOK)
    return Year(made)


def spring(year: Year) -> list[str]:
    """Seven letters, six people, one of whom drops out; three slots; return who got one in the end."""
    for number in range(1, 7):
        year.request(f"2027-01-1{number + 2 if number > 3 else 7}", f"p{number}")
    year.request("2027-01-19", "P1")
    year.run("2027-01-24", "draw", "Spring 2027")
    year.run("2027-01-26", "order", "cancel", "S27-5", "--by", "client", "--yes")
    sources = ["--source", "3, 1, 2", "--source", "7"]
    drawn = [f"S27-{number}" for number in year.asks("2027-01-30", "draw", "Spring 2027", *sources)["order"]]
    drawn.remove("S27-5")

    first = year.asks("2027-01-30", "order", "offer", "Spring 2027", "--yes")
    assert (first["offered"], first["until"]) == (drawn[:3], "2027-02-13")
    assert "all slots of Spring 2027 are taken" in year.refused(
        "2027-01-30", "order", "offer", "Spring 2027", "--yes"
    )
    year.run("2027-02-02", "order", "move", drawn[0], "accepted", "--price", "431.01")
    year.run("2027-02-03", "order", "cancel", drawn[1], "--by", "client", "--why", "a roof", "--yes")
    assert year.asks("2027-02-03", "order", "offer", "Spring 2027", "--yes")["offered"] == [drawn[3]]
    year.run("2027-02-10", "order", "move", drawn[3], "accepted", "--price", "640")
    assert year.asks("2027-02-13", "order", "lapsed", "--yes")["lapsed"] == []
    passed = year.asks("2027-02-14", "order", "lapsed", "--yes")
    assert (passed["lapsed"], passed["offered"]) == ([drawn[2]], [drawn[4]])
    assert year.asks("2027-02-14", "order", "lapsed", "--yes")["lapsed"] == []
    year.run("2027-02-20", "order", "move", drawn[4], "accepted", "--price", "999.99")
    return [drawn[0], drawn[3], drawn[4]]


def pay_late_too_much_and_ship(year: Year, code: str) -> None:
    """431.01: deposit 129.30 (129.303), then 150.86 and 150.85; ten too much come and go back."""
    year.pays("2027-02-02", code, "129.30")
    year.run("2027-02-22", "order", "move", code, "on the bench")
    year.run("2027-02-23", "order", "hours", code, "sculpting", "7.5")
    parts = year.asks("2027-03-10", "plan", code)["parts"]
    assert [(part["amount"], part["due"], part["standing"]) for part in parts] == [
        ("129.30", "2027-02-02", "paid"), ("150.86", "2027-03-02", "late"), ("150.85", "2027-04-02", "to come"),
    ]  # fmt: skip
    assert "A payment for your order" in year.run("2027-03-10", "order", "letter", code)
    year.pays("2027-03-20", code, "150.86")
    year.run("2027-04-01", "order", "move", code, "finished")
    assert "150.85 EUR is still owed" in year.refused("2027-04-01", "order", "move", code, "paid")
    assert "can go to paid" in year.refused("2027-04-01", "order", "move", code, "shipped")
    assert "10.00 EUR too much" in year.refused("2027-04-02", "order", "paid", code, "160.85")
    year.pays("2027-04-02", code, "160.85", "--more")
    year.run("2027-04-02", "order", "move", code, "paid")
    year.returns("2027-04-03", code, "10")
    year.run("2027-04-05", "order", "move", code, "shipped")


def call_off_on_the_bench(year: Year, code: str) -> None:
    """640: deposit 192, then 149.34; 60 % of the work is 384, more than the 341.34 paid: all of it is kept."""
    year.pays("2027-02-10", code, "192")
    year.run("2027-04-06", "order", "move", code, "on the bench")
    year.pays("2027-03-10", code, "149.34")
    words = ["order", "cancel", code, "--by", "client", "--work", "60%", "--yes"]
    ended = year.asks("2027-04-20", *words)
    assert (ended["paid"], ended["kept"], ended["returned"], ended["claimed"]) == (
        "341.34",
        "341.34",
        "0.00",
        "0.00",
    )


def call_off_by_the_maker(year: Year, code: str) -> None:
    """999.99: deposit 300.00 (299.997); the maker ends it before the bench, so all goes back."""
    year.pays("2027-02-20", code, "300")
    words = ["order", "cancel", code, "--by", "maker", "--why", "a broken wrist", "--yes"]
    assert year.asks("2027-04-21", *words)["returned"] == "300.00"
    assert year.asks("2027-04-21", "books")["to_return"] == "300.00"
    year.returns("2027-04-23", code, "300")


def summer(year: Year) -> None:
    """The quickest letters first; 500.00 is paid and sent, 420.50 is under way when the year ends."""
    late = year.request("2027-06-01 12:06", "late")
    holder = year.request("2027-06-01 12:04", "holder")
    refused = year.request("2027-06-01 12:03", "refused")
    quick = year.request("2027-06-01 12:02", "quick")
    year.request("2027-06-01 12:05", "QUICK")
    assert year.asks("2027-06-03", "order", "offer", "Summer 2027", "--yes")["offered"] == [quick, refused]
    year.run("2027-06-04", "order", "move", quick, "accepted", "--price", "500.00")
    for amount in ("150", "175", "175"):
        year.came += Decimal(amount)
        year.run("2027-06-05", "order", "paid", quick, amount, "--again")
    for day, step in enumerate(["on the bench", "finished", "paid", "shipped"], start=6):
        year.run(f"2027-07-{day:02d}", "order", "move", quick, step)
    year.run("2027-06-10", "order", "decline", refused, "--why", "It would need a kiln.")
    assert year.asks("2027-06-10", "order", "offer", "Summer 2027", "--yes")["offered"] == [holder]
    year.run("2027-06-12", "order", "move", holder, "accepted", "--price", "420.50")
    year.pays("2027-06-12", holder, "126.15")
    year.pays("2027-07-12", holder, "147.18")
    assert "all slots of Summer 2027 are taken" in year.refused(
        "2027-07-12", "order", "offer", "Summer 2027", "--yes"
    )
    assert year.order(late).step == "request"


def autumn(year: Year) -> None:
    """Whoever waits longest, but for one who holds a slot; one pays 210 and calls off, one never answers."""
    made = year.asks("2027-09-02", "order", "offer", "Autumn 2027", "--yes")["offered"]
    assert [year.who(code) for code in made] == ["wilma", "xaver"]
    assert "# rang from the ferry" in year.text()
    year.run("2027-09-05", "order", "move", made[0], "accepted", "--price", "700")
    year.pays("2027-09-06", made[0], "210")
    ended = year.asks("2027-09-20", "order", "cancel", made[0], "--by", "client", "--yes")
    assert (ended["kept"], ended["returned"]) == ("210.00", "0.00")
    passed = year.asks("2027-09-30", "order", "lapsed", "--yes")
    assert (passed["lapsed"], passed["offered"]) == ([made[1]], [])


@pytest.mark.slow
def test_at_the_end_of_the_year_all_money_adds_up_and_nobody_held_two_slots(year: Year) -> None:
    one, two, three = spring(year)
    pay_late_too_much_and_ship(year, one)
    call_off_on_the_bench(year, two)
    call_off_by_the_maker(year, three)
    assert "nobody is in line for Spring 2027; 1 of 3 are free" in year.refused(
        "2027-04-24", "order", "offer", "Spring 2027", "--yes"
    )
    summer(year)
    autumn(year)

    books = year.asks("2027-12-31", "books")
    listed = year.asks("2027-12-31", "order", "list", "--all")["orders"]
    sold, kept, advance = Decimal("931.01"), Decimal("551.34"), Decimal("273.33")
    assert Decimal(books["income"]["commissions"]) == sold + kept
    assert (Decimal(books["in_advance"]), books["to_return"]) == (advance, "0.00")
    assert (year.came, year.went) == (Decimal("2065.68"), Decimal("310"))
    assert year.came - year.went == sold + kept + advance
    assert [book["balance"] for book in books["owed"]] == ["147.17"]
    assert sorted({line["step"] for line in listed}) == [
        "accepted", "called off", "declined", "lapsed", "request", "shipped", "withdrawn",
    ]  # fmt: skip
