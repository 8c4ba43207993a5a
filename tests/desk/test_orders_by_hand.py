"""What the artist is told when an order moves or ends, sentence by sentence and worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from sitegen.desk import errands, find, order_money, orders, turns
from sitegen.desk.books import books
from sitegen.desk.order_book import order_book, order_sheet
from sitegen.desk.order_money import Changed, Ending
from sitegen.desk.plan import PlanWish
from sitegen.desk.plan import plan as plan_answer
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Client
from sitegen.studio.order_lines import Receipt, Step
from sitegen.studio.order_steps import When
from sitegen.studio.plan import CalledOffBy, PaymentPlan
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Page, Studio
from tests.desk.studios import fixed, piece, queued, settings, studio

DAY = date(2027, 3, 9)
ZONE = ZoneInfo("Europe/Dublin")
# 30 % of 440 is 132, then 154 on 5 March and on 5 April 2027, as two instalments are written into the order.
AGREED = {"price": "440", "instalments": "2"}
MOVES = "2027-02-01 offered; 2027-02-05 accepted"
LATER = {
    "accepted": "",
    "on the bench": "; 2027-03-01 on the bench",
    "finished": "; 2027-03-01 on the bench; 2027-03-08 finished",
    "paid": "; 2027-03-01 on the bench; 2027-03-08 finished; 2027-03-09 paid",
}


def agreed(step: str, **private: Any) -> dict[str, Any]:
    return queued("Q-1", step, since=None, moves=MOVES + LATER[step], private={**AGREED, **private})


def paying(**changes: Any) -> Settings:
    plan = PaymentPlan.model_validate({"deposit": "30%", **changes}, context={"digits": 2})
    return settings().model_copy(update={"payment_plan": plan})


def off(one: Studio, by: CalledOffBy = CalledOffBy.CLIENT, work: str | None = None) -> dict[str, Any]:
    done = order_money.cancel(one, "Q-1", Ending(by, DAY, "why", Decimal(work) if work else None))
    return done.as_answer()


def sums(answer: dict[str, Any]) -> tuple[str, ...]:
    return tuple(answer[name] for name in ("paid", "kept", "returned", "claimed"))


@pytest.mark.parametrize(
    ("step", "work", "terms", "expected"),
    [
        # Nothing is made before the bench: the deposit stays, what was paid beyond it goes back.
        ("accepted", None, {}, ("286.00", "132.00", "154.00", "0.00")),
        ("on the bench", "0.3", {}, ("286.00", "132.00", "154.00", "0.00")),
        ("on the bench", "0.5", {}, ("286.00", "220.00", "66.00", "0.00")),
        ("on the bench", None, {"calling_off": {"charge_work": "no"}}, ("286.00", "132.00", "154.00", "0.00")),
        # All of it is made: all that came stays, and the rest only if the terms ask for it.
        ("finished", None, {}, ("286.00", "286.00", "0.00", "0.00")),
        ("finished", None, {"calling_off": {"claim_missing": "yes"}}, ("286.00", "286.00", "0.00", "154.00")),
        ("finished", "0.9", {"calling_off": {"claim_missing": "yes"}}, ("286.00", "286.00", "0.00", "110.00")),
        ("accepted", None, {"calling_off": {"keep_deposit": "no"}}, ("286.00", "0.00", "286.00", "0.00")),
        # Free for 32 days from 5 February is through 9 March, the day it is called off.
        ("accepted", None, {"calling_off": {"free_days": "32"}}, ("286.00", "0.00", "286.00", "0.00")),
        ("accepted", None, {"calling_off": {"free_days": "31"}}, ("286.00", "132.00", "154.00", "0.00")),
    ],
)  # fmt: skip
def test_what_the_client_gets_back_by_where_the_work_stands(
    step: str, work: str | None, terms: dict[str, Any], expected: tuple[str, ...]
) -> None:
    one = studio([], [agreed(step, paid="2027-02-05 132; 2027-03-05 154")], own=paying(**terms))

    assert sums(off(one, work=work)) == expected


@pytest.mark.parametrize("step", LATER)
def test_the_maker_gives_everything_back_wherever_the_work_stands(step: str) -> None:
    one = studio([], [agreed(step, paid="2027-02-05 440")])

    answer = off(one, CalledOffBy.MAKER)

    assert sums(answer) == ("440.00", "0.00", "440.00", "0.00")
    # Fourteen days by the studio's usual terms; seven working days from Tuesday 9 March, 16 CFR 435.1(b).
    assert (
        "Your terms send it back by 2027-03-23; some rules give seven working days, here until "
        "2027-03-18 (so 16 CFR 435.1(b); look at those where you and your client live). Then: `sitegen order refund Q-1 440.00`."
        in answer["notes"]
    )
    sooner = studio([], [agreed(step, paid="2027-02-05 440")], own=paying(refund_days="3"))
    assert "Your terms send it back by 2027-03-12;" in " ".join(off(sooner, CalledOffBy.MAKER)["notes"])


def test_what_is_still_asked_for_is_told_and_kept_in_the_order() -> None:
    one = studio([], [agreed("finished", paid="2027-02-05 132")], own=paying(calling_off={"claim_missing": "yes"}))  # fmt: skip

    done = order_money.cancel(one, "Q-1", Ending(CalledOffBy.CLIENT, DAY, "moves house"))

    client = done.order.private
    assert (client.kept, client.claimed, client.called_off_by) == (
        Decimal(132),
        Decimal(308),
        CalledOffBy.CLIENT,
    )
    assert client.why == "moves house; 100% of the work is done, which is 440.00 of the price"
    assert "Still asked for, by your terms: 308.00 EUR." in done.said
    assert not any("send it back" in line for line in done.said)
    assert done.said[-1].endswith("no legal advice.")
    plain = order_money.cancel(studio([], [agreed("accepted")]), "Q-1", Ending(CalledOffBy.CLIENT, DAY))
    assert (plain.order.private.claimed, plain.order.private.kept) == (None, Decimal(0))
    assert not any("Still asked for" in line for line in plain.said)


@pytest.mark.parametrize(
    ("hours", "pieces", "hint"),
    [
        ({}, 0, ""),
        ({"sewing": "8"}, 0, "; 8 h are on record"),
        ({"sewing": "5"}, 6, "; 5 h are on record, and a piece of this tier takes 20 h on average, so about 25%"),
        ({"sewing": "30"}, 6, "; 30 h are on record, and a piece of this tier takes 20 h on average, so about 100%"),
    ],
)  # fmt: skip
def test_how_much_is_done_is_asked_with_what_the_record_says(
    hours: dict[str, str], pieces: int, hint: str
) -> None:
    one = studio(fixed(pieces, "20"), [agreed("on the bench", hours=hours)])

    with pytest.raises(Fault) as fault:
        off(one)

    asked = "Q-1 is on the bench, so say how much of the work is done, as `--work 40%`"
    assert str(fault.value) == asked + hint


@pytest.mark.parametrize("step", ["request", "waiting", "offered"])
def test_before_the_yes_the_maker_declines_and_the_client_withdraws(step: str) -> None:
    one = studio([], [queued("Q-1", step, private={"why": "had a reason"})])

    made = order_money.cancel(one, "Q-1", Ending(CalledOffBy.MAKER, DAY, "no kiln"))
    gone = order_money.cancel(one, "Q-1", Ending(CalledOffBy.CLIENT, DAY, "moves"))
    mute = order_money.cancel(one, "Q-1", Ending(CalledOffBy.CLIENT, DAY))

    assert (made.order.step, made.order.private.why, made.order.since) == (Step.DECLINED, "no kiln", DAY)
    assert (gone.order.step, gone.order.private.why) == (Step.WITHDRAWN, "moves")
    assert (mute.order.step, mute.order.private.why) == (Step.WITHDRAWN, "had a reason")
    assert made.said == ("Q-1 is declined. A courteous letter for it: `sitegen order letter Q-1`.",)


def test_what_has_ended_is_not_ended_again() -> None:
    with pytest.raises(Fault, match="that is its last step, so it can't go to 'called off'"):
        off(studio([], [queued("Q-1", "shipped", private=AGREED)]))


def moved_off(one: Studio) -> Changed:
    return orders.move(one, "Q-1", Step.ON_THE_BENCH, When(DAY))


def test_money_is_kept_in_the_order_of_its_days_and_only_in_possible_amounts() -> None:
    one = studio([], [agreed("accepted", paid="2027-02-05 132; 2027-03-05 54")])

    paid = order_money.pay(one, "q-1", Receipt(on=date(2027, 2, 20), amount=Decimal(100)), DAY)
    sent = order_money.refund(one, "Q-1", Receipt(on=DAY, amount=Decimal(186)), DAY)

    assert [(entry.on.day, int(entry.amount)) for entry in paid.order.private.paid] == [
        (5, 132), (20, 100), (5, 54)
    ]  # fmt: skip
    assert paid.said == (
        "Q-1: paid 286.00 EUR, still to pay 154.00 EUR.",
        "Next is due on 2027-04-05: 154.00 EUR.",
    )
    assert sent.order.private.paid[-1] == Receipt(on=DAY, amount=Decimal(-186))
    coin = order_money.refund(one, "Q-1", Receipt(on=DAY, amount=Decimal("0.01")), DAY)
    assert coin.order.private.paid[-1].amount == Decimal("-0.01")
    assert (paid.as_answer()["since"], moved_off(one).as_answer()["since"]) == (None, "2027-03-09")
    # 132 of 5 February and 154 of 5 March were due, the first more than seven days ago.
    assert sent.said[1] == "Due by 2027-03-09 and not there: 286.00 EUR, 132.00 EUR of it late."
    for amount in ("0", "-1"):
        with pytest.raises(Fault, match="is nothing to note; money sent back is `sitegen order refund`"):
            order_money.pay(one, "Q-1", Receipt(on=DAY, amount=Decimal(amount)), DAY)
        with pytest.raises(Fault, match=r"EUR can't go back; 186\.00 EUR is there to return"):
            order_money.refund(one, "Q-1", Receipt(on=DAY, amount=Decimal(amount)), DAY)
    with pytest.raises(Fault, match=r"186\.01 EUR can't go back"):
        order_money.refund(one, "Q-1", Receipt(on=DAY, amount=Decimal("186.01")), DAY)


def test_money_said_of_an_order_without_since_is_an_answer_too() -> None:
    order = {
        "code": "Q-1",
        "tier": "Small",
        "step": "accepted",
        "private": {**AGREED, "plan_from": "2027-03-01"},
    }

    answer = order_money.pay(
        studio([], [order]), "Q-1", Receipt(on=DAY, amount=Decimal(440)), DAY
    ).as_answer()

    assert (answer["since"], answer["moves"]) == (None, "")
    assert answer["notes"] == ["Q-1: paid 440.00 EUR, still to pay 0.00 EUR."]


def test_money_is_noted_after_the_yes_and_also_once_it_ended() -> None:
    for step in ("request", "waiting", "offered", "declined", "withdrawn", "lapsed"):
        with pytest.raises(
            Fault, match=f"Q-1 is {Step(step).said}; money is noted once the offer is accepted"
        ):
            order_money.pay(studio([], [queued("Q-1", step, private=AGREED)]), "Q-1", Receipt(on=DAY, amount=Decimal(1)), DAY)  # fmt: skip
    claimed = {**AGREED, "paid": "2027-02-05 132", "kept": "132", "claimed": "50"}
    ended = studio([], [queued("Q-1", "called off", private=claimed)])
    came = order_money.pay(ended, "Q-1", Receipt(on=DAY, amount=Decimal(20)), DAY)
    assert came.said == ("Q-1 was called off: 152.00 EUR is kept.", "30.00 EUR is still asked for.")
    with pytest.raises(Fault, match=r"1\.00 EUR can't go back; 0\.00 EUR is there to return"):
        order_money.refund(ended, "Q-1", Receipt(on=DAY, amount=Decimal(1)), DAY)
    sent = studio([], [queued("Q-1", "shipped", private={**AGREED, "paid": "2027-02-05 440"})])
    gift = order_money.refund(sent, "Q-1", Receipt(on=DAY, amount=Decimal(40)), DAY)
    assert gift.said == ("Q-1: paid 400.00 EUR, still to pay 0.00 EUR.",)


@pytest.mark.parametrize("end_days", [None, "3"])
def test_a_plan_may_be_ended_from_the_day_the_terms_name(end_days: str | None) -> None:
    """154 was due on 5 March; 42 days on is 16 April by the usual terms, three days on 8 March."""
    terms = {"end_days": end_days, "grace_days": "0"} if end_days else {}
    one = studio([], [agreed("accepted", paid="2027-02-05 132")], own=paying(**terms) if terms else None)
    order, days = find.order(one, "Q-1"), (8, 7) if end_days else (16, 15)
    month = 3 if end_days else 4

    told = ["\n".join(order_money.money_lines(one, order, date(2027, month, day))) for day in days]

    assert ["By your terms the plan may be ended" in said for said in told] == [True, False]


def test_every_answer_calls_the_same_sum_late() -> None:
    """154 fell due on 5 March and is late on 5 April, when the other 154 is due; 42 days on both are late."""
    one = studio([], [agreed("accepted", paid="2027-02-05 132")])
    day = date(2027, 4, 5)

    (line,) = order_book(one, day, []).orders
    shown = "\n".join(order_sheet(one, "Q-1", day).lines())
    answer = plan_answer(one, PlanWish(what="Q-1"), day).lines()
    told = [next(errands.of_line(one, line, lambda code, matter: None, day)).sentence]
    later = order_book(one, date(2027, 4, 16), []).orders[0]
    told.append(next(errands.of_line(one, later, lambda code, matter: None, date(2027, 4, 16))).sentence)

    assert line.next == "308.00 EUR to pay, 154.00 EUR late, 154.00 EUR due"
    assert "Due by 2027-04-05 and not there: 308.00 EUR, 154.00 EUR of it late.\n" in shown
    assert (
        "Due by today and not there: 308.00 EUR (154.00 EUR of it is late, after 7 days of grace)." in answer
    )
    assert [(owed.now, owed.late) for owed in books(one, 2027, day).owed] == [(Decimal(308), Decimal(154))]
    assert told == [
        "154.00 EUR for Q-1 (Small) should have come 31 days ago, Friday 5 March.",
        "308.00 EUR for Q-1 (Small) should have come: 154.00 EUR 42 days ago, Friday 5 March; 154.00 EUR "
        "11 days ago, Monday 5 April. By your terms the plan may be ended, as a part is late by 42 days or "
        "more and if nobody wrote.",
    ]


def test_a_finished_piece_that_is_paid_can_go_on() -> None:
    """Nothing else brings that line: not another step, not a coin less."""
    line = "It's paid in full: `sitegen order move Q-1 paid`."
    for step, paid, told in [("finished", "440", True), ("finished", "439.99", False), ("on the bench", "440", False)]:  # fmt: skip
        one = studio([], [agreed(step, paid=f"2027-02-05 {paid}")])
        assert (line in order_money.money_lines(one, find.order(one, "Q-1"), DAY)) == told


ROUND = {
    "name": "Winter 2027", "opens": "2027-01-16 12:00", "closes": "2027-01-23 20:00", "slots": "2",
}  # fmt: skip


def asked(code: str, when: str = "2027-01-17 10:00 request", **more: Any) -> dict[str, Any]:
    private = {"name": f"Name {code}", "email": f"{code.lower()}@mail.example"}
    since, step = when.split(maxsplit=1)[0], when.rsplit(maxsplit=1)[-1]
    return queued(code, step, since=since, moves=when, private=private, round="Winter 2027", **more)


def of_round(queue: list[dict[str, Any]], waiting: list[dict[str, Any]] | None = None, **own: Any) -> Studio:
    text = {**ROUND, **own}
    for key in ("opens", "closes"):
        if text.get(key):
            text[key] = datetime.fromisoformat(text[key]).replace(tzinfo=ZONE)
    return studio([], queue, rounds=[text], waiting=waiting or [])


def at(moment: str) -> datetime:
    return datetime.fromisoformat(moment).replace(tzinfo=ZONE)


@pytest.mark.parametrize(
    ("way", "closes", "moment", "said"),
    [
        ("first come", "2027-01-23 20:00", "2027-01-16 11:59", "opens on 2027-01-16 12:00; offer its slots after that"),
        ("first come", "2027-01-23 20:00", "2027-01-16 12:00", None),
        ("waiting list", "2027-01-23 20:00", "2027-01-15 12:00", None),
        ("draw", "2027-01-23 20:00", "2027-01-23 19:59", "goes by draw and closes on 2027-01-23 20:00; offer"),
        ("draw", "2027-01-23 20:00", "2027-01-23 20:00", None),
        ("draw", None, "2027-02-23 20:00", "goes by draw and closes on a day that its `closes:` must name"),
    ],
)  # fmt: skip
def test_slots_are_offered_from_the_minute_that_the_rounds_way_allows(
    way: str, closes: str | None, moment: str, said: str | None
) -> None:
    came = "2027-01-10 10:00 request" if way == "waiting list" else "2027-01-16 12:00 request"
    one = of_round([asked("W-1", came)], way=way, closes=closes)

    if said is None:
        assert [order.code for order in turns.offer_round(one, "winter-2027", None, None, at(moment)).offered] == ["W-1"]  # fmt: skip
    else:
        with pytest.raises(Fault, match=said):
            turns.offer_round(one, "Winter 2027", None, None, at(moment))


def test_what_an_offer_leaves_free_is_said_and_what_was_asked_for_is_no_more_than_is_free() -> None:
    now = at("2027-02-01 09:00")
    one = of_round([asked("W-1"), asked("W-2", "2027-01-17 10:01 request")], slots="4")

    every, first = (turns.offer_round(one, "Winter 2027", None, count, now) for count in (None, 1))
    many = turns.offer_round(of_round([asked("W-1"), asked("W-2")], slots="1"), "Winter 2027", None, 9, now)

    assert (len(every.offered), every.notes, every.until) == (2, ("2 slots of Winter 2027 left free.",), date(2027, 2, 15))  # fmt: skip
    assert ([order.code for order in first.offered], first.notes) == (["W-1"], ("3 slots of Winter 2027 left free.",))  # fmt: skip
    assert ([order.code for order in many.offered], many.notes) == (["W-1"], ())
    with pytest.raises(Fault, match=r"nobody is in line for Winter 2027; 2 of 2 are free$"):
        turns.offer_round(of_round([]), "Winter 2027", None, None, now)
    with pytest.raises(Fault, match=r"are taken$"):
        turns.offer_round(of_round([asked("W-1", "2027-01-25 accepted")], slots="1"), "Winter 2027", None, None, now)  # fmt: skip


def test_what_lapsed_and_what_stands_is_listed_by_name() -> None:
    offer = "2027-01-17 10:00 request; 2027-02-01 offered"
    one = of_round([asked("W-1", offer), asked("W-2", offer), asked("W-3")])

    late = turns.lapsed(one, {}, date(2027, 2, 16))
    soon = turns.lapsed(one, {}, date(2027, 2, 15))
    gone = turns.lapsed(of_round([asked("W-1", offer), asked("W-2")]), {}, date(2027, 2, 16))
    undated = turns.lapsed(studio([], [{"code": "X", "tier": "Small", "step": "offered"}]), {}, DAY)

    assert late.lines() == [
        "Not answered: W-1 (Small, Name W-1), offered 2027-02-01.",
        "Not answered: W-2 (Small, Name W-2), offered 2027-02-01.",
        "Offered: W-3 (Small, Name W-3), until 2027-03-02.",
        "1 slot stays free: nobody else is in line.",
        "Letters for them:", "  sitegen order letter W-1", "  sitegen order letter W-2", "  sitegen order letter W-3",
    ]  # fmt: skip
    assert (soon.lines(), soon.changes, soon.as_answer()["until"]) == (
        ["No offer has lapsed.", "W-1 (Small, Name W-1): stands until 2027-02-15.", "W-2 (Small, Name W-2): stands until 2027-02-15."],
        False, None,
    )  # fmt: skip
    assert gone.notes == ()
    assert undated.notes == ("No offer has lapsed.", "X (Small): has no day; write `since:` under it.")


def test_the_line_of_a_round_names_three_and_counts_the_rest() -> None:
    people = [asked(f"W-{number}", f"2027-01-17 10:0{number} request") for number in range(1, 6)]
    told = []
    for count in (0, 1, 3, 4, 5):
        one = of_round(people[:count])
        told.append(turns.line_up(one, one.commissions.rounds[0], None))

    assert told == [
        "Winter 2027: 2 of 2 slots free; nobody is in line.",
        "Winter 2027: 2 of 2 slots free; next in line: W-1.",
        "Winter 2027: 2 of 2 slots free; next in line: W-1, W-2, W-3.",
        "Winter 2027: 2 of 2 slots free; next in line: W-1, W-2, W-3 and 1 more.",
        "Winter 2027: 2 of 2 slots free; next in line: W-1, W-2, W-3 and 2 more.",
    ]
    drawn = of_round(people, way="draw")
    assert turns.line_up(drawn, drawn.commissions.rounds[0], None).startswith(
        "Winter 2027: 2 of 2 slots free. Winter 2027 goes by draw and hasn't been drawn: 5 ask for 2;"
    )
    lists = of_round([], [{"since": "2026-08-02", "private": {"email": "c@mail.example"}}, {"since": "2026-08-03"}, {"since": "2026-08-04", "private": {"name": "Dan", "email": "d@mail.example"}}], way="waiting list")  # fmt: skip
    assert turns.line_up(lists, lists.commissions.rounds[0], None).endswith(
        "next in line: c@mail.example (waits since 2026-08-02), somebody (waits since 2026-08-03), Dan (waits since 2026-08-04)."
    )
    assert turns.rounds_of_interest(drawn) == list(drawn.commissions.rounds)
    assert turns.rounds_of_interest(of_round([asked("W-1", "2027-01-25 declined")])) == []


@pytest.mark.parametrize(
    ("look", "said"),
    [
        (lambda one: find.order(one, "Q-11"), "commissions.yaml: there is no order 'Q-11' in the queue; did you mean 'Q-1'?"),
        (lambda one: find.order(one, "zzzzzz"), "commissions.yaml: there is no order 'zzzzzz' in the queue; there are Q-1, Q-2"),
        (lambda one: find.order(studio(), "Q-9"), "commissions.yaml: there is no order 'Q-9' in the queue; the queue is empty"),
        (lambda one: find.round_named(one, "summer fair"), "commissions.yaml: there is no round 'summer fair'; there are Winter 2027"),
        (lambda one: find.round_named(one, "winter 2028"), "commissions.yaml: there is no round 'winter 2028'; did you mean 'Winter 2027'?"),
        (lambda one: find.round_named(studio(), "x"), "commissions.yaml: there is no round 'x'; write it under `rounds:`"),
        (lambda one: find.tier(one, "Gigantic"), "commissions.yaml: there is no tier 'Gigantic'; there are Small, Large"),
        (lambda one: find.tier(one, "smal"), "commissions.yaml: there is no tier 'smal'; did you mean 'Small'?"),
        (lambda one: find.tier(studio(tiers=[]), "x"), "commissions.yaml: there is no tier 'x'; write it under `tiers:`"),
        (lambda one: find.piece(one, "past-7"), "there is no piece 'past-7'; did you mean 'past-0'?"),
        (lambda one: find.piece(one, "zebra"), "there is no piece 'zebra'; its folder's name below pieces/ is what to write"),
    ],
)  # fmt: skip
def test_what_is_not_there_is_refused_with_what_is(look: Any, said: str) -> None:
    one = studio(fixed(1), [queued("Q-1"), queued("Q-2")], rounds=[{**ROUND, "opens": at("2027-01-16 12:00"), "closes": None}])  # fmt: skip

    with pytest.raises(Fault) as fault:
        look(one)

    assert str(fault.value) == said
    assert find.piece(one, "past-0").slug == "past-0"
    assert find.round_named(one, "WINTER 2027") is find.round_named(one, "winter-2027")


def test_an_order_is_offered_only_while_a_slot_is_free() -> None:
    one = of_round([asked("W-1"), asked("W-2", "2027-01-20 accepted")], slots="1")

    with pytest.raises(Fault, match="all slots of Winter 2027 are taken; raise `slots:` there"):
        orders.move(one, "W-1", Step.OFFERED, When(DAY))


def test_an_answer_is_late_from_the_day_after_the_last() -> None:
    """An offer of 1 February stands fourteen days, through 15 February."""
    one = studio([], [queued("Q-1", "offered", since=None, moves="2027-02-01 offered", private=AGREED)])

    last, late = (orders.move(one, "Q-1", Step.ACCEPTED, When(date(2027, 2, day))) for day in (15, 16))

    assert not any("stood until" in line for line in last.said)
    assert "The offer stood until 2027-02-15; you took the answer all the same." in late.said
    assert (last.order.private.deposit, last.order.private.instalments) == ("30%", 2)


@pytest.mark.parametrize(
    ("terms", "private", "deposit", "first"),
    [
        ({"deposit": "25%"}, {}, "25%", "Deposit of 110.00 EUR is due on 2027-03-09"),
        ({"deposit": "25%"}, {"deposit": "50"}, "50", "Deposit of 50.00 EUR is due on 2027-03-09"),
        ({"deposit": "0"}, {}, "0", "Instalment of 220.00 EUR is due on 2027-03-09"),
    ],
)
def test_the_plan_of_the_day_is_written_into_the_order(
    terms: dict[str, str], private: dict[str, str], deposit: str, first: str
) -> None:
    order = queued("Q-1", "offered", since="2027-03-01", private={**AGREED, **private})

    done = orders.move(studio([], [order], own=paying(**terms)), "Q-1", Step.ACCEPTED, When(DAY))

    assert (done.order.private.deposit, done.order.private.instalments) == (deposit, 2)
    assert done.said[1] == f"{first}; the whole plan: `sitegen plan Q-1`."


def test_work_that_begins_says_what_of_the_first_part_is_missing() -> None:
    told = []
    for paid in ("", "2027-02-05 131.99", "2027-02-05 132"):
        one = studio([], [agreed("accepted", paid=paid)])
        told.append(orders.move(one, "Q-1", Step.ON_THE_BENCH, When(DAY)).said[1:])
    unpriced = studio([], [queued("Q-1", "accepted", since="2027-03-01")])

    assert told == [
        ("Careful: of the deposit, 132.00 EUR isn't in yet.",),
        ("Careful: of the deposit, 0.01 EUR isn't in yet.",),
        (),
    ]
    assert orders.move(unpriced, "Q-1", Step.ON_THE_BENCH, When(DAY)).said[1:] == ()
    (line,) = order_book(unpriced, DAY, []).orders
    assert (line.next, line.balance) == ("has no price yet", None)


def test_sending_says_what_the_books_still_need() -> None:
    order = agreed("paid", paid="2027-02-05 440")
    sold = {"on": "2027-03-09", "price": "440", "stream": "commissions"}
    told = []
    for private in (None, {"order": "Q-1"}, {"order": "Q-1", "sold": sold}):
        pieces = [piece("hare", private=private)] if private else []
        told.append(orders.move(studio(pieces, [order]), "Q-1", Step.SHIPPED, When(DAY)).said[1:])

    shipped = "Q-1 is shipped, but no piece says that it was sold for it, so the books count the order itself"
    note = "commissioned --price 440.00 --on 2027-03-09` notes the sale."
    assert told == [
        (f"{shipped}, without supplies; name it with its piece (`order: Q-1` in its `private:`), then `sitegen piece mark PIECE {note}",),
        (f"{shipped}; `sitegen piece mark hare {note}",),
        (),
    ]  # fmt: skip


def test_a_slot_is_not_given_twice_and_who_asks_again_is_told() -> None:
    one = of_round([asked("W-1", "2027-01-25 accepted")])
    twin = Client(name="Name W-1", email="W-1@mail.example")

    added = orders.add(one, twin, "small", "Winter 2027", None, When(date(2027, 1, 17), time(11, 0)))
    other = orders.add(one, Client(name="Zed"), "small", None, "own", When(date(2027, 1, 17), time(11, 0)))

    assert added.said == (
        "W-2 is in the queue: Small, request in the round Winter 2027.",
        "They hold W-1 (accepted); nobody gets a second slot before it's shipped.",
    )
    assert (other.order.code, other.said) == ("own", ("own is in the queue: Small, request in the round Winter 2027.",))  # fmt: skip
    with pytest.raises(Fault, match="w-1 is in the queue already; each order has its own code"):
        orders.add(one, twin, "small", None, "w-1", When(DAY))


def test_a_promise_once_kept_on_record_is_named_only_when_another_day_holds() -> None:
    """Before the yes a day is just changed; after it, with money in, the first one stays."""
    offered = studio([], [queued("Q-1", "offered", since="2027-03-01", private={**AGREED, "promised": "2027-06-01"})])  # fmt: skip
    before = orders.promise(offered, "Q-1", date(2027, 7, 1))
    same = orders.promise(offered, "Q-1", date(2027, 6, 1))
    agreed_on = studio([], [agreed("accepted", promised="2027-06-01")])
    after = orders.promise(agreed_on, "Q-1", date(2027, 7, 1))
    sooner = orders.promise(agreed_on, "Q-1", date(2027, 5, 1))
    unpaid = orders.promise(studio([], [agreed("accepted")]), "Q-1", date(2027, 5, 1))
    paid = orders.promise(studio([], [agreed("accepted", paid="2027-02-05 132")]), "Q-1", date(2027, 5, 1))

    assert before.said == ("Q-1 is promised for 2027-07-01 (was 2027-06-01).",)
    assert (before.order.private.promised, before.order.private.new_days) == (date(2027, 7, 1), ())
    assert (same.order.private, same.said) == (find.order(offered, "Q-1").private, ("Q-1 is promised for 2027-06-01 (was 2027-06-01).",))  # fmt: skip
    assert after.said[0].endswith("(was 2027-06-01). The first promise, 2027-06-01, stays in the file.")
    assert (after.order.private.promised, after.order.private.new_days) == (date(2027, 6, 1), (date(2027, 7, 1),))  # fmt: skip
    assert len(after.said) == 2  # thirty days later: silence is a yes (16 CFR 435.2(b)(1)(ii))
    assert "the new day stands if they say nothing" in after.said[1]
    assert len(sooner.said) == 1
    assert (unpaid.order.private.promised, unpaid.order.private.new_days) == (date(2027, 5, 1), ())
    assert (paid.order.private.promised, paid.order.private.new_days) == (None, (date(2027, 5, 1),))


def test_the_book_is_empty_or_says_what_each_waits_for() -> None:
    queue = [
        queued("A", "request"),
        {"code": "B", "tier": "Small", "step": "offered"},
        queued("C", "offered", since="2027-02-23"),
        queued("D", "offered", since="2027-02-22"),
        queued("E", "accepted", since=None, moves="2027-03-01 accepted", private={**AGREED, "promised": "2027-03-09", "paid": "2027-03-01 132"}),
        queued("F", "accepted", since=None, moves="2027-03-01 accepted", private={**AGREED, "promised": "2027-03-08", "paid": "2027-03-01 450"}),
        queued("G", "accepted", since=None, moves="2027-03-01 accepted", private=AGREED),
        queued("H", "accepted", since=None, private=AGREED),
        queued("I", "declined"),
        queued("J", "declined", since="2027-03-01", private={**AGREED, "plan_from": "2027-02-01"}),
    ]  # fmt: skip

    book = order_book(studio([], queue), DAY, [], everything=True)
    lines = {line.order.code: line.next for line in book.orders}

    assert [line.order.code for line in order_book(studio([], queue), DAY, []).orders] == list(
        "GDFABCEH"
    )  # what is late comes first
    assert {line.balance for line in book.orders if line.order.code in "ABCDHIJ"} == {None}
    assert lines == {
        "A": "",
        "B": "has no day to count from; write `since:`",
        "C": "answer by 2027-03-09",
        "D": "not answered by 2027-03-08: `sitegen order lapsed`",
        "E": "308.00 EUR to pay, next 2027-04-01",
        "F": "10.00 EUR to go back",
        "G": "440.00 EUR to pay, 132.00 EUR late",
        "H": "", "I": "", "J": "",
    }  # fmt: skip
    assert order_book(studio(), DAY, ["a round"]).lines() == ["The order book is empty.", "a round"]
    shown = order_sheet(studio([], queue), "H", DAY).lines()
    assert shown[:3] == ["H: Small, accepted; asked for outside any round", "", "Price: 440.00 EUR."]


@pytest.mark.parametrize(
    ("pages", "noted", "version", "said"),
    [
        ((), None, None, False),  # no written terms at all: nothing to note, nothing to say
        (("about",), None, None, False),
        (("payment-terms",), None, None, True),
        (("payment-terms",), "2026-01", "2026-01", False),
    ],
)
def test_the_terms_accepted_are_noted_once_and_missed_only_where_there_are_any(
    pages: tuple[str, ...], noted: str | None, version: str | None, said: bool
) -> None:
    terms = {"terms": {"version": noted, "on": "2027-02-02"}} if noted else {}
    one = studio([], [queued("Q-1", "offered", since="2027-03-01", private=AGREED, **terms)])
    one = replace(one, pages=tuple(Page(name, "Terms", "As now.") for name in pages))

    done = orders.move(one, "Q-1", Step.ACCEPTED, When(DAY))

    assert (done.order.terms.version if done.order.terms else None) == version
    assert any("aren't kept, so no version is noted" in line for line in done.said) is said


def test_a_draw_takes_those_who_ask_in_that_round_and_still_do() -> None:
    """Two rounds are open at once; whoever named the other, was offered or withdrew isn't on the list."""
    other = {**asked("X-1"), "round": "Other"}
    one = of_round([asked("W-1"), asked("W-2", "2027-01-20 withdrawn"), other, asked("W-3")], way="draw")
    rounds = (*one.commissions.rounds, one.commissions.rounds[0].model_copy(update={"name": "Other"}))
    both = replace(one, commissions=one.commissions.model_copy(update={"rounds": rounds}))

    assert [turns.entrants_of(both, name)[:2] for name in rounds] == [(("W-1", "W-3"), ()), (("X-1",), ())]


def test_a_draw_has_one_entry_a_person_as_the_line_of_every_other_round_has() -> None:
    """The same mail address in other letters, the domain as browsers write it, or a name where no address is."""
    ida, bo = {"name": "Ida Example", "email": "Ida@Ägypten.example"}, {"name": "Bo Test", "email": ""}
    again = ("ida@xn--gypten-9ta.example", "IDA@ägypten.example", "")
    queue = [{**asked("W-1"), "private": ida}, {**asked("W-2"), "private": bo}]
    queue += [{**asked(f"W-{n}"), "private": {**ida, "email": email}} for n, email in enumerate(again, 3)]
    one = of_round(
        [*queue, {**asked("W-6"), "private": {"name": " bo  TEST", "email": ""}}, asked("W-7")], way="draw"
    )

    assert turns.entrants_of(one, one.commissions.rounds[0])[:2] == (
        ("W-1", "W-2", "W-7"),
        ("W-3", "W-4", "W-5", "W-6"),
    )


def test_a_day_is_promised_also_where_nobody_wrote_when_it_was_accepted() -> None:
    one = studio([], [queued("Q-1", "on the bench", since="2027-03-01", private=AGREED)])

    assert orders.promise(one, "Q-1", date(2027, 7, 1)).said == ("Q-1 is promised for 2027-07-01.",)


def test_the_sheet_for_machines_holds_every_coin_and_every_day() -> None:
    private = {"paid": "2027-02-05 132; 2027-02-06 0.50; 2027-02-07 -0.50", "promised": "2027-06-01", "new_days": "2027-06-20; 2027-06-10"}  # fmt: skip
    answer = order_sheet(studio([], [agreed("accepted", **private)]), "Q-1", DAY).as_answer()

    assert [one["amount"] for one in answer["paid"]] == ["132.00", "0.50", "-0.50"]
    assert answer["promised"] == ["2027-06-01", "2027-06-20", "2027-06-10"]
    assert order_sheet(studio([], [queued("Q-1")]), "Q-1", DAY).as_answer()["since"] == "2026-11-01"
    assert (answer["hours"], answer["can_go_to"]) == ("0", ["on the bench", "called off"])


def test_whoever_is_passed_over_is_named_up_to_the_last_that_is_offered() -> None:
    offer = "2027-01-17 10:00 request; 2027-02-01 lapsed"
    again = [
        {**asked(f"W-{n}", f"2027-01-18 10:0{n} request"), "private": {"name": "Name L"}} for n in (1, 4)
    ]
    gone = {**asked("L", offer), "private": {"name": "Name L"}}
    one = of_round(
        [gone, again[0], asked("W-2"), asked("W-3", "2027-01-18 10:03 request"), again[1]], slots="2"
    )

    notes = [turns.offer_round(one, "Winter 2027", None, count, at("2027-02-01 09:00")).notes for count in (1, 2)]  # fmt: skip

    over = "Passed over: W-1 didn't answer the offer L."
    assert notes == [("1 slot of Winter 2027 left free.",), (over,)]


def test_a_yes_that_is_taken_back_leaves_its_plan_in_the_file_and_says_so() -> None:
    said = []
    for more in ({}, {"instalments": "2"}):
        one = studio([], [queued("Q-1", since=None, moves=MOVES, private={"price": "440", **more})])
        said.append(orders.take_back(one, "Q-1").said)
    slip = studio([], [agreed("on the bench")])

    assert [len(lines) for lines in said] == [1, 2]
    assert said[1][0] == "Q-1 is offered again (was accepted)."
    assert said[1][1].startswith("Careful: the terms and the plan that were noted with the yes stay")
    assert orders.take_back(slip, "Q-1").said == ("Q-1 is accepted again (was on the bench).",)


@pytest.mark.parametrize(("tiers", "expected"), [([], "Small"), (["Large"], "Large")])
def test_who_waits_for_any_size_is_offered_the_first_that_the_round_takes(
    tiers: list[str], expected: str
) -> None:
    waiting = [{"since": "2026-08-02", "private": {"name": "Cara"}}]
    one = of_round([], waiting, way="waiting list", tiers=tiers)

    made = turns.offer_round(one, "Winter 2027", None, 1, at("2027-02-01 09:00"))

    assert [(order.code, order.tier) for order in made.offered] == [("W27-1", expected)]
    assert made.book.waiting == ()
