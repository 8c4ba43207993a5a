"""Say dates, times and names as a letter says them, in the studio's language."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from babel import Locale
from babel.dates import format_date, format_time

from sitegen.letters.headers import clean
from sitegen.studio import wording
from sitegen.studio.person import Consent, Person
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.words import Words, read_words

# English without a country: day before month and a clock of 24 hours, which every reader understands.
_NEUTRAL_DATE, _NEUTRAL_TIME = "EEEE d MMMM y", "HH:mm"
_LONGEST_EVIDENCE = 160


def locale_of(language: str) -> Locale:
    """Return the locale of a language tag such as `en`, `en-IE` or `sk`; English if it's unknown."""
    return wording.locale_of(language) or wording.NEUTRAL


@lru_cache(maxsize=4096)
def say_day(day: date, locale: Locale) -> str:
    """Say a date with its weekday."""
    return format_date(day, _NEUTRAL_DATE if locale == wording.NEUTRAL else "full", locale=locale)


def say_month(day: date, locale: Locale) -> str:
    """Say a day's month and year."""
    return format_date(day, "MMMM y", locale=locale)


def say_days(first: date, last: date, locale: Locale) -> str:
    """Say a span of days; one day is said once."""
    return say_day(first, locale) if first == last else f"{say_day(first, locale)} – {say_day(last, locale)}"


def say_moment(moment: datetime, locale: Locale, said: Words) -> str:
    """Say a time in its own zone, by the zone's city, and in UTC."""
    utc = moment.astimezone(UTC)
    there = f"{say_day(moment.date(), locale)}, {_clock(moment, locale)} {say_zone(moment, said)}"
    other_day = "" if utc.date() == moment.date() else f"{say_day(utc.date(), locale)}, "
    return f"{there} ({other_day}{_clock(utc, locale)} UTC)"


def say_there(moment: datetime, day: date, locale: Locale, said: Words) -> str:
    """Say a time in its own zone; its day only where that isn't the one that was just said."""
    other_day = "" if moment.date() == day else f"{say_day(moment.date(), locale)}, "
    return f"{other_day}{_clock(moment, locale)} {say_zone(moment, said)}"


def say_zone(moment: datetime, said: Words) -> str:
    """Name the zone by its city, as `Dublin time`.

    Babel's long names are wrong where summer is the standard time: it calls a Dublin January
    Irish Standard Time, an hour off. A city can't be.
    """
    zone = moment.tzinfo
    key = zone.key if isinstance(zone, ZoneInfo) else ""
    area, _, city = key.rpartition("/")
    named = area and area != "Etc"
    return said.plain("date.zone", city=city.replace("_", " ")) if named else (key or "UTC")


def is_name(name: str) -> bool:
    """Tell whether somebody can be greeted by this; an address, a number or a mark is no name."""
    words = clean(name)
    return bool(words) and len(words) <= 60 and not re.search(r"[@/\\<>{}\[\]|=\d]", words)


def greeting(name: str, said: Words) -> str:
    """Greet by name; without one, or with something that is no name, greet all the same."""
    return said.plain("mail.greeting", name=clean(name)) if is_name(name) else said.plain("mail.hello")


_BECAUSE = {
    Consent.WEB: "web",
    Consent.SHOW_SHEET: "show_sheet",
    Consent.IN_PERSON: "in_person",
    Consent.PURCHASE: "purchase",
}


def because(person: Person, locale: Locale, said: Words) -> str:
    """Tell a person how they came to get this letter, from their own row of the list."""
    how = _BECAUSE.get(person.consent, "listed") if person.consent else "listed"
    noted = clean(person.evidence)[:_LONGEST_EVIDENCE].rstrip(" .;,")
    since = say_day(person.joined, locale) if person.joined else ""
    details = "; ".join(part for part in (noted, since) if part)
    return said.plain(f"mail.because.{how}", details=f" ({details})" if details else "")


def open_words(theme: ThemeFiles, language: str) -> Words:
    """Open the theme's words for a language. Raises ThemeFault if there are none."""
    return read_words(theme, language, lambda count: str(locale_of(language).plural_form(count)))


def _clock(moment: datetime, locale: Locale) -> str:
    return format_time(moment, _NEUTRAL_TIME if locale == wording.NEUTRAL else "short", locale=locale)
