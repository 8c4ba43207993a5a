"""The certificate of authenticity."""

from __future__ import annotations

from typing import Any

import pytest

from sitegen.paper.cards import certificate
from sitegen.paper.press import Printer
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Status
from sitegen.voice.voice import english
from tests.paper.makers import CASE, SENTINEL, front, piece
from tests.paper.reading import codes, everything, flowing, texts


def make(settings: dict[str, Any] | None = None, paper: str = "a4", **changes: Any) -> bytes:
    view = front((piece(**changes),), **(settings or {}))
    return certificate(Printer(view, CASE, paper), view.pieces[0])


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_says_what_the_piece_is_and_who_made_it(paper: str) -> None:
    """One page with every fact, the statement, the care note and the caution."""
    pdf = make(paper=paper)
    words = flowing(pdf)

    assert len(texts(pdf)) == 1
    for fact in (
        "The Moth Clerk",
        "made by hand by Ines Corvane",
        "one of a kind: there is no edition",
        "2026-07",
        "acrylic and pastel, mohair, hand-sewn cotton",
        "resin blank, jointed",
        "32 cm (12½ in)",
        "14 May 2026",
        "Dust with a soft dry brush.",
        "collectors of 14 years and above. Not a toy.",
    ):
        assert fact in words
    assert codes(pdf) == ["https://saltglass.example/pieces/moth-clerk/"]


@pytest.mark.parametrize("status", [status for status in Status if status is not Status.IN_PROGRESS])
def test_never_carries_a_price(status: Status) -> None:
    """A certificate outlives every price."""
    pdf = make(status=str(status), price="8731")

    assert b"8,731" not in everything(pdf)


def test_piece_on_the_bench_gets_none() -> None:
    """The sentence names the file and the cure."""
    with pytest.raises(Fault, match=r"pieces/moth-clerk/piece.yaml says 'in progress'; .* change its status"):
        make(status="in progress")


def test_missing_number_and_date_are_lines_to_write_on() -> None:
    """What the file lacks can be written by hand, and what doesn't apply leaves no label."""
    words = flowing(make(number=None, finished=None, base="", height_mm=None)).lower()

    assert "studio number" in words
    assert "finished" in words
    assert "base" not in words
    assert "height" not in words


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_long_words_stay_on_one_page(paper: str) -> None:
    """Long title, materials and care note still make one page, with nothing lost."""
    title = "Ash Wednesday and the Understudy Who Waited in the Wings and Was Never Once Called Before the Curtain"
    care = "Dust with a soft dry brush and keep out of the sun. " * 13
    pdf = make({"care": care}, paper, title=title, materials="silk, antique lace, brass, " * 12)

    assert len(texts(pdf)) == 1
    assert english().typographic(title) in flowing(pdf)
    assert care.strip() in flowing(pdf)


def test_care_note_too_long_is_refused() -> None:
    """The limit is told, and where the rest can go."""
    with pytest.raises(Fault, match=r"care has 701 letters, too many .* put the rest into pages/care.md"):
        make({"care": "x" * 701})


def test_markup_stays_text_and_private_words_stay_out() -> None:
    """Neither Typst in a title nor anything private gets through."""
    title = 'The #panic("x") *Clerk* $2$ [a] \\ <b> @c // "d"'
    pdf = make(title=title)

    assert english().typographic(title) in flowing(pdf)
    assert SENTINEL.encode() not in everything(pdf)


def test_same_certificate_same_bytes() -> None:
    """Printing twice makes the same file."""
    assert make() == make()
