"""Dates and lengths on paper, in the studio's language, and text made safe to set."""

from __future__ import annotations

import re
import unicodedata
from datetime import date

from babel import Locale
from babel.dates import format_date

from sitegen.studio import wording


def locale_of(language: str) -> Locale:
    """Find the locale of a language tag like `en`, `pt-BR` or `en-IE`; English if nobody knows it."""
    return wording.locale_of(language) or wording.NEUTRAL


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
    return "d MMMM y" if locale == wording.NEUTRAL else str(locale.date_formats["long"].pattern)


def height(millimetres: int, locale: Locale) -> str:
    """Write a height in centimetres and, to the nearest quarter, in inches: 32 cm (12½ in)."""
    return f"{wording.centimetres(millimetres, locale)} cm ({wording.inches(millimetres)} in)"


def settable(text: str) -> str:
    """Make a typed text ready to be set: no control characters, apostrophes as printers write them."""
    kept = "".join(c for c in text if c == "\n" or unicodedata.category(c) not in {"Cc", "Cs"})
    one_form = unicodedata.normalize("NFC", kept)
    if "@" in one_form or "://" in one_form:
        return one_form
    return re.sub(r"(?<=\w)'", "’", one_form)
