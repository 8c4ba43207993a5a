"""Payment plans against python-dateutil, ISO 4217 and worked figures."""

from datetime import date
from decimal import Decimal

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st
from iso4217 import Currency

from sitegen.studio import money
from sitegen.studio.plan import (
    USUAL_TERMS,
    PartKind,
    PaymentPlan,
    Weekend,
    deposit_on,
    make,
    months_after,
    off_weekend,
)

STARTS = st.dates(date(1990, 1, 1), date(2190, 12, 31))


@given(STARTS, st.integers(0, 60))
def test_months_step_as_in_dateutil(start: date, months: int) -> None:
    """Source: python-dateutil, relativedelta(months=n) from the start each time."""
    assert months_after(start, months) == start + relativedelta(months=months)


# Source: python-dateutil's documentation of relativedelta; 2024 is a leap year, 2025 isn't.
@pytest.mark.parametrize(
    ("start", "dues"),
    [
        ("2025-01-31", "2025-01-31 2025-02-28 2025-03-31 2025-04-30 2025-05-31 2025-06-30"),
        ("2024-01-31", "2024-01-31 2024-02-29 2024-03-31"),
        ("2025-08-31", "2025-08-31 2025-09-30 2025-10-31"),
        ("2027-01-31", "2027-01-31 2027-02-28 2027-03-31 2027-04-30 2027-05-31"),
    ],
)
def test_worked_months(start: str, dues: str) -> None:
    """A short month doesn't shorten the months after it."""
    count = len(dues.split()) - 1
    plan = make(Decimal(900), date.fromisoformat(start), 2, USUAL_TERMS, instalments=count)

    assert " ".join(part.due.isoformat() for part in plan.parts) == dues


# Source: long division by hand. The last has five instalments and carries the caution of 12 CFR 1026.2.
@pytest.mark.parametrize(
    ("price", "digits", "deposit", "count", "amounts", "warned"),
    [
        ("1000.01", 2, "20%", 4, "200.00 200.01 200.00 200.00 200.00", False),
        ("450.00", 2, "30%", 4, "135.00 78.75 78.75 78.75 78.75", False),
        ("100000", 0, "0", 3, "33334 33333 33333", False),
        ("1.000", 3, "0", 3, "0.334 0.333 0.333", False),
        ("999.99", 2, "333.33", 5, "333.33 133.34 133.33 133.33 133.33 133.33", True),
    ],
)
def test_worked_plans(price: str, digits: int, deposit: str, count: int, amounts: str, warned: bool) -> None:
    """A worked plan comes out to the last coin."""
    plan = make(Decimal(price), date(2027, 1, 31), digits, PaymentPlan(deposit=deposit), instalments=count)

    assert " ".join(str(part.amount) for part in plan.parts) == amounts
    assert bool(plan.warnings) == warned


@given(
    st.integers(1, 10**9),
    st.integers(1, 12),
    STARTS,
    st.sampled_from([(entry.code, entry.exponent) for entry in Currency if entry.exponent is not None]),
    st.builds(
        PaymentPlan,
        deposit=st.decimals(0, 100, places=2).map(lambda percent: f"{percent}%"),
        weekend=st.sampled_from(Weekend),
        largest_last=st.booleans(),
    ),
)
def test_any_plan_is_exact_and_on_time(
    count: int, instalments: int, start: date, currency: tuple[str, int], terms: PaymentPlan
) -> None:
    """Any price, deposit, number, day and currency of ISO 4217: exact sum, whole coins, anchored days."""
    code, exponent = currency
    digits = money.minor_digits(code)
    price = money.from_units(count, digits)
    rest = price - deposit_on(terms.deposit, price, digits)
    if not rest:  # all is paid with the deposit
        assert [part.amount for part in make(price, start, digits, terms, instalments).parts] == [price]
        return
    if money.in_units(rest, digits) < instalments:
        with pytest.raises(ValueError, match="below the smallest part"):
            make(price, start, digits, terms, instalments)
        return
    plan = make(price, start, digits, terms, instalments)
    shares = [part.amount for part in plan.parts if part.kind is PartKind.INSTALMENT]

    assert sum(part.amount for part in plan.parts) == price
    assert all(part.amount == part.amount.quantize(Decimal(10) ** -exponent) for part in plan.parts)
    assert min(part.amount for part in plan.parts) > 0
    assert len(shares) == instalments
    assert shares == sorted(shares, reverse=not terms.largest_last)
    assert max(shares) - min(shares) <= money.unit(digits)
    for months, part in enumerate(plan.parts):
        assert part.anchor == start + relativedelta(months=months)
        assert part.due == off_weekend(part.anchor, terms.weekend)


# Source: the calendar; 6 February 2027 is a Saturday (Python's calendar module agrees with cal(1)).
@pytest.mark.parametrize(
    ("day", "moved"),
    [("2027-02-05", "2027-02-05"), ("2027-02-06", "2027-02-08"), ("2027-02-07", "2027-02-08")],
)
def test_weekends_move_to_monday(day: str, moved: str) -> None:
    """Saturday and Sunday become the Monday after, or stay."""
    assert off_weekend(date.fromisoformat(day), Weekend.NEXT_WEEKDAY) == date.fromisoformat(moved)
    assert off_weekend(date.fromisoformat(day), Weekend.KEEP) == date.fromisoformat(day)
