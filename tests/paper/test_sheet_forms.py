"""The sign-up sheet's other forms: wide, and cards to cut; what a photocopier leaves of it; its table."""

from __future__ import annotations

import re
from typing import Any

import pytest
import zxingcpp
from PIL import Image, ImageFilter

from sitegen.paper.press import Printer
from sitegen.paper.sheet import SheetForm, sheet, sheet_rows
from sitegen.studio.asked import Fault
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import ThemeFiles
from tests.paper.makers import CONSENT, can_show, front, front_with_show
from tests.paper.reading import flowing, letter_sizes, raster, reader, tags, texts
from tests.paper.test_fits import check
from tests.themes import EACH, ON_PAPER

PAPER = pytest.mark.parametrize("paper", ["a4", "letter"])
FRONT = front()
LETTERS = "https://saltglass.example/letters/"


def make(
    theme: ThemeFiles, form: SheetForm, paper: str = "a4", pages: int = 1, view: FrontOfHouse = FRONT
) -> bytes:
    return sheet(Printer(view, theme, paper), view.shows[0], pages=pages, form=form)


@ON_PAPER
def test_eighteen_people_sign_on_an_upright_page(theme: ThemeFiles, paper: str) -> None:
    """What the table's helper counts on is what is printed, on either paper."""
    printed = re.findall(r"^(\d+) ?\s+commissions", texts(make(theme, SheetForm.PORTRAIT, paper))[0], re.M)

    assert len(printed) == 18
    assert sheet_rows(Printer(FRONT, theme, paper), FRONT.shows[0]) == 18


@ON_PAPER
def test_a_wide_page_lies_on_its_side(theme: ThemeFiles, paper: str) -> None:
    """Its rows run on as upright ones do, and the boxes stand in one line."""
    pdf = make(theme, SheetForm.LANDSCAPE, paper, 3)
    boxes = [reader(pdf).pages[0].mediabox[side] for side in (2, 3)]
    rows = [int(row) for page in texts(pdf) for row in re.findall(r"^(\d+)\s+commissions", page, re.M)]

    assert boxes[0] > boxes[1]
    assert len(texts(pdf)) == 3
    assert rows == [*range(1, len(rows) + 1)]
    assert len(rows) == 3 * sheet_rows(Printer(FRONT, theme, paper), FRONT.shows[0], form=SheetForm.LANDSCAPE)


@EACH
@PAPER
def test_each_card_is_evidence_by_itself(theme: ThemeFiles, paper: str) -> None:
    """Cut apart, a card still has code, number, consent and whose it is; six of them make a page."""
    pdf = make(theme, SheetForm.CARDS, paper, 2)
    first, second = (" ".join(page.split()) for page in texts(pdf))

    assert re.findall(r"Sheet (HDF27-\d) · No\. (\d+)", first) == [("HDF27-1", str(n)) for n in range(1, 7)]
    assert re.findall(r"Sheet (HDF27-\d) · No\. (\d+)", second) == [("HDF27-2", str(n)) for n in range(7, 13)]
    for said in (
        CONSENT,
        "Harbour Doll Fair",
        "hello@saltglass.example",
        "E-mail, in block letters",
        "classes",
    ):
        assert first.count(said) == 6
    assert sheet_rows(Printer(FRONT, theme, paper), FRONT.shows[0], form=SheetForm.CARDS) == 6
    assert tags(pdf).count("/H1") == 12
    # Reading order: who asks, then where to write, then what is agreed to; one card after the other.
    places = [
        first.index(said) for said in ("Saltglass", "HDF27-1", "Name", "E-mail", "shows", CONSENT, "No. 2")
    ]
    assert places == sorted(places)


@ON_PAPER
def test_codes_of_cards_survive_a_bad_photograph(theme: ThemeFiles, paper: str) -> None:
    """Turned by seven degrees, out of focus, at 120 dots to the inch: every one is read."""
    page = raster(make(theme, SheetForm.CARDS, paper), 0, 120)
    bad = page.rotate(7, Image.Resampling.BICUBIC, expand=True, fillcolor=255).filter(
        ImageFilter.GaussianBlur(0.9)
    )

    assert [barcode.text for barcode in zxingcpp.read_barcodes(bad)] == [LETTERS] * 6


@EACH
@PAPER
def test_long_sentences_make_cards_larger_and_never_run_over(theme: ThemeFiles, paper: str) -> None:
    """Four to a page, all words there, none below 7.5 points; what can't fit is refused with a sentence."""
    said: dict[str, Any] = {
        "studio": "The Extraordinarily Long-Named Studio of Marginal Persons Wood",
        "consent": "Write to me about things! " * 23, "privacy_note": "Kept on one laptop, nowhere else. " * 11,
    }  # fmt: skip
    pdf = make(theme, SheetForm.CARDS, paper, 1, front(**said))

    assert len(texts(pdf)) == 1
    assert all(flowing(pdf).count(words.strip()) >= 4 for words in said.values())
    assert min(size for size, _ in letter_sizes(pdf)) >= 7.5
    for page in texts(pdf):
        assert page.count("No. ") == 4
    wide = front(studio="MW " * 40, consent="MW " * 199, privacy_note="MW " * 133)
    with pytest.raises(Fault, match=r"^The consent sentence, the privacy note .* too long for cards; .*$"):
        make(theme, SheetForm.CARDS, paper, 1, wide)


def luminance(grey: int) -> float:
    """Return the share of light that a grey of sRGB gives back (IEC 61966-2-1)."""
    share = grey / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


@ON_PAPER
def test_writing_lines_survive_a_photocopier(theme: ThemeFiles, paper: str) -> None:
    """At the 200 dots to the inch of a fax or a plain copier (ITU-T T.4, from memory), which has only black and
    white, every line stands unbroken where half the light decides; beside it 3:1, WCAG 2.2, 1.4.11.
    """
    page = raster(make(theme, SheetForm.PORTRAIT, paper), 0, 200)
    lines = [grey for grey in _lines_across(page, 0.22, 0.32) if grey > 100]

    assert len(lines) >= 19, "eighteen rows and the example"
    assert all(luminance(grey) < 0.5 for grey in lines)
    assert 1.05 / (luminance(min(lines)) + 0.05) >= 3
    assert luminance(170) < 0.5 < luminance(190), "a paler grey would be lost"


def _lines_across(page: Any, left: float, right: float) -> list[int]:
    """Find the lines that run across a strip of a page; of each, the lightest spot of its darkest row."""
    strip = page.crop((int(page.width * left), int(page.height * 0.2), int(page.width * right), page.height))
    lightest = [strip.crop((0, y, strip.width, y + 1)).getextrema()[1] for y in range(strip.height)]
    found: list[int] = []
    for y, grey in enumerate(lightest):
        if grey < 200 and (y == 0 or lightest[y - 1] >= 200):
            found.append(min(lightest[y : y + 3]))
    return found


@EACH
@pytest.mark.parametrize(
    "name",
    [
        "W" * 60,
        "Donaudampfschifffahrtsgesellschaftskapitänswitwenrente",
        "סטודיו לבובות",
        "人形の市で働く古い時計の修理",
    ],
)
def test_no_name_leaves_its_card(theme: ThemeFiles, name: str) -> None:
    """Studio and show of any script: shrunk, broken, or refused; never over the cut or another word."""
    if not can_show(theme, name):
        pytest.skip("no font on this machine has these letters")
    view = front_with_show({"name": name}, studio=name)
    pdf = make(theme, SheetForm.CARDS, "letter", 1, view)

    check(pdf)
    assert len(texts(pdf)) == 1
