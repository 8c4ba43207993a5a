"""The same thing in the same words everywhere: the site, a letter and a paper are held against each other."""

from __future__ import annotations

import re
from pathlib import Path

import icalendar
import pytest
from lxml import html

from sitegen.letters.pieces import Wanted, announce_pieces
from sitegen.letters.show import announce_show
from sitegen.paper import cards
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.label import wall_label
from sitegen.voice.voice import open_voice
from tests import makers
from tests.letters.studio import PEOPLE, messages, room
from tests.paper.reading import flowing
from tests.site.studio import front, make_site
from tests.themes import theme_named

LANGUAGES = ["en", "de", "en-US"]


def opened(folder: Path, language: str) -> tuple[Path, FrontOfHouse]:
    """Make a studio that speaks a language, and build its site."""
    studio = makers.studio(folder)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("language: en", f"language: {language}"))
    makers.write(
        studio / "shows" / "quayside-2027.yaml", makers.SHOW + "about: Bring gloves; it's cold, dark.\n"
    )
    make_site(studio)
    return studio, front(studio)


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("language", LANGUAGES)
def test_size_status_and_price_of_a_piece(tmp_path: Path, language: str) -> None:
    """On its page, in the letter that shows it, on its card."""
    studio, view = opened(tmp_path / "s", language)
    piece = next(one for one in view.pieces if one.offered and one.height_mm)
    page = html.fromstring((studio / "out/site/pieces" / piece.slug / "index.html").read_bytes())
    letter = announce_pieces(view, PEOPLE, room(tmp_path), Wanted((piece.slug,)))
    theme = theme_named("case")
    said = {
        "page": plain(page.text_content()),
        "letter": plain((letter.folder / "letter.txt").read_text("utf-8")),
        "card": plain(flowing(cards(view, [piece], theme, paper="a4"))),
    }
    label = wall_label(open_voice(theme, view.card), piece)
    for where, text in said.items():
        for words in (label.height, label.status, label.price, label.materials):
            assert plain(words) in text, (where, words)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_days_of_a_show_and_its_calendar_entry(tmp_path: Path, language: str) -> None:
    """One entry by one name: whoever takes in both the site's and the letter's keeps one, of the same words."""
    studio, view = opened(tmp_path / "s", language)
    letter = announce_show(view, PEOPLE, room(tmp_path), "quayside-2027")
    (_, mail), *_ = messages(letter.folder)
    (part,) = [one for one in mail.walk() if one.get_content_type() == "text/calendar"]
    (posted,) = icalendar.Calendar.from_ical(part.get_content()).walk("VEVENT")
    (shown,) = icalendar.Calendar.from_ical((studio / "out/site/shows/quayside-2027.ics").read_bytes()).walk(
        "VEVENT"
    )

    assert dict(posted) == dict(shown)
    assert "Bring gloves; it's cold, dark." in str(shown["DESCRIPTION"])
    page = plain(html.fromstring((studio / "out/site/shows/index.html").read_bytes()).text_content())
    days = {
        "en": "Saturday 27 to Sunday 28 February 2027", "de": "Samstag, 27. bis Sonntag, 28. Februar 2027",
        "en-US": "Saturday, February 27 to Sunday, February 28, 2027",
    }[language]  # fmt: skip
    assert days in page
    assert days in plain((letter.folder / "letter.txt").read_text("utf-8"))
