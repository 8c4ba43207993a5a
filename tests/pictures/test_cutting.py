"""Which pictures are made of a photo, in which sizes, and what a crop keeps."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image

from sitegen.pictures import Wish, make
from sitegen.pictures.developing import crop, ladder, largest
from sitegen.studio.picture import PictureSet
from tests.pictures.decoding import pixels
from tests.pictures.material import content, one_set, photo, renditions, scene

SIDES = st.integers(1, 9000)


def _widths(pictures: PictureSet, use: str, mime: str) -> list[int]:
    return [one.width for one in getattr(pictures, use) if one.mime == mime]


def test_figure_gets_the_whole_frame_everywhere(tmp_path: Path) -> None:
    """Card and page show the same picture in other sizes; no foot is cut off."""
    pictures = one_set(photo(tmp_path / "a.jpg", scene(2100, 2800)), tmp_path / "cache")

    assert (pictures.width, pictures.height) == (2100, 2800)
    assert _widths(pictures, "full", "image/avif") == [280, 400, 560, 760, 1080, 1800]
    assert _widths(pictures, "card", "image/avif") == [160, 280, 400, 560, 760, 1080]
    assert _widths(pictures, "full", "image/jpeg") == [400, 560, 1080]
    assert _widths(pictures, "card", "image/jpeg") == [400, 560, 1080]
    for rendition in (*pictures.full, *pictures.card):
        assert rendition.height == pytest.approx(rendition.width * 4 / 3, abs=1)
    assert (pictures.social.mime, pictures.social.width, pictures.social.height) == ("image/jpeg", 1200, 630)


def test_detail_may_be_cropped_for_the_card_only(tmp_path: Path) -> None:
    """A wide detail becomes a 4:5 card; its page picture keeps the full frame."""
    pictures = one_set(photo(tmp_path / "a.jpg", scene(2400, 1600)), tmp_path / "cache", detail=True)

    assert _widths(pictures, "full", "image/avif") == [280, 400, 560, 760, 1080, 2000]
    assert _widths(pictures, "card", "image/avif") == [160, 280, 400, 560, 760, 1066]
    for rendition in pictures.full:
        assert rendition.height == pytest.approx(rendition.width * 2 / 3, abs=1)
    for rendition in pictures.card:
        assert rendition.height == pytest.approx(rendition.width * 5 / 4, abs=1)


def test_small_photo_closes_the_ladder_itself(tmp_path: Path) -> None:
    """Nothing is enlarged, and both formats are there for page and card."""
    pictures = one_set(photo(tmp_path / "a.jpg", scene(200, 150)), tmp_path / "cache")

    assert _widths(pictures, "full", "image/avif") == [200]
    assert _widths(pictures, "full", "image/jpeg") == [200]
    assert _widths(pictures, "card", "image/avif") == [160, 200]
    assert (pictures.social.width, pictures.social.height) == (200, 105)


def test_names_hold_stem_width_and_hash(tmp_path: Path) -> None:
    """Other bytes always have another name, so a page can tell browsers to keep a picture for ever."""
    path = photo(tmp_path / "a.jpg", scene(400, 500))
    first = make([Wish(path, "2026-07-moth-clerk-1")], tmp_path / "cache").sets[path]
    photo(path, scene(400, 500, seed=2))
    second = make([Wish(path, "2026-07-moth-clerk-1")], tmp_path / "cache").sets[path]

    assert first.social.name.startswith("2026-07-moth-clerk-1-400-")
    assert first.social.name.endswith(".jpg")
    assert not {rendition.name for rendition in renditions(first)} & {web.name for web in renditions(second)}


@pytest.mark.parametrize(
    ("size", "focus", "expected"),
    [
        # A mark at the focus must be in the middle of the preview.
        ((1200, 2000), (0.5, 0.2), (0.5, 0.2)),
        ((1200, 2000), (0.5, 0.85), (0.5, 0.85)),
        # Without a focus: a third from the top of an upright photo, the middle of a wide one.
        ((1200, 2000), None, (0.5, 1 / 3)),
        ((2000, 1500), None, (0.5, 0.5)),
    ],
)
def test_link_preview_keeps_the_centre_of_interest(
    size: tuple[int, int], focus: tuple[float, float] | None, expected: tuple[float, float], tmp_path: Path
) -> None:
    """The face is in the picture that others see first."""
    image = Image.new("RGB", size, (90, 90, 90))
    x, y = round(expected[0] * size[0]), round(expected[1] * size[1])
    image.paste((250, 240, 20), (x - 40, y - 40, x + 40, y + 40))
    path = photo(tmp_path / "a.png", image, "PNG")

    preview = make([Wish(path, "a", focus)], tmp_path / "cache").sets[path].social

    shown = pixels(content(preview))
    assert shown[preview.height // 2, preview.width // 2].astype(int) == pytest.approx((250, 240, 20), abs=8)


@given(SIDES, SIDES, st.floats(0, 1), st.floats(0, 1), st.sampled_from([(4, 5), (1200, 630), (1, 1)]))
@example(2, 1, 0.5, 0.0, (4, 5))
@example(4, 1, 0.5, 0.0, (1, 1))
def test_crop_is_the_largest_of_its_shape_and_holds_the_focus(
    width: int, height: int, x: float, y: float, shape: tuple[int, int]
) -> None:
    """It touches two opposite edges, has the shape to a pixel, and never leaves the focus outside."""
    image = Image.new("1", (width, height))
    image.putpixel((min(width - 1, int(x * width)), min(height - 1, int(y * height))), 1)

    part = crop(image, shape, (x, y))

    assert part.width == width or part.height == height
    assert abs(part.width * shape[1] - part.height * shape[0]) <= max(shape) or 1 in part.size
    assert part.getbbox() is not None


@given(SIDES)
@example(320)
@example(321)
def test_ladder_climbs_in_steps_no_browser_regrets(width: int) -> None:
    """Widths rise, end with the photo's own, and no neighbour is more than a pixel over twice as wide."""
    steps = ladder(width, 160, width)

    assert steps == sorted(set(steps))
    assert steps[-1] == width
    if width <= 2000:
        assert all(wide <= 2 * narrow + 1 for narrow, wide in pairwise(steps))


@given(SIDES, SIDES)
def test_widest_rendition_keeps_the_proportion_and_never_grows(width: int, height: int) -> None:
    """It fits the box, and no side is off by more than rounding."""
    wide, high = largest(width, height)

    assert 1 <= wide <= min(width, 2000)
    assert 1 <= high <= min(height, 2400)
    assert abs(wide * height - high * width) <= max(width, height)
