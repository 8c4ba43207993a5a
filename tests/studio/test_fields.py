"""What may be typed into a field, up to its last permitted value, and what is said of the next one."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from pydantic import TypeAdapter, ValidationError

from sitegen.studio import fields
from sitegen.studio.fields import did_you_mean, is_web_address, not_one_of

DUBLIN = ZoneInfo("Europe/Dublin")


def read(kind: Any, typed: Any, context: dict[str, Any] | None = None) -> Any:
    return TypeAdapter(kind).validate_python(typed, context=context)


def refused(kind: Any, typed: str, context: dict[str, Any] | None = None) -> str:
    with pytest.raises(ValidationError) as fault:
        read(kind, typed, context)
    (error,) = fault.value.errors()
    return str(error["ctx"]["error"])


@pytest.mark.parametrize(
    ("kind", "typed", "value"),
    [
        (fields.Percent, "30%", Decimal(30)),
        (fields.Percent, " 2.5 % ", Decimal("2.5")),
        (fields.Percent, "0", Decimal(0)),
        (fields.Percent, "100%", Decimal(100)),
        (fields.Hours, "0", Decimal(0)),
        (fields.Hours, " .5", Decimal("0.5")),
        (fields.Hours, "5.", Decimal(5)),
        (fields.Hours, "10000", Decimal(10_000)),
        (fields.WeekHours, "168", Decimal(168)),
        (fields.Weeks, "53", Decimal(53)),
        (fields.Count, "1000", 1000),
        (fields.Days, "3650", 3650),
        (fields.HeadStart, " 336 ", 336),
        (fields.Millimetres, "100000", 100_000),
        (fields.Day, "1900-01-01", date(1900, 1, 1)),
        (fields.Day, " 2200-12-31 ", date(2200, 12, 31)),
        (fields.Moment, "2027-01-16 12:00", datetime(2027, 1, 16, 12)),  # noqa: DTZ001
        (fields.Moment, "2027-01-16T09:05:00", datetime(2027, 1, 16, 9, 5)),  # noqa: DTZ001
        (fields.Moment, "2027-01-16 9:05", datetime(2027, 1, 16, 9, 5)),  # noqa: DTZ001
        (fields.Moment, "2027-01-16 23:59", datetime(2027, 1, 16, 23, 59)),  # noqa: DTZ001
        (fields.Moment, "2027-01-16", datetime(2027, 1, 16)),  # noqa: DTZ001
        (fields.YesNo, "Yes", True),
        (fields.YesNo, " true ", True),
        (fields.YesNo, "no", False),
        (fields.YesNo, "FALSE", False),
        (fields.Zone, " Europe/Dublin ", DUBLIN),
        (fields.Colour, " #41655D", "#41655D"),
        (fields.WebAddress, " https://studio.example/a?b#c ", "https://studio.example/a?b#c"),
        (fields.HomeAddress, "https://studio.example/", "https://studio.example/"),
        (fields.LeaveAddress, " https://studio.example/?who= ", "https://studio.example/?who="),
        (fields.Name, "x" * 120, "x" * 120),
    ],
)  # fmt: skip
def test_what_may_be_typed_is_read(kind: Any, typed: str, value: Any) -> None:
    assert read(kind, typed) == value
    assert read(kind, value) == value


@pytest.mark.parametrize(
    ("kind", "typed", "said"),
    [
        (fields.Percent, "100.01%", "'100.01%' is not between 0% and 100%"),
        (fields.Percent, "-1%", "'-1%' is not between 0% and 100%"),
        (fields.Percent, "a third", "'a third' is not a percentage; write it like 30%"),
        (fields.Percent, "3" * 21, "'333333333333333333333' is not a percentage; write it like 30%"),
        (fields.Hours, "-3", "'-3' must be zero or more"),
        (fields.Hours, "12,5", "'12,5' is not a number; write it like 12.5 (use a point, not a comma)"),
        (fields.Hours, "ten", "'ten' is not a number; write it like 12.5"),
        (fields.Hours, "10000.1", "'10000.1' is more than can be meant here; write at most 10000"),
        (fields.WeekHours, "168.5", "'168.5' is more than can be meant here; write at most 168"),
        (fields.Weeks, "54", "'54' is more than can be meant here; write at most 53"),
        (fields.Count, "1001", "'1001' is more than can be meant here; write at most 1000"),
        (fields.Count, "2.5", "'2.5' is not a whole number; write digits only, like 320"),
        (fields.Whole, "1" * 10, "'1111111111' is not a whole number; write digits only, like 320"),
        (fields.HeadStart, "337", "'337' is more than can be meant here; write at most 336"),
        (fields.Day, "1899-12-31", "'1899-12-31' lies outside the years 1900 to 2200; look at the year again"),
        (fields.Day, "2201-01-01", "'2201-01-01' lies outside the years 1900 to 2200; look at the year again"),
        (fields.Day, "2027-2-3", "'2027-2-3' is not a date; write year-month-day, like 2026-05-14"),
        (fields.Day, "2027-02-29", "'2027-02-29' is a date that doesn't exist; look at a calendar"),
        (fields.Moment, "2027-01-16 24:00", "'24:00' is a time that doesn't exist; hours run from 00 to 23"),
        (fields.Moment, "2027-01-16 12:60", "'12:60' is a time that doesn't exist; hours run from 00 to 23"),
        (fields.Moment, "2027-01-16 noon", "'2027-01-16 noon' is not a date with a time; write it like 2027-01-16 12:00"),
        (fields.YesNo, "perhaps", "'perhaps' is neither yes nor no"),
        (fields.Zone, "Dublin", "'Dublin' is not a time zone of the IANA list; write it like Europe/Dublin or America/Halifax"),
        (fields.Zone, "../etc", "'../etc' is not a time zone of the IANA list; write it like Europe/Dublin or America/Halifax"),
        (fields.Colour, "#41655", "'#41655' is not a colour; write # and six hex digits, like '#41655d', in quotes"),
        (fields.WebAddress, "studio.example", "'studio.example' is not a web address; write it whole, like https://studio.example/"),
        (fields.HomeAddress, "https://a.example/#b", "'https://a.example/#b' has a ? or # in it; write the address of the site's first page alone, like https://studio.example/"),
    ],
)  # fmt: skip
def test_what_may_not_be_typed_is_told_with_what_to_write(kind: Any, typed: str, said: str) -> None:
    assert refused(kind, typed) == said


def test_a_moment_is_one_of_the_studios_clock() -> None:
    """On 28 March 2027 the clocks in Dublin go from 01:00 to 02:00 (IANA time zone database)."""
    zone = {"zone": DUBLIN}

    assert read(fields.Moment, "2027-03-28 02:00", zone) == datetime(2027, 3, 28, 2, tzinfo=DUBLIN)
    assert refused(fields.Moment, "2027-03-28 01:30", zone).startswith(
        "'2027-03-28 01:30' is a time that doesn't"
    )


@pytest.mark.parametrize(("digits", "typed", "taken"), [(2, "4.80", True), (2, "4.805", False), (0, "480", True), (0, "4.8", False), (3, "4.805", True)])  # fmt: skip
def test_an_amount_has_the_digits_of_its_currency(digits: int, typed: str, taken: bool) -> None:
    """ISO 4217: two for EUR, none for JPY, three for KWD; two where nobody says."""
    if taken:
        assert read(fields.Money, typed, {"digits": digits}) == Decimal(typed)
    else:
        assert refused(fields.Money, typed, {"digits": digits}).startswith(f'"{typed}" has ')
    assert read(fields.Money, "4.80") == Decimal("4.80")


LABEL = "a" * 63


@pytest.mark.parametrize(
    ("address", "whole"),
    [
        ("http://studio.example", True),
        ("HTTPS://Studio.Example/", True),
        ("https://bücher.example/ä", True),
        ("https://studio.example:65535/", True),
        ("https://studio.example:65536/", False),
        ("https://studio.example:0/", False),
        ("https://me@studio.example/", False),
        ("https:///a", False),
        ("https://-studio.example/", False),
        ("https://studio-.example/", False),
        ("https://stu_dio.example/", False),
        ("https://studio..example/", False),
        (f"https://{LABEL}.example/", True),
        (f"https://{LABEL}a.example/", False),
        (f"https://{LABEL}.{LABEL}.{LABEL}.{'b' * 61}/", True),
        (f"https://{LABEL}.{LABEL}.{LABEL}.{'b' * 62}/", False),
        (f"https://{'ü' * 64}.example/", False),
        ("https://[::1/", False),
        ("ftp://studio.example/", False),
        ("https://studio.example/a b", False),
        ('https://studio.example/"', False),
        (f"https://studio.example/{'a' * 977}", True),
        (f"https://studio.example/{'a' * 978}", False),
    ],
)
def test_a_web_address_has_a_host_that_can_be_looked_up(address: str, whole: bool) -> None:
    """RFC 1123 section 2.1: labels of up to 63 letters, digits and hyphens, 253 in all (RFC 1035 section 2.3.4)."""
    assert is_web_address(address) is whole


@pytest.mark.parametrize(
    ("address", "taken"),
    [
        ("https://studio.example/leave/", True),
        ("https://studio.example/leave", False),
        ("http://studio.example/leave/", False),
        ("https://studio.example/<leave>/", False),
        ("https://-a.example/leave/", False),
    ],
)
def test_an_address_to_leave_by_takes_a_sign_behind_it(address: str, taken: bool) -> None:
    """RFC 8058 section 3.1: HTTPS; RFC 2369 section 2: no angle brackets within an address."""
    if taken:
        assert read(fields.LeaveAddress, address) == address
    else:
        assert "must begin with https:// and end in / or =" in refused(fields.LeaveAddress, address)


@pytest.mark.parametrize(
    ("typed", "hint"),
    [
        ("Sedn", "; did you mean 'send'?"),
        ("send", "; did you mean 'send'?"),
        ("xyz", ""),
        ("", ""),
        ("a" * 5_000, ""),
    ],
)
def test_the_nearest_word_is_named(typed: str, hint: str) -> None:
    assert did_you_mean(typed, ["sheet", "send"]) == hint
    assert did_you_mean(typed, []) == ""


def test_of_two_words_that_differ_by_capitals_the_first_is_meant() -> None:
    assert did_you_mean("owl", ["Owl", "OWL"]) == "; did you mean 'Owl'?"
    assert not_one_of("owll", ["Owl", "Toad"]) == "'owll' is not one of Owl, Toad; did you mean 'Owl'?"
