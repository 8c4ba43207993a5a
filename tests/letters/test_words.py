"""Dates, times, money and greetings as a letter says them."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import PurePath
from zoneinfo import ZoneInfo

import pytest

from sitegen.letters.templates import greet, reason_for, set_line
from sitegen.studio import wording
from sitegen.studio.commission import Commissions
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Consent, Person
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Studio
from sitegen.voice.voice import open_voice
from sitegen.voice.words import read_locale
from tests.letters.studio import THEME

CARD = front_of_house(Studio(
    folder=PurePath(), settings=Settings.model_validate({
        "studio": "S", "maker": "M", "site": "https://s.example/", "contact": "m@s.example", "currency": "EUR",
        "time_zone": "Europe/Dublin",
    }), pieces=(), commissions=Commissions(), shows=(), pages=(), people=(),
), datetime(2027, 1, 1, tzinfo=ZoneInfo("Europe/Dublin"))).card  # fmt: skip
ENGLISH, AMERICAN, GERMAN = (
    open_voice(THEME, replace(CARD, language=language)) for language in ("en", "en-US", "de")
)


@pytest.mark.parametrize(
    ("zone", "moment", "said"),
    [
        ("Europe/Dublin", (2027, 1, 16, 12, 0), "Saturday 16 January 2027, 12:00 Dublin time (12:00 UTC)"),
        ("Europe/Dublin", (2027, 7, 17, 12, 0), "Saturday 17 July 2027, 12:00 Dublin time (11:00 UTC)"),
        (
            "America/Halifax", (2027, 1, 16, 20, 30),
            "Saturday 16 January 2027, 20:30 Halifax time (17 January 2027, 00:30 UTC)",
        ),
        (
            "America/Argentina/Buenos_Aires", (2027, 1, 16, 9, 0),
            "Saturday 16 January 2027, 09:00 Buenos Aires time (12:00 UTC)",
        ),
        ("UTC", (2027, 1, 16, 9, 0), "Saturday 16 January 2027, 09:00 UTC"),
    ],
)  # fmt: skip
def test_a_time_is_said_with_its_city_and_in_utc(zone: str, moment: tuple[int, ...], said: str) -> None:
    """Offsets: IANA time zone data as carried by Python; the other day is named when UTC is on it."""
    year, month, day, hour, minute = moment

    there = datetime(year, month, day, hour, minute, tzinfo=ZoneInfo(zone))
    assert ENGLISH.tongue.moment(there).replace("\u00a0", " ") == said


@pytest.mark.parametrize(
    ("language", "amount", "currency", "digits", "said"),
    [
        ("en", "640", "EUR", 2, "€640"),
        ("en", "1280.50", "EUR", 2, "€1,280.50"),
        ("de", "1280", "EUR", 2, "1.280\u00a0€"),
        ("de", "1280.5", "EUR", 2, "1.280,50\u00a0€"),
        ("en", "64000", "JPY", 0, "¥64,000"),
        ("en", "12.345", "KWD", 3, "KWD\u00a012.345"),
        ("sk", "640", "EUR", 2, "640\u00a0€"),
    ],
)
def test_money_in_the_studios_language(
    language: str, amount: str, currency: str, digits: int, said: str
) -> None:
    """Signs and marks: CLDR as carried by Babel; digits: ISO 4217, handed in."""
    assert wording.price(Decimal(amount), currency, digits, read_locale(language)) == said


@pytest.mark.parametrize(
    ("name", "greeting"),
    [
        ("Ada Lovelock", "Dear Ada Lovelock,"),
        ("  Zoë\u0009Łabędź ", "Dear Zoë Łabędź,"),
        ('Beatrice "Bee" Lanyard', 'Dear Beatrice "Bee" Lanyard,'),
        ("", "Hello,"),
        ("ada@example.com", "Hello,"),
        ("https://x.example", "Hello,"),
        ("Customer 4711", "Hello,"),
        ("{{ name }}", "Hello,"),
        ("x" * 61, "Hello,"),
    ],
)
def test_greeting(name: str, greeting: str) -> None:
    """What is no name isn't greeted as one."""
    assert greet(name, ENGLISH) == greeting


def test_a_span_of_one_day_is_said_once() -> None:
    """A show of one day isn't from a day to the same day."""
    day = date(2027, 2, 27)

    assert ENGLISH.tongue.days(day, day) == "Saturday 27 February 2027"
    assert ENGLISH.tongue.days(day, date(2027, 2, 28)) == "Saturday 27 to Sunday 28 February 2027"


def test_an_american_reads_what_americans_write() -> None:
    """Month first, a clock of twelve hours, inches first (CLDR 47, en-US: date formats long and full, time short)."""
    there = datetime(2027, 1, 16, 20, 30, tzinfo=ZoneInfo("America/Chicago"))

    assert AMERICAN.tongue.day(there.date()) == "January 16, 2027"
    assert AMERICAN.tongue.days(date(2027, 2, 27), date(2027, 2, 28)) == (
        "Saturday, February 27 to Sunday, February 28, 2027"
    )
    said = re.sub(r"[\u00a0\u202f]", " ", AMERICAN.tongue.moment(there))
    assert said == "Saturday, January 16, 2027, 8:30 PM Chicago time (January 17, 2027, 2:30 AM UTC)"
    assert AMERICAN.tongue.length(320) == "12½\u00a0in (32\u00a0cm)"


def test_a_german_reads_what_germans_write() -> None:
    there = datetime(2027, 1, 16, 20, 30, tzinfo=ZoneInfo("Europe/Berlin"))

    said = GERMAN.tongue.moment(there).replace("\u00a0", " ")
    assert said == "Samstag, 16. Januar 2027, 20:30 Uhr Ortszeit Berlin (19:30 UTC)"
    # CLDR, main/de.xml, exemplarCity of Europe/Vienna.
    assert GERMAN.tongue.zone(there.astimezone(ZoneInfo("Europe/Vienna"))) == "Ortszeit Wien"
    # CLDR, bcp47/timezone.xml: Belfast is an alias of London.
    assert GERMAN.tongue.zone(there.astimezone(ZoneInfo("Europe/Belfast"))) == "Ortszeit Belfast"


@pytest.mark.parametrize(
    ("typed", "set_as"),
    [
        (
            "Sat 10:00–18:00, Sun 10-16",
            'Sat <span style="white-space:nowrap;">10:00–18:00</span>, Sun <span style="white-space:nowrap;">10-16</span>',
        ),
        ("That person's, or the \"family's\"", "That person’s, or the “family’s”"),
        ("across · 45 cm (17¾ in)", 'across · <span style="white-space:nowrap;">45 cm (17¾ in)</span>'),
        ("<b>5</b> & *stars*", "&lt;b&gt;5&lt;/b&gt; &amp; *stars*"),
    ],
)
def test_a_line_is_set_as_type_is(typed: str, set_as: str) -> None:
    """Quotes curl, hours and lengths stay together, nothing typed is obeyed."""
    assert str(set_line(typed, ENGLISH)) == set_as


@pytest.mark.parametrize(
    "name",
    [
        "",
        " ",
        "\u202e",
        "ada@example.com",
        "a/b",
        "a\\b",
        "<a>",
        "{a}",
        "[a]",
        "a|b",
        "a=b",
        "Ada 2",
        "x" * 61,
    ],
)
def test_what_is_no_name_is_greeted_without_one(name: str) -> None:
    assert greet(name, ENGLISH) == "Hello,"
    assert greet(name, GERMAN) == "Guten Tag,"


@pytest.mark.parametrize("name", ["Ada", "Zoë Łabędź", "O’Neill-Grün", "x" * 60])
def test_a_name_is_greeted_by(name: str) -> None:
    assert greet(f" {name}\n", ENGLISH) == f"Dear {name},"


@pytest.mark.parametrize(
    ("consent", "evidence", "joined", "said"),
    [
        (Consent.WEB, "toad, 2023-08-20", date(2026, 3, 2), "because you asked for it on the studio’s site (Monday 2 March 2026)."),
        (Consent.SHOW_SHEET, "sheet AB27-2 row 4", None, "because you signed the studio’s sheet at a show (sheet AB27-2, no. 4)."),
        (Consent.SHOW_SHEET, "hard to read; sheet AB27-2 row 4, no name", date(2026, 3, 2), "because you signed the studio’s "
         "sheet at a show (sheet AB27-2, no. 4; Monday 2 March 2026)."),
        (Consent.SHOW_SHEET, "the sheet at the fair, row 4", None, "because you signed the studio’s sheet at a show."),
        (Consent.IN_PERSON, "", date(2026, 3, 2), "because you asked for it in person (Monday 2 March 2026)."),
        (Consent.PURCHASE, "", None, "because you bought a piece from the studio."),
        (Consent.NOT_CONFIRMED, "", None, "because your address was left with the studio."),
        (Consent.CONFIRMED, "", None, "because you answered by mail that you want it."),
        (None, "looks like a machine", None, "because you are on the studio’s list."),
    ],
)  # fmt: skip
def test_each_reader_is_told_how_they_came_to_get_it(
    consent: Consent | None, evidence: str, joined: date | None, said: str
) -> None:
    """GDPR Art. 14(2)(f): from which source the data come; what the artist noted for herself stays with her."""
    person = Person("ada@example.com", consent=consent, evidence=evidence, joined=joined)

    assert reason_for(person, ENGLISH) == f"You get this letter {said}"


def test_the_place_on_a_sheet_is_said_in_the_reader_s_language() -> None:
    ada = Person(
        "a@mail.example", consent=Consent.SHOW_SHEET, evidence="sheet AB27-2 row 4", joined=date(2026, 3, 2)
    )

    assert reason_for(ada, GERMAN).endswith("eingetragen haben (Blatt AB27-2, Nr. 4; Montag, 2. März 2026).")
