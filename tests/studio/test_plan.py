"""A plan follows the studio's terms, and says so when it can't."""

import re
from datetime import date
from decimal import Decimal

import pytest

from sitegen.studio.commission import Client
from sitegen.studio.plan import (
    CREDIT_CAUTION,
    USUAL_TERMS,
    Band,
    PartKind,
    PaymentPlan,
    deposit_on,
    instalments_for,
    make,
    months_after,
)

BANDS = (
    Band(instalments=2, up_to=Decimal(500)),
    Band(instalments=3, up_to=Decimal(1500)),
    Band(instalments=4),
)
START = date(2027, 1, 31)


@pytest.mark.parametrize(("price", "count"), [("1", 2), ("500", 2), ("500.01", 3), ("1500", 3), ("9000", 4)])
def test_price_bands_decide_the_number_of_instalments(price: str, count: int) -> None:
    """A price on the edge belongs to the cheaper band."""
    assert instalments_for(Decimal(price), BANDS) == count


@pytest.mark.parametrize(
    ("bands", "sentence"),
    [
        (BANDS[:2], "no price band reaches 2000; leave up_to out of the last band"),
        (BANDS[::-1], "a price band without a highest price must be the last one"),
        (
            (BANDS[1], BANDS[0]),
            "price bands must go from cheap to dear, each up_to higher than the one before",
        ),
    ],
)
def test_bands_that_make_no_sense_are_refused(bands: tuple[Band, ...], sentence: str) -> None:
    """No number of instalments is guessed."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        instalments_for(Decimal(2000), bands)


@pytest.mark.parametrize(("text", "deposit"), [("30%", "120.00"), (" 33.5 %", "134.00"), ("150", "150.00")])
def test_a_deposit_is_a_share_or_an_amount(text: str, deposit: str) -> None:
    """Of 400: 30 % are 120, 33.5 % are 134."""
    assert str(deposit_on(text, Decimal(400), 2)) == deposit


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("a third%", 'deposit "a third%" is no percentage; write digits and the sign, as 30%'),
        ("120%", 'deposit "120%" is more than the whole price; write 100% or less'),
        ("1,500", '"1,500" has a comma; write 1500 without a thousands mark'),
    ],
)
def test_another_deposit_is_refused(text: str, sentence: str) -> None:
    """Anything else gets a sentence."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        deposit_on(text, Decimal(400), 2)


@pytest.mark.parametrize(
    ("price", "terms", "count", "sentence"),
    [
        ("0", USUAL_TERMS, 3, "a plan for 0 has nothing to pay; the price must be above zero"),
        (
            "400",
            USUAL_TERMS,
            0,
            "280.00 is left after the deposit; a plan needs at least one instalment for it",
        ),
        (
            "0.02",
            PaymentPlan(deposit="0"),
            3,
            "an instalment would be 0.00, below the smallest part of 0.01; "
            "of 0.02 left after the deposit, 2 at most",
        ),
        (
            "100",
            PaymentPlan(deposit="30%", smallest_part=Decimal(20)),
            4,
            "an instalment would be 17.50, below the smallest part of 20; "
            "of 70.00 left after the deposit, 3 at most",
        ),
        (
            "50",
            PaymentPlan(deposit="30%", smallest_part=Decimal(20)),
            1,
            "the deposit of 15.00 is below the smallest part of 20",
        ),
        ("400", USUAL_TERMS, 61, "61 instalments are out of range; write a number from 1 to 60"),
    ],
)
def test_plans_that_break_the_terms_are_refused(
    price: str, terms: PaymentPlan, count: int, sentence: str
) -> None:
    """Every refusal names the amount and the rule."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        make(Decimal(price), START, 2, terms, count)


def test_the_band_decides_unless_a_number_is_asked_for() -> None:
    """An asked-for number overrules the price band."""
    terms = PaymentPlan(deposit="30%", bands=BANDS)

    assert len(make(Decimal(450), START, 2, terms).parts) == 1 + 2
    assert len(make(Decimal(450), START, 2, terms, instalments=4).parts) == 1 + 4


def test_without_a_deposit_the_first_instalment_is_due_at_the_start() -> None:
    """Nobody waits a month for the first payment."""
    plan = make(Decimal(300), START, 2, PaymentPlan(deposit="0"))

    assert [part.due for part in plan.parts] == [date(2027, 1, 31), date(2027, 2, 28), date(2027, 3, 31)]


def test_a_deposit_of_the_whole_price_needs_no_instalment() -> None:
    """Paid at once is a plan of one part."""
    plan = make(Decimal(300), START, 2, PaymentPlan(deposit="100%"), instalments=0)

    assert [part.amount for part in plan.parts] == [Decimal(300)]


def test_five_instalments_or_a_charge_bring_the_credit_caution() -> None:
    """Four without a charge bring none; the caution sends to a professional."""
    assert make(Decimal(300), START, 2, USUAL_TERMS, 4).warnings == ()
    assert make(Decimal(300), START, 2, USUAL_TERMS, 5).warnings == (
        f"This plan has 5 instalments besides the deposit. {CREDIT_CAUTION}",
    )
    charged = make(Decimal(300), START, 2, USUAL_TERMS, 3, charge=Decimal(10))
    assert charged.warnings == (f"This plan carries a charge of 10 for paying later. {CREDIT_CAUTION}",)
    assert sum(part.amount for part in charged.parts) == charged.total == 310
    assert "12 CFR 1026.2(a)(17)(i)" in CREDIT_CAUTION


def test_a_plan_does_not_run_past_the_calendar() -> None:
    """The last year there is ends a plan with a sentence, not a crash."""
    with pytest.raises(ValueError, match=r"^the plan would run past the year 9999$"):
        months_after(date(9999, 12, 1), 1)


def test_the_usual_deposit_is_never_empty_and_one_clients_may_be() -> None:
    """An empty one in studio.yaml would leave every plan without its first part; a client's means the usual."""
    assert Client.model_validate({"deposit": " "}).deposit == ""
    with pytest.raises(ValueError, match="no amount is written"):
        PaymentPlan.model_validate({"deposit": " "})


@pytest.mark.parametrize("deposit", ["100%", "400", "400.00", "500"])
@pytest.mark.parametrize("count", [None, 0, 2])
def test_a_deposit_of_the_whole_price_leaves_no_instalment(deposit: str, count: int | None) -> None:
    """All is paid at once; an amount above this price is this price, so that a cheap piece can be had too."""
    plan = make(Decimal(400), date(2027, 1, 31), 2, PaymentPlan(deposit=deposit), count)

    assert [(part.kind, part.due, part.amount) for part in plan.parts] == [
        (PartKind.DEPOSIT, date(2027, 1, 31), Decimal(400))
    ]
