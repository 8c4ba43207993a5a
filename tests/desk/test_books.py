"""The books: nothing twice, nothing lost, and a table that a spreadsheet can open safely."""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal

import pytest

from sitegen.desk.books import books
from sitegen.studio.asked import Fault
from sitegen.studio.purses import Balance
from sitegen.studio.text import guarded
from tests.desk.studios import TODAY, piece, queued, settings, studio

HARE = {"hours": {"all": "10"}, "supplies": [{"what": "eyes", "cost": "20"}]}


def sold(price: str, stream: str, on: str = "2026-04-18", **more: str) -> dict[str, str]:
    return {"on": on, "price": price, "stream": stream, **more}


def fair(*sales: dict[str, str]) -> dict[str, object]:
    costs = [{"what": "table", "cost": "100"}]
    return {
        "slug": "fair", "name": "Fair", "from": "2026-04-18", "to": "2026-04-19",
        "private": {"costs": costs, "sales": list(sales)},
    }  # fmt: skip


def test_a_piece_sold_at_a_show_counts_once() -> None:
    made = [piece("hare", private={**HARE, "sold": sold("500", "shows")})]
    shows = [fair({"what": "hare", "price": "500"}, {"what": "pin moths", "price": "60"})]

    found = books(studio(made, shows=shows), 2026, TODAY)

    assert found.income["shows"] == Decimal(560)
    assert found.total == Decimal(560)
    assert (found.shows[0].sales, found.shows[0].costs, found.shows[0].left) == (
        Decimal(560),
        Decimal(100),
        Decimal(460),
    )


def test_the_year_worked_by_hand() -> None:
    """Fees 3 % of 560 = 16.80; supplies 20; show 100; overhead 11 x 10; left 313.20 over ten hours."""
    made = [piece("hare", private={**HARE, "sold": sold("500", "shows")})]
    shows = [fair({"what": "pin moths", "price": "60"})]

    answer = books(studio(made, shows=shows, own=settings(overhead="10")), 2026, TODAY).as_answer()

    assert answer["total"] == "560.00"
    assert answer["costs"] == {
        "fees": "16.80",
        "supplies": "20.00",
        "shows": "100.00",
        "overhead": "110.00",
        "expenses": "0.00",
    }
    assert (answer["left"], answer["hours"], answer["hourly"]) == ("313.20", "10", "31.32")
    # 560.00 less 100.00, 3 % of 560.00 and eyes for 20.00; over ten hours.
    assert answer["shows"] == [
        {
            "name": "Fair", "sales": "560.00", "costs": "100.00", "left": "460.00",
            "earned": "423.20", "hours": "10", "hourly": "42.32",
        }
    ]  # fmt: skip


def test_a_piece_sold_at_the_table_on_its_own_line_only_is_not_lost() -> None:
    found = books(
        studio([piece("hare", private=HARE)], shows=[fair({"what": "hare", "price": "500"})]), 2026, TODAY
    )

    assert (found.total, found.hours) == (Decimal(500), Decimal(10))


@pytest.mark.parametrize(
    ("written", "counted", "cure"),
    [
        ("old-hare", 500, "Write `was: old-hare` into pieces/hare/piece.yaml."),
        ("hase", 500, "Write `was: hase` into pieces/hare/piece.yaml."),
        ("HARE", 500, "Write `what: hare` there."),
        ("Hare, small print", 1000, ""),
    ],
)
def test_a_line_of_a_show_that_means_a_piece_counts_once(written: str, counted: int, cure: str) -> None:
    """By an earlier folder or by its title; whoever sold it there, at that price, sold no second thing."""
    made = piece("hare", private={**HARE, "sold": sold("500", "shows")})
    found = books(studio([made], shows=[fair({"what": written, "price": "500"})]), 2026, TODAY)

    assert {found.total, found.shows[0].sales} == {Decimal(counted)}
    assert [look.endswith(cure) for look in found.cautions] == [True] * bool(cure)


@pytest.mark.parametrize(
    "sale",
    [
        sold("500", "originals"),
        sold("490", "shows"),
        sold("500", "shows", "2026-04-20"),
        sold("500", "shows", "2026-04-17"),
    ],
)
def test_a_line_that_means_no_piece_is_a_sale_of_its_own(sale: dict[str, str]) -> None:
    """Sold elsewhere, for another price, or on another day than the fair's two."""
    made = piece("hare", private={**HARE, "sold": sale})
    found = books(studio([made], shows=[fair({"what": "old-hare", "price": "500"})]), 2026, TODAY)

    assert found.total == Decimal(sale["price"]) + 500
    assert found.cautions == ()


def test_a_piece_sold_at_a_fair_that_no_line_names_is_that_fairs_by_its_day() -> None:
    """Two fairs; one piece sold on each one's days, and one by post in between."""
    later = {**fair(), "slug": "later", "name": "Later", "from": "2026-06-06", "to": "2026-06-07"}
    days = {"a": ("2026-04-19", "shows"), "b": ("2026-06-07", "shows"), "c": ("2026-06-06", "originals")}
    made = [
        piece(name, private={**HARE, "sold": sold(str(100 + n), stream, day)})
        for n, (name, (day, stream)) in enumerate(days.items())
    ]
    found = books(studio(made, shows=[fair(), later]), 2026, TODAY)

    assert [(one.name, one.sales) for one in found.shows] == [("Fair", Decimal(100)), ("Later", Decimal(101))]


@pytest.mark.parametrize("written", ["hare", "old-hare"])
def test_a_line_stands_for_the_sale_on_its_days(written: str) -> None:
    """Sold by post for 400, back, sold at the fair for 420: the fair brought 420, all in all 420."""
    sales = [
        {**sold("400", "originals", "2026-01-10"), "returned": "2026-02-01", "refund": "400"},
        sold("420", "shows", "2026-04-19"),
    ]
    made = piece("hare", private={**HARE, "sold": sales})
    found = books(studio([made], shows=[fair({"what": written, "price": "420"})]), 2026, TODAY)

    assert (found.total, found.shows[0].sales) == (Decimal(420), Decimal(420))
    assert ["was: old-hare" in look for look in found.cautions] == [True] * (written != "hare")


def test_two_lines_alike_mean_a_piece_once() -> None:
    """Of two lost lines one is the piece; the other is a sale."""
    made = piece("hare", private={**HARE, "sold": sold("500", "shows")})
    lines = [{"what": name, "price": "500"} for name in ("old-hare", "older-hare")]

    assert books(studio([made], shows=[fair(*lines)]), 2026, TODAY).total == 1000


def test_money_by_a_plan_without_a_price_stands_against_the_pieces() -> None:
    """550 came of a piece for 500: 50 are to go back."""
    plan = {"to": "Ada", "from": "2026-10-01", "paid": "2026-10-02 550"}
    over = piece("owl", status="on hold", price="500", private={"plan": plan})

    assert books(studio([over]), 2026, TODAY).after == Balance(advance=Decimal(500), back=Decimal(50))


@pytest.mark.parametrize(
    ("paid", "total", "stands"),
    [
        ("2026-03-01 420; 2026-03-15 -20", 400, Balance()),  # before the sale: nobody's income yet
        ("2026-03-01 420; 2026-05-01 -20", 400, Balance()),  # just what was too much
        ("2026-03-01 420; 2026-05-01 -50", 370, Balance()),  # 20 were too much, 30 are taken back
        (
            "2026-03-01 430; 2026-05-01 -10; 2026-06-01 -40",
            380,
            Balance(),
        ),  # 10 and 20 too much, 20 taken back
        ("2026-03-01 400; 2026-05-01 -10; 2026-06-01 -5", 385, Balance()),
        (
            "2026-03-01 400; 2026-05-01 -10; 2026-06-01 20",
            390,
            Balance(back=Decimal(20)),
        ),  # a gift, then 20 by mistake
        ("2026-03-01 400; 2026-05-01 -10; 2026-05-01 10", 400, Balance()),  # there and back in one day
        ("2026-03-01 400; 2026-04-01 -10", 390, Balance()),  # on the very day
        (
            "2026-03-01 300; 2026-05-01 -10",
            390,
            Balance(open=Decimal(100)),
        ),  # a gift of one who owes 100 still
    ],
)
def test_money_sent_back_after_a_sale_is_income_taken_back_beyond_what_was_too_much(
    paid: str, total: int, stands: Balance
) -> None:
    """Of a sale for 400 on 1 April; worked out with pencil, line by line."""
    plan = {"to": "Ada", "from": "2026-03-01", "paid": paid}
    made = piece("owl", price="400", private={"plan": plan, "sold": sold("400", "originals", "2026-04-01")})
    found = books(studio([made]), 2026, TODAY)

    assert (found.total, found.after) == (Decimal(total), stands)


def test_without_weekly_hours_nothing_is_said_of_hours_planned() -> None:
    made = piece("hare", finished="2026-02-01", private={**HARE, "sold": sold("500", "shows")})
    found = books(studio([made], own=settings(weekly_hours=None)), 2026, TODAY)

    assert [found.planned, found.worked] == [0, 10]
    assert "your weeks have room for" not in "".join(found.lines())


def test_money_towards_a_commission_is_in_advance_until_its_piece_is_sold() -> None:
    queue = [
        queued("Q-1", since="2026-10-01", private={"price": "400", "paid": "2026-10-01 120; 2026-11-02 50"})
    ]
    made = piece("wren", private={"order": "Q-1", "sold": sold("400", "commissions", "2026-11-20")})

    before = books(studio([], queue), 2026, TODAY)
    after = books(studio([made], queue), 2026, TODAY)

    assert (before.total, before.after.advance) == (Decimal(0), Decimal(170))
    assert (after.total, after.after.advance) == (Decimal(400), Decimal(0))


def test_an_order_is_income_from_the_day_it_was_sent_and_owed_by_what_had_come_by_then() -> None:
    """Paid 100 in 2024, 250 in 2025 when it was sent, 150 in 2026; the books of each year tell that year."""
    moves = "2024-11-01 accepted; 2025-03-01 shipped"
    paid = "2024-11-01 100; 2025-03-01 250; 2026-02-01 150"
    order = queued("Q-1", "shipped", moves=moves, since="2025-03-01", private={"price": "500", "paid": paid})
    told = [books(studio([], [order]), year, TODAY) for year in (2024, 2025, 2026)]

    assert [year.total for year in told] == [0, 350, 150]
    assert [year.received for year in told] == [100, 250, 150]
    assert [year.after.advance for year in told] == [100, 0, 0]
    assert [[owed.balance for owed in year.owed] for year in told[1:]] == [[150], []]


BACK = {**sold("300", "originals", "2026-02-01"), "returned": "2026-03-01", "refund": "300"}


@pytest.mark.parametrize(
    ("start", "sales", "year", "owes"),
    [
        ("2026-01-10", [], 2025, []),  # nobody had agreed to anything yet
        ("2025-12-31", [], 2025, ["300.50"]),
        ("2026-01-10", [], 2026, ["300.50"]),
        (
            "2026-01-10",
            [sold("300.50", "originals", "2026-11-25")],
            2026,
            ["300.50"],
        ),  # sold today, and nothing came
        ("2026-01-10", [BACK], 2026, []),  # the plan was that of the one who sent it back
        ("2026-03-01", [BACK], 2026, ["300.50"]),  # and this one began on the day it came back
    ],
)
def test_the_plan_of_a_pieces_buyer_is_owed_while_it_runs(
    start: str, sales: list[dict[str, str]], year: int, owes: list[str]
) -> None:
    plan = {"to": "Ada", "from": start, "price": "300.50"}
    one = piece("owl", status="on hold", private={"plan": plan, "sold": sales})

    assert [str(owed.balance) for owed in books(studio([one]), year, TODAY).owed] == owes


def test_a_year_holds_its_first_and_its_last_day_and_no_other() -> None:
    """One of everything on each of four days: two of them are days of 2025."""
    days = ["2024-12-31", "2025-01-01", "2025-12-31", "2026-01-01"]
    takings = [
        {"on": day, "what": "class", "stream": "classes", "amount": "10", "hours": "3"} for day in days
    ]
    own = settings(
        takings=takings, overhead="0", expenses=[{"on": day, "what": "kiln", "amount": "2"} for day in days]
    )
    made = [
        piece(
            f"p-{day}", finished=day, private={"hours": {"all": "5"}, "sold": sold("100", "originals", day)}
        )
        for day in days
    ]
    shows = [{**fair(), "slug": f"f-{day}", "name": day, "from": day, "to": day} for day in days]
    found = books(studio(made, shows=shows, own=own), 2025, TODAY)

    assert [found.total, found.received, found.costs["expenses"], found.costs["shows"]] == [220, 220, 4, 200]
    assert [found.hours, found.worked] == [16, 16]
    assert [result.name for result in found.shows] == days[1:3]


def test_running_costs_over_no_hours_are_not_spread() -> None:
    lines = books(studio(own=settings(weekly_hours=None)), 2026, TODAY).lines()

    assert "overhead  -3,410.00 EUR" in lines
    assert not [line for line in lines if "come to this an hour" in line]


def test_an_order_accepted_today_is_owed_today() -> None:
    today = queued("Q-1", since=str(TODAY), private={"price": "431"})

    assert [owed.balance for owed in books(studio([], [today]), 2026, TODAY).owed] == [431]


def test_hours_of_an_order_count_once_with_its_piece_and_none_are_missed_where_none_were_worked() -> None:
    """10 h on the piece and 2.5 on its order. Of one called off at once nobody asks for hours."""
    made = piece("hare", private={**HARE, "order": "Q-1", "sold": sold("500", "commissions")})
    order = queued("Q-1", "shipped", private={"price": "500", "hours": {"sketch": "2.5"}})
    ended = queued("Q-2", "called off", private={"price": "400", "paid": "2026-10-01 40", "kept": "40"})
    found = books(studio([made], [order, ended]), 2026, TODAY)

    assert (found.hours, found.no_hours, found.total) == (Decimal("12.5"), (), Decimal(540))


def test_a_refund_noted_in_the_plan_on_the_day_it_came_back_is_the_same_coin() -> None:
    """300 came, the piece came back, and 300 went: nothing is earned, and nothing stands open."""
    sales = [{**sold("300", "originals", "2026-02-01"), "returned": "2026-03-01", "refund": "300"}]
    plan = {"to": "Ada", "from": "2026-01-10", "price": "300", "paid": "2026-01-10 300; 2026-03-01 -300"}
    made = piece("owl", status="available", price="300", private={"plan": plan, "sold": sales})
    found = books(studio([made]), 2026, TODAY)

    assert (found.total, found.received, found.after) == (Decimal(0), Decimal(0), Balance())


def test_one_piece_stands_for_one_of_two_orders_alike() -> None:
    """Two orders of one buyer at one price, and one piece sold so: two sales, not three."""
    made = piece("owl", private={**HARE, "sold": {**sold("500", "commissions"), "to": "An"}})
    pair = [queued(code, "shipped", private={"name": "An", "price": "500"}) for code in ("Q-1", "Q-2")]

    assert books(studio([made], pair), 2026, TODAY).total == 1000


def test_what_is_owed_and_late_by_hand() -> None:
    """Deposit 30 % of 400 = 120 on 1 October; three times 93.33 or .34 monthly; paid 170 of the 306.67 due."""
    queue = [
        queued("Q-1", since="2026-10-01", private={"price": "400", "paid": "2026-10-01 120; 2026-11-02 50"})
    ]

    answer = books(studio([], queue), 2026, TODAY).as_answer()

    assert answer["owed"] == [
        {"code": "Q-1", "paid": "170.00", "balance": "230.00", "due_now": "43.34", "late": True}
    ]


def test_what_the_files_say_differently_is_said_aloud() -> None:
    made = [piece("hare", private={**HARE, "sold": sold("500", "shows")})]
    queue = [queued("Q-1", "shipped", private={"name": "Cara", "price": "300"})]

    found = books(studio(made, queue, [fair({"what": "hare", "price": "480"})]), 2026, TODAY)

    told = found.cautions
    assert found.income["commissions"] == Decimal(300)
    assert len(told) == 2
    assert (
        "says that hare brought 480.00 EUR, its piece.yaml says 500.00 EUR; the piece's is counted."
        in told[0]
    )
    assert (
        "Q-1 is shipped, but no piece says that it was sold for it, so the books count the order" in told[1]
    )
    assert "without supplies; name it with its piece (`order: Q-1` in its `private:`)" in told[1]


def test_an_order_and_its_piece_that_name_two_prices_are_told() -> None:
    """The piece's 450 is counted; of the 500 that came, 50 are to go back."""
    made = piece("owl", private={"order": "Q-1", "sold": sold("450", "commissions", "2026-11-02")})
    order = queued("Q-1", "shipped", private={"price": "500", "paid": "2026-10-01 500"})
    found = books(studio([made], [order]), 2026, TODAY)

    assert found.cautions == (
        "commissions.yaml says that Q-1 costs 500.00 EUR, by pieces/owl/piece.yaml it was sold for 450.00 EUR; that is "
        "counted.",
    )
    assert (found.total, found.after.back) == (Decimal(450), Decimal(50))


def test_what_was_sent_off_is_worked_whatever_its_piece_says() -> None:
    """Its order was finished in October; until then what is noted on the piece isn't of any year."""
    made = piece("owl", status="in progress", private={**HARE, "order": "Q-1"})
    moves = "2026-10-05 finished; 2026-10-09 shipped"

    def worked(order: dict[str, object]) -> Decimal:
        return books(studio([made], [order]), 2026, TODAY).worked

    assert worked(queued("Q-1", "shipped", moves=moves, private={"price": "500"})) == 10
    assert worked(queued("Q-1", "on the bench")) == 0


def test_an_order_is_counted_once_whether_or_not_its_piece_says_so() -> None:
    """By hand: 400 shipped; 132 kept of 300; 90 in advance; 10 over a price of 100 and 168 of the 300 go back."""
    queue = [
        queued("Q-1", "shipped", private={"name": "Cara", "price": "400", "paid": "2026-10-01 120; 2026-11-02 280"}),
        queued("Q-2", "called off", private={"price": "440", "paid": "2026-10-01 300", "kept": "132"}),
        queued("Q-3", private={"price": "300", "paid": "2026-10-01 90"}, since="2026-10-01"),
        queued("Q-4", "shipped", private={"price": "100", "paid": "2026-10-01 110"}),
    ]  # fmt: skip
    wren = piece("wren", private={"order": "Q-1", "sold": sold("400", "commissions", "2026-11-20")})

    for made in ([], [wren]):
        found = books(studio(made, queue), 2026, TODAY)
        assert found.income["commissions"] == Decimal(400 + 132 + 100)
        assert (found.after.advance, found.after.back) == (Decimal(90), Decimal(178))
        assert found.total + found.after.advance + found.after.back == Decimal(400 + 300 + 90 + 110)


def test_what_is_asked_for_beyond_what_was_paid_is_owed_until_it_comes() -> None:
    """200 of the work's 264 came; 64 are claimed, then paid. A piece that was paid and got 5 back owes 5."""
    queue = [
        queued("Q-1", "called off", private={"price": "440", "paid": "2026-10-01 200", "kept": "200", "claimed": "64"}),
        queued("Q-2", "paid", private={"price": "100", "paid": "2026-10-01 100; 2026-10-02 -5"}, since="2026-10-01"),
        queued("Q-3", "paid", private={"price": "100", "paid": "2026-10-01 100"}, since="2026-10-01"),
    ]  # fmt: skip
    later = [{**queue[0], "private": {**queue[0]["private"], "paid": "2026-10-01 200; 2026-11-20 64"}}]

    before, after = books(studio([], queue), 2026, TODAY), books(studio([], later), 2026, TODAY)

    assert [(owed.code, owed.balance) for owed in before.owed] == [("Q-1", Decimal(64)), ("Q-2", Decimal(5))]
    assert (after.owed, after.income["commissions"]) == ((), Decimal(264))


def test_classes_and_supporters_have_streams_of_their_own() -> None:
    takings = [
        {"on": "2026-03-07", "what": "Saturday class", "stream": "classes", "amount": "240", "hours": "6"},
        {"on": "2025-03-07", "what": "last year", "stream": "supporters", "amount": "99"},
    ]

    found = books(studio(own=settings(takings=takings)), 2026, TODAY)

    assert (found.income["classes"], found.total, found.hours) == (Decimal(240), Decimal(240), Decimal(6))
    assert found.costs["fees"] == 0


def test_a_year_to_come_is_refused() -> None:
    with pytest.raises(Fault, match="2027 hasn't begun; the books of 2026 are the latest"):
        books(studio(), 2027, TODAY)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("=1+2\";=1+2", "'=1+2\";=1+2"), ("=1+2'\" ;,=1+2", "'=1+2'\" ;,=1+2"), ("+1", "'+1"), ("-1", "'-1"),
     ("@a", "'@a"), ("\ta", "'\ta"), ("moth", "moth")],
)  # fmt: skip
def test_cells_that_a_spreadsheet_would_run_are_guarded(typed: str, kept: str) -> None:
    """The first two pairs are the check values of the OWASP community page "CSV Injection"."""
    assert guarded(typed) == kept


def test_the_table_is_rfc_4180_and_sums_to_the_books() -> None:
    """RFC 4180 section 2: CRLF after each record, the same number of fields, quotes doubled."""
    takings = [{"on": "2026-03-07", "what": '=1+2";=1+2', "amount": "240"}]
    made = [piece("hare", private={**HARE, "sold": sold("500", "shows")})]
    one = studio(made, shows=[fair({"what": 'moths, "six"', "price": "60"})], own=settings(takings=takings))
    found = books(one, 2026, TODAY)

    text = found.table()

    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert text.count("\r\n") == text.count("\n") == len(rows)
    assert {len(row) for row in rows} == {9}
    assert '"\'=1+2"";=1+2"' in text
    assert '"moths, ""six"""' in text
    assert sum(Decimal(row[4]) for row in rows[1:] if row[1] == "sale") == found.total
    assert [date.fromisoformat(row[0]) for row in rows[1:]] == sorted(
        date.fromisoformat(row[0]) for row in rows[1:]
    )


def test_a_coin_noted_with_order_and_piece_went_back_once() -> None:
    """The order's `paid:` and the piece's return tell of the same 100: 500 came, 400 is left."""
    made = piece(
        "owl", private={"order": "Q-1", "sold": {"on": "2026-03-01", "price": "500", "returned": "2026-04-01", "refund": "100"}},
    )  # fmt: skip
    paid = "2026-02-01 500; 2026-04-01 -100"
    order = queued("Q-1", "shipped", since="2026-03-01", private={"name": "An", "price": "500", "paid": paid})
    found = books(studio([made], [order]), 2026, TODAY)

    assert (found.total, found.received) == (Decimal(400), Decimal(400))
    assert found.after == Balance()


def test_a_piece_is_an_orders_only_if_buyer_and_price_are_the_same() -> None:
    """Two sales to one person at two prices are two sales."""
    made = piece("owl", private={"sold": {"on": "2026-03-01", "price": "450", "to": "An"}})
    order = queued(
        "Q-1", "shipped", since="2026-05-01", private={"name": "An", "price": "500", "paid": "2026-04-01 500"}
    )
    found = books(studio([made], [order]), 2026, TODAY)

    assert found.total == Decimal(950)


def test_an_order_without_a_price_brings_what_came() -> None:
    order = queued("Q-1", "shipped", since="2026-05-01", private={"name": "An"})
    found = books(studio([], [order]), 2026, TODAY)

    assert (found.total, found.received, found.cautions) == (Decimal(0), Decimal(0), ())


def test_a_plan_that_its_buyer_ended_by_a_return_is_owed_by_nobody() -> None:
    """The plan began between two returns: it was the second buyer's, who sent the piece back."""
    sales = [
        {"on": "2026-03-01", "price": "400", "returned": "2026-04-01", "refund": "400"},
        {"on": "2026-09-01", "price": "400", "returned": "2026-10-01", "refund": "400"},
    ]
    owed = []
    for start in ("2026-08-01", "2026-10-02"):
        made = piece("hare", status="on hold", price="400", private={"sold": sales, "plan": {"from": start}})
        owed.append([owed.code for owed in books(studio([made]), 2026, TODAY).owed])

    assert owed == [[], ["hare"]]


def test_a_plan_without_a_price_anywhere_says_where_to_write_it() -> None:
    made = piece("hare", status="on hold", private={"plan": {"from": "2026-11-01"}})
    with pytest.raises(Fault, match=r"pieces/hare/piece\.yaml has no price; write `price: 480` into its"):
        books(studio([made]), 2026, TODAY)


def test_a_plan_that_is_paid_is_owed_by_nobody() -> None:
    owed = []
    for paid in ("400", "399.99"):
        plan = {"from": "2026-11-01", "paid": f"2026-11-01 {paid}"}
        made = piece("hare", status="on hold", price="400", private={"plan": plan})
        owed.append([(owed.code, owed.balance) for owed in books(studio([made]), 2026, TODAY).owed])

    assert owed == [[], [("hare", Decimal("0.01"))]]


@pytest.mark.parametrize(("paid", "owed"), [("440", []), ("439.99", ["Q-1"])])
def test_an_order_owes_to_the_last_coin(paid: str, owed: list[str]) -> None:
    queue = [queued("Q-1", since="2026-10-01", private={"price": "440", "paid": f"2026-10-01 {paid}"})]

    assert [owed.code for owed in books(studio([], queue), 2026, TODAY).owed] == owed


def test_a_class_brings_its_own_stream_with_its_costs_and_hours_once() -> None:
    """By hand: 400 + 120 less 84 leaves 436 for 22 hours, 19.82 an hour; selling takes no share of it."""
    lesson = {
        "slug": "heads", "name": "Heads", "kind": "class", "from": "2026-03-07", "fee": "100",
        "private": {
            "hours": "22", "costs": [{"what": "clay", "cost": "84"}],
            "sales": [{"what": "four places", "price": "400"}, {"what": "kits", "price": "120"}],
        },
    }  # fmt: skip

    found = books(studio(shows=[lesson]), 2026, TODAY)

    assert (found.income["classes"], found.total, found.hours) == (Decimal(520), Decimal(520), Decimal(22))
    assert (found.costs["shows"], found.costs.get("fees", Decimal(0))) == (Decimal(84), Decimal(0))
    (stream,) = [result for result in found.streams if result.name == "classes"]
    assert (stream.costs, stream.hours, stream.hourly) == (Decimal(84), Decimal(22), Decimal("19.82"))
    (brought,) = found.shows
    assert (brought.sales, brought.left, brought.hours) == (Decimal(520), Decimal(436), Decimal(22))


def test_a_piece_sold_at_a_fair_on_the_day_of_a_class_was_sold_at_the_fair() -> None:
    lesson = {"slug": "a-class", "name": "Heads", "kind": "class", "from": "2026-04-18", "to": "2026-04-19"}
    made = [piece("hare", private={**HARE, "sold": sold("500", "shows")})]

    found = books(studio(made, shows=[lesson, fair()]), 2026, TODAY)

    assert {told.name: told.sales for told in found.shows} == {"Heads": Decimal(0), "Fair": Decimal(500)}
