"""The kinds of value a studio's files hold, each read from text with a sentence for what is wrong.

Every scalar arrives as the text the artist typed, so `title: 1984` stays a title and a price never
passes through a binary float.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Annotated, Any, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo

from sitegen.studio import money

Kind = TypeVar("Kind", bound=StrEnum)

# Two minor digits until the studio's currency is known: most of ISO 4217 has two.
USUAL_DIGITS = 2


class Entry(BaseModel):
    """A block of the studio's files: nothing unknown gets in, nothing changes afterwards."""

    # A block within a block is built with the outer one; only what is read by itself is built by itself.
    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True)


def placeholders(text: str) -> list[str]:
    """Return the starter's `<fill me in>` places that a text still holds. An address is none."""
    return re.findall(r"<[a-z][^<>@/:\n]*>", text) if "<" in text else []


def is_placeholder(text: str) -> bool:
    """Tell whether a text still holds a place to fill in."""
    return bool(placeholders(text))


def _read_money(text: Any, info: ValidationInfo) -> Any:
    if not isinstance(text, str):
        return text
    digits = (info.context or {}).get("digits", USUAL_DIGITS)
    return money.read_amount(text, digits)


def _read_percent(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    number = text.strip().removesuffix("%").strip()
    try:
        value = Decimal(number)
    except InvalidOperation:
        raise ValueError(f"'{text}' is not a percentage; write it like 30%") from None
    if not value.is_finite() or not 0 <= value <= 100:
        raise ValueError(f"'{text}' is not between 0% and 100%")
    return value


def _read_number(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    try:
        value = Decimal(text.strip())
    except InvalidOperation:
        cure = " (use a point, not a comma)" if "," in text else ""
        raise ValueError(f"'{text}' is not a number; write it like 12.5{cure}") from None
    if not value.is_finite() or value < 0:
        raise ValueError(f"'{text}' must be zero or more")
    return value


def _read_whole(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    if not re.fullmatch(r"[0-9]{1,9}", text.strip()):
        raise ValueError(f"'{text}' is not a whole number; write digits only, like 320")
    return int(text)


def _read_day(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    typed = text.strip()
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", typed):
        raise ValueError(f"'{text}' is not a date; write year-month-day, like 2026-05-14")
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise ValueError(f"'{text}' is a date that doesn't exist; look at a calendar") from None


def _read_moment(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    typed = text.strip().replace("T", " ")
    match = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?: ([0-9]{1,2}):([0-9]{2}))?", typed)
    if match is None:
        raise ValueError(f"'{text}' is not a date with a time; write it like 2027-01-16 12:00")
    day = _read_day(match[1])
    hour, minute = int(match[2] or 0), int(match[3] or 0)
    if hour > 23 or minute > 59:
        raise ValueError(f"'{text}' has a time that doesn't exist; hours run from 00 to 23")
    return datetime(day.year, day.month, day.day, hour, minute)  # noqa: DTZ001 (the studio's zone is added later)


def _read_yes(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    word = text.strip().lower()
    if word in {"yes", "true"}:
        return True
    if word in {"no", "false"}:
        return False
    raise ValueError(f"'{text}' is neither yes nor no")


def read_zone(text: str) -> ZoneInfo:
    """Read a time zone's name. Raises ValueError with a sentence."""
    try:
        return ZoneInfo(text.strip())
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError(
            f"'{text}' is not a time zone of the IANA list; write it like Europe/Dublin or America/Halifax"
        ) from None


def _read_zone(text: Any) -> Any:
    return read_zone(text) if isinstance(text, str) else text


def _read_colour(text: Any) -> Any:
    if isinstance(text, str) and not re.fullmatch(r"#[0-9a-fA-F]{6}", text.strip()):
        raise ValueError(f"'{text}' is not a colour; write # and six hex digits, like '#41655d', in quotes")
    return text.strip() if isinstance(text, str) else text


def _read_web(text: Any) -> Any:
    if isinstance(text, str) and not re.fullmatch(r"https?://[^\s/]+(/\S*)?", text.strip()):
        raise ValueError(f"'{text}' is not a web address; write it whole, like https://studio.example/")
    return text.strip() if isinstance(text, str) else text


def _read_private_web(text: Any) -> Any:
    if isinstance(text, str) and not re.fullmatch(r"https://[!-~]+[/=]", text.strip()):
        raise ValueError(
            f"'{text}' can't be used: it must begin with https:// and end in / or =, since each person's own "
            "sign is added there, as in https://studio.example/leave/"
        )
    return text.strip() if isinstance(text, str) else text


def one_of(kind: type[Kind]) -> Callable[[Any], Any]:
    """Make a reader for a closed list of words; it names the list and the nearest word."""

    def read(text: Any) -> Any:
        if not isinstance(text, str):
            return text
        word = " ".join(text.lower().split())
        if word in set(kind):
            return kind(word)
        raise ValueError(not_one_of(text, [str(word) for word in kind]))

    return read


def not_one_of(text: str, words: list[str]) -> str:
    """Say that a word is not on a list, and which one was probably meant."""
    return f"'{text}' is not one of {', '.join(words)}{did_you_mean(text, words)}"


def did_you_mean(text: str, words: list[str]) -> str:
    """Return `; did you mean '…'?` for the nearest word, or nothing."""
    from difflib import get_close_matches  # noqa: PLC0415 (only needed when something is wrong)

    by_small_letters = {word.lower(): word for word in reversed(words)}
    near = get_close_matches(text.lower(), by_small_letters, n=1, cutoff=0.6)
    return f"; did you mean '{by_small_letters[near[0]]}'?" if near else ""


Money = Annotated[Decimal, BeforeValidator(_read_money)]
Percent = Annotated[Decimal, BeforeValidator(_read_percent)]
Number = Annotated[Decimal, BeforeValidator(_read_number)]
Whole = Annotated[int, BeforeValidator(_read_whole)]
Day = Annotated[date, BeforeValidator(_read_day)]
Moment = Annotated[datetime, BeforeValidator(_read_moment)]
YesNo = Annotated[bool, BeforeValidator(_read_yes)]
Zone = Annotated[ZoneInfo, BeforeValidator(_read_zone)]
Colour = Annotated[str, BeforeValidator(_read_colour)]
LeaveAddress = Annotated[str, BeforeValidator(_read_private_web)]
WebAddress = Annotated[str, BeforeValidator(_read_web)]
