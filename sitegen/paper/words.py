"""Dates and money on paper, in the studio's language, and text made safe to set."""

from __future__ import annotations

import re
import unicodedata
from datetime import date
from decimal import Decimal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_currency

from sitegen.studio import money


def locale_of(language: str) -> Locale:
    """Find the locale of a language tag like `en`, `pt-BR` or `en-IE`; English if nobody knows it."""
    try:
        return Locale.parse(language.replace("_", "-"), sep="-")
    except (ValueError, UnknownLocaleError):
        return Locale("en")


def tongue(language: str) -> dict[str, str | None]:
    """Split a language tag into what a PDF needs: `pt-BR` is language pt, region BR."""
    locale = locale_of(language)
    return {"language": locale.language, "region": locale.territory}


def day(one: date, locale: Locale) -> str:
    """Write a date out, like May 14, 2026 or 14. Mai 2026."""
    return format_date(one, "long", locale=locale)


def days(first: date, last: date, locale: Locale) -> str:
    """Write a span of days; within one month like February 27–28, 2027 or 27–28. Februar 2027."""
    if first == last:
        return day(first, locale)
    if (first.year, first.month) != (last.year, last.month):
        return f"{day(first, locale)} – {day(last, locale)}"
    pattern = re.sub(r"d+", f"'{first.day}–{last.day}'", str(locale.date_formats["long"].pattern), count=1)
    return format_date(first, pattern, locale=locale)


def amount(price: Decimal, currency: str, digits: int, locale: Locale) -> str:
    """Write an amount with its currency; a round sum loses its empty decimals, as on any price tag."""
    exact = money.round_half_up(price, digits)
    whole = exact == exact.to_integral_value()
    pattern = re.sub(r"0(\.0+)?", "0" if whole or not digits else "0." + "0" * digits, _pattern(locale))
    return str(format_currency(exact, currency, pattern, locale=locale, currency_digits=False))


def exact_amount(price: Decimal, currency: str, digits: int, locale: Locale) -> str:
    """Write an amount to its last minor unit, as a contract or a schedule must."""
    pattern = re.sub(r"0(\.0+)?", "0." + "0" * digits if digits else "0", _pattern(locale))
    rounded = money.round_half_up(price, digits)
    return str(format_currency(rounded, currency, pattern, locale=locale, currency_digits=False))


def _pattern(locale: Locale) -> str:
    return str(locale.currency_formats["standard"].pattern)


def settable(text: str) -> str:
    """Make a typed text ready to be set: no control characters, apostrophes as printers write them."""
    kept = "".join(c for c in text if c == "\n" or unicodedata.category(c) not in {"Cc", "Cs"})
    one_form = unicodedata.normalize("NFC", kept)
    if "@" in one_form or "://" in one_form:
        return one_form
    return re.sub(r"(?<=\w)'", "’", one_form)
