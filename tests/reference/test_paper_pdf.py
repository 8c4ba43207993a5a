"""Paper against published standards, read by libraries that had no part in making it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from functools import cache

import pytest
import segno

from sitegen.paper.agreement import agreement
from sitegen.paper.cards import cards, certificate, code
from sitegen.paper.lists import Insured, Parcel, inventory, packing_list, packing_slip, price_list
from sitegen.paper.press import Printer
from sitegen.paper.sheet import SheetForm, sheet
from sitegen.voice.theme_files import ThemeFiles
from tests.paper import reading
from tests.paper.makers import JPEG, TODAY, front
from tests.paper.test_agreement import AGREED
from tests.themes import theme_named

# Millimetres. A4: ISO 216. Letter, 8.5 by 11 inches: ANSI/ASME Y14.1 size A. (Both as quoted by others; the
# paid standards were not opened.) A PDF point is 1/72 inch: ISO 32000-1, 8.3.2.3.
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}

FRONT = front()
INSURED = [
    Insured(FRONT.pieces[0], Decimal(480), "price", JPEG),
    Insured(FRONT.pieces[0], None, "none", None),
]
PARCEL = Parcel(FRONT.pieces[0], "Ottilie Brandt", TODAY, None)
PRODUCTS: dict[str, Callable[[ThemeFiles, str], bytes]] = {
    "agreement": lambda theme, paper: agreement(Printer(FRONT, theme, paper), AGREED),
    "cards": lambda theme, paper: cards(Printer(FRONT, theme, paper), FRONT.pieces),
    "certificate": lambda theme, paper: certificate(Printer(FRONT, theme, paper), FRONT.pieces[0]),
    "sheet": lambda theme, paper: sheet(Printer(FRONT, theme, paper), FRONT.shows[0], pages=2),
    "prices": lambda theme, paper: price_list(Printer(FRONT, theme, paper), FRONT.pieces, FRONT.shows[0]),
    "packing": lambda theme, paper: packing_list(Printer(FRONT, theme, paper), FRONT.pieces, FRONT.shows[0]),
    "inventory": lambda theme, paper: inventory(Printer(FRONT, theme, paper), INSURED, TODAY),
    "slip": lambda theme, paper: packing_slip(Printer(FRONT, theme, paper), PARCEL),
    "slips": lambda theme, paper: sheet(
        Printer(FRONT, theme, paper), FRONT.shows[0], pages=2, form=SheetForm.CARDS
    ),
}
EACH = pytest.mark.parametrize("product", sorted(PRODUCTS))
# The daily run reads the papers of one theme.
THEME = pytest.mark.parametrize("theme", ["case", pytest.param("handbill", marks=pytest.mark.slow)])


@cache
def made(product: str, theme: str = "case", paper: str = "a4") -> bytes:
    """Make each paper once."""
    return PRODUCTS[product](theme_named(theme), paper)


@pytest.mark.parametrize("paper", sorted(SIZES))
@EACH
@THEME
def test_page_is_the_size_of_its_paper(product: str, theme: str, paper: str) -> None:
    """Within one point, in upright format."""
    for page in reading.reader(made(product, theme, paper)).pages:
        width, height = (float(length) * 25.4 / 72 for length in page.mediabox[2:])

        assert width == pytest.approx(SIZES[paper][0], abs=25.4 / 72)
        assert height == pytest.approx(SIZES[paper][1], abs=25.4 / 72)


@EACH
@THEME
def test_says_that_it_follows_pdf_ua_1(product: str, theme: str) -> None:
    """ISO 14289-1 clause 5: pdfuaid:part is 1 in the XMP metadata. (Clause from memory.)"""
    metadata = reading.root(made(product, theme))["/Metadata"].get_object().get_data()

    assert re.search(rb"pdfuaid:part(>|=\")1[<\"]", metadata)


@EACH
@THEME
def test_is_tagged_with_title_and_language(product: str, theme: str) -> None:
    """ISO 14289-1 clauses 7.1, 7.2: structure tree, marked, title shown, natural language. (From memory.)"""
    pdf = made(product, theme)
    root = reading.root(pdf)

    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 (a PDF boolean)
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert "/StructTreeRoot" in root
    assert reading.title(pdf).startswith("Saltglass Studio")


@EACH
@THEME
def test_every_font_is_embedded(product: str, theme: str) -> None:
    """ISO 14289-1 clause 7.21.4.1: font programs are embedded. (Clause from memory.)"""
    pdf = made(product, theme)

    assert reading.font_count(pdf) > 0
    assert reading.font_faults(pdf) == []


@THEME
def test_rows_of_the_sheet_are_a_table_with_a_header(theme: str) -> None:
    """ISO 14289-1 clause 7.5: header cells are TH. One table a page, four columns. (From memory.)"""
    tags = Counter(reading.tags(made("sheet", theme)))
    rows = tags["/TR"]

    assert tags["/H1"] == 2
    assert tags["/Table"] == 2
    assert tags["/TH"] == 2 * 4
    assert tags["/TD"] == (rows - 2) * 4
    assert tags["/Figure"] == 2


@EACH
@THEME
def test_no_letter_is_smaller_than_can_be_read(product: str, theme: str) -> None:
    """Nothing below 7.5 points: house rule, no source. Small capitals count by their point size."""
    sizes = [size for size, _ in reading.letter_sizes(made(product, theme))]

    assert len(sizes) > 5
    assert min(sizes) >= 7.5


@pytest.mark.parametrize("text", ["https://a.example/", "https://saltglass.example/" + "long/" * 40])
def test_code_agrees_with_iso_18004(text: str) -> None:
    """ISO/IEC 18004: 17 + 4 × version modules a side, level M or better, quiet zone of four modules."""
    drawn = code(text)
    made = segno.make(text, error="m", micro=False)

    assert drawn.modules == 17 + 4 * int(made.version) + 8
    assert made.error in {"M", "Q", "H"}
    assert f'viewBox="0 0 {drawn.modules} {drawn.modules}"' in drawn.svg
    starts = [(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)[hv]", drawn.svg.split("#000")[1])]
    assert min(min(start) for start in starts) == 4
    assert max(max(start) for start in starts) == drawn.modules - 5


@THEME
@pytest.mark.parametrize("product", ["cards", "certificate", "sheet", "slip", "slips"])
def test_quiet_zone_is_white_on_the_page(product: str, theme: str) -> None:
    """ISO/IEC 18004: four light modules on every side are there in print, and nothing is set into them."""
    pdf = made(product, theme)
    found = reading.code_places(pdf, 0, 300)[0]
    left, top = found.position.top_left.x, found.position.top_left.y
    right, bottom = found.position.bottom_right.x, found.position.bottom_right.y
    # A little less than 4, since the decoder tells the corners to the nearest pixel.
    quiet = int((right - left) / (code(found.text).modules - 8) * 3.7)
    ring = reading.raster(pdf, 0, 300).crop((left - quiet, top - quiet, right + quiet, bottom + quiet))
    ring.paste(255, (quiet - 2, quiet - 2, ring.width - quiet + 2, ring.height - quiet + 2))

    assert quiet > 20
    assert ring.getextrema() == (255, 255)
