"""What the artist types stays what she typed: escaped, in her language, and safe to click."""

from __future__ import annotations

import json
import re
import shutil
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as some
from lxml import html
from PIL import Image

from sitegen.site.house import open_house
from sitegen.site.machines import block
from sitegen.site.setting import mail_link
from sitegen.site.theme import contrast, readable
from sitegen.studio.asked import Fault
from sitegen.studio.settings import mailto
from sitegen.voice.prose import html as prose
from sitegen.voice.voice import typographic
from sitegen.voice.words import Words, read_words
from tests import makers
from tests.cli.runner import run
from tests.site.studio import THEMES, front, make_site, pages, theme
from tests.themes import FOLDER

ENGLISH = "“”‘’"
AWKWARD = [
    "Salt & Pepper <b>bold</b>",
    'The "Quiet" One',
    "</title><script>alert(1)</script>",
    "{{ card.contact }} {% raw %}",
    "夜の番人 🕯️",
    "حارس المفاتيح",
    "O'Hara's 3 < 4 > 2",
]


@pytest.mark.parametrize("name", THEMES)
def test_a_page_of_words_shows_photographs_of_pieces(tmp_path: Path, name: str) -> None:
    """As a letter does: a piece or one of its photos. What isn't hung anywhere, or is elsewhere, is its words."""
    studio = makers.studio(tmp_path)
    slug = next((studio / "pieces").iterdir()).name
    words = f"![Her lamp]({slug}/front.jpg) ![]({slug}) ![no such](nobody/x.jpg) ![far](https://far.example/x.jpg)"
    makers.write(studio / "pages" / "about.md", f"# About\n\nI make.\n\n{words}\n")
    make_site(studio, name)
    site = studio / "out" / "site"
    page = pages(site)["about/index.html"]

    named, first = page.xpath("//main//img")
    assert named.get("alt") == "Her lamp"
    assert first.get("alt")
    assert "no such far" in " ".join(page.xpath("string(//main)").split())
    for one in (named, first):
        sources = [one.get("src"), *re.findall(r"(\S+) \d+w", one.get("srcset"))]
        assert all((site / "about" / source).is_file() for source in sources)
        assert int(one.get("width")) > 0


def test_a_page_that_shows_a_photograph_follows_it(tmp_path: Path) -> None:
    """A piece that is taken off the site, or its photo changed, is another page; nothing points nowhere."""
    studio = makers.studio(tmp_path)
    piece = next((studio / "pieces").iterdir())
    makers.write(studio / "pages" / "about.md", f"# About\n\n![The lamp]({piece.name})\n")
    assert run(studio, "build").exit_code == 0
    before = pages(studio / "out" / "site")["about/index.html"].xpath("//main//img/@src")
    for photo in piece.glob("*.jpg"):
        Image.new("RGB", (900, 1201), "teal").save(photo)
    assert run(studio, "build").exit_code == 0
    after = pages(studio / "out" / "site")["about/index.html"].xpath("//main//img/@src")
    assert after
    assert after != before
    shutil.rmtree(piece)
    assert run(studio, "build").exit_code == 0
    last = pages(studio / "out" / "site")["about/index.html"]
    assert last.xpath("//main//img") == []
    assert "The lamp" in last.xpath("string(//main)")


@pytest.mark.parametrize("name", THEMES)
def test_awkward_titles_are_shown_as_typed(tmp_path: Path, name: str) -> None:
    """Markup, template marks, other scripts and emoji are letters like any others, in every place."""
    made = {
        f"it-{number}": makers.piece_yaml(json.dumps(title, ensure_ascii=False), number="")
        for number, title in enumerate(AWKWARD)
    }
    studio = makers.studio(tmp_path, made)
    make_site(studio, name)
    there = pages(studio / "out" / "site")
    for number, title in enumerate(AWKWARD):
        shown, page = typographic(title, ENGLISH), there[f"pieces/it-{number}/index.html"]

        assert page.xpath("string(//h1)").strip() == shown
        assert page.xpath("string(//title)") == f"{shown} · Lantern & Loam"
        assert page.xpath("//meta[@property='og:title']/@content") == [shown]
        facts = json.loads(page.xpath("string(//script[@type='application/ld+json'])"))["@graph"]
        assert [fact["name"] for fact in facts] == [title]
        assert page.xpath("//main//b | //main//script") == []
        assert shown in there["gallery/index.html"].xpath("string(//main)")


@given(some.text())
def test_no_text_ends_the_data_block(text: str) -> None:
    """Whatever a title holds, the JSON-LD is one element and reads back as it was."""
    written = block(({"name": text},))

    assert "<" not in written
    assert json.loads(written)["@graph"] == [{"name": text}]


@given(some.text(alphabet=some.characters(exclude_categories=("Cs", "Cc"))))
@settings(max_examples=200)
def test_words_escape_every_value(value: str) -> None:
    """A value put into a sentence comes out of the page as it went in."""
    words = Words("x.yaml", {"greet": "Hello <{name}>"}, lambda _: "other")
    said = str(words.say("greet", name=value))

    assert "<" not in said
    assert html.fromstring(f"<p>{said}</p>").text_content() == f"Hello <{value}>"


@given(some.text(alphabet="[]()<>:/\\ajvscript:&#115;\"'x\n`*", max_size=60))
@settings(max_examples=200)
def test_prose_never_makes_anything_that_runs(text: str) -> None:
    """No tag but Markdown's own, no link but http, https, mailto and pages of the site."""
    made = prose(text, ENGLISH, lambda target: "page.html")
    tree = html.fromstring(f"<div>{made}</div>")

    assert {one.tag for one in tree.iter()} <= {
        "div", "p", "a", "span", "em", "strong", "code", "pre", "blockquote", "br", "hr", "h2", "ul", "ol", "li",
    }  # fmt: skip
    for link in tree.xpath("//a/@href"):
        assert re.match(r"(https?:|mailto:|page\.html$|#)", link), link
    assert not tree.xpath("//@*[starts-with(name(), 'on')]")


@pytest.mark.parametrize(
    "written",
    [
        "[x](javascript:alert(1))",
        "[x](JaVaScRiPt:alert(1))",
        "[x](java&#115;cript:alert(1))",
        "[x](data:text/html,hi)",
        "[x](//elsewhere.example/)",
        "[x](vbscript:x)",
        "<javascript:alert(1)>",
    ],
)
def test_dangerous_links_lose_their_target(written: str) -> None:
    """The words stay, the link goes."""
    assert prose(written, ENGLISH, lambda target: "page.html").count("href") == 0


def test_prose_sets_type() -> None:
    """Quotes of the language, dashes, headings without a gap, raw HTML as text, pictures as words."""
    text = '# One\n\n#### Two\n\n"Well," she said -- *so* <i>it</i> is... ![a moth](https://x.example/m.jpg)'
    made = prose(text, "„“‚‘", lambda target: target)

    assert made == (
        "<h2>One</h2>\n<h3>Two</h3>\n"
        "<p>„Well,“ she said – <em>so</em> &lt;i&gt;it&lt;/i&gt; is… <span>a moth</span></p>"
    )


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("The Snail's Landlady", "The Snail’s Landlady"),
        ('She said "no"', "She said “no”"),
        ("'Tis the season", "’Tis the season"),
        ("Ada - a portrait", "Ada – a portrait"),
        ("well-made", "well-made"),
        ('A 12" figure on a 3" base', 'A 12" figure on a 3" base'),
        ('"Moth", 12" tall', '“Moth”, 12" tall'),
    ],
)
def test_titles_get_printers_quotes(typed: str, printed: str) -> None:
    """One plain line, set as a printer would."""
    assert typographic(typed, ENGLISH) == printed


def test_mail_links_follow_rfc_6068() -> None:
    """RFC 6068, section 2 and 5: percent-encoded fields, lines ending in CRLF, `&` as &amp; in HTML."""
    assert mailto("gorby%kremvax@example.com") == "mailto:gorby%25kremvax@example.com"
    assert mailto("a@example.com", "Hi & bye", "one\ntwo") == (
        "mailto:a@example.com?subject=Hi%20%26%20bye&body=one%0D%0Atwo"
    )
    link = html.fromstring(str(mail_link("a@example.com", "Write", "Hi & bye", "one")))
    assert link.get("href") == "mailto:a@example.com?subject=Hi%20%26%20bye&body=one"
    assert link.text == "Write"


# WCAG 2.2 contrast ratios on white, computed from the published formula (values as its notes give them).
@pytest.mark.parametrize(
    ("colour", "ratio"),
    [("#000000", 21.0), ("#767676", 4.5422), ("#777777", 4.4781), ("#ff0000", 3.9985), ("#0000ee", 9.3976)],
)
def test_contrast_is_wcags(colour: str, ratio: float) -> None:
    """The published values, to the fourth digit."""
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=5e-5)


@given(some.from_regex(r"#[0-9a-f]{6}", fullmatch=True), some.sampled_from(["#f7f4ee", "#191410", "#ffffff"]))
def test_every_colour_has_a_readable_shade(colour: str, ground: str) -> None:
    """Whatever the accent, what comes out can be read (WCAG 2.2, 1.4.3)."""
    assert contrast(readable(colour, ground), ground) >= 4.5


def test_catalogues_say_the_same_things() -> None:
    """Every language of a theme has every key, with the same places to fill in."""
    for name in THEMES:
        english = read_words(theme(name), "en").sentences
        languages = {file.stem for file in theme(name).file("words/en.yaml").parent.glob("*.yaml")}
        assert {"de", "en"} <= languages
        for language in languages:
            other = read_words(theme(name), language).sentences
            assert other.keys() == english.keys(), language
            for key, sentence in english.items():
                places = set(re.findall(r"\{[a-z_]+\}", sentence))
                assert set(re.findall(r"\{[a-z_]+\}", other[key])) == places, (language, key)


def test_templates_hold_no_words_of_their_own() -> None:
    """Between the tags there is nothing but marks of punctuation: every word is in the catalogue."""
    for file in FOLDER.glob("*/site/*.html"):
        text = re.sub(r"{% block kind %}\w+{% endblock %}", "", file.read_text("utf-8"))
        bare = re.sub(r"<[^>]*>", " ", re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}", " ", text, flags=re.S))
        # What is left of a `sizes` attribute: conditions and units.
        bare = re.sub(r"\(min-width: \w+\)|\b(px|vw)\b", " ", bare)
        assert not re.findall(r"[A-Za-z]{2,}", bare), file


def test_a_catalogue_with_a_wrong_place_is_told() -> None:
    """The artist changed a sentence and asks for something that isn't there."""
    words = Words("case/words/en.yaml", {"x": "Price {prise}"}, lambda _: "other")

    with pytest.raises(
        Fault, match=r"^case/words/en\.yaml: 'x' asks for \{prise\}, but there is only \{price\}$"
    ):
        words.say("x", price=1)


def test_values_are_written_as_the_language_writes_them(tmp_path: Path) -> None:
    """Money, dates and lengths in English (expected values from CLDR 47, as its charts give them)."""
    tongue = open_house(front(makers.studio(tmp_path)), {}, theme(), ()).voice.tongue

    assert tongue.money(Decimal("1480.00")) == "€1,480"
    assert tongue.money(Decimal("1480.50")) == "€1,480.50"
    assert tongue.full_day(date(2027, 1, 16)) == "Saturday 16 January 2027"
    assert tongue.days(date(2027, 2, 27), date(2027, 2, 28)) == "Saturday 27 to Sunday 28 February 2027"
    assert (
        tongue.days(date(2026, 12, 31), date(2027, 1, 1))
        == "Thursday 31 December 2026 to Friday 1 January 2027"
    )
    assert tongue.length(320) == "32\u00a0cm (12½\u00a0in)"
    assert tongue.length(95) == "9.5\u00a0cm (3¾\u00a0in)"
    assert tongue.deposit("30%") == "30%"
    assert tongue.deposit("150") == "€150"


@pytest.mark.parametrize(
    ("zone", "when", "written"),
    [
        ("Europe/Dublin", "2027-01-16T12:00", "12:00 Dublin time (12:00 UTC)"),
        ("Europe/Dublin", "2027-07-16T12:00", "12:00 Dublin time (11:00 UTC)"),
        ("America/Halifax", "2027-01-16T21:00", "21:00 Halifax time (17 January 2027, 01:00 UTC)"),
        ("UTC", "2027-01-16T12:00", "12:00 UTC"),
    ],
)
def test_moments_name_their_zone(tmp_path: Path, zone: str, when: str, written: str) -> None:
    """A time that a collector far away can use, with the day where it's another day there; no line ends in it."""
    tongue = open_house(front(makers.studio(tmp_path)), {}, theme(), ()).voice.tongue
    moment = datetime.fromisoformat(when).replace(tzinfo=ZoneInfo(zone))

    assert tongue.moment(moment) == f"{tongue.full_day(moment.date())}, {written}".replace(
        " UTC", "\u00a0UTC"
    )


def test_theme_files_are_plain_yaml() -> None:
    """Every theme's own file has a name and its colours."""
    for file in FOLDER.glob("*/theme.yaml"):
        tree = yaml.safe_load(file.read_text("utf-8"))
        assert {"name", "light", "dark", "accent"} <= tree.keys()


def test_a_number_keeps_its_unit_on_its_line(tmp_path: Path) -> None:
    """Between figures and what they measure stands a space that no line breaks at; addresses have none."""
    make_site(makers.studio(tmp_path, {"ferry-ghost": makers.piece_yaml()}))
    page = next(tmp_path.rglob("site/pieces/ferry-ghost/index.html")).read_text("utf-8")
    body = page.partition("<body")[2]

    assert "32\u00a0cm (12½\u00a0in)" in body
    assert not re.findall(r'(?:href|src)="[^"]*\u00a0', body)
