"""The order book, from the outside: one person, one step, one sentence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import Result

from tests import makers
from tests.cli import runner

BOOK = """\
# The order book. Mine.
tiers:
  - name: Small figure
    from_price: 420
rounds:
  - name: Winter 2027
    opens: 2027-01-16 12:00
    closes: 2027-01-23 20:00
    slots: 2
    way: first come
queue:
  # the first
  - code: W27-1
    tier: Small figure
    step: request      # she rang, too
    since: 2027-01-17
    private: {name: Ana Secret, email: ana.secret@mail.example, price: 440}
  - code: W27-2
    tier: Small figure
    step: request
    since: 2027-01-18
    private:
      name: Ben Secret   # of the fair
      email: ben.secret@mail.example
waiting:
  - since: 2026-08-02
    private: {name: Cara Secret, email: cara.secret@mail.example}
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    made = makers.studio(tmp_path / "s")
    makers.write(made / "commissions.yaml", BOOK)
    return made


def on(day: str, folder: Path, *words: str, typed: str | None = None) -> Result:
    return runner.on(day, folder, "order", *words, typed=typed)


def told(result: Result) -> str:
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(result: Result) -> str:
    assert result.exit_code == 1, result.output
    return result.stderr.strip()


def text_of(folder: Path) -> str:
    return (folder / "commissions.yaml").read_text(encoding="utf-8")


def accepted(folder: Path) -> Path:
    """Bring W27-1 to the bench: 440 in parts of 132, 154 and 154, from 5 February 2027."""
    told(on("2027-02-01", folder, "move", "W27-1", "offered"))
    told(on("2027-02-05", folder, "move", "W27-1", "accepted"))
    told(on("2027-02-05", folder, "paid", "W27-1", "132"))
    told(on("2027-03-01", folder, "move", "W27-1", "on", "the", "bench"))
    return folder


def test_one_step_changes_that_persons_lines_and_no_other(studio: Path) -> None:
    said = told(on("2027-02-01", studio, "move", "w27-1", "Offered"))

    assert said == (
        "W27-1 is now offered (was request).\n"
        "The offer stands until 2027-02-15. The letter for it: `sitegen order letter W27-1`.\n"
    )
    assert text_of(studio) == BOOK.replace(
        "    step: request      # she rang, too\n    since: 2027-01-17\n",
        "    step: offered      # she rang, too\n    since: 2027-02-01\n"
        "    moves: 2027-01-17 request; 2027-02-01 offered\n",
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["move", "W27-1", "shipped"], "W27-1 is a request; from there it can go to waiting, offered, declined or withdrawn, not to 'shipped'"),
        (["move", "W27-1", "declined"], "W27-1 is ended with `sitegen order decline W27-1 --why '…'`"),
        (["move", "W27-1", "ofered"], "'ofered' is not one of request, waiting, offered, accepted, on the bench, finished, paid, shipped, declined, withdrawn, lapsed, called off; did you mean 'offered'?"),
        (["move", "W27-1", "offered", "--on", "2027-02-02"], "--on 2027-02-02 lies ahead; today is 2027-02-01"),
        (["move", "W27-1", "offered", "--on", "2027-01-16"], "W27-1 came to 'request' on 2027-01-17; 2027-01-16 lies before that"),
        (["move", "W27-9", "offered"], "there is no order 'W27-9' in the queue; did you mean 'W27-2'?"),
        (["paid", "W27-1", "100"], "W27-1 is a request; money is noted once the offer is accepted"),
        (["hours", "W27-1", "painting", "2"], "W27-1 is a request; hours are noted while it is on the bench"),
        (["undo", "W27-1"], "W27-1 has no step before 'request' on record"),
        (["cancel", "W27-1", "--by", "maker", "--yes"], "say why, as --why "),
        (["decline", "W27-1", "--why", "  "], "say why, as --why "),
        (["add", "--tier", "Smal figure"], "there is no tier 'Smal figure'; did you mean 'Small figure'?"),
        (["add", "--tier", "Small figure", "--code", "W27-2"], "W27-2 is in the queue already"),
        (["add", "--tier", "Small figure", "--price", "4,400"], '"4,400" has a comma'),
        (["offer", "Summer"], "there is no round 'Summer'"),
        (["show", "X"], "there is no order 'X' in the queue"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_is_written(
    studio: Path, words: list[str], said: str
) -> None:
    assert said in refused(on("2027-02-01", studio, *words))
    assert text_of(studio) == BOOK


def test_a_request_goes_to_the_end_of_the_queue_under_the_next_code(studio: Path) -> None:
    words = ["add", "--tier", "small figure", "--name", "Dan: the #2", "--email", "dan@mail.example"]
    answer = json.loads(told(on("2027-01-20", studio, *words, "--on", "2027-01-20 09:30", "--json")))

    assert (answer["code"], answer["step"], answer["moves"]) == (
        "W27-3",
        "request",
        "2027-01-20 09:30 request",
    )
    before, after = BOOK.split("waiting:")
    assert text_of(studio) == before + (
        "  - code: W27-3\n    tier: Small figure\n    step: request\n    since: 2027-01-20\n"
        "    moves: 2027-01-20 09:30 request\n    round: Winter 2027\n"
        "    private:\n      name: 'Dan: the #2'\n      email: dan@mail.example\n"
    ) + "waiting:" + after  # fmt: skip


def test_an_accepted_order_keeps_the_plan_of_its_day(studio: Path) -> None:
    """30 % of 440 is 132; a price up to 500 is paid in two more parts of 154."""
    accepted(studio)
    settings = (studio / "studio.yaml").read_text().replace("instalments: 2", "instalments: 4")
    makers.write(studio / "studio.yaml", settings.replace("deposit: 30%", "deposit: 50%"))

    answer = json.loads(runner.on("2027-03-01", studio, "plan", "W27-1", "--json").stdout)

    assert [(part["due"], part["amount"], part["standing"]) for part in answer["parts"]] == [
        ("2027-02-05", "132.00", "paid"),
        ("2027-03-05", "154.00", "to come"),
        ("2027-04-05", "154.00", "to come"),
    ]


def test_a_price_agreed_on_anew_has_the_instalments_of_its_own_band(studio: Path) -> None:
    accepted(studio)
    told(on("2027-03-01", studio, "undo", "W27-1"))
    told(on("2027-03-01", studio, "undo", "W27-1"))

    told(on("2027-03-02", studio, "move", "W27-1", "accepted", "--price", "900"))

    private = "{name: Ana Secret, email: ana.secret@mail.example, price: 900.00, deposit: 30%, instalments: 3, paid: 2027-02-05 132.00}"
    assert sorted(private[1:-1].split(", ")) == sorted(
        text_of(studio).split("private: {")[1].split("}")[0].split(", ")
    )


def test_the_version_of_the_terms_that_was_accepted_is_noted(studio: Path) -> None:
    makers.write(studio / "pages" / "payment-terms.md", "# Payment terms\n\nAs it comes.\n")
    assert runner.on("2027-02-04", studio, "terms", "keep").exit_code == 0
    told(on("2027-02-04", studio, "move", "W27-1", "offered"))

    said = told(on("2027-02-05", studio, "move", "W27-1", "accepted"))

    assert "Accepted on version 2027-02 of your terms." in said
    assert "    terms: {version: 2027-02, on: 2027-02-05}\n" in text_of(studio)
    makers.write(studio / "pages" / "payment-terms.md", "# Payment terms\n\nAll at once.\n")
    ended = told(on("2027-02-06", studio, "cancel", "W27-1", "--by", "client", "--yes"))
    assert "Careful: they accepted version 2027-02 of your terms, and today's aren't that text" in ended


def test_without_a_kept_version_the_artist_is_told(studio: Path) -> None:
    makers.write(studio / "pages" / "payment-terms.md", "# Payment terms\n\nNot kept yet.\n")
    told(on("2027-02-04", studio, "move", "W27-1", "offered"))

    said = told(on("2027-02-05", studio, "move", "W27-1", "accepted"))

    assert "Your terms as they are now aren't kept, so no version is noted: run `sitegen terms keep`" in said
    assert "terms:" not in text_of(studio)


def test_nothing_is_accepted_without_a_price(studio: Path) -> None:
    """Nor offered: an offer says its price."""
    said = "W27-2 has no price yet; add `--price 440`"
    assert said in refused(on("2027-02-01", studio, "move", "W27-2", "offered"))
    told(on("2027-02-01", studio, "move", "W27-2", "offered", "--price", "900"))
    makers.write(studio / "commissions.yaml", text_of(studio).replace("price: 900", "notes: two"))

    assert said in refused(on("2027-02-02", studio, "move", "W27-2", "accepted"))
    said = told(on("2027-02-02", studio, "move", "W27-2", "accepted", "--price", "1000.01"))
    assert "Deposit of 300.00 EUR is due on 2027-02-02" in said
    assert "the late-delivery rule then counts to 2027-03-04" in said  # 30 days, 16 CFR 435.2(a)(1)
    assert "This is no legal advice" in said


def test_more_than_four_instalments_bring_the_consumer_credit_caution(studio: Path) -> None:
    """12 CFR 1026.2(a)(17)(i): more than four instalments, the down payment not counted."""
    makers.write(studio / "commissions.yaml", BOOK.replace("price: 440", "price: 440, instalments: 5"))
    told(on("2027-02-01", studio, "move", "W27-1", "offered"))

    said = told(on("2027-02-05", studio, "move", "W27-1", "accepted"))

    assert "Caution: This plan has 5 instalments besides the deposit." in said
    assert "12 CFR 1026.2(a)(17)(i)" in said


def test_a_piece_is_sent_when_it_is_paid_in_full_and_not_before(studio: Path) -> None:
    accepted(studio)
    told(on("2027-04-01", studio, "move", "W27-1", "finished"))

    assert "132.00 EUR came in, 308.00 EUR is still owed" in refused(
        on("2027-04-01", studio, "move", "W27-1", "paid")
    )
    before = text_of(studio)
    assert "with that, 10.00 EUR too much came in" in refused(
        on("2027-04-02", studio, "paid", "W27-1", "318")
    )
    assert text_of(studio) == before
    said = told(on("2027-04-02", studio, "paid", "W27-1", "318", "--more"))
    assert "10.00 EUR too much came in; when it has gone back: `sitegen order refund W27-1 10.00`." in said
    told(on("2027-04-02", studio, "move", "W27-1", "paid"))
    told(on("2027-04-03", studio, "refund", "W27-1", "10.01"))
    assert "0.01 EUR is still owed" in refused(on("2027-04-04", studio, "move", "W27-1", "shipped"))
    told(on("2027-04-04", studio, "paid", "W27-1", "0.01"))
    said = told(on("2027-04-05", studio, "move", "W27-1", "shipped"))
    note = "`sitegen piece mark PIECE commissioned --price 440.00 --on 2027-04-05` notes the sale."
    assert f"name it with its piece (`order: W27-1` in its `private:`), then {note}" in said
    assert "paid: 2027-02-05 132.00; 2027-04-02 318.00; 2027-04-03 -10.01; 2027-04-04 0.01" in text_of(studio)


def test_a_promised_day_that_is_put_off_needs_the_choice_to_wait_or_cancel(studio: Path) -> None:
    """16 CFR 435.2(b)(1): up to 30 days later silence is a yes, longer it isn't; (b)(2): put off again, never."""
    told(on("2027-02-01", studio, "move", "W27-1", "offered"))
    told(on("2027-02-01", studio, "promise", "W27-1", "2027-05-31"))
    told(on("2027-02-02", studio, "promise", "W27-1", "2027-06-01"))
    told(on("2027-02-05", studio, "move", "W27-1", "accepted"))
    before = text_of(studio)
    far = told(on("2027-05-02", studio, "promise", "W27-1", "2027-07-02"))
    makers.write(studio / "commissions.yaml", before)

    near = told(on("2027-05-02", studio, "promise", "W27-1", "2027-07-01"))
    again = told(on("2027-05-03", studio, "promise", "W27-1", "2027-07-02"))

    assert "That is later than 2027-06-01: they must have been offered to wait or to cancel by then" in near
    assert "the new day stands if they say nothing. These days follow one country's" in near
    assert "the new day needs their yes by 2027-07-01." in far
    assert "the new day needs their yes by 2027-07-01." in again
    assert "W27-1 is promised for 2027-07-02 (was 2027-07-01). The first promise, 2027-06-01, stays" in again
    assert "promised: 2027-06-01" in text_of(studio)
    assert "new_days: 2027-07-01; 2027-07-02" in text_of(studio)
    assert "First promised for 2027-06-01; since then for 2027-07-01 then 2027-07-02." in told(
        on("2027-05-04", studio, "show", "W27-1")
    )
    for day in ("2027-05-04", "2027-07-03"):
        assert "promised for 2027-07-02 (first 2027-06-01)" in told(on(day, studio, "list"))
    assert "2027-05-01 has gone by; today is 2027-05-02" in refused(
        on("2027-05-02", studio, "promise", "W27-1", "2027-05-01")
    )
    assert "W27-2 is a request; a day is promised with an offer" in refused(
        on("2027-05-02", studio, "promise", "W27-2", "2027-06-01")
    )


def test_what_may_be_a_slip_is_asked_about_where_somebody_is_there(
    studio: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    accepted(studio)
    before = text_of(studio)
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)
    words = ("2027-02-05", studio, "order", "paid", "W27-1", "132.00")

    no = runner.on(*words, typed="n\n")
    assert (no.exit_code, text_of(studio)) == (1, before)
    assert "has 132.00 EUR on 2027-02-05 already. Write it all the same?" in no.output
    assert "--again" not in no.output
    yes = runner.on("2027-02-05", studio, "order", "paid", "W27-1", "500", typed="y\n")
    assert "192.00 EUR too much came in. Write it all the same?" in yes.output
    assert "W27-1: paid 632.00 EUR" in yes.output


def test_the_same_receipt_is_not_noted_twice_by_a_slip(studio: Path) -> None:
    accepted(studio)

    again = on("2027-02-05", studio, "paid", "W27-1", "132.00")

    assert "W27-1 has 132.00 EUR on 2027-02-05 already; add --again if it came in twice" in refused(again)
    told(on("2027-02-05", studio, "paid", "W27-1", "132", "--again"))
    assert text_of(studio).count("2027-02-05 132.00") == 2
    assert "264.01 EUR can't go back; 264.00 EUR is there" in refused(
        on("2027-02-06", studio, "refund", "W27-1", "264.01")
    )


def test_the_sheet_of_an_order_says_what_is_paid_due_and_late(studio: Path) -> None:
    accepted(studio)

    assert told(on("2027-04-09", studio, "show", "W27-1")) == (
        "W27-1: Small figure, on the bench; asked for in Winter 2027\n"
        "Ana Secret <ana.secret@mail.example>\n"
        "\n"
        "2027-01-17  request\n"
        "2027-02-01  offered\n"
        "2027-02-05  accepted\n"
        "2027-03-01  on the bench\n"
        "\n"
        "2027-02-05  deposit             132.00 EUR  paid\n"
        "2027-03-05  instalment  1       154.00 EUR  late by 35 days\n"
        "2027-04-05  instalment  2       154.00 EUR  due\n"
        "                        in all  440.00 EUR\n"
        "W27-1: paid 132.00 EUR, still to pay 308.00 EUR.\n"
        "Due by 2027-04-09 and not there: 308.00 EUR, 154.00 EUR of it late.\n"
        "\n"
        "It should have been sent by 2027-03-07. Offer the choice to wait or cancel now (`sitegen order letter "
        "W27-1 --new-day DATE`); as that day has gone by, any new one needs their yes.\n"
        "These days follow one country's late-delivery rule (16 CFR part 435, United States); look at those where "
        "you and your clients live. This is no legal advice: ask a licensed professional.\n"
        "\n"
        "It can go to finished or called off.\n"
    )


def test_a_plan_nobody_pays_may_be_ended_when_the_terms_say_so(studio: Path) -> None:
    """154 was due on 5 March; `end_days` is 42, so from 16 April on."""
    accepted(studio)

    before, after = (told(on(day, studio, "show", "W27-1")) for day in ("2027-04-15", "2027-04-16"))

    assert "the plan may be ended" not in before
    assert "the plan may be ended, as a part is late by 42 days or more and if nobody wrote" in after


def test_hours_go_to_the_order_until_its_piece_has_a_folder(studio: Path) -> None:
    accepted(studio)
    told(on("2027-03-02", studio, "hours", "W27-1", "sculpting", "2.5"))
    assert told(on("2027-03-03", studio, "hours", "W27-1", "sculpting", "3h")) == (
        "W27-1: sculpting 5.5 h, 5.5 h in all.\n"
    )
    assert "hours: {sculpting: 5.5}" in text_of(studio)
    assert "worked: 2027-03-01 5.5" in text_of(studio)
    own = "# hers\n" + makers.piece_yaml(
        "Hare", "in progress", number="2027-02", price="", private="\n  order: W27-1  # hers"
    )
    file = makers.add_piece(studio, "hare", own)

    said = told(on("2027-03-04", studio, "hours", "W27-1", "painting", "4"))

    assert said == "pieces/hare/piece.yaml: painting 4 h; W27-1 has 9.5 h in all.\n"
    assert file.read_text() == own.replace(
        "\n  order: W27-1  # hers", "\n  hours: {painting: 4}\n  worked: 2027-03-01 4\n  order: W27-1  # hers"
    )


def test_the_client_calls_off_on_the_bench_and_the_terms_are_worked_out(studio: Path) -> None:
    """By hand: 40 % of 440 is 176, more than the deposit of 132; of 286 paid, 110 goes back."""
    accepted(studio)
    told(on("2027-03-05", studio, "paid", "W27-1", "154"))
    told(on("2027-03-06", studio, "hours", "W27-1", "sculpting", "8"))

    asked = refused(on("2027-03-09", studio, "cancel", "W27-1", "--by", "client"))
    kept = on("2027-03-09", studio, "cancel", "W27-1", "--by", "client", "--work", "40%", typed="n\n")
    assert (
        "W27-1 is on the bench, so say how much of the work is done, as `--work 40%`; 8 h are on record"
        in asked
    )
    assert (kept.exit_code, "step: on the bench" in text_of(studio)) == (1, True)
    words = ["cancel", "W27-1", "--by", "client", "--work", "40%", "--why", "moves house", "--yes", "--json"]
    answer = json.loads(told(on("2027-03-09", studio, *words)))

    assert {key: answer[key] for key in ("paid", "kept", "returned", "claimed")} == {
        "paid": "286.00", "kept": "176.00", "returned": "110.00", "claimed": "0.00",
    }  # fmt: skip
    assert "40% of the work is done, which is 176.00 of the price" in answer["why"]
    # Seven working days from Tuesday 9 March 2027, 16 CFR 435.1(b), by the calendar.
    assert "until 2027-03-18 (so 16 CFR 435.1(b);" in " ".join(answer["notes"])
    assert "called_off_by: client" in text_of(studio)
    assert "kept: 176.00" in text_of(studio)
    assert "110.01 EUR can't go back" in refused(on("2027-03-10", studio, "refund", "W27-1", "110.01"))
    assert "110.00 EUR to go back" in told(on("2027-03-10", studio, "list"))
    told(on("2027-03-10", studio, "refund", "W27-1", "110"))
    assert "W27-1" not in told(on("2027-03-10", studio, "list"))


def test_the_maker_calls_off_and_everything_goes_back(studio: Path) -> None:
    accepted(studio)

    words = ["cancel", "W27-1", "--by", "maker", "--why", "a broken wrist", "--yes", "--json"]
    answer = json.loads(told(on("2027-03-09", studio, *words)))

    assert (answer["kept"], answer["returned"]) == ("0.00", "132.00")


def test_before_anything_is_agreed_the_client_withdraws(studio: Path) -> None:
    said = told(on("2027-02-01", studio, "cancel", "W27-1", "--by", "client", "--yes"))

    assert said == "W27-1 is withdrawn; nothing was agreed, so there's no money to settle.\n"
    assert "step: withdrawn      # she rang, too" in text_of(studio)


def test_a_round_is_offered_in_its_order_and_to_nobody_twice(studio: Path) -> None:
    told(on("2027-01-20", studio, "add", "--tier", "Small figure", "--email", "ANA.secret@mail.example"))
    told(on("2027-01-20", studio, "add", "--tier", "Small figure", "--name", "Dan"))

    early = on("2027-01-15", studio, "offer", "Winter 2027", "--yes")
    said = told(on("2027-02-01", studio, "offer", "Winter 2027", typed="y\n"))
    again = on("2027-02-01", studio, "offer", "Winter 2027", "--yes")

    assert "the round Winter 2027 opens on 2027-01-16 12:00; offer its slots after that" in refused(early)
    assert said == (
        "Offered: W27-1 (Small figure, Ana Secret), until 2027-02-15.\n"
        "Offered: W27-2 (Small figure, Ben Secret), until 2027-02-15.\n"
        "Letters for them:\n  sitegen order letter W27-1\n  sitegen order letter W27-2\n"
        "Offer these slots? [y/N]: y\nWritten.\n"
    )
    assert "all slots of Winter 2027 are taken" in refused(again)
    assert "holds W27-1 (offered) already; nobody gets a second slot" in refused(
        on("2027-02-01", studio, "move", "W27-3", "offered")
    )


def test_whoever_is_passed_over_is_named_with_the_reason(studio: Path) -> None:
    told(on("2027-01-25", studio, "move", "W27-1", "offered"))
    again = ["add", "--tier", "Small figure", "--email", "ana.secret@mail.example", "--on", "2027-01-17"]
    told(on("2027-01-25", studio, *again))

    answer = json.loads(told(on("2027-02-01", studio, "offer", "Winter 2027", "--yes", "--json")))
    gone = refused(on("2027-02-01", studio, "offer", "Winter 2027", "--slots", "1", "--yes"))

    assert (answer["offered"], answer["notes"]) == (["W27-2"], ["Passed over: W27-3 holds W27-1 (offered)."])
    assert "all slots of Winter 2027 are taken" in gone


def test_an_address_that_cannot_be_written_to_is_refused(studio: Path) -> None:
    said = refused(on("2027-01-25", studio, "add", "--tier", "Small figure", "--email", "ana@"))

    assert said.startswith("--email 'ana@': ")
    assert text_of(studio) == BOOK


def test_the_plan_of_a_called_off_order_has_ended(studio: Path) -> None:
    accepted(studio)
    told(on("2027-03-09", studio, "cancel", "W27-1", "--by", "maker", "--why", "a wrist", "--yes"))

    plan = runner.on("2027-03-10", studio, "plan", "W27-1")

    assert "W27-1 was called off, so its plan has ended; `sitegen order show W27-1` says" in refused(plan)
    assert "132.00 EUR is still to go back" in told(on("2027-03-10", studio, "show", "W27-1"))


def test_unanswered_offers_pass_to_the_next_once(studio: Path) -> None:
    told(on("2027-01-20", studio, "add", "--tier", "Small figure", "--name", "Dan"))
    told(on("2027-02-01", studio, "offer", "winter-2027", "--yes"))
    told(on("2027-02-02", studio, "move", "W27-2", "accepted", "--price", "500"))

    nothing = told(on("2027-02-15", studio, "lapsed", "--yes"))
    answer = json.loads(told(on("2027-02-16", studio, "lapsed", "--yes", "--json")))
    after = text_of(studio)
    again = json.loads(told(on("2027-02-16", studio, "lapsed", "--yes", "--json")))

    assert nothing == "No offer has lapsed.\nW27-1 (Small figure, Ana Secret): stands until 2027-02-15.\n"
    assert answer == {"lapsed": ["W27-1"], "offered": ["W27-3"], "until": "2027-03-02", "notes": []}
    assert (again["lapsed"], again["offered"], text_of(studio)) == ([], [], after)


def test_the_list_says_what_each_order_waits_for_and_who_is_next(studio: Path) -> None:
    accepted(studio)

    assert told(on("2027-03-20", studio, "list")) == (
        "                     step          since       for         next\n"
        "W27-1  Small figure  on the bench  2027-03-01  Ana Secret  308.00 EUR to pay, 154.00 EUR late\n"
        "W27-2  Small figure  request       2027-01-18  Ben Secret\n"
        "\n"
        "Winter 2027: 1 of 2 slots free; next in line: W27-2.\n"
        "On the waiting list: 1.\n"
    )


def asked(folder: Path, who: str, when: str, *more: str) -> Result:
    words = ("--tier", "Small figure", "--name", who, "--email", f"{who}@mail.example", "--on", when, *more)
    return on("2027-01-24 09:00", folder, "add", *words)


def with_head_start(folder: Path) -> Path:
    text = BOOK.split("queue:", maxsplit=1)[0] + "    head_start: 24\n    tiers: [Small figure]\n"
    large = "  - name: Large figure\n    from_price: 900\nrounds:"
    makers.write(
        folder / "commissions.yaml",
        text.replace("rounds:", large) + "waiting:" + BOOK.split("waiting:", maxsplit=1)[1],
    )
    return folder


def test_a_letter_that_came_too_early_is_in_no_round_and_the_artist_is_told(studio: Path) -> None:
    with_head_start(studio)
    early = told(asked(studio, "early", "2027-01-16 11:58"))
    late = told(asked(studio, "late", "2027-01-23 20:00"))

    assert "R27-1 is in the queue: Small figure, request, outside any round." in early
    assert "it asked on 2027-01-16 11:58, before Winter 2027 opens (2027-01-16 12:00), so it isn't in that round" in early  # fmt: skip
    assert "they can wait for another one: `sitegen order move R27-1 waiting`" in early
    assert "it asked on 2027-01-23 20:00, when Winter 2027 was closed (2027-01-23 20:00)" in late
    before = text_of(studio)
    assert "so it isn't in that round and nothing is written" in refused(
        asked(studio, "named", "2027-01-16 11:58", "--round", "Winter 2027")
    )
    assert text_of(studio) == before
    assert "not in line: asked on 2027-01-16 11:58" in told(on("2027-01-24", studio, "list"))
    assert "Not in line: asked on 2027-01-16 11:58" in told(on("2027-01-24", studio, "show", "R27-1"))
    assert "nobody is in line" in refused(on("2027-01-24 09:00", studio, "offer", "Winter 2027", "--yes"))


def test_the_head_start_counts_for_those_who_wait_and_comes_first(studio: Path) -> None:
    with_head_start(studio)
    told(asked(studio, "noon", "2027-01-16 12:00"))
    cara = told(asked(studio, "cara.secret", "2027-01-15 12:00"))
    day = told(asked(studio, "cara.secret", "2027-01-16"))
    after = told(asked(studio, "cara.secret", "2027-01-16 13:00"))

    assert "They have the head start; leave their entry under `waiting:`" in cara
    assert "They have the head start" in day
    assert "head start" not in after
    assert "next in line: W27-2, W27-1" in told(on("2027-01-24", studio, "list"))


def test_a_request_without_its_time_says_so_where_it_decides(studio: Path) -> None:
    with_head_start(studio)

    day = told(asked(studio, "day", "2027-01-16"))
    assert "Careful: W27-1 has no time of day, and Winter 2027 opens that day (2027-01-16 12:00)" in day
    assert "no time of day" not in told(asked(studio, "next", "2027-01-17"))
    told(asked(studio, "timed", "2027-01-16 23:59"))
    assert "next in line: W27-3, W27-1, W27-2" in told(on("2027-01-24", studio, "list"))


def test_a_size_that_the_round_does_not_take_is_not_put_in_line(studio: Path) -> None:
    with_head_start(studio)
    words = ("add", "--tier", "Large figure", "--name", "Ben", "--on", "2027-01-17 10:00")

    said = told(on("2027-01-24", studio, *words))
    assert "outside any round" in said
    assert "it asks for Large figure, and Winter 2027 is for Small figure only" in said
    assert "the round Winter 2027 is for Small figure; Large figure isn't in it" in refused(on("2027-01-24", studio, *words, "--round", "Winter 2027"))  # fmt: skip
    by_hand = text_of(studio).replace("tier: Large figure\n", "tier: Large figure\n    round: Winter 2027\n")
    makers.write(studio / "commissions.yaml", by_hand)
    assert "Passed over: R27-1 asks for Large figure" in refused(on("2027-01-24", studio, "offer", "Winter 2027", "--yes"))  # fmt: skip
    moved = told(on("2027-01-24", studio, "move", "R27-1", "offered", "--price", "900"))
    assert "Careful: it asks for Large figure" in moved
    assert "`sitegen order undo R27-1` takes the offer back" in moved


@pytest.mark.parametrize(
    ("now", "when", "said"),
    [
        ("2027-01-16 12:03", "2027-01-16 12:04", "--on 2027-01-16 12:04 lies ahead; it is 12:03 now"),
        ("2027-01-16 12:04", "2027-01-16 12:04", None),
        ("2027-01-16", "2027-01-16 23:00", None),
        ("2027-03-29", "2027-03-28 01:30", "'2027-03-28 01:30' is a time that doesn't exist in Europe/Dublin"),
        ("2027-01-17", "2027-01-16 24:00", "'24:00' is a time that doesn't exist"),
        ("2027-01-17", "16 January", "--on '16 January' is no day"),
        ("2027-02-30", "2027-01-16", "--today '2027-02-30' is no date"),
        ("2027-03-28 01:30", "2027-01-16", "--today '2027-03-28 01:30' is a time that doesn't exist in Europe/Dublin"),
    ],
)  # fmt: skip
def test_a_time_is_one_that_has_come_and_that_the_clocks_show(
    studio: Path, now: str, when: str, said: str | None
) -> None:
    """In Dublin the clocks skip 01:00 to 02:00 on 28 March 2027 (IANA time zone database)."""
    result = on(now, studio, "add", "--tier", "Small figure", "--name", "Zed", "--on", when)
    if said is None:
        assert f"{when} request" in text_of(studio)
    assert said is None or said in refused(result)


def test_without_a_day_the_request_carries_the_present_minute(studio: Path) -> None:
    """Also the second of two hours in autumn: in Dublin 01:00 to 02:00 comes twice on 25 October 2026."""
    told(on("2027-01-20 09:07", studio, "add", "--tier", "Small figure", "--name", "Zed"))
    told(on("2027-01-20", studio, "add", "--tier", "Small figure", "--name", "Yan"))

    assert "moves: 2027-01-20 09:07 request\n" in text_of(studio)
    assert "moves: 2027-01-20 request\n" in text_of(studio)
    assert '"at": "09:07"' in told(on("2027-01-20", studio, "show", "W27-3", "--json"))


def test_nobody_is_drawn_who_did_not_ask_in_time(studio: Path) -> None:
    sources = "    sources:\n      - {name: Example Lottery, due: 2027-01-30}\n"
    text = BOOK.replace("way: first come\n", f"way: draw\n{sources}").replace(
        "since: 2027-01-18", "round: Winter 2027\n    moves: 2027-01-16 11:58 request"
    )
    makers.write(studio / "commissions.yaml", text)

    drawn = runner.on("2027-01-24", studio, "draw", "Winter 2027")
    assert "Left out: W27-2 asked on 2027-01-16 11:58, before Winter 2027 opens" in told(drawn)
    assert "Slots: 2. Entrants: 1." in drawn.stdout


MAIL = """\
From: Dora Secret <dora.secret@mail.example>
Date: Tue, 19 Jan 2027 09:30:00 +0000
Subject: a hare

A hare in mourning.

> The round is open.
"""


def test_a_request_goes_in_out_of_its_mail(studio: Path, tmp_path: Path) -> None:
    makers.write(tmp_path / "request.eml", MAIL)
    mail = ("--mail", str(tmp_path / "request.eml"))

    assert "say what is asked for" in refused(on("2027-01-19", studio, "add", *mail))
    said = told(on("2027-01-19", studio, "add", *mail, "--tier", "small figure", "--name", "D. Secret"))

    assert said.startswith("W27-3 is in the queue: Small figure, request in the round Winter 2027.")
    text = (studio / "commissions.yaml").read_text("utf-8")
    assert "moves: 2027-01-19 09:30 request" in text
    assert "name: D. Secret" in text
    assert "a hare. A hare in mourning." in text
    assert "The round is open" not in text


def test_orders_are_found_by_a_part_of_a_name_an_address_or_a_code(studio: Path) -> None:
    for part, found in (("BEN", {"Ben"}), ("w27-1", {"Ana"}), ("mail.example", {"Ana", "Ben"})):
        listed = told(on("2027-01-19", studio, "list", "--find", part))
        assert {name for name in ("Ana", "Ben") if f"{name} Secret" in listed} == found
