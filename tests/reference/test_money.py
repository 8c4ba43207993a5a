"""Minor units and exact splits against ISO 4217 and worked figures."""

from decimal import Decimal

import pytest
from iso4217 import Currency

from sitegen.studio import money


def test_every_minor_unit_is_that_of_iso_4217() -> None:
    """Source: the ISO 4217 list of active codes, read by the iso4217 package; codes without unit left out."""
    listed = {entry.code: entry.exponent for entry in Currency if entry.exponent is not None}

    assert listed == money.MINOR_DIGITS


@pytest.mark.parametrize(
    ("code", "digits"), [("JPY", 0), ("KWD", 3), ("CHF", 2), ("USD", 2), ("RSD", 2), ("CLF", 4), ("IQD", 3)]
)
def test_minor_units_where_lists_differ(code: str, digits: int) -> None:
    """Source: ISO 4217 list of 2026-01-01; the CLDR says 0 for RSD and IQD."""
    assert money.minor_digits(code) == digits


@pytest.mark.parametrize("code", ["XAU", "XXX", "XTS", "DEM", "BGN", "eur", ""])
def test_codes_nothing_can_be_priced_in_are_unknown(code: str) -> None:
    """Source: ISO 4217 list of 2026-01-01 (no minor unit, or no longer active)."""
    assert code not in money.MINOR_DIGITS


# Source: long division by hand; which shares get the odd unit is common practice, no source.
@pytest.mark.parametrize(
    ("amount", "parts", "digits", "shares"),
    [
        ("100.00", 3, 2, "33.34 33.33 33.33"),
        ("1000.01", 4, 2, "250.01 250.00 250.00 250.00"),
        ("100.00", 7, 2, "14.29 14.29 14.29 14.29 14.28 14.28 14.28"),
        ("0.01", 3, 2, "0.01 0.00 0.00"),
        ("100000", 3, 0, "33334 33333 33333"),
        ("1.000", 3, 3, "0.334 0.333 0.333"),
    ],
)
def test_worked_splits(amount: str, parts: int, digits: int, shares: str) -> None:
    """A worked split comes out to the digit."""
    assert " ".join(map(str, money.split(Decimal(amount), parts, digits))) == shares


# Source: Python's decimal module documents ROUND_HALF_UP; 5 CFR 531.607(a)(1) rounds half a cent up.
@pytest.mark.parametrize(
    ("amount", "rounded"), [("2.675", "2.68"), ("0.125", "0.13"), ("-0.125", "-0.13"), ("23.957834", "23.96")]
)
def test_a_half_is_rounded_up(amount: str, rounded: str) -> None:
    """Worked roundings; binary floats would give 2.67 for the first."""
    assert money.round_half_up(Decimal(amount), 2) == Decimal(rounded)
