"""Exif orientation against the table of TIFF 6.0 / Exif 2.3, tag 274."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.pictures.decoding import Floats, Pixels, pixels
from tests.pictures.material import content, one_set, photo, widest_jpeg

# Stored: 1 2 / 3 4 / 5 6, two wide and three high. Displayed, by orientation: the definition "row 0 is the visual
# top, column 0 the visual left side" and so on of TIFF 6.0, section 8, worked out by hand.
DISPLAYED = {
    1: ((1, 2), (3, 4), (5, 6)),
    2: ((2, 1), (4, 3), (6, 5)),
    3: ((6, 5), (4, 3), (2, 1)),
    4: ((5, 6), (3, 4), (1, 2)),
    5: ((1, 3, 5), (2, 4, 6)),
    6: ((5, 3, 1), (6, 4, 2)),
    7: ((6, 4, 2), (5, 3, 1)),
    8: ((2, 4, 6), (1, 3, 5)),
}
BLOCK = 96
STEP = 36


@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF", "WEBP"])
@pytest.mark.parametrize("turn", DISPLAYED)
def test_every_orientation_comes_out_upright(turn: int, name: str, tmp_path: Path) -> None:
    """The picture reads as the standard says, in every rendition, and its size is the upright one."""
    path = photo(tmp_path / "turned", _stored(), name, exif=_exif(turn))

    pictures = one_set(path, tmp_path / "cache")

    expected = np.array(DISPLAYED[turn])
    assert (pictures.height, pictures.width) == tuple(BLOCK * side for side in expected.shape)
    for rendition in (*pictures.full, *pictures.card):
        assert (_read(pixels(content(rendition)), expected.shape) == expected).all()


def test_large_photo_decoded_at_a_reduced_scale_comes_out_upright(tmp_path: Path) -> None:
    """The scale is chosen for the upright picture, so that a sideways photo is neither soft nor squeezed."""
    stored = _stored().resize((4096, 6144), Image.Resampling.NEAREST)
    path = photo(tmp_path / "turned.jpg", stored, exif=_exif(6))

    pictures = one_set(path, tmp_path / "cache")

    assert (pictures.width, pictures.height) == (6144, 4096)
    assert (pictures.full[0].width, widest_jpeg(pictures).width) == (280, 1080)
    assert (_read(pixels(content(widest_jpeg(pictures))), (2, 3)) == np.array(DISPLAYED[6])).all()


@pytest.mark.parametrize("turn", [0, 9, 65535])
def test_orientation_outside_the_standard_changes_nothing(turn: int, tmp_path: Path) -> None:
    """Values 0 and 9 and up are reserved; the stored picture is shown."""
    pictures = one_set(photo(tmp_path / "turned.jpg", _stored(), exif=_exif(turn)), tmp_path / "cache")

    assert (_read(pixels(content(widest_jpeg(pictures))), (3, 2)) == np.array(DISPLAYED[1])).all()


def _stored() -> Image.Image:
    greys = np.array(DISPLAYED[1], dtype=np.uint8) * STEP
    return Image.fromarray(np.kron(greys, np.ones((BLOCK, BLOCK), dtype=np.uint8))).convert("RGB")


def _exif(turn: int) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = turn
    return exif


def _read(picture: Pixels, shape: tuple[int, ...]) -> Floats:
    """Return the number in the middle of every block."""
    rows, columns = shape
    height, width = picture.shape[:2]
    ys = [int((row + 0.5) * height / rows) for row in range(rows)]
    xs = [int((column + 0.5) * width / columns) for column in range(columns)]
    return np.asarray(np.rint(picture[np.ix_(ys, xs)].mean(-1) / STEP), dtype=np.float64)
