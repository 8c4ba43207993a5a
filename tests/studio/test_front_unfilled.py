"""What the artist hasn't made her own yet is shown to nobody."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as some

from sitegen.carried import carried
from sitegen.sources import read
from sitegen.studio.fields import placeholders
from sitegen.studio.front import front_of_house
from sitegen.studio.public import FrontOfHouse
from tests import makers

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
# Letters are refused while one of these has a gap.
KEPT = {"studio", "maker", "contact", "postal_address", "how_to_ask"}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("I'm <your name>.", ["<your name>"]),
        ("<hours: from 10:00 to 18:00>", ["<hours: from 10:00 to 18:00>"]),
        (
            "<how a piece travels: by post, and/or by hand @ shows>",
            ["<how a piece travels: by post, and/or by hand @ shows>"],
        ),
        ("see <https://studio.example/a> or <ada@mail.example>", []),
        ("<mailto:ada@mail.example>", []),
        ("so <b>bold</b>, <br>, <br />, <a href='x'>there</a>, <img src=a.jpg>", []),
        ("<script>alert(1)</script>", []),
        ("<2 or 3>, a < b and c > d", []),
        ("1 <2 and 3> 2, <3", []),
        ("<b> <angle> <c>", []),
        ("<the day> and <how long>", ["<the day>", "<how long>"]),
    ],
)
def test_a_place_to_fill_in_is_told_from_an_address(text: str, found: list[str]) -> None:
    """Autolinks hold no white space (CommonMark 0.31.2, section 6.5), HTML's own marks only before an `=`."""
    assert placeholders(text) == found


@given(some.text("abc :@/.,-é", min_size=1).map(lambda text: f"<a {text} z>"))
def test_a_place_of_several_words_is_always_seen(place: str) -> None:
    assert placeholders(f"x {place} y") == [place]


def texts_of(value: object, within: str = "") -> list[tuple[str, str]]:
    """Return every text that can be reached in a public value, with the name of its field."""
    if isinstance(value, str):
        return [(within, value)]
    if is_dataclass(value):
        return [text for field in fields(value) for text in texts_of(getattr(value, field.name), field.name)]
    if isinstance(value, tuple | list | frozenset):
        return [text for one in value for text in texts_of(one, within)]
    return []


def front(folder: Path) -> FrontOfHouse:
    return front_of_house(read(folder).sound(), NOW)


def test_of_the_starter_nothing_is_public() -> None:
    """Every page, the example piece and each sentence wait until they are filled in."""
    view = front(carried("content"))

    assert {page.name for page in read(carried("content")).sound().pages} == view.pending
    assert (*view.pages, *view.pieces, *view.shows, *view.tiers, *view.rounds) == ()
    told = [(name, text) for name, text in texts_of(view) if placeholders(text)]
    assert {name for name, _ in told} == KEPT


def test_the_example_show_is_shown_only_once_it_has_its_name(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path)
    example = (carried("content") / "shows" / "_example.yaml").read_text("utf-8")
    makers.write(folder / "shows" / "copied.yaml", example)
    before = len(front(folder).shows)
    makers.write(folder / "shows" / "copied.yaml", example.replace("<name of the show>", "Barn Fair"))
    (show,) = [fair for fair in front(folder).shows if fair.slug == "copied"]

    assert len(front(folder).shows) == before + 1
    assert (show.name, show.venue, show.hours, show.table, show.about) == ("Barn Fair", "", "", "", "")


def test_a_field_with_a_gap_is_left_out_and_its_neighbours_stay(tmp_path: Path) -> None:
    folder = makers.studio(
        tmp_path, {"owl": makers.piece_yaml("Owl", base="<what it stands on>", materials="Linen")}
    )
    (piece,) = front(folder).pieces

    assert (piece.title, piece.base, piece.materials) == ("Owl", "", "Linen")
