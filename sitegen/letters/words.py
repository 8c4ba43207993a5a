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


def say_moment(moment: datetime, locale: Locale) -> str:
    """Say a time in its own zone, by the zone's city, and in UTC."""
    utc = moment.astimezone(UTC)
    there = f"{say_day(moment.date(), locale)}, {_clock(moment, locale)} {say_zone(moment)}"
    other_day = "" if utc.date() == moment.date() else f"{say_day(utc.date(), locale)}, "
    return f"{there} ({other_day}{_clock(utc, locale)} UTC)"


def say_there(moment: datetime, day: date, locale: Locale) -> str:
    """Say a time in its own zone; its day only where that isn't the one that was just said."""
    other_day = "" if moment.date() == day else f"{say_day(moment.date(), locale)}, "
    return f"{other_day}{_clock(moment, locale)} {say_zone(moment)}"


def say_zone(moment: datetime) -> str:
    """Name the zone by its city, as `Dublin time`.

    Babel's long names are wrong where summer is the standard time: it calls a Dublin January
    Irish Standard Time, an hour off. A city can't be.
    """
    zone = moment.tzinfo
    key = zone.key if isinstance(zone, ZoneInfo) else ""
    area, _, city = key.rpartition("/")
    return f"{city.replace('_', ' ')} time" if area and area != "Etc" else (key or "UTC")


def greeting(name: str) -> str:
    """Greet by name; without one, or with something that is no name, greet all the same."""
    words = clean(name)
    if not words or len(words) > 60 or re.search(r"[@/\\<>{}\[\]|=\d]", words):
        return "Hello,"
    return f"Dear {words},"


_BECAUSE = {
    Consent.WEB: "because you asked for it on the studio's site",
    Consent.SHOW_SHEET: "because you signed the studio's sheet at a show",
    Consent.IN_PERSON: "because you asked for it in person",
    Consent.PURCHASE: "because you bought a piece from the studio",
}


def because(person: Person, locale: Locale) -> str:
    """Tell a person how they came to get this letter, from their own row of the list."""
    how = _BECAUSE.get(person.consent, "because you are on the studio's list") if person.consent else ""
    noted = clean(person.evidence)[:_LONGEST_EVIDENCE].rstrip(" .;,")
    since = say_day(person.joined, locale) if person.joined else ""
    details = "; ".join(part for part in (noted, since) if part)
    return f"You get this letter {how}{f' ({details})' if details else ''}."


def _clock(moment: datetime, locale: Locale) -> str:
    return format_time(moment, _NEUTRAL_TIME if locale == wording.NEUTRAL else "short", locale=locale)
