"""The same thing in the same words everywhere: the site, a letter and a paper are held against each other."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import icalendar
import pytest
from lxml import etree, html

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_commissions, announce_pieces, announce_show
from sitegen.letters.replies import Meaning, Reader
from sitegen.paper.cards import cards
from sitegen.paper.press import Printer
from sitegen.paper.sheet import sheet
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.settings import usual_paper
from sitegen.voice.voice import open_voice
from sitegen.voice.words import read_words
from tests import makers
from tests.cli.runner import run
from tests.letters.studio import PEOPLE, SECRET, messages, room
from tests.paper.reading import flowing
from tests.site.studio import front, make_site
from tests.themes import theme_named

LANGUAGES = ["en", "de", "en-US"]


def opened(folder: Path, language: str) -> tuple[Path, FrontOfHouse]:
    """Make a studio that speaks a language, and build its site."""
    studio = makers.studio(folder)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("language: en", f"language: {language}"))
    makers.write(
        studio / "shows" / "quayside-2027.yaml", makers.SHOW + "about: Bring *gloves*; it's cold, dark.\n"
    )
    make_site(studio)
    return studio, front(studio)


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def page_of(file: Path) -> Any:
    return html.fromstring(file.read_bytes())


def page_text(file: Path) -> str:
    return plain(page_of(file).text_content())


@pytest.mark.parametrize("language", LANGUAGES)
def test_size_status_and_price_of_a_piece(tmp_path: Path, language: str) -> None:
    """On its page, in the letter that shows it, on its card."""
    studio, view = opened(tmp_path / "s", language)
    piece = next(piece for piece in view.pieces if piece.offered and piece.height_mm)
    page = html.fromstring((studio / "out/site/pieces" / piece.slug / "index.html").read_bytes())
    letter = announce_pieces(Writing(view, PEOPLE, room(tmp_path)), (piece.slug,))
    theme = theme_named("case")
    said = {
        "page": plain(page.text_content()),
        "letter": plain((letter.folder / "letter.txt").read_text("utf-8")),
        "card": plain(flowing(cards(Printer(view, theme, "a4"), [piece]))),
    }
    label = open_voice(theme, view.card).wall_label(piece)
    for where, text in said.items():
        for words in (label.height, label.status, label.price, label.materials):
            assert plain(words) in text, (where, words)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_days_of_a_show_and_its_calendar_entry(tmp_path: Path, language: str) -> None:
    """One entry by one name: whoever takes in both the site's and the letter's keeps one, of the same words."""
    studio, view = opened(tmp_path / "s", language)
    letter = announce_show(Writing(view, PEOPLE, room(tmp_path)), "quayside-2027")
    (_, mail), *_ = messages(letter.folder)
    (part,) = [one for one in mail.walk() if one.get_content_type() == "text/calendar"]
    (posted,) = icalendar.Calendar.from_ical(part.get_content()).walk("VEVENT")
    (shown,) = icalendar.Calendar.from_ical((studio / "out/site/shows/quayside-2027.ics").read_bytes()).walk(
        "VEVENT"
    )

    assert dict(posted) == dict(shown)
    assert "Bring gloves; it’s cold, dark." in str(shown["DESCRIPTION"])
    assert '"description":"Bring gloves; it’s cold, dark."' in (
        studio / "out/site/shows/index.html"
    ).read_text("utf-8")
    page = plain(html.fromstring((studio / "out/site/shows/index.html").read_bytes()).text_content())
    days = {
        "en": "Saturday 27 to Sunday 28 February 2027", "de": "Samstag, 27. bis Sonntag, 28. Februar 2027",
        "en-US": "Saturday, February 27 to Sunday, February 28, 2027",
    }[language]  # fmt: skip
    assert days in page
    written = plain((letter.folder / "letter.txt").read_text("utf-8"))
    assert days in written
    where = ", ".join(page_of(studio / "out/site/shows/index.html").xpath("//article//dl/div[1]/dd/text()"))
    assert {where} == {str(shown["LOCATION"])} == {"The Old Ropewalk, Sampletown"}
    assert where in written
    assert f'"address":"{where}"' in (studio / "out/site/shows/index.html").read_text("utf-8")


@pytest.mark.parametrize("address", ["The Old Ropewalk\nSampletown", "The Old Ropewalk, \n\n Sampletown,"])
def test_a_venue_that_the_address_names_is_said_once(tmp_path: Path, address: str) -> None:
    """Wherever a show's place is said."""
    show = opened(tmp_path / "s", "en")[1].shows[0]

    assert replace(show, address=address).place == ("The Old Ropewalk", "Sampletown")


TALL = {
    "owl": ("", "320", {"en": "32 cm (12½ in)", "de": "32 cm (12½ Zoll)", "en-US": "12½ in (32 cm)"}),
    "elk": ("life-size, with hat", "320", dict.fromkeys(LANGUAGES, "life-size, with hat")),
    "door": ("as tall as a door", "", dict.fromkeys(LANGUAGES, "as tall as a door")),
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_how_tall_a_piece_is_is_said_by_one_rule(tmp_path: Path, language: str) -> None:
    """The artist's own words first, the measure where there are none: page, room, feed, letter and four papers."""
    made = {
        slug: makers.piece_yaml(slug, size=size, height_mm=height_mm, price="431", number="")
        for slug, (size, height_mm, _) in TALL.items()
    }
    studio = makers.studio(tmp_path / "s", made)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("language: en", f"language: {language}"))
    make_site(studio)
    view, site = front(studio), studio / "out" / "site"
    everywhere = {
        "room": page_text(site / "gallery/index.html"), "feed": (site / "feed.xml").read_text("utf-8"),
    }  # fmt: skip
    assert run(studio, "terms", "keep").exit_code == 0
    for slug, (size, _, said) in TALL.items():
        letter = announce_pieces(Writing(view, PEOPLE, room(tmp_path)), (slug,))
        shutil.rmtree(studio / "out" / "paper", ignore_errors=True)
        for words in (("cards", slug), ("certificate", slug), ("agreement", slug)):
            assert run(studio, *words).exit_code == 0
        page = site / "pieces" / slug / "index.html"
        own = {
            "page": page_text(page),
            "description": page_of(page).xpath("string(//meta[@name='description']/@content)"),
            "text": (letter.folder / "letter.txt").read_text("utf-8"),
            "html": page_text(letter.folder / "letter.html"),
            **{file.stem: flowing(file.read_bytes()) for file in (studio / "out" / "paper").glob("*.pdf")},
        }
        assert len(own) == 7
        for where, text in {**own, **everywhere}.items():
            assert said[language] in plain(text), (slug, where)
            # On the page itself the measure may stand beside the words; in a room other pieces are measured.
            if size and where in own and where != "page":
                assert "12½ in" not in plain(text), (slug, where)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_round_opens_at_one_moment_in_one_wording(tmp_path: Path, language: str) -> None:
    """On its page, in its calendar entries, in the letter and the entry that travels with it; prices as well."""
    studio, view = opened(tmp_path / "s", language)
    letter = announce_commissions(Writing(view, PEOPLE, room(tmp_path)))
    moment = {
        "en": "Saturday 16 January 2027, 12:00 Dublin time (12:00 UTC)",
        "de": "Samstag, 16. Januar 2027, 12:00 Uhr Ortszeit Dublin (12:00 UTC)",
        "en-US": "Saturday, January 16, 2027, 12:00 PM Dublin time (12:00 PM UTC)",
    }[language]
    price = {"en": "€420", "de": "420 €", "en-US": "€420"}[language]
    height = {"en": "25 cm (9¾ in)", "de": "25 cm (9¾ Zoll)", "en-US": "9¾ in (25 cm)"}[language]
    page = page_text(studio / "out/site/commissions/index.html")
    text = plain((letter.folder / "letter.txt").read_text("utf-8"))
    marked = page_text(letter.folder / "letter.html")

    for words in (moment, price, height):
        assert words in page
        assert words in text
        assert words in marked
    (shown,) = (studio / "out/site/commissions").glob("*.ics")
    (_, mail), *_ = messages(letter.folder)
    (part,) = [one for one in mail.walk() if one.get_content_type() == "text/calendar"]
    entries = [
        [dict(component) for component in icalendar.Calendar.from_ical(raw).walk("VEVENT")]
        for raw in (shown.read_bytes(), part.get_content())
    ]
    assert entries[0] == entries[1]
    assert moment in plain(str(entries[0][0]["DESCRIPTION"]))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_standing_is_said_in_one_word(tmp_path: Path, language: str) -> None:
    """On the page, in the feed of all pieces and on the card; a price only where it is offered."""
    standings = ("sold", "on hold", "commissioned", "not for sale", "available")
    made = {
        standing.replace(" ", "-"): makers.piece_yaml(
            f"Owl {'ABCDE'[number]}", standing, price=str(431 + number), number=""
        )
        for number, standing in enumerate(standings)
    }
    studio = makers.studio(tmp_path / "s", made)
    makers.write(studio / "studio.yaml", makers.STUDIO.replace("language: en", f"language: {language}"))
    make_site(studio)
    view = front(studio)
    voice = open_voice(theme_named("case"), view.card)
    feed = etree.parse(studio / "out/site/feed.xml").getroot()
    entries = [plain(" ".join(one.itertext())) for one in feed.iter("{http://www.w3.org/2005/Atom}entry")]
    for piece in view.pieces:
        page = studio / "out/site/pieces" / piece.slug / "index.html"
        price = Decimal(431 + standings.index(piece.slug.replace("-", " ")))
        read = {
            # Beside it other pieces have words of their own.
            "page": plain(page_of(page).xpath("string(//div[@class='label'])")),
            "feed": next(entry for entry in entries if piece.title in entry),
            "card": plain(flowing(cards(Printer(view, theme_named("case"), "a4"), [piece]))),
        }
        for where, text in read.items():
            said = {piece.slug for piece in view.pieces if voice.status(piece.status) in text}
            assert said == {piece.slug}, where
            assert (plain(voice.tongue.money(price)) in text) == (piece.slug == "available"), (
                piece.slug,
                where,
            )


@pytest.mark.parametrize("language", LANGUAGES)
def test_people_leave_by_one_word(tmp_path: Path, language: str) -> None:
    """The site's page, the sheet, the letter and its headers name one word, and the reader of answers hears it."""
    studio, view = opened(tmp_path / "s", language)
    letter = announce_show(Writing(view, PEOPLE, room(tmp_path)), "quayside-2027")
    theme = theme_named("case")
    word = {"en": "leave", "de": "stop", "en-US": "leave"}[language]
    quoted = f"„{word}“" if language == "de" else f"“{word}”"
    show = next(fair for fair in view.shows if fair.slug == "quayside-2027")
    (_, mail), *_ = messages(letter.folder)

    assert quoted in page_text(studio / "out/site/letters/index.html")
    assert quoted in plain(flowing(sheet(Printer(view, theme, "a4"), show, pages=1)))
    assert quoted in plain((letter.folder / "letter.txt").read_text("utf-8"))
    assert quoted in page_text(letter.folder / "letter.html")
    asked = unquote(re.sub(r"\s", "", mail["List-Unsubscribe"]).partition("subject=")[2].rstrip(">"))
    assert asked.split()[0] == word
    for subject in (asked, asked.upper(), f"Re: {asked}", word, quoted, f"{word.title()}!"):
        answer = f"From: {PEOPLE[0].email}\r\nSubject: {subject}\r\n\r\n".encode()
        assert Reader(PEOPLE, SECRET, word).read(answer).meaning is Meaning.LEAVE, subject


def test_a_word_of_ones_own_by_which_people_leave_is_heard() -> None:
    answer = b"From: ada@example.com\r\nSubject: =?utf-8?q?H=C3=BCv=C3=A4sti?=\r\n\r\n"

    assert Reader(PEOPLE, SECRET, "hüvästi").read(answer).meaning is Meaning.LEAVE
    assert Reader(PEOPLE, SECRET).read(answer).meaning is Meaning.OTHER


@pytest.mark.parametrize(
    "words",
    [
        ("announce", "pieces", "ferry-gost"), ("cards", "ferry-gost"), ("certificate", "ferry-gost"),
        ("piece", "mark", "ferry-gost", "sold"), ("piece", "worth", "ferry-gost"),
    ],
    ids=" ".join,
)  # fmt: skip
def test_a_piece_that_is_not_there_is_told_in_one_sentence(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Whichever room was asked."""
    done = run(makers.studio(tmp_path / "s"), *words)

    assert done.exit_code == 1
    assert done.output == "there is no piece 'ferry-gost'; did you mean 'ferry-ghost'?\n"


def test_an_american_reads_no_british_word() -> None:
    """Spelling and paper: `instalment` and the like (Merriam-Webster's spellings, from memory); Letter, not A4."""
    british = re.compile(
        r"instalment|colour|favour|grey\b|centre|cheque|organis|recognis|travelling|catalogue|\bmetre"
    )
    words = read_words(theme_named("case"), "en-US")

    assert [key for key, sentence in words.sentences.items() if british.search(sentence.lower())] == []
    assert [usual_paper({"language": one}) for one in ("en-US", "en", "en-GB", "de", "es-MX", "")] == [
        "letter", "a4", "a4", "a4", "letter", "a4",
    ]  # fmt: skip
