"""Money is counted exactly, and a slip of the pen is answered with a sentence an artist can use."""

import re
from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.studio import money
from sitegen.studio.text import short

DIGITS = st.sampled_from([0, 2, 3, 4])


@pytest.mark.parametrize(
    ("text", "digits", "amount"),
    [
        ("480", 2, "480.00"),
        ("480.5", 2, "480.50"),
        (" 0.01 ", 2, "0.01"),
        ("1000", 0, "1000"),
        ("1.234", 3, "1.234"),
        # A comma that no reader takes for another thing (ISO 80000-1, 7.3.2 takes either mark before decimals: from memory).
        ("480,50", 2, "480.50"),
        ("480,5", 3, "480.500"),
        ("0,500", 3, "0.500"),
        ("1.200,50", 2, "1200.50"),
        ("1,200.50", 2, "1200.50"),
        ("1,200.500", 3, "1200.500"),
    ],
)
def test_read_amount_takes_digits_and_a_point(text: str, digits: int, amount: str) -> None:
    """What she writes the right way is taken, filled up to the currency's digits."""
    assert str(money.read_amount(text, digits)) == amount


@pytest.mark.parametrize(
    ("text", "digits", "sentence"),
    [
        ("", 2, "no amount is written; write digits and a point, as 480.00"),
        ("480,505", 2, '"480,505" has a comma; write 480505 without a thousands mark'),
        ("480,50", 0, '"480.50" has 2 digits after the point, this currency has none; write 481'),
        ("1,200", 2, '"1,200" has a comma; write 1200 without a thousands mark'),
        (
            "1,200",
            3,
            '"1,200" has a comma; '
            "write 1200 without a thousands mark, or 1.200 if the comma is a decimal point",
        ),
        ("1 200", 2, '"1 200" has a thousands mark; write the digits without a gap, as 1200'),
        ("1'200.50", 2, '"1\'200.50" has a thousands mark; write the digits without a gap, as 1200.50'),
        ("$480", 2, '"$480" has a currency sign; write the number alone, as 480'),
        ("1.200,00 €", 2, '"1.200,00 €" has a currency sign; write the number alone, as 1200.00'),
        ("480 EUR", 2, '"480 EUR" has a currency name; write the number alone, as 480'),
        ("-5", 2, '"-5" is below zero; write the amount without a minus sign, as 480.00'),
        ("−5", 2, '"−5" is below zero; write the amount without a minus sign, as 480.00'),
        ("30%", 2, '"30%" is a percentage; an amount of money is wanted, as 480.00'),
        (
            "1.200",
            2,
            '"1.200" has 3 digits after the point, this currency has 2; '
            "write 1.20, or 1200 if the point is a thousands mark",
        ),
        ("480.5", 0, '"480.5" has one digit after the point, this currency has none; write 481'),
        ("4e2", 2, '"4e2" is no amount; write digits and a point, as 480.00'),
        ("NaN", 2, '"NaN" is no amount; write digits and a point, as 480.00'),
        ("٤٨٠", 2, '"٤٨٠" is no amount; write digits and a point, as 480.00'),
        ("ask", 0, '"ask" is no amount; write digits and a point, as 480'),
        ("1234567890123", 2, '"1234567890123" is too large to be a price; it has more than 12 digits'),
    ],
)
def test_read_amount_says_what_is_wrong_and_what_to_write(text: str, digits: int, sentence: str) -> None:
    """Every refusal quotes what stands there and says what would be right."""
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        money.read_amount(text, digits)


@given(st.text(max_size=20), DIGITS)
def test_read_amount_never_fails_in_another_way(text: str, digits: int) -> None:
    """Any text that is no amount gets a sentence that quotes it."""
    written = text.strip()
    if written and not re.fullmatch(r"0*[0-9]{1,12}(\.[0-9]{1,4})?", written):
        with pytest.raises(ValueError, match=re.escape(short(written))):
            money.read_amount(text, digits)


@given(st.from_regex(r"\A[0-9]{1,12}(\.[0-9]{1,4})?\Z"))
def test_read_amount_takes_every_amount_of_four_digits(text: str) -> None:
    """Whatever is digits and a point has the value Python's own decimal reader gives it."""
    assert money.read_amount(text, 4) == Decimal(text)


@given(st.integers(0, 10**16), DIGITS)
def test_plain_and_read_amount_are_inverse(count: int, digits: int) -> None:
    """What the program writes for machines it can read again."""
    amount = money.from_units(count % 10**12, digits)

    assert money.read_amount(money.plain(amount, digits), digits) == amount


@given(st.integers(0, 10**16), st.integers(1, 60), DIGITS)
def test_split_is_exact_and_even(count: int, parts: int, digits: int) -> None:
    """Shares sum to the amount, differ by one unit at most, and the larger come first."""
    amount = money.from_units(count, digits)
    shares = money.split(amount, parts, digits)

    assert len(shares) == parts
    assert sum(shares) == amount
    assert max(shares) - min(shares) <= money.unit(digits)
    assert list(shares) == sorted(shares, reverse=True)


@given(st.integers(0, 10**12), st.decimals(0, 100, places=3), DIGITS)
def test_share_is_within_half_a_unit(count: int, percent: Decimal, digits: int) -> None:
    """A rounded percentage is never further from the true one than half a coin."""
    amount = money.from_units(count, digits)

    assert abs(money.share(amount, percent, digits) - amount * percent / 100) <= money.unit(digits) / 2


def test_rounding_does_not_depend_on_the_surrounding_context() -> None:
    """A library that narrows the decimal context can't change what a client owes."""
    with localcontext(prec=3):
        assert money.share(Decimal("123456.78"), Decimal("12.5"), 2) == Decimal("15432.10")
        assert money.split(Decimal("1000.01"), 4, 2)[0] == Decimal("250.01")


@pytest.mark.parametrize(
    ("amount", "parts", "sentence"),
    [
        ("10.00", 0, "an amount can't be split into 0 parts; the smallest number is 1"),
        ("-1.00", 2, "-1.00 is below zero and can't be split into shares"),
        ("1.005", 2, "1.005 is finer than the smallest coin of this currency, 0.01"),
    ],
)
def test_split_refuses_what_cannot_be_split(amount: str, parts: int, sentence: str) -> None:
    """No share is invented for an amount that has none."""
    with pytest.raises(ValueError, match=re.escape(sentence)):
        money.split(Decimal(amount), parts, 2)


def test_minor_digits_names_the_code_it_does_not_know() -> None:
    """A code in small letters gets the likely meaning."""
    with pytest.raises(ValueError, match=r'^"eur" is no currency code; .* \(did you mean EUR\?\)$'):
        money.minor_digits("eur")


def test_plain_has_no_negative_zero() -> None:
    """Nothing rounds to minus nothing."""
    assert money.plain(Decimal("-0.001"), 2) == "0.00"
    assert money.plain(Decimal("1E+3"), 2) == "1000.00"
