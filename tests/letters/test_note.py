"""The artist's own words: a greeting too many is noticed, and what shows pieces is told from what doesn't."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.letters.note import Hanging, hang, own_greeting, shows_pieces
from sitegen.studio.asked import LetterFault
from tests.letters.studio import front


@pytest.mark.parametrize(
    ("note", "opening"),
    [
        ("Dear Ana,\n\nthe kiln is warm.", "Dear Ana"),
        ("\n\n# Hello everyone !\n", "Hello everyone"),
        ("*Hi all* – it is done", "Hi all"),
        ("Liebe Freunde der Werkbank,\nes ist so weit", "Liebe Freunde der Werkbank"),
        ("Good evening from the bench", "Good evening from the bench"),
        ("Good evening light fell on the bench", None),
        ("Hidden things came to light.", None),
        ("The kiln is warm. Hello!", None),
        (f"Dear {'a' * 55}, welcome", f"Dear {'a' * 55}"),
        (f"Dear {'a' * 56}, welcome", None),
        ("", None),
    ],
)
def test_a_note_that_greets_is_noticed(note: str, opening: str | None) -> None:
    """Up to sixty letters before a sign, or a line of five words; more is a sentence."""
    said = f"The note opens with '{opening}', and the letter greets already: take that line out of the note."

    assert own_greeting(note) == ((said,) if opening else ())


@pytest.mark.parametrize(
    ("note", "shows"),
    [
        ("![](ferry-ghost)", True),
        ("![theirs](https://other.example/x.jpg) and ![](ferry-ghost)", True),
        ("![theirs](https://other.example/x.jpg)", False),
        ("![theirs](//other.example/x.jpg)", False),
        ("[a link](ferry-ghost)", False),
        ("", False),
    ],
)
def test_a_note_asks_for_the_studios_own_pictures_only(note: str, shows: bool) -> None:
    assert shows_pieces(note) is shows


@pytest.mark.parametrize(
    "picture", ["![](https://other.example/x.jpg)", "![words][mark]", "![a](b c)", "![ ](//other.example/x)"]
)
def test_a_picture_that_no_letter_shows_is_named(tmp_path: Path, picture: str) -> None:
    with pytest.raises(LetterFault) as fault:
        hang(front(tmp_path / "s"), f"See {picture}.", Hanging())

    assert str(fault.value).startswith(f"the note has '{picture}', which no letter shows; ")
