"""The studio's mark in a browser's tab."""

from io import BytesIO

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from sitegen.pictures import icons
from tests.pictures.decoding import pixels

INK, GROUND = (32, 48, 64), (247, 245, 240)
NAMES = ["icon.svg", "favicon.ico", "icon-180.png", "icon-192.png", "icon-512.png"]


def _icons(initial: str = "M") -> tuple[tuple[str, bytes], ...]:
    return icons(initial, "#203040", "#f7f5f0")


@pytest.mark.parametrize("initial", ["M", "É", "Ж", "漢", "", "<"])
def test_initial_is_drawn_in_ink_on_ground(initial: str) -> None:
    """Every size shows something in the middle, also for a letter that the font lacks."""
    made = dict(_icons(initial))

    assert list(made) == NAMES
    for size in (180, 192, 512):
        shown = pixels(made[f"icon-{size}.png"])
        assert shown.shape == (size, size, 3)
        assert tuple(shown[2, 2]) == GROUND
        inked = np.argwhere(np.abs(shown.astype(int) - INK).max(-1) < 8) / size
        assert len(inked) > 0.01 * size * size
        assert (inked.min(0) + inked.max(0)) / 2 == pytest.approx(0.5, abs=0.03)


def test_letter_without_a_glyph_is_not_shown_as_an_empty_box() -> None:
    """An accented letter is drawn without its accent, a letter of another script as a disc."""
    made = {initial: dict(_icons(initial))["icon-192.png"] for initial in "EÉЖ漢"}

    assert made["É"] == made["E"]
    assert made["Ж"] == made["漢"] != made["E"]


def test_svg_is_well_formed_and_carries_the_letter_as_text() -> None:
    """A letter that is markup elsewhere is a letter here."""
    svg = etree.fromstring(dict(_icons("<"))["icon.svg"])

    assert svg.tag == "{http://www.w3.org/2000/svg}svg"
    assert svg.findtext("{http://www.w3.org/2000/svg}text") == "<"


def test_ico_holds_three_sizes() -> None:
    """The old format is asked for by programs that know no other."""
    with Image.open(BytesIO(dict(_icons())["favicon.ico"])) as ico:
        assert ico.info["sizes"] == {(16, 16), (32, 32), (48, 48)}
