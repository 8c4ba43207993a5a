"""Dates and money on paper, in the studio's language, and text made safe to set."""

from __future__ import annotations

import re
import unicodedata
from datetime import date
from decimal import Decimal
from fractions import Fraction

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal

from sitegen.studio import money

_NEUTRAL = Locale("en")
_MM_PER_INCH = Fraction(254, 10)
_QUARTERS = ("", "¼", "½", "¾")


def locale_of(language: str) -> Locale:
    """Find the locale of a language tag like `en`, `pt-BR` or `en-IE`; English if nobody knows it."""
    try:
        return Locale.parse(language.replace("_", "-"), sep="-")
    except (ValueError, UnknownLocaleError):
        return _NEUTRAL


def tongue(language: str) -> dict[str, str | None]:
    """Split a language tag into what a PDF needs: `pt-BR` is language pt, region BR."""
    locale = locale_of(language)
    return {"language": locale.language, "region": locale.territory}


def day(one: date, locale: Locale) -> str:
    """Write a date out, like 14 May 2026, without the weekday."""
    return format_date(one, _day_pattern(locale), locale=locale)


def days(first: date, last: date, locale: Locale) -> str:
    """Write a span of days; within one month like 27–28 February 2027."""
    if first == last:
        return day(first, locale)
    if (first.year, first.month) != (last.year, last.month):
        return f"{day(first, locale)} – {day(last, locale)}"
    pattern = re.sub(r"d+", f"'{first.day}–{last.day}'", _day_pattern(locale), count=1)
    return format_date(first, pattern, locale=locale)


def _day_pattern(locale: Locale) -> str:
    # English without a country would be American; day before month is clear to every reader.
    return "d MMMM y" if locale == _NEUTRAL else str(locale.date_formats["long"].pattern)


def height(millimetres: int, locale: Locale) -> str:
    """Write a height in centimetres and, to the nearest quarter, in inches: 32 cm (12½ in)."""
    whole, quarter = divmod(round(millimetres / _MM_PER_INCH * 4), 4)
    inches = (str(whole) if whole or not quarter else "") + _QUARTERS[quarter]
    return f"{format_decimal(Decimal(millimetres) / 10, locale=locale)} cm ({inches} in)"


def amount(price: Decimal, currency: str, digits: int, locale: Locale) -> str:
    """Write an amount with its currency; a round sum loses its empty decimals, as on any price tag."""
    round_sum = price == price.to_integral_value()
    return _money(price, currency, 0 if round_sum else digits, locale)


def exact_amount(price: Decimal, currency: str, digits: int, locale: Locale) -> str:
    """Write an amount to its last minor unit, as an agreement must."""
    return _money(price, currency, digits, locale)


def _money(price: Decimal, currency: str, decimals: int, locale: Locale) -> str:
    usual = str(locale.currency_formats["standard"].pattern)
    pattern = re.sub(r"0(\.0+)?", "0." + "0" * decimals if decimals else "0", usual)
    rounded = money.round_half_up(price, decimals)
    written = str(format_currency(rounded, currency, pattern, locale=locale, currency_digits=False))
    # CLDR sets a currency's letters apart from the number; Babel leaves that out.
    return re.sub(r"(?<=[A-Za-z])(?=[0-9])", "\N{NO-BREAK SPACE}", written)


def settable(text: str) -> str:
    """Make a typed text ready to be set: no control characters, apostrophes as printers write them."""
    kept = "".join(c for c in text if c == "\n" or unicodedata.category(c) not in {"Cc", "Cs"})
    one_form = unicodedata.normalize("NFC", kept)
    if "@" in one_form or "://" in one_form:
        return one_form
    return re.sub(r"(?<=\w)'", "’", one_form)
