"""Prices, packing, the slip for the box and the inventory: what stands on each, and what must not."""

from __future__ import annotations

from decimal import Decimal

import pytest

from sitegen.paper.lists import Insured, Parcel, inventory, packing_list, packing_slip, price_list
from sitegen.paper.press import Printer
from sitegen.studio.asked import Fault
from sitegen.voice.theme_files import ThemeFiles
from tests.paper.makers import CASE, JPEG, SENTINEL, TODAY, can_show, front, piece
from tests.paper.reading import codes, everything, flowing, letter_sizes, raster, tags, texts
from tests.paper.test_fits import check
from tests.themes import EACH, ON_PAPER

SOLD = piece(slug="pip", title="Pip", status="sold", price="8731", number="2026-01")
FRONT = front((piece(), SOLD))
LONG = "W" * 60
ODD_NAMES = [
    LONG,
    "The Cartographer of Extraordinarily Inconvenient Coastlines II",
    "בובה של אור ירח",
    "人形の市で働く古い時計の修理をする小さな夜の番人と月の傘",
    "Ä" * 40 + " " + "q" * 60,
]


@ON_PAPER
def test_a_price_list_has_only_what_is_available(theme: ThemeFiles, paper: str) -> None:
    """Sold pieces have neither price nor line; the day of printing stands there."""
    words = flowing(price_list(Printer(FRONT, theme, paper), FRONT.pieces, FRONT.shows[0]))

    assert "The Moth Clerk" in words
    assert "€480" in words
    assert "As of 10 January 2027" in words
    assert "Pip" not in words
    assert "8,731" not in words
    with pytest.raises(Fault, match="none of these pieces is available"):
        price_list(Printer(FRONT, theme, paper), [FRONT.pieces[1]], None)


@EACH
def test_a_packing_list_has_boxes_for_both_ways_and_no_price(theme: ThemeFiles) -> None:
    """It lies open on a table."""
    pdf = packing_list(Printer(FRONT, theme, "a4"), FRONT.pieces, FRONT.shows[0])
    words = flowing(pdf)

    assert "Harbour Doll Fair" in words
    assert words.index("Packed") < words.index("The Moth Clerk") < words.index("2 pieces go out")
    assert "480" not in words
    assert tags(pdf).count("/TR") == 3
    with pytest.raises(Fault, match="names no piece that can go; add"):
        packing_list(Printer(FRONT, theme, "a4"), [], FRONT.shows[0])


@ON_PAPER
def test_a_slip_has_no_price_unless_asked(theme: ThemeFiles, paper: str) -> None:
    """A present shouldn't say; care card, code and buyer are there, on one page."""
    plain = packing_slip(Printer(FRONT, theme, paper), Parcel(FRONT.pieces[1], "Ottilie Brandt", TODAY, None))
    priced = packing_slip(
        Printer(FRONT, theme, paper), Parcel(FRONT.pieces[1], "Ottilie Brandt", TODAY, Decimal("8731"))
    )

    assert len(texts(plain)) == 1
    assert "8,731" not in flowing(plain)
    assert "8731" not in everything(plain).decode("latin-1")
    assert "€8,731.00" in flowing(priced)
    for said in ("Ottilie Brandt", "Pip", FRONT.card.care, "Not a toy"):
        assert said in flowing(plain)
    assert codes(plain) == ["https://saltglass.example/pieces/pip/"]


@ON_PAPER
def test_a_care_note_too_long_for_the_card_is_refused(theme: ThemeFiles, paper: str) -> None:
    """Shrunk as far as it can be read, then refused with a sentence that names the file."""
    view = front((SOLD,), care="Dust it softly. " * 60)
    pdf = packing_slip(Printer(view, theme, paper), Parcel(view.pieces[0], "X", TODAY, None))

    assert len(texts(pdf)) == 1
    assert min(size for size, _ in letter_sizes(pdf)) >= 7.5
    huge = front((SOLD,), care="Dust it softly. " * 600)
    with pytest.raises(
        Fault, match=r"^The care note is too long for the card; shorten `care` in studio.yaml"
    ):
        packing_slip(Printer(huge, theme, paper), Parcel(huge.pieces[0], "X", TODAY, None))


@ON_PAPER
def test_each_page_of_an_inventory_says_that_it_is_private(theme: ThemeFiles, paper: str) -> None:
    """In letters of 18 points; values, their sources, pictures and the sum are there."""
    insured = [Insured(FRONT.pieces[0], Decimal("480.10"), "price", JPEG)] * 19
    insured += [
        Insured(FRONT.pieces[0], Decimal("55.5"), "cost", None),
        Insured(FRONT.pieces[0], None, "none", None),
    ]
    pdf = inventory(Printer(FRONT, theme, paper), insured, TODAY)
    words = flowing(pdf)

    assert len(texts(pdf)) > 1
    for page in texts(pdf):
        assert "PRIVATE. NOT FOR THE PUBLIC" in page
    assert any(size >= 18 and "PRIVATE" in text for size, text in letter_sizes(pdf))
    assert "21 pieces, together €9,177.40" in words  # 19 × 480.10 + 55.50, by hand
    assert words.count("Value: its asking price") == 19
    assert "Value: materials and bench hours so far" in words
    assert "Value: not known" in words
    assert tags(pdf).count("/Figure") == 19
    colours = raster(pdf, 0, 60).getcolors(256)
    assert any(30 < grey < 80 and count > 200 for count, grey in colours), "the picture is printed"


def test_public_lists_hold_nothing_private() -> None:
    """The price list lies open; no hours, supplies, buyer or sale is inside."""
    for pdf in (
        price_list(Printer(FRONT, CASE, "a4"), FRONT.pieces, None),
        packing_list(Printer(FRONT, CASE, "a4"), FRONT.pieces, FRONT.shows[0]),
        packing_slip(Printer(FRONT, CASE, "a4"), Parcel(FRONT.pieces[1], "Ottilie Brandt", TODAY, None)),
    ):
        assert SENTINEL.encode() not in everything(pdf)


@EACH
def test_no_name_runs_over_the_edge(theme: ThemeFiles) -> None:
    """Whatever a piece or a buyer is called: every glyph on the paper, none on another, by PDFium's boxes."""
    names = [name for name in ODD_NAMES if can_show(theme, name)]
    offered = [piece(slug=f"a{n}", title=name, materials=name) for n, name in enumerate(names)]
    sold = [piece(slug=f"b{n}", title=name, status="sold") for n, name in enumerate(names)]
    view = front((*offered, *sold), studio="Studio")
    show, gone = view.shows[0], [one for one in view.pieces if one.slug.startswith("b")]
    insured = [Insured(one, Decimal(480), "price", JPEG) for one in view.pieces]
    slips = [Parcel(one, one.title, TODAY, Decimal(12345)) for one in gone]
    for pdf in (
        price_list(Printer(view, theme, "letter"), view.pieces, show),
        packing_list(Printer(view, theme, "a4"), view.pieces, show),
        inventory(Printer(view, theme, "a4"), insured, TODAY),
        *(packing_slip(Printer(view, theme, "letter"), slip) for slip in slips),
    ):
        check(pdf)
        assert "480" in flowing(pdf) or show.name in flowing(pdf) or "12,345" in flowing(pdf)
    assert len(gone) == len(names) > 2
