"""One voice: a studio's words, days, money and lengths, opened once and handed to whoever speaks."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache

from babel import Locale
from babel.core import get_global
from babel.dates import format_date, format_time, get_timezone_location
from babel.lists import format_list
from babel.numbers import format_decimal, format_percent

from sitegen.studio import wording
from sitegen.studio.asked import Fault
from sitegen.studio.person import Interest
from sitegen.studio.piece import Status, StayKind, tall
from sitegen.studio.public import PublicPiece, PublicStudio
from sitegen.studio.settings import Settings
from sitegen.voice.theme_files import ThemeFiles, shared
from sitegen.voice.words import Words, read_locale, read_words


@dataclass(frozen=True)
class Tongue:
    """Writes values in one language, currency and time zone."""

    locale: Locale
    words: Words
    currency: str
    digits: int
    price_note: str = ""  # what the law of the place asks to stand beside a price

    def priced(self, amount: Decimal, *, exact: bool = False) -> str:
        """Write what something costs, with the note that prices carry."""
        said = self.exact_money(amount) if exact else self.money(amount)
        return f"{said}, {self.price_note}" if self.price_note else said

    def money(self, amount: Decimal) -> str:
        """Write an amount with its currency; whole amounts go without empty decimals."""
        return wording.price(amount, self.currency, self.digits, self.locale)

    def exact_money(self, amount: Decimal) -> str:
        """Write an amount to its last coin, as an agreement must."""
        return wording.exact_price(amount, self.currency, self.digits, self.locale)

    def number(self, value: Decimal | int, places: str | None = None) -> str:
        """Write a number, to as many decimals as it has or as `places` shows, like `0.0`."""
        return str(format_decimal(value, places, self.locale))

    def day(self, day: date) -> str:
        """Write a date without its weekday."""
        return str(format_date(day, self.words.plain("date.day"), self.locale))

    def full_day(self, day: date) -> str:
        """Write a date with its weekday."""
        return str(format_date(day, self.words.plain("date.full"), self.locale))

    def month(self, day: date) -> str:
        """Write month and year."""
        return str(format_date(day, self.words.plain("date.month"), self.locale))

    def days(self, first: date, last: date) -> str:
        """Write a span of days, saying month and year once where they are the same."""
        if first == last:
            return self.full_day(first)
        same = "none" if first.year != last.year else "month" if first.month == last.month else "year"
        start = format_date(first, self.words.plain(f"date.from_same_{same}"), self.locale)
        return self.words.plain("date.span", first=start, last=self.full_day(last))

    def moment(self, moment: datetime) -> str:
        """Write a time with its day, its zone by name, and the same in UTC (with the day if that differs)."""
        utc = moment.astimezone(UTC)
        day, clock = self.full_day(moment.date()), self.clock(moment)
        if getattr(moment.tzinfo, "key", "UTC") in {"UTC", "Etc/UTC"} and not moment.utcoffset():
            return self.words.plain("date.moment_utc", day=day, time=clock)
        other = self.clock(utc)
        if utc.date() != moment.date():
            other = self.words.plain("date.utc_other_day", day=self.day(utc.date()), time=other)
        return self.words.plain("date.moment", day=day, time=clock, zone=self.zone(moment), utc=other)

    def there(self, moment: datetime, day: date) -> str:
        """Write a time in its own zone; its day only where that isn't the one that was just said."""
        clock = self.words.plain("date.there", time=self.clock(moment), zone=self.zone(moment))
        if moment.date() == day:
            return clock
        return self.words.plain("date.there_other_day", day=self.full_day(moment.date()), time=clock)

    def clock(self, moment: datetime) -> str:
        """Write a time of day."""
        return str(format_time(moment, self.words.plain("date.time"), locale=self.locale))

    def zone(self, moment: datetime) -> str:
        """Name a zone by its city, as `Dublin time`; no name of a zone says as well what a clock shows there.

        CLDR calls a Dublin January Irish Standard Time, an hour off, and gives Belfast's clock to London.
        """
        key = getattr(moment.tzinfo, "key", "")
        if "/" not in key or key.startswith("Etc/"):
            return key or "UTC"
        city = key.rpartition("/")[2].replace("_", " ")
        if key not in get_global("zone_aliases"):
            city = get_timezone_location(moment.tzinfo, locale=self.locale, return_city=True)
        return self.words.plain("date.zone", city=city)

    def length(self, millimetres: int) -> str:
        """Write a length in centimetres and, to the nearest quarter, in inches."""
        cm = self.number(Decimal(millimetres) / 10)
        return self.words.plain("length", cm=cm, inches=wording.inches(millimetres))

    def deposit(self, deposit: str) -> str:
        """Write a deposit as the settings hold it: a percentage or an amount."""
        number = deposit.strip().removesuffix("%").strip()
        if number == deposit.strip():
            return self.money(Decimal(number))
        return str(format_percent(Decimal(number) / 100, locale=self.locale, decimal_quantization=False))

    def both(self, names: Iterable[str]) -> str:
        """Join names as a sentence does: a, b and c."""
        return str(format_list(list(names), locale=self.locale))


@lru_cache(maxsize=8192)
def typographic(text: str, quotes: str) -> str:
    """Set quotes, apostrophes and dashes of one plain line as a printer would."""
    text = re.sub(r"(?<=\w)'(?=\w)", "’", text)
    # No quotation opens behind a figure: that's an inch.
    text = re.sub(r'(?<!\d)"([^"]*)"', lambda part: quotes[0] + part[1] + quotes[1], text)
    text = re.sub(r"(?<!\w)'([^']*)'(?!\w)", lambda part: quotes[2] + part[1] + quotes[3], text)
    text = text.replace("'", "’")
    return re.sub(r"(?<= )--?(?= )", "–", text)


@dataclass(frozen=True, slots=True)
class WallLabel:
    """A piece in words; what isn't known of it is empty."""

    title: str
    number: str
    year: str
    materials: str
    base: str
    height: str
    status: str
    price: str  # empty for every piece that isn't offered
    where: str  # a sentence on where it is; empty at home


@dataclass(frozen=True)
class Voice:
    """How one studio says things, on its site, in its letters and on its paper."""

    words: Words
    tongue: Tongue

    def status(self, status: Status) -> str:
        """Say a piece's standing."""
        return self.words.plain(f"status.{status.name.lower()}")

    def interest(self, interest: Interest) -> str:
        """Say what a person asked to hear of."""
        return self.words.plain(f"letters.interest.{interest.name.lower()}")

    def height(self, size: str, millimetres: int | None) -> str:
        """Say how tall something is: in the artist's own words if there are any, else as measured."""
        said = tall(size, millimetres)
        return self.tongue.length(said) if isinstance(said, int) else self.typographic(said)

    def wall_label(self, piece: PublicPiece) -> WallLabel:
        """Say a piece in the trade's order: title, year and materials, base and height, status, price."""
        offered = piece.price if piece.offered else None
        return WallLabel(
            title=self.typographic(piece.title),
            number=piece.number or "",
            year=str(piece.year) if piece.year else "",
            materials=self.typographic(piece.materials),
            base=self.typographic(piece.base),
            height=self.height(piece.size, piece.height_mm),
            status=self.status(piece.status),
            price="" if offered is None else self.tongue.priced(offered),
            where=self.where(piece),
        )

    def where(self, piece: PublicPiece) -> str:
        """Say where a piece that isn't at home can be seen or bought; nothing of one at home."""
        away = piece.away
        if away is None:
            return ""
        shown = "seen" if away.kind is StayKind.GALLERY else str(away.kind)
        manner = "bought" if piece.bought_there else shown
        place = self.typographic(", ".join(filter(None, (away.place, away.town))))
        day = self.tongue.day(away.until) if away.until else ""
        return self.words.plain(f"away.{manner}_until" if day else f"away.{manner}", place=place, day=day)

    def typographic(self, text: str) -> str:
        """Set one plain line with the language's quotes, apostrophes and dashes."""
        return typographic(text, self.quotes)

    @property
    def quotes(self) -> str:
        """The four quotation marks of the language."""
        return self.words.plain("quotes")


def open_voice(theme: ThemeFiles, card: PublicStudio | Settings) -> Voice:
    """Open a studio's voice. Raises Fault for a language that nobody knows or that has no words."""
    words = read_words(theme, card.language)
    tax = card.sales_tax
    note = tax.says or (words.plain("price_with_tax", tax=tax.name) if tax.rate else "") if tax else ""
    voice = Voice(words, Tongue(read_locale(card.language), words, card.currency, card.digits, note))
    if len(voice.quotes) != 4:
        raise Fault(f"{words.file}: 'quotes' must be four quotation marks, like “”‘’")
    return voice


def english() -> Voice:
    """Open the voice of no studio: English, in the words that all themes share, with no currency."""
    words = read_words(shared(), "en")
    return Voice(words, Tongue(read_locale("en"), words, "XXX", 2))
