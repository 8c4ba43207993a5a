"""Every theme prints every paper: same words, other clothes."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.paper.agreement import agreement
from sitegen.paper.cards import cards, certificate
from sitegen.paper.press import Printer
from sitegen.paper.sheet import sheet
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.words import read_tree
from tests.paper.makers import front, piece
from tests.paper.reading import codes, flowing, texts
from tests.paper.test_agreement import AGREED
from tests.themes import ALL, EACH, ON_PAPER

TEMPLATES = [
    "agreement.typ", "cards.typ", "certificate.typ", "house.typ", "list.typ", "packing.typ", "sheet.typ", "slips.typ",
    "tools.typ",
]  # fmt: skip
ODD = '#panic("x") *a* $2$ [b] \\ <c> @d // "e"'
LONG = "The Extraordinarily Long-Named Studio of Marginal Persons and Other Small Company"


def usual() -> FrontOfHouse:
    return front((piece(), piece(slug="pip", title="Pip", status="sold", price="8731")))


def test_there_are_two_themes_with_the_same_templates() -> None:
    """A theme that lacks a paper would fail on the evening before a show."""
    assert [theme.name for theme in ALL] == ["case", "handbill"]
    for theme in ALL:
        assert sorted(name for name in theme.all_below("paper") if name.endswith(".typ")) == TEMPLATES


@ON_PAPER
def test_sheet(theme: ThemeFiles, paper: str) -> None:
    """Two pages with the consent sentence, the codes and a code that scans."""
    view = usual()
    pdf = sheet(Printer(view, theme, paper), view.shows[0], pages=2)

    assert len(texts(pdf)) == 2
    assert view.card.consent in flowing(pdf)
    assert "Sheet HDF27-1" in texts(pdf)[0]
    assert codes(pdf, 1) == ["https://saltglass.example/letters/"]


@ON_PAPER
def test_cards(theme: ThemeFiles, paper: str) -> None:
    """Prices only where something is offered."""
    view = usual()
    pdf = cards(Printer(view, theme, paper), view.pieces)

    assert "available · €480" in flowing(pdf)
    assert "sold" in flowing(pdf)
    assert "8,731" not in flowing(pdf)
    assert len(codes(pdf)) == 2


@ON_PAPER
def test_certificate(theme: ThemeFiles, paper: str) -> None:
    """One page, also when there is much to say."""
    view = front((piece(title=LONG, materials="silk, lace, brass, " * 12),), care="Dust it softly. " * 40)
    pdf = certificate(Printer(view, theme, paper), view.pieces[0])

    assert len(texts(pdf)) == 1
    assert LONG in flowing(pdf)
    assert codes(pdf) == ["https://saltglass.example/pieces/moth-clerk/"]


@EACH
def test_agreement(theme: ThemeFiles) -> None:
    """The schedule and both signatures."""
    words = flowing(agreement(Printer(usual(), theme, "a4"), AGREED))

    assert "4 third instalment 30 April 2027 €266.67 Together €1,000.01" in words
    assert "The client, Ottilie Brandt Date" in words


@EACH
def test_markup_stays_text(theme: ThemeFiles) -> None:
    """No template evaluates what it prints."""
    view = front((piece(title=ODD),), studio=ODD, maker=ODD, care=ODD, consent=ODD, tagline=ODD)
    show = view.shows[0]

    assert flowing(sheet(Printer(view, theme, "a4"), show, pages=1)).count(ODD) >= 3
    assert ODD in flowing(cards(Printer(view, theme, "a4"), view.pieces))
    assert flowing(certificate(Printer(view, theme, "a4"), view.pieces[0])).count(ODD) >= 3


@EACH
def test_right_to_left_studio_prints(theme: ThemeFiles, tmp_path: Path) -> None:
    """A Hebrew studio's papers can be set with words of its own, and its letters in a font carried along."""
    own = tmp_path / theme.name / "words" / "he.yaml"
    own.parent.mkdir(parents=True)
    own.write_bytes(theme.file("words/en.yaml").read_bytes())
    theme = ThemeFiles((own.parents[1], *theme.folders))
    view = front((piece(title="בובה"),), language="he", studio="סטודיו", maker="נועה")

    assert len(texts(sheet(Printer(view, theme, "a4"), view.shows[0], pages=1))) == 1
    assert len(texts(certificate(Printer(view, theme, "a4"), view.pieces[0]))) == 1


def bare(text: str) -> str:
    """Leave out what letterspacing and line breaks add."""
    return "".join(text.lower().split())


@EACH
@pytest.mark.parametrize("product", ["agreement", "cards", "certificate", "sheet"])
def test_a_german_studio_prints_in_german(theme: ThemeFiles, product: str) -> None:
    """No word of the English catalogue is left: what differs between the two is German on the paper."""
    own = {"studio": "S", "tagline": "", "consent": "Ja.", "care": "", "postal_address": "Postfach 1"}
    view = front((piece(title="T", materials="M", base="B"),), language="de", **own)
    pdf = {
        "agreement": lambda: agreement(Printer(view, theme, "a4"), AGREED),
        "cards": lambda: cards(Printer(view, theme, "a4"), view.pieces),
        "certificate": lambda: certificate(Printer(view, theme, "a4"), view.pieces[0]),
        "sheet": lambda: sheet(Printer(view, theme, "a4"), view.shows[0], pages=1),
    }[product]()
    words = bare(flowing(pdf))
    german, english = (read_tree(theme, language)[1]["paper"][product] for language in ("de", "en"))
    wanted = [text for key, text in german.items() if "{" not in text and key not in UNSAID]

    assert all(bare(text) in words for text in wanted if len(text) > 3), (wanted, words)
    for key, text in english.items():
        if "{" not in text and text != german[key] and len(text) > 4:
            assert bare(text) not in words


# Sentences for the other case: a client without a name, an agreement on a piece, a note of the studio's own.
UNSAID = {"client", "payment_plan", "of_payment_plan", "kept", "document", "too_much"}
