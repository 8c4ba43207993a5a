"""No word leaves the paper or lies on another: glyph boxes as PDFium reads them, or a refusal that names the place."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator

import pypdfium2
import pytest
import typst
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sitegen.paper.agreement import agreement
from sitegen.paper.cards import cards, certificate
from sitegen.paper.press import Printer
from sitegen.paper.sheet import sheet
from sitegen.studio.asked import Fault
from sitegen.voice.theme_files import ThemeFiles
from tests.paper.makers import CASE, front, piece
from tests.paper.test_agreement import AGREED
from tests.themes import theme_named

HANDBILL = theme_named("handbill")
LONG = "Donaudampfschifffahrtsgesellschaftskapitänswitwenrentenformulare"  # 64 letters, broken as German is
UNSEEN = " \t\r\n\u00a0\u200b\u00ad\ufffe"  # what stands between letters, and where a word may break
Box = tuple[float, float, float, float]

# Words as people have them: long ones, several scripts (Noto's own sample words, from memory), addresses, many.
WORD = st.one_of(
    st.text("abcdefghijklmnopqrstuvwxyzäöüß", min_size=1, max_size=70),
    st.sampled_from([LONG, "Προκρουστόμορφος", "Достопримечательность", "https://moth.example/" + "a" * 60]),
)
WORDS = st.lists(WORD, min_size=1, max_size=14).map(" ".join)


def letters(pdf: bytes) -> Iterator[tuple[tuple[float, float], list[tuple[str, Box]]]]:
    """Yield each page's size in points and its letters with their boxes (left, bottom, right, top)."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        for page in document:
            text = page.get_textpage()
            found = [(text.get_text_range(at, 1), text.get_charbox(at)) for at in range(text.count_chars())]
            yield (
                page.get_size(),
                [(sign, box) for sign, box in found if sign.strip(UNSEEN) and box[2] > box[0]],
            )
    finally:
        document.close()


def check(pdf: bytes, edge: float = 8.0) -> None:
    """Hold every letter to the paper less `edge` points, and off every other letter."""
    for (wide, high), found in letters(pdf):
        for sign, (left, bottom, right, top) in found:
            assert min(left, bottom, wide - right, high - top) >= edge, sign
        ordered = sorted(enumerate(found), key=lambda item: item[1][1][0])
        for at, (place, (sign, box)) in enumerate(ordered):
            for then, (other, beside) in ordered[at + 1 :]:
                if beside[0] >= box[2]:
                    break
                # A ligature is one box, and an italic f hangs over the letter that follows it.
                if beside == box or abs(then - place) <= 2:
                    continue
                across = min(box[2], beside[2]) - beside[0]
                along = min(box[3], beside[3]) - max(box[1], beside[1])
                least = min(box[2] - box[0], beside[2] - beside[0])
                assert across < 0.6 * least or along < 0.45 * min(box[3] - box[1], beside[3] - beside[1]), (
                    sign, other,
                )  # fmt: skip


def is_whole_or_refused(make: Callable[[], bytes], names: str) -> None:
    refused, pdf = "", b""
    try:
        pdf = make()
    except Fault as fault:
        refused = str(fault)
    if refused:
        assert names in refused
        assert "write" in refused
    else:
        check(pdf)


A_PIECE = given(
    title=WORDS.map(lambda title: title[:120].strip()),
    materials=WORDS,
    base=WORD,
    handbill=st.booleans(),
    size=st.sampled_from(["a4", "letter"]),
)
AN_INVITATION = given(tagline=WORDS, handbill=st.booleans())


def piece_fits(title: str, materials: str, base: str, handbill: bool, size: str) -> None:
    theme = HANDBILL if handbill else CASE
    own = piece(title=title, materials=materials, base=base)
    view = front((own, piece(slug="other", number="2026-08", title="Other")))

    is_whole_or_refused(lambda: cards(Printer(view, theme, size), view.pieces), own.slug)
    is_whole_or_refused(lambda: certificate(Printer(view, theme, size), view.pieces[0]), own.slug)


def sheet_fits(tagline: str, handbill: bool) -> None:
    view = front(tagline=tagline)
    is_whole_or_refused(
        lambda: sheet(Printer(view, HANDBILL if handbill else CASE, "a4"), view.shows[0], pages=1),
        "studio.yaml",
    )


@settings(max_examples=4, deadline=None)
@A_PIECE
@example(title=LONG, materials=LONG, base=LONG, handbill=False, size="letter")
@example(title="Moth", materials=" ".join([LONG] * 14), base="ash", handbill=True, size="a4")
def test_a_piece_fits_its_card_and_its_certificate_or_is_refused(
    title: str, materials: str, base: str, handbill: bool, size: str
) -> None:
    piece_fits(title, materials, base, handbill, size)


@settings(max_examples=2, deadline=None)
@AN_INVITATION
@example(tagline=LONG, handbill=True)
def test_a_sheet_holds_what_invites_to_it_or_is_refused(tagline: str, handbill: bool) -> None:
    sheet_fits(tagline, handbill)


@pytest.mark.long
@settings(max_examples=60, deadline=None)
@A_PIECE
def test_many_pieces_fit_or_are_refused(
    title: str, materials: str, base: str, handbill: bool, size: str
) -> None:
    piece_fits(title, materials, base, handbill, size)


@pytest.mark.long
@settings(max_examples=30, deadline=None)
@AN_INVITATION
def test_many_sheets_hold_what_invites_to_them_or_are_refused(tagline: str, handbill: bool) -> None:
    sheet_fits(tagline, handbill)


@pytest.mark.parametrize("theme", [CASE, HANDBILL], ids=["case", "handbill"])
def test_neighbouring_cards_have_their_titles_in_one_size(theme: object) -> None:
    own = piece(title="A title that is as long as titles are when nobody counts the words of one")
    view = front((own, piece(slug="other", number="2026-08", title="Other")))
    pdf = cards(Printer(view, CASE if theme is CASE else HANDBILL, "a4"), view.pieces)

    document = pypdfium2.PdfDocument(pdf)
    sizes = {
        round(found.get_font_size(), 1)
        for found in document[0].get_objects()
        if found.type == 1 and hasattr(found, "get_font_size")
    }
    document.close()
    assert len(sizes) <= 4


@pytest.mark.parametrize("theme", [CASE, HANDBILL], ids=["case", "handbill"])
def test_long_words_of_an_agreement_stay_in_their_column(theme: ThemeFiles) -> None:
    deal = dataclasses.replace(AGREED, work=LONG, client=LONG, facts=(("height", LONG),))
    check(agreement(Printer(front(studio=LONG), theme, "letter"), deal))


def test_the_check_sees_words_over_words() -> None:
    page = b"#set page(width: 50mm, height: 20mm)\n#place[moth]#place(dx: 1pt)[clerk]"
    with pytest.raises(AssertionError):
        check(typst.compile({"main.typ": page}, format="pdf"))  # type: ignore[call-overload]


@pytest.mark.parametrize("make", ["cards", "certificate"])
@pytest.mark.parametrize("theme", [CASE, HANDBILL], ids=["case", "handbill"])
def test_so_many_letters_as_the_refusal_says_do_fit(theme: ThemeFiles, make: str) -> None:
    """Whoever shortens a field as told isn't refused a second time."""

    def printed(materials: str) -> bytes:
        view = front((piece(materials=materials),))
        if make == "cards":
            return cards(Printer(view, theme, "letter"), view.pieces)
        return certificate(Printer(view, theme, "letter"), view.pieces[0])

    much = "silk and lace, " * 300
    with pytest.raises(
        Fault, match=r"^pieces/moth-clerk/piece\.yaml: materials: .* letters, more than"
    ) as caught:
        printed(much)
    most = int(str(caught.value).split("at most ")[1].split()[0])

    assert most > 150
    assert printed(much[:most].strip())
