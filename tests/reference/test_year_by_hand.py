"""A year worked by hand, held against screen, JSON and CSV: plans, a return, a called-off order, two shows.

No outside source has such a year; the sums were done with pencil from the files below, without the program.

Income of 2026, on the day it counts
    shows        owl 500, a booklet at the same table 12                                          512.00
    originals    hare 400, back -400, sold again 420; vole 350; shrew 200 (50 of it paid)          970.00
    commissions  A 800; B called off, 150 kept; D sent off, 150 + 200 came of 500; E 300 - 50     1550.00
    classes 240, supporters 55                                                                     295.00
                                                                                                  3327.00
Selling takes 3 % of 500 + 12 + 400 + 420 + 350 + 200 + 800 + 150 + 150 + 200 + 300 = 3482         104.46
Supplies owl 30, hare 20 (once), vole 15, D's dormouse 25, shrew 10                                100.00
Shows 120 + 90; overhead 12 x 100; a kiln 180                                                     1590.00
                                                                                     left         1532.54
Hours in what was sold: owl 20, hare 15, vole 12, shrew 8, A 25, B 6, D 18, E 9, class 6 = 119: 12.88 an hour
Hours on record: owl 20, toad 30, hare 15, vole 12, dormouse 18, shrew 8, newt 10, A 25, B 6, E 9, class 6 = 159
Came in: 500 + 12 + toad 390 + hare 420 + vole 360 + shrew 50 + A 800 + B 150 + C 200 + D 350 + E 250 + 295 = 3777
Stands at the end: toad 390 and C 200 in advance; vole 10 to go back; shrew 150 sold and unpaid
    3777 = 3327 + 590 + 10 - 150

If the coming year sells as 2026 did, what toad (30 h, supplies 45) must cost, at 28 an hour
    Sold by the hour: owl 20, hare 15, vole 12, shrew 8, A 25, D 18, E 9 = 107 h
    Other income, less 3 %: booklet 11.64, hare again 407.40, B 145.50; hare -400, E -50, class 240, supporters 55
                                                                                           409.54
    119 h x 28 = 3332 and 1590 running, less 409.54 = 4512.46; / 107 = 42.17252 an hour
    30 x 42.17252 + 45 = 1310.1757; / 0.97 = 1350.697                                     1350.70
    If the shelf never sold: 159 x 28 + 1590 + toad's 45 - 409.54 = 5677.46; / 107 = 53.06037
    30 x 53.06037 + 45 = 1636.811; / 0.97 = 1687.434                                      1687.44

2027, up to 10 February: toad sold for 600, of which 210 came in January; vole's 10 went back
    600 - 3 % 18 - 45 - 2 x 100 = 337.00; 30 h: 11.23; came in 200; C's 200 in advance, shrew's 150 unpaid
"""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests import makers
from tests.cli.runner import on

TODAY = "2027-02-10"


def piece(title: str, finished: str, private: str, status: str = "sold") -> str:
    return makers.piece_yaml(title, status=status, price="", finished=finished, number="", private=private)


PIECES = {
    "owl": piece("Owl", "2026-03-01", """
  hours: {all: 20}
  supplies: [{what: eyes, cost: 30}]
  sold: {on: 2026-04-18, price: 500, stream: shows}"""),
    "toad": piece("Toad", "2026-10-01", """
  hours: {all: 30}
  supplies: [{what: wool, cost: 45}]
  plan: {to: Ada, from: 2026-11-01, price: 600, paid: 2026-11-01 180; 2026-12-01 210; 2027-01-02 210}
  sold: {on: 2027-01-02, price: 600}"""),
    "hare": piece("Hare", "2026-05-01", """
  hours: {all: 15}
  supplies: [{what: fur, cost: 20}]
  sold:
    - {on: 2026-05-10, price: 400, returned: 2026-07-01, refund: 400}
    - {on: 2026-09-01, price: 420}"""),
    "vole": piece("Vole", "2026-03-20", """
  hours: {all: 12}
  supplies: [{what: fur, cost: 15}]
  plan: {to: Bea, from: 2026-03-01, price: 350, paid: 2026-03-01 100; 2026-04-01 260; 2027-01-15 -10}
  sold: {on: 2026-04-01, price: 350}"""),
    "shrew": piece("Shrew", "2026-12-01", """
  hours: {all: 8}
  supplies: [{what: fur, cost: 10}]
  plan: {to: Cyd, from: 2026-12-15, price: 200, paid: 2026-12-15 50}
  sold: {on: 2026-12-15, price: 200}"""),
    "dormouse": piece("Dormouse", "2026-09-01", """
  order: D
  hours: {all: 18}
  supplies: [{what: fur, cost: 25}]""", "commissioned"),
    "newt": piece("Newt", "2026-01-10", "\n  hours: {all: 10}"),
}  # fmt: skip
QUEUE = """queue:
  - {code: A, tier: Small figure, step: shipped, since: 2026-06-20, moves: 2026-06-10 finished; 2026-06-20 shipped,
     private: {name: An, price: 800, paid: 2026-02-01 240; 2026-04-01 280; 2026-06-15 280, hours: {all: 25}}}
  - {code: B, tier: Small figure, step: called off, since: 2026-08-10, moves: 2026-08-10 called off,
     private: {name: Bo, price: 700, paid: 2026-07-01 240; 2026-08-20 -90, kept: 150, hours: {all: 6}}}
  - {code: C, tier: Small figure, step: accepted, since: 2026-12-18, moves: 2026-12-18 accepted,
     private: {name: Cy, price: 900, paid: 2026-12-20 200}}
  - {code: D, tier: Small figure, step: shipped, since: 2026-10-01, moves: 2026-10-01 shipped,
     private: {name: Di, price: 500, paid: 2026-08-01 150; 2026-10-20 200}}
  - {code: E, tier: Small figure, step: shipped, since: 2026-11-05, moves: 2026-10-30 finished; 2026-11-05 shipped,
     private: {name: Ed, price: 300, paid: 2026-09-01 300; 2026-12-01 -50, hours: {all: 9}}}
"""
OWN = """  takings:
    - {on: 2026-03-07, what: Saturday class, stream: classes, amount: 240, hours: 6}
    - {on: 2026-06-30, what: supporters, stream: supporters, amount: 55}
    - {on: 2025-06-30, what: supporters, stream: supporters, amount: 99}
  expenses: [{on: 2026-02-02, what: kiln, amount: 180}, {on: 2025-12-31, what: course, amount: 20}]
"""


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = makers.studio(tmp_path_factory.mktemp("year") / "s", PIECES)
    settings = makers.STUDIO.replace("overhead: 310", "overhead: 100").rstrip() + "\n" + OWN
    makers.write(folder / "studio.yaml", settings)
    tiers = makers.COMMISSIONS.split("queue:", maxsplit=1)[0]
    makers.write(folder / "commissions.yaml", tiers + QUEUE)
    (folder / "shows" / "quayside-2027.yaml").unlink()
    makers.write(folder / "shows" / "spring.yaml", show("Spring Fair", "2026-04-18", 120)
                 + "  sales: [{what: owl, price: 500}, {what: booklet, price: 12}]\n")  # fmt: skip
    makers.write(folder / "shows" / "winter.yaml", show("Winter Fair", "2026-12-05", 90))
    return folder


def show(name: str, day: str, cost: int) -> str:
    return f"name: {name}\nfrom: {day}\nprivate:\n  costs: [{{what: table, cost: {cost}}}]\n"


def books(studio: Path, year: int) -> Any:
    done = on(TODAY, studio, "books", "--year", str(year), "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_2026(studio: Path) -> None:
    year = books(studio, 2026)

    assert year["income"] == {
        "originals": "970.00", "commissions": "1550.00", "shows": "512.00", "classes": "240.00",
        "supporters": "55.00", "other": "0.00",
    }  # fmt: skip
    assert year["total"] == "3327.00"
    assert year["costs"] == {
        "fees": "104.46", "supplies": "100.00", "shows": "210.00", "overhead": "1200.00", "expenses": "180.00",
    }  # fmt: skip
    assert (year["left"], year["hours"], year["hourly"]) == ("1532.54", "119", "12.88")
    assert year["worked"] == "159"
    assert year["received"] == "3777.00"
    assert (year["in_advance"], year["to_return"], year["unpaid"]) == ("590.00", "10.00", "150.00")
    assert (year["in_advance_before"], year["to_return_before"], year["unpaid_before"]) == ("0.00",) * 3
    assert {one["name"]: (one["sales"], one["costs"], one["left"]) for one in year["shows"]} == {
        "Spring Fair": ("512.00", "120.00", "392.00"), "Winter Fair": ("0.00", "90.00", "-90.00"),
    }  # fmt: skip


def test_2027_goes_on_from_there(studio: Path) -> None:
    year = books(studio, 2027)

    assert (year["total"], year["left"], year["hours"], year["hourly"]) == ("600.00", "337.00", "30", "11.23")
    assert year["received"] == "200.00"
    assert (year["in_advance_before"], year["to_return_before"], year["unpaid_before"]) == (
        "590.00", "10.00", "150.00",
    )  # fmt: skip
    assert (year["in_advance"], year["to_return"], year["unpaid"]) == ("200.00", "0.00", "150.00")


def test_what_a_price_must_be_if_the_next_year_sells_alike(studio: Path) -> None:
    """On the last day of 2026 the twelve months are that year."""
    worth = json.loads(on("2026-12-31", studio, "piece", "worth", "toad", "--json").stdout)
    told = on("2026-12-31", studio, "piece", "worth", "toad").output

    assert (worth["from"], worth["to"]) == ("2026-01-01", "2026-12-31")
    assert (worth["needed"], worth["needed_for_all"]) == ("1350.70", "1687.44")
    assert worth["overhead_worked"] == "300.00"  # 30 x 1590 / 159
    for words in (
        "From 2026-01-01 to 2026-12-31",
        "1,350.70 EUR",
        "(107 h in pieces and orders)",
        "40 h more",
        "1,687.44 EUR",
    ):
        assert words in told, words


def test_the_twelve_months_go_across_new_year(studio: Path) -> None:
    """From 11 February on toad is sold too, the kiln and newt are before them, and nothing stays on the shelf.

    137 h by the hour, 149 h in all: (149 x 28 + 1410 - 409.54) / 137 = 37.755182; x 30 + 45 = 1177.6555; / 0.97.
    """
    worth = json.loads(on(TODAY, studio, "piece", "worth", "toad", "--json").stdout)
    told = on(TODAY, studio, "piece", "worth", "toad").output

    assert (worth["from"], worth["to"]) == ("2026-02-11", "2027-02-10")
    assert (worth["needed"], worth["needed_for_all"]) == ("1214.08", None)
    assert "more were worked than sold" not in told


def test_2025_holds_what_came_then(studio: Path) -> None:
    """99 from supporters, less twelve months and the course."""
    assert (books(studio, 2025)["total"], books(studio, 2025)["left"]) == ("99.00", "-1121.00")


def test_what_each_left_sums_to_the_whole(studio: Path) -> None:
    """The owl: 500 - 3 % - 30 of supplies = 455; what belongs to no sale stands by itself."""
    results = {book["what"]: Decimal(book["left"]) for book in books(studio, 2026)["results"]}

    assert results["Owl"] == Decimal("455.00")
    assert results["Hare"] == Decimal("775.40")  # 400 + 420 - 3 % of both - 20
    assert results["Hare, returned"] == Decimal("-400.00")
    assert [str(results[name]) for name in ("shows", "overhead", "expenses")] == [
        "-210.00",
        "-1200.00",
        "-180.00",
    ]
    assert sum(results.values()) == Decimal("1532.54")


def test_every_sum_is_in_the_table(studio: Path) -> None:
    done = on(TODAY, studio, "books", "--year", "2026", "--csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))

    def sum_of(*kinds: str) -> Decimal:
        return sum(
            (Decimal(row["in"] or 0) - Decimal(row["out"] or 0) for row in rows if row["kind"] in kinds),
            Decimal(0),
        )

    income = ("sale", "kept", "refund")
    assert sum_of(*income) == Decimal("3327.00")
    assert sum_of("kept") == Decimal("150.00")
    assert sum_of(*income, "fees", "supplies", "show cost", "overhead", "expense") == Decimal("1532.54")
    assert sum_of("received") == Decimal("3777.00")
    assert sum_of("advance at end") == Decimal("590.00")

    def hours_of(*kinds: str) -> Decimal:
        return sum((Decimal(row["hours"] or 0) for row in rows if row["kind"] in kinds), Decimal(0))

    worked = [hours_of(*kinds) for kinds in (income, ["hours worked"], ["hours planned"])]
    assert worked == [119, 159, 1248]
    late = [(row["what"], row["out"] or row["in"]) for row in rows if row["kind"] == "of it late"]
    assert late == [("C", "70.00")]  # of a deposit of 30 % of 900, 13 days after it was due


SCREEN = """\
The books of 2026

originals                  970.00 EUR
commissions              1,550.00 EUR
shows                      512.00 EUR
classes                    240.00 EUR
supporters                  55.00 EUR
income                   3,327.00 EUR
fees                      -104.46 EUR
supplies                  -100.00 EUR
shows                     -210.00 EUR
overhead                -1,200.00 EUR
expenses                  -180.00 EUR
left                     1,532.54 EUR
an hour sold (119 h)        12.88 EUR
an hour worked (159 h)       9.64 EUR

By stream          income        cost          left  an hour, before overhead and other expenses
originals      970.00 EUR   86.10 EUR    883.90 EUR  25.25 EUR (35 h)
commissions  1,550.00 EUR   73.00 EUR  1,477.00 EUR  25.47 EUR (58 h)
shows          512.00 EUR  255.36 EUR    256.64 EUR  12.83 EUR (20 h)
classes        240.00 EUR    0.00 EUR    240.00 EUR  40.00 EUR (6 h)
supporters      55.00 EUR    0.00 EUR     55.00 EUR

Overhead, shows and other expenses, 1,590.00 EUR, come to this an hour:
 1.27 EUR  of 1248 h your weeks have room for
10.00 EUR  of 159 h on record for what was made
13.36 EUR  of 119 h in what was sold

What it left
Saturday class      240.00 EUR   6 h
Vole                324.50 EUR  12 h
Owl                 455.00 EUR  20 h
booklet              11.64 EUR
Hare                775.40 EUR  15 h
A, Small figure     776.00 EUR  25 h
supporters           55.00 EUR
Hare, returned     -400.00 EUR
B, called off       145.50 EUR   6 h
D, Small figure     314.50 EUR  18 h
E, Small figure     241.00 EUR   9 h
Shrew               184.00 EUR   8 h
shows              -210.00 EUR
overhead         -1,200.00 EUR
expenses           -180.00 EUR
left              1,532.54 EUR

Shows        sold        cost        left, before the hours and supplies of what was sold
Spring Fair  512.00 EUR  120.00 EUR  392.00 EUR
Winter Fair  0.00 EUR    90.00 EUR   -90.00 EUR

Paid in advance for work not yet sold: 590.00 EUR
To go back (called off, or paid too much): 10.00 EUR
Sold and not paid yet: 150.00 EUR
Came in during the year, less what went back, 540.00 EUR: 3,777.00 EUR

Still to come  paid        to pay      due by now
C              200.00 EUR  700.00 EUR  70.00 EUR   late
D              350.00 EUR  150.00 EUR  150.00 EUR
shrew          50.00 EUR   150.00 EUR  150.00 EUR
toad           390.00 EUR  210.00 EUR  0.00 EUR
"""


def test_the_screen_says_the_same_and_names_what_is_missing(studio: Path) -> None:
    """Each sum as above; what each left: its price less 3 % and its supplies; 1590 over each kind of hours."""
    told = on(TODAY, studio, "books", "--year", "2026", "--why").output

    # Words and sums; how columns are set is the terminal's own test.
    assert re.sub(" +", " ", told).startswith(re.sub(" +", " ", SCREEN))
    assert told.count("Look: ") == 4
    assert "pieces/newt/piece.yaml says sold, but not for how much" in told
    owed = {book["code"]: book["balance"] for book in books(studio, 2027)["owed"]}
    assert owed["D"] == "150.00"
    assert owed["C"] == "700.00"
    assert owed["shrew"] == "150.00"
    assert set(owed) == {"C", "D", "shrew"}  # what went back to E after it was sent isn't asked for again
