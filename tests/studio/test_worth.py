"""The floor pays for everything, the fair price for a little more, and nothing prints itself."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio.settings import Desk
from sitegen.studio.wage import priced, round_fraction, work_out

TERMS = Desk(
    rate=Decimal(28), overhead=Decimal(310), weekly_hours=Decimal(24), fees=Decimal(3), margin=Decimal(20)
)


def test_a_piece_worked_out_by_hand() -> None:
    """Source: worked by hand with a pocket calculator, from the rules of the module.

    Month: 24 x 52 / 12 = 104 h; overhead an hour 310 / 104 = 2.980769; 20 h x that = 59.62.
    Cost: 46.50 + 20 x 28 + 59.615385 = 666.115385. Floor: / 0.97 = 686.7168, up to 686.72.
    Fair: 666.115385 x 1.2 / 0.97 = 824.0603, up to 824.07. Fees at 780: 23.40.
    Hourly: (780 - 23.40 - 46.50 - 59.615385) / 20 = 32.5242.
    """
    worth = work_out(Decimal("46.50"), Decimal(20), TERMS, 2, asking=Decimal(780))

    assert (worth.wage, worth.overhead) == (Decimal(560), Decimal("59.62"))
    assert (worth.floor, worth.fair) == (Decimal("686.72"), Decimal("824.07"))
    assert (worth.fees, worth.hourly) == (Decimal("23.40"), Decimal("32.52"))
    assert worth.short == 0


AMOUNTS = st.decimals(0, 5000, places=2)


@given(
    AMOUNTS,
    st.decimals(Decimal("0.5"), 400, places=1),
    st.builds(
        Desk,
        rate=st.decimals(0, 200, places=2),
        overhead=AMOUNTS,
        weekly_hours=st.decimals(1, 60, places=1),
        fees=st.decimals(0, 60, places=1),
        margin=st.decimals(0, 100, places=0),
    ),
    st.sampled_from([0, 2, 3]),
)
def test_at_the_floor_an_hour_earns_the_rate_and_a_coin_below_it_does_not(
    supplies: Decimal, hours: Decimal, terms: Desk, digits: int
) -> None:
    """The floor is the lowest price in whole coins that pays supplies, overhead, fees and the rate."""
    worth = work_out(supplies, hours, terms, digits)
    coin = Decimal(10) ** -digits
    month = Fraction(terms.weekly_hours or 1) * 52 / 12
    needed = Fraction(supplies) + Fraction(hours) * (
        Fraction(terms.rate or 0) + Fraction(terms.overhead or 0) / month
    )
    left_of = 1 - Fraction(terms.fees) / 100

    assert Fraction(worth.floor) * left_of >= needed
    assert Fraction(worth.floor - coin) * left_of < needed
    assert worth.fair >= worth.floor


def test_a_fraction_cut_short_does_not_cost_a_coin() -> None:
    """Overhead of 100 over 104 hours a month, all 104 spent on one piece, is 100 and not 100.01."""
    terms = Desk(rate=Decimal(0), overhead=Decimal(100), weekly_hours=Decimal(24))

    assert work_out(Decimal(0), Decimal(104), terms, 2).floor == Decimal("100.00")


def test_without_hours_or_price_there_is_no_hourly_wage() -> None:
    """A bought-in base with no work on it divides by nothing."""
    assert work_out(Decimal(10), Decimal(0), TERMS, 2, asking=Decimal(30)).hourly is None
    assert work_out(Decimal(10), Decimal(5), TERMS, 2).hourly is None


def test_a_price_below_the_outlay_earns_less_than_nothing() -> None:
    """A loss shows as a loss: (20 - 0.60 - 50 - 10 x 2.980769) / 10."""
    worth = work_out(Decimal(50), Decimal(10), TERMS, 2, asking=Decimal(20))

    assert worth.hourly == Decimal("-6.04")
    assert worth.short == worth.floor - 20


@pytest.mark.parametrize(
    ("terms", "hours", "sentence"),
    [
        (
            Desk(rate=Decimal(28), overhead=Decimal(310)),
            "5",
            "overhead is set and no hour of the year carries it: weekly_hours or the weeks worked are 0 (`weeks:`, or "
            "without it 52 less the days_away of the last twelve months)",
        ),
        (
            Desk(rate=Decimal(28), overhead=Decimal(1), weekly_hours=Decimal(9), weeks=Decimal(0)),
            "5",
            "overhead is set and no hour of the year carries it: weekly_hours or the weeks worked are 0 (`weeks:`, or "
            "without it 52 less the days_away of the last twelve months)",
        ),
        (
            Desk(rate=Decimal(28), fees=Decimal(100)),
            "5",
            "fees are 100% of the price; nothing would be left, so write less than 100",
        ),
    ],
)
def test_numbers_that_make_no_sense_are_refused(terms: Desk, hours: str, sentence: str) -> None:
    """A sentence instead of a wrong price."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        work_out(Decimal(50), Decimal(hours), terms, 2)


def test_nothing_private_prints_itself() -> None:
    """Neither the artist's numbers nor the result show up in a log."""
    worth = work_out(Decimal("46.50"), Decimal(20), TERMS, 2, asking=Decimal(780))

    assert repr(TERMS) == "Desk()"
    assert repr(worth) == "Worth()"


@pytest.mark.parametrize(
    ("exact", "rounded"),
    [("0.005", "0.01"), ("0.004", "0.00"), ("-0.005", "-0.01"), ("0", "0.00"), ("0.3", "0.30")],
)
def test_a_half_is_rounded_away_from_zero(exact: str, rounded: str) -> None:
    assert str(round_fraction(Fraction(exact), 2)) == rounded


def test_fees_are_a_share_of_the_price_not_of_the_cost() -> None:
    """Ninety-seven left of a hundred: a cost of 97.00 with 3 % fees asks for 100.00, not 99.91."""
    assert priced(Fraction(97), Decimal(3), 2) == Decimal("100.00")
