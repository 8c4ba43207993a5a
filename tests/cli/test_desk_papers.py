"""`cards` and `certificate`, from the outside."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from tests import makers
from tests.cli.runner import run

PIECES = {
    "ferry-ghost": makers.piece_yaml("The Ferry Ghost"),
    "old-hare": makers.piece_yaml("The Old Hare", number="2025-09", price="731", status="sold"),
}


def words_of(file: Path) -> str:
    """Return a PDF's text, read by pypdf."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(file).pages).split())


def test_cards_are_of_available_pieces_unless_named(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s", PIECES)

    result = run(folder, "cards")
    usual = words_of(folder / "out" / "paper" / "cards.pdf")
    run(folder, "cards", "old-hare", "ferry-ghost", "--paper", "letter")
    named = words_of(folder / "out" / "paper" / "cards.pdf")

    assert result.exit_code == 0
    assert result.output == f"Cards:  {folder / 'out' / 'paper' / 'cards.pdf'}\n"
    assert ("Ferry Ghost" in usual, "Old Hare" in usual) == (True, False)
    assert "480" in usual
    assert ("Ferry Ghost" in named, "Old Hare" in named) == (True, True)
    assert "731" not in named


def test_a_certificate_has_one_page_and_no_price(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s", PIECES)

    result = run(folder, "certificate", "old-hare")

    file = folder / "out" / "paper" / "certificate-old-hare.pdf"
    assert result.exit_code == 0
    assert len(PdfReader(file).pages) == 1
    assert "The Old Hare" in words_of(file)
    assert "731" not in words_of(file)


def test_letters_that_no_font_has_are_told_in_a_sentence(tmp_path: Path) -> None:
    """U+16A0 is a rune; the fonts carried have none."""
    folder = makers.studio(tmp_path / "s", {"rune": makers.piece_yaml("The Rune ᚠ")})

    result = run(folder, "certificate", "rune")

    assert result.exit_code == 1
    assert "no font on this computer has “ᚠ”" in result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["certificate", "old-har"], "there is no piece 'old-har'; did you mean 'old-hare'?"),
        (["cards", "nobody"], "there is no piece 'nobody'; its folder's name below pieces/ is what to write"),
    ],
)
def test_a_piece_that_is_not_there_is_said_so(tmp_path: Path, words: list[str], said: str) -> None:
    result = run(makers.studio(tmp_path / "s", PIECES), *words)

    assert result.exit_code == 1
    assert said in result.output
