"""A studio to write letters from, and readers that are not ours to read them with."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime
from email import policy
from email.message import EmailMessage
from email.parser import BytesParser
from pathlib import Path
from zoneinfo import ZoneInfo

from sitegen.letters.folder import Room
from sitegen.letters.replies import Reader, Reply
from sitegen.sources import read
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Consent, Interest, Left, Person, Why
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.whole import Studio
from tests import makers
from tests.themes import theme_named

THEME = theme_named("case")
SECRET = b"a key that only the tests have"
MOMENT = datetime(2027, 1, 9, 9, 30, tzinfo=ZoneInfo("Europe/Dublin"))
ALL = frozenset(Interest)

ADA = Person(
    "Ada@example.com",
    "Ada Lovelock",
    ALL,
    date(2026, 3, 2),
    Consent.WEB,
    "form on the site, 2026-03-02",
    line=2,
)
ZOE = Person(
    "zoe@bücher.example",
    "Zoë Łabędź",
    ALL,
    date(2026, 9, 14),
    Consent.SHOW_SHEET,
    "sheet LL26-1 row 4",
    line=3,
)
NAMELESS = Person("post@example.org", "", ALL, date(2026, 5, 1), Consent.IN_PERSON, "", line=4)
GONE = Person(
    "gone@example.net", "Gone", ALL, date(2026, 1, 1), Consent.WEB, "", Left(date(2026, 9, 14), Why.ASKED), 5
)
PEOPLE = (ADA, ZOE, NAMELESS, GONE)


def studio(folder: Path, **settings: str) -> Studio:
    """Read the makers' studio, with other settings where given."""
    whole = read(makers.studio(folder)).sound()
    return replace(whole, settings=whole.settings.model_copy(update=settings))


def front(folder: Path, moment: datetime = MOMENT, settings: dict[str, str] | None = None) -> FrontOfHouse:
    """Return the public view of that studio."""
    return front_of_house(studio(folder, **(settings or {})), moment)


def room(folder: Path) -> Room:
    """Return a place to make letters in."""
    return Room(THEME, folder / "out" / "letters", folder / "sent", SECRET)


def parsed(message: bytes) -> EmailMessage:
    """Read a message with the standard library, which we don't write with; fail at any defect."""
    found = BytesParser(policy=policy.default).parsebytes(message)
    assert isinstance(found, EmailMessage)
    assert all_defects(found) == []
    return found


def all_defects(message: EmailMessage) -> list[str]:
    """List the defects of a message, of its parts and of every header."""
    return [
        repr(defect)
        for part in message.walk()
        for defect in [*part.defects, *(d for value in part.values() for d in getattr(value, "defects", ()))]
    ]


def messages(folder: Path) -> Iterator[tuple[bytes, EmailMessage]]:
    """Yield each message of a letter's folder, raw and read."""
    for file in sorted((folder / "eml").iterdir()):
        raw = file.read_bytes()
        yield raw, parsed(raw)


def text_of(message: EmailMessage, kind: str = "plain") -> str:
    """Return the text or HTML part as the reader sees it, to whom one blank is like another."""
    part = message.get_body((kind,))
    assert part is not None
    content = part.get_content()
    assert isinstance(content, str)
    return content.replace("\u00a0", " ")


def read_all(raw: Iterable[bytes], people: Sequence[Person], secret: bytes) -> list[Reply]:
    """Understand many messages."""
    return [*map(Reader(people, secret).read, raw)]
