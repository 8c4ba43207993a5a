"""What's paid, due and late is plain to see, and calling off loses no coin."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio.order_lines import Receipt
from sitegen.studio.plan import CalledOffBy, CallingOff, PaymentPlan, call_off, make, state

# deposit 300 on 31 January, then 175 on 28 February, 31 March, 30 April and 31 May
PLAN = make(Decimal(1000), date(2027, 1, 31), 2, PaymentPlan(deposit="30%", grace_days=7), 4)


def paid(*amounts: int) -> list[Receipt]:
    """Payments of so much each, on the start day."""
    return [Receipt(on=date(2027, 1, 31), amount=Decimal(amount)) for amount in amounts]


@pytest.mark.parametrize(
    ("today", "amounts", "standings"),
    [
        ("2027-01-30", [], "to come, to come, to come, to come, to come"),
        ("2027-01-31", [], "due, to come, to come, to come, to come"),
        ("2027-02-07", [], "due, to come, to come, to come, to come"),
        ("2027-02-08", [], "late, to come, to come, to come, to come"),
        ("2027-02-28", [300, 100], "paid, due, to come, to come, to come"),
        ("2027-03-31", [300, 174], "paid, late, due, to come, to come"),
        ("2027-03-31", [300, 100, 75], "paid, paid, due, to come, to come"),
        ("2027-01-31", [1000], "paid, paid, paid, paid, paid"),
    ],
)
def test_parts_stand_as_paid_due_or_late(today: str, amounts: list[int], standings: str) -> None:
    """Payments fill the oldest part first; grace ends on the seventh day."""
    result = state(PLAN, paid(*amounts), date.fromisoformat(today))

    assert ", ".join(part.standing for part in result.parts) == standings


def test_a_late_part_says_how_late_and_how_much() -> None:
    """Ten days after the deposit was due, with a hundred paid."""
    result = state(PLAN, paid(100), date(2027, 2, 10))

    assert (result.parts[0].late_days, result.parts[0].open) == (10, Decimal(200))
    assert (result.owed_now, result.balance, len(result.late_parts)) == (Decimal(200), Decimal(900), 1)
    assert result.next_due == PLAN.parts[0]


@given(st.lists(st.decimals(0, 400, places=2), max_size=8), st.dates(date(2027, 1, 1), date(2028, 1, 1)))
def test_no_coin_is_lost_and_nothing_ships_unpaid(amounts: list[Decimal], today: date) -> None:
    """Paid and balance make the total; shipping needs all of it."""
    payments = [Receipt(on=date(2026, 12, 1), amount=amount) for amount in amounts]
    result = state(PLAN, payments, today)

    assert result.paid + result.balance == 1000
    assert sum(part.paid for part in result.parts) == min(result.paid, Decimal(1000))
    assert result.may_ship == (sum(amounts) >= 1000)
    assert result.may_ship == (result.next_due is None)


def test_payments_of_tomorrow_do_not_count_today() -> None:
    """A payment counts from its day on."""
    payment = [Receipt(on=date(2027, 2, 2), amount=Decimal(1000))]

    assert not state(PLAN, payment, date(2027, 2, 1)).may_ship
    assert state(PLAN, payment, date(2027, 2, 2)).may_ship


def test_money_sent_back_opens_the_balance_again() -> None:
    """A returned payment is a payment below zero."""
    assert state(PLAN, paid(1000, -400), date(2027, 2, 1)).balance == 400


# Worked by hand from the rules in the docstring of call_off; the rules are the artist's, no source.
@pytest.mark.parametrize(
    ("by", "done", "terms", "amounts", "settled"),
    [
        ("maker", "0.9", CallingOff(), [300, 175], "0 475 0"),
        ("client", "0", CallingOff(), [300, 175], "300.00 175.00 0"),
        ("client", "0.4", CallingOff(), [300, 175], "400.00 75.00 0"),
        ("client", "0.4", CallingOff(keep_deposit=False), [300, 175], "400.00 75.00 0"),
        ("client", "0.2", CallingOff(keep_deposit=False), [300, 175], "200.00 275.00 0"),
        ("client", "0.4", CallingOff(charge_work=False), [300, 175], "300.00 175.00 0"),
        ("client", "0.9", CallingOff(), [300], "300 0 0"),
        ("client", "0.9", CallingOff(claim_missing=True), [300], "300 0 600.00"),
        ("client", "0.9", CallingOff(free_days=14), [300], "0 300 0"),
        ("client", "1", CallingOff(), [1200], "1000.00 200.00 0"),
        ("client", "0.5", CallingOff(keep_deposit=False, charge_work=False), [300], "0 300 0"),
    ],
)
def test_calling_off(by: str, done: str, terms: CallingOff, amounts: list[int], settled: str) -> None:
    """Kept, returned and claimed, case by case."""
    result = call_off(PLAN, paid(*amounts), date(2027, 2, 10), CalledOffBy(by), Decimal(done), terms)

    assert f"{result.kept} {result.returned} {result.claimed}" == settled
    assert result.kept + result.returned == result.paid


def test_the_free_days_end() -> None:
    """One day past the free days the deposit is kept."""
    terms = CallingOff(free_days=14)
    result = call_off(PLAN, paid(300), date(2027, 2, 15), CalledOffBy.CLIENT, Decimal(0), terms)

    assert (result.kept, result.why) == (Decimal(300), "the deposit of 300.00 is kept, as the terms say")


def test_more_than_all_the_work_cannot_be_done() -> None:
    """A share of 40 was meant as a percentage and is refused."""
    with pytest.raises(ValueError, match=r"^the share of the work done is 40; write a number from 0 to 1$"):
        call_off(PLAN, [], date(2027, 2, 1), CalledOffBy.CLIENT, Decimal(40), CallingOff())
