"""`piece worth` and `plan`, from the outside."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from dateutil.relativedelta import relativedelta

from sitegen.terminal.main import main
from tests import makers
from tests.cli.runner import contents, run

WORTH_KEYS = [
    "supplies", "hours", "overhead", "fees", "floor", "fair", "asking", "hourly", "overhead_worked", "needed",
    "needed_for_all", "from", "to",
]  # fmt: skip


def test_worth_adds_up_by_hand(tmp_path: Path) -> None:
    """Worked by hand: 21.5 h x 28 = 602; 21.5 x 310 x 12 / (24 x 52) = 64.0865; with supplies 689.6565.

    Floor = 689.6565 / 0.97 rounded up; fees = 3 % of 480; an hour = (465.60 - 23.57 - 64.0865) / 21.5.
    """
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "piece", "worth", "ferry-ghost", "--json")

    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert list(answer) == WORTH_KEYS
    assert answer == {
        "supplies": "23.57", "hours": "21.5", "overhead": "64.09", "fees": "14.40",
        "floor": "710.99", "fair": "853.19", "asking": "480.00", "hourly": "17.58",
        # All overhead of twelve months, as nothing else was finished in them; and nothing was sold.
        "overhead_worked": "3720.00", "needed": None,
        "needed_for_all": None, "from": "2025-11-26", "to": "2026-11-25",
    }  # fmt: skip


def test_a_quote_before_making_adds_up_by_hand(tmp_path: Path) -> None:
    """Worked by hand: 30 h x 28 = 840; 30 x 310 x 12 / (24 x 52) = 89.4231; with supplies of 60, 989.4231.

    Floor = 989.4231 / 0.97 = 1020.0238, rounded up; fair = 1.2 x 989.4231 / 0.97 = 1224.0286, rounded up;
    fees = 3 % of 1000; an hour = (970 - 60 - 89.4231) / 30 = 27.3526. Common practice, no source.
    """
    folder = makers.studio(tmp_path / "s")
    before = contents(folder)

    typed = ("--hours", "30", "--supplies", "60", "--price", "1000", "--json")
    answer = json.loads(run(folder, "piece", "worth", *typed).stdout)

    assert answer == {
        "supplies": "60.00", "hours": "30", "overhead": "89.42", "fees": "30.00",
        "floor": "1020.03", "fair": "1224.03", "asking": "1000.00", "hourly": "27.35",
        # 30 x 3720 / 21.5
        "overhead_worked": "5190.70", "needed": None,
        "needed_for_all": None, "from": "2025-11-26", "to": "2026-11-25",
    }  # fmt: skip
    assert contents(folder) == before


@pytest.mark.parametrize(
    ("typed", "where"),
    [
        (["--hours", "0"], "--hours"),
        (["--hours", "x"], "--hours"),
        (["--hours", "3", "--supplies", "1,5,0"], "--supplies"),
        (["--hours", "3", "--price", "-4"], "--price"),
        ([], "--hours"),
        (["ferry-ghost", "--hours", "3"], "--hours"),
        (["ferry-ghost", "--price", "3"], "price"),
    ],
)
def test_a_quote_that_cannot_be_worked_out_says_what_is_wrong(
    tmp_path: Path, typed: list[str], where: str
) -> None:
    result = run(makers.studio(tmp_path / "s"), "piece", "worth", *typed)

    assert result.exit_code in {1, 2}
    assert where in result.output


def test_worth_says_which_numbers_are_missing_and_where_to_write_them(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    makers.write(folder / "studio.yaml", makers.STUDIO.replace("  rate: 28\n  overhead: 310\n", ""))

    result = run(folder, "piece", "worth", "ferry-ghost")

    assert result.exit_code == 1
    assert result.output == (
        "studio.yaml doesn't say enough to work out a price; under `private:` write `rate: 25`, what an hour "
        "at the bench has to earn and `overhead: 200`, what the studio costs a month (0 if nothing). Nobody "
        "but you ever sees these\n"
    )


@pytest.mark.parametrize("missing", ["rate: 28", "overhead: 310", "weekly_hours: 24"])
def test_worth_asks_for_the_one_number_that_is_missing(tmp_path: Path, missing: str) -> None:
    folder = makers.studio(tmp_path / "s")
    assert f"  {missing}\n" in makers.STUDIO
    makers.write(folder / "studio.yaml", makers.STUDIO.replace(f"  {missing}\n", ""))
    told = run(folder, "piece", "worth", "ferry-ghost").output

    assert [name for name in ("rate", "overhead", "weekly_hours") if f"`{name}:" in told] == [
        missing.split(":", maxsplit=1)[0]
    ]


@pytest.mark.parametrize(
    ("price", "verdict"),
    [("710.98", "lies 0.01 EUR below the floor"), ("710.99", "pays your rate"), ("853.18", "lies 0.01 EUR below the fair price"),
     ("853.19", "The asking price is fair.")],
)  # fmt: skip
def test_the_verdict_turns_at_the_floor_and_at_the_fair_price(
    tmp_path: Path, price: str, verdict: str
) -> None:
    """Floor and fair price as worked out above: 710.99 and 853.19."""
    folder = makers.studio(tmp_path / "s", {"ferry-ghost": makers.piece_yaml(price=price)})

    assert verdict in run(folder, "piece", "worth", "ferry-ghost").output


def test_worth_of_a_piece_without_price_is_null_for_machines_and_plain_for_people(tmp_path: Path) -> None:
    text = makers.piece_yaml(status="in progress", price="", finished="")
    folder = makers.studio(tmp_path / "s", {"ferry-ghost": text})

    answer = json.loads(run(folder, "piece", "worth", "ferry-ghost", "--json").stdout)
    told = run(folder, "piece", "worth", "ferry-ghost").output

    assert (answer["asking"], answer["hourly"]) == (None, None)
    assert "It has no price yet." in told
    assert "no tax advice" in told


def test_worth_without_tracked_hours_asks_for_them(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s", {"ferry-ghost": makers.piece_yaml(private="{}")})

    result = run(folder, "piece", "worth", "ferry-ghost")

    assert result.exit_code == 1
    assert "pieces/ferry-ghost/piece.yaml tells of no hours" in result.output


def test_private_answers_write_no_file(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    before = contents(folder)

    run(folder, "piece", "worth", "ferry-ghost")
    run(folder, "plan", "ferry-ghost")

    assert contents(folder) == before


def test_plan_of_the_worked_price(tmp_path: Path) -> None:
    """Dates by python-dateutil, anchored; shares as the split of 800.01 into four worked by hand."""
    folder = makers.studio(tmp_path / "s")
    words = ["plan", "1000.01", "--deposit", "20%", "--parts", "4", "--start", "2027-01-31", "--json"]

    answer = json.loads(run(folder, *words).stdout)

    start = date(2027, 1, 31)
    assert list(answer) == ["currency", "price", "parts"]
    assert (answer["currency"], answer["price"]) == ("EUR", "1000.01")
    assert [part["kind"] for part in answer["parts"]] == ["deposit"] + ["instalment"] * 4
    assert [part["amount"] for part in answer["parts"]] == ["200.00", "200.01", "200.00", "200.00", "200.00"]
    assert [part["due"] for part in answer["parts"]] == [
        str(start + relativedelta(months=month)) for month in range(5)
    ]
    assert sum(Decimal(part["amount"]) for part in answer["parts"]) == Decimal("1000.01")


def test_plan_of_a_piece_takes_the_bands_of_the_studio(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "plan", "ferry-ghost")

    assert result.output == (
        "Payment plan for The Ferry Ghost\n"
        "\n"
        "2026-11-25  deposit             144.00 EUR\n"
        "2026-12-25  instalment  1       168.00 EUR\n"
        "2027-01-25  instalment  2       168.00 EUR\n"
        "                        in all  480.00 EUR\n"
        "\n"
        "The piece leaves when everything is paid.\n"
    )


@pytest.mark.parametrize(
    ("words", "cautioned"),
    [(["--parts", "4"], False), (["--parts", "5"], True), (["--parts", "2", "--charge", "5"], True)],
)
def test_plan_warns_where_consumer_credit_rules_may_begin(
    tmp_path: Path, words: list[str], cautioned: bool
) -> None:
    """12 CFR 1026.2(a)(17)(i): more than four instalments besides the deposit, or a charge."""
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "plan", "480", *words)

    assert result.exit_code == 0
    assert ("12 CFR 1026.2(a)(17)(i)" in result.output) is cautioned
    assert ("licensed professional" in result.output) is cautioned


def test_plan_moves_weekends_by_choice(tmp_path: Path) -> None:
    """2027-01-31 and 2027-02-28 are Sundays (any calendar)."""
    folder = makers.studio(tmp_path / "s")
    words = ["plan", "480", "--start", "2027-01-31", "--weekend", "next weekday", "--json"]

    answer = json.loads(run(folder, *words).stdout)

    assert [part["due"] for part in answer["parts"]] == ["2027-02-01", "2027-03-01", "2027-03-31"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["1,000"], '"1,000" has a comma; write 1000 without a thousands mark'),
        (["ferry-gost"], "there is no order or piece 'ferry-gost'; did you mean 'ferry-ghost'?"),
        (["480", "--deposit", "a third"], '"a third" is no amount; write digits and a point, as 480.00'),
        (
            ["480", "--start", "tomorrow"],
            "--start: 'tomorrow' is not a date; write year-month-day, like 2026-05-14",
        ),
        (["480", "--start", "0001-01-01"], "--start: '0001-01-01' lies outside the years 1900 to 2200"),
        (["480", "--currency", "EURO"], '"EURO" is no currency code'),
        (["0.02", "--parts", "4"], "an instalment would be 0.00, below the smallest part of 0.01"),
    ],
)
def test_plan_refuses_with_a_sentence(tmp_path: Path, words: list[str], said: str) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "plan", *words)

    assert result.exit_code == 1
    assert said in result.output
    assert "Traceback" not in result.output


def test_wrong_usage_is_exit_code_2(tmp_path: Path) -> None:
    assert run(makers.studio(tmp_path / "s"), "plan", "480", "--parts", "many").exit_code == 2


def test_plan_without_a_studio_needs_the_currency(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """JPY has no minor unit (ISO 4217)."""
    monkeypatch.chdir(tmp_path)

    without = CliRunner().invoke(main, ["plan", "100000"])
    with_one = CliRunner().invoke(main, ["plan", "100000", "--deposit", "0", "--currency", "JPY", "--json"])

    assert without.exit_code == 1
    assert "name the currency too, as in `sitegen plan 480 --currency EUR`" in without.output
    assert [part["amount"] for part in json.loads(with_one.stdout)["parts"]] == ["33334", "33333", "33333"]


def test_plan_of_a_commission_shows_paid_due_and_late(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    paid = makers.COMMISSIONS.replace("price: 431}", "price: 431, paid: 2026-10-03 129.30; 2026-11-04 100}")
    makers.write(folder / "commissions.yaml", paid)

    result = run(folder, "plan", "a-1")
    answer = json.loads(run(folder, "plan", "A-1", "--json").stdout)

    assert result.exit_code == 0
    assert "2026-10-02  deposit             129.30 EUR  paid" in result.output
    assert "2026-11-02  instalment  1       150.85 EUR  late by 23 days, 100.00 of it paid" in result.output
    assert "2026-12-02  instalment  2       150.85 EUR  to come" in result.output
    assert "Due by today and not there: 50.85 EUR (late, after 7 days of grace)." in result.output
    assert (answer["paid"], answer["balance"]) == ("229.30", "201.70")
    assert ("It may be sent." in result.output, "It stays until everything is paid." in result.output) == (
        False,
        True,
    )


def test_what_is_paid_in_full_may_be_sent(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    paid = makers.COMMISSIONS.replace("price: 431}", "price: 431, paid: 2026-10-03 431}")
    makers.write(folder / "commissions.yaml", paid)

    result = run(folder, "plan", "a-1")

    assert result.output.rstrip().count("It may be sent.") == 1
    assert "It stays" not in result.output


@pytest.mark.parametrize("deposit", ["100%", "500"])
def test_where_all_is_paid_at_once_orders_books_and_site_say_so(tmp_path: Path, deposit: str) -> None:
    """A-1 costs 431, the tier 420, the piece 480: each is one payment, and no plan is shown on the site."""
    folder = makers.studio(tmp_path / "s")
    file = folder / "studio.yaml"
    file.write_text(file.read_text("utf-8").replace("deposit: 30%", f"deposit: {deposit}"), "utf-8")

    assert "431.00 EUR" in run(folder, "order", "list").output
    assert json.loads(run(folder, "books", "--json").stdout)["owed"][0]["balance"] == "431.00"
    (part,) = json.loads(run(folder, "plan", "ferry-ghost", "--json").stdout)["parts"]
    assert (part["kind"], part["amount"]) == ("deposit", "480.00")
    assert run(folder, "build").exit_code == 0
    site = folder / "out" / "site"
    assert 'class="plan"' not in (site / "pieces" / "ferry-ghost" / "index.html").read_text("utf-8")
    assert 'class="parts"' not in (site / "commissions" / "index.html").read_text("utf-8")
    refused = run(folder, "plan", "480", "--deposit", "500")
    assert (refused.exit_code, refused.output) == (
        1,
        "the deposit of 500.00 is more than the price of 480.00\n",
    )


def test_an_order_whose_plan_cant_be_laid_out_hides_no_other(tmp_path: Path) -> None:
    """The terms were changed since: no part below 200, and 431 in a deposit and two instalments would be."""
    folder = makers.studio(tmp_path / "s")
    file = folder / "studio.yaml"
    file.write_text(
        file.read_text("utf-8").replace("deposit: 30%", "deposit: 30%\n  smallest_part: 200"), "utf-8"
    )

    listed = run(folder, "order", "list")
    assert listed.exit_code == 0
    assert (
        "can't be reckoned: commissions.yaml, A-1: the deposit of 129.30 is below the smallest part"
        in " ".join(listed.output.split())
    )
