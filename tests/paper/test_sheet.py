"""The sign-up sheet: what a visitor reads and writes on."""

from __future__ import annotations

import re

import pytest

from sitegen.paper.press import Printer
from sitegen.paper.sheet import sheet
from sitegen.studio.asked import Fault
from sitegen.studio.public import FrontOfHouse, sheet_code
from tests.paper.makers import CASE, CONSENT, SENTINEL, front, front_with_show
from tests.paper.reading import codes, everything, flowing, texts

FRONT = front()


def make(view: FrontOfHouse, paper: str = "a4", pages: int = 1) -> bytes:
    return sheet(Printer(view, CASE, paper), view.shows[0], pages=pages)


def row_numbers(page: str) -> list[int]:
    """Find the numbered rows: a line that starts with a number and goes on with the tick boxes' words."""
    return [int(found) for found in re.findall(r"^(\d+)\s+commissions", page, flags=re.MULTILINE)]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_rows_run_on_across_pages_without_a_gap(paper: str) -> None:
    """Every page holds the same number of rows, and the numbers never start again."""
    pages = texts(make(FRONT, paper, 10))
    numbers = [row_numbers(page) for page in pages]

    assert len(pages) == 10
    assert [number for page in numbers for number in page] == list(range(1, 10 * len(numbers[0]) + 1))
    assert 12 <= len(numbers[0]) <= 24


def test_every_page_says_whose_it_is_and_what_is_agreed_to() -> None:
    """One loose page is evidence by itself: studio, show, days, consent, code, page of pages."""
    for number, page in enumerate(texts(make(FRONT, pages=3)), start=1):
        words = " ".join(page.split())

        assert "Saltglass Studio" in words
        assert "Harbour Doll Fair, The Old Customs Hall, Saturday 27 to Sunday 28 February 2027" in words
        assert CONSENT in words
        assert "hello@saltglass.example" in words
        assert "Box 41, Harbour Row, Northmouth" in words
        assert words.count(f"Sheet HDF27-{number}") == 2
        assert f"Page {number} of 3" in words


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("site", ["https://saltglass.example/", "https://saltglass.example/" + "long/" * 30])
def test_code_leads_to_the_mailing_list_page(paper: str, site: str) -> None:
    """The code scans from a page of 150 dpi and names the same page on every sheet."""
    view = front(site=site)
    pdf = make(view, paper, 2)

    assert codes(pdf, 0) == [site + "letters/"]
    assert codes(pdf, 1) == [site + "letters/"]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_long_words_cost_rows_but_no_page(paper: str) -> None:
    """A studio with much to say still gets the pages it asked for, each with rows to write in."""
    view = front(
        studio="The Extraordinarily Long-Named Studio of Marginal Persons " * 2, consent="Write! " * 85
    )
    pages = texts(make(view, paper, 10))

    assert len(pages) == 10
    assert len(row_numbers(pages[9])) >= 8


def test_an_unbroken_word_is_still_one_page() -> None:
    """A name without a space can't push the table off the page."""
    assert len(texts(make(front(studio="W" * 120), pages=1))) == 1


HOSTILE = [
    '#panic("no")',
    "#sys.inputs",
    "$ sum_(i=1)^n $",
    "[open] ]] {brace",
    "back\\slash \\u{41}",
    '"double" <angle> & amp;',
    "*bold* _under_ `tick`",
    "= heading // comment /* more",
    "@label ~tilde --- dash",
]


@pytest.mark.parametrize("name", HOSTILE)
def test_markup_in_a_name_stays_text(name: str) -> None:
    """Whatever a show is called is printed letter for letter."""
    view = front_with_show(
        {"name": f"Fair {name} end"}, studio=f"Studio {name} end", tagline=f"Tag {name} end"
    )
    words = flowing(make(view))

    assert f"Fair {name} end" in words
    assert f"Studio {name} end" in words
    assert f"Tag {name} end" in words


def test_same_sheet_same_bytes() -> None:
    """Printing twice makes the same file; another page makes another."""
    assert make(FRONT, pages=2) == make(FRONT, pages=2)
    assert make(FRONT, pages=2) != make(FRONT, pages=3)


def test_nothing_private_is_inside() -> None:
    """No hidden stream, string or attachment carries a private value; the search itself works."""
    inside = everything(make(FRONT))

    assert b"sign-up sheet" in inside
    assert SENTINEL.encode() not in inside


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({}, "HDF27"),
        ({"name": "Dollfest"}, "DOL27"),
        ({"name": "Harbour Doll Fair 2027"}, "HDF27"),
        ({"name": "Élan & Œuvre – Größte Schau"}, "EOGS27"),
        ({"name": "人形の市", "slug": "doll-market"}, "DM27"),
        ({"name": "A Very Long Name for One Small Table"}, "AVLN27"),
    ],
)
def test_code_is_made_of_initials_and_year(changes: dict[str, str], code: str) -> None:
    """The code is short enough to copy into people.csv by hand."""
    assert sheet_code(front_with_show(changes).shows[0]) == code


def test_of_two_shows_with_one_code_the_later_one_has_a_letter() -> None:
    """Else a row of one sheet would be the evidence of the other's."""
    shows = [
        front_with_show({"slug": slug, "from": day, "to": day}).shows[0]
        for slug, day in (("b", "2027-09-04"), ("a", "2027-02-27"), ("c", "2027-10-02"))
    ]

    assert [sheet_code(fair, shows) for fair in shows] == ["HDF27B", "HDF27", "HDF27C"]


def test_show_of_one_day_and_show_over_new_year() -> None:
    """Days are written as people say them."""
    assert "27 February 2027" in flowing(make(front_with_show({"to": "2027-02-27"})))
    assert "Saturday 27 February to Monday 1 March 2027" in flowing(
        make(front_with_show({"to": "2027-03-01"}))
    )


def test_days_in_the_studio_s_language() -> None:
    """A German studio reads its dates the German way."""
    assert "Samstag, 27. bis Sonntag, 28. Februar 2027" in flowing(make(front(language="de")))


def test_sheet_without_consent_is_refused() -> None:
    """Addresses without a consent sentence would be worthless, so none are gathered."""
    with pytest.raises(Fault, match=r"studio.yaml has no consent sentence, .* add a line like"):
        make(front(consent=""))


def test_consent_too_long_is_refused() -> None:
    """The limit is told, with what there is."""
    with pytest.raises(Fault, match=r"has 601 letters, too many for a sheet; keep it below 600"):
        make(front(consent="x" * 601))


def test_the_privacy_note_is_the_studios_own() -> None:
    """What the site says of addresses, the sheet says too; nothing in it is taken for markup."""
    note = "Kept on *one* laptop #and $nowhere$ else."
    words = flowing(make(front(privacy_note=note)))

    assert f"This sheet stays with Ines Corvane. {note}" in words
    assert "passed on to nobody" not in words
    assert "passed on to nobody" in flowing(make(front()))


def test_a_privacy_note_too_long_is_refused() -> None:
    """The rows need the room."""
    with pytest.raises(Fault, match=r"the privacy note has 401 letters, .* keep it below 400"):
        make(front(privacy_note="x" * 401))


@pytest.mark.parametrize("pages", [0, -1, 201])
def test_odd_number_of_pages_is_refused(pages: int) -> None:
    """Nobody wants no page or a book."""
    with pytest.raises(Fault, match=f"a sheet of {pages} pages can't be made; ask for 1 to 200"):
        make(FRONT, pages=pages)


def test_unknown_paper_is_refused() -> None:
    """The sentence names what there is."""
    with pytest.raises(Fault, match="'a5' is not a paper size; use a4 or letter"):
        make(FRONT, paper="a5")
