"""Photos of every depth and mode come out as plain, true pictures."""

from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from sitegen.pictures import look
from sitegen.studio.picture import Rendition
from tests.pictures.decoding import Floats, pixels
from tests.pictures.material import (
    content,
    grey_profile,
    harvest,
    one_set,
    photo,
    renditions,
    scene,
    widest_jpeg,
)

SIZE = (480, 600)
GROUND = (247, 245, 240)


def test_every_rendition_is_the_upright_frame_or_its_crop(tmp_path: Path) -> None:
    """Another decoder than Pillow sees the sizes that are promised to the page."""
    pictures = one_set(photo(tmp_path / "a.jpg", scene(1500, 2000)), tmp_path / "cache")

    for rendition in renditions(pictures):
        assert pixels(content(rendition)).shape == (rendition.height, rendition.width, 3)


@pytest.mark.parametrize("name", ["PNG", "TIFF"])
def test_sixteen_bit_grey_is_scaled_not_cut(name: str, tmp_path: Path) -> None:
    """Black, middle grey and white of 16 bits are black, middle grey and white of 8."""
    deep = np.repeat(np.array([0, 32896, 65535], dtype=np.uint16), 160)
    path = photo(tmp_path / "deep", Image.fromarray(np.tile(deep, (600, 1))), name)

    assert _columns(path, tmp_path) == pytest.approx([0, 128, 255], abs=2)


def test_sixteen_bit_colour_is_scaled_not_cut(tmp_path: Path) -> None:
    """A TIFF of 16 bits a channel, written by a library that isn't Pillow, keeps its colour."""
    deep = np.zeros((600, 480, 3), dtype=np.uint16) + np.array([65535, 32896, 8224], dtype=np.uint16)
    tifffile.imwrite(tmp_path / "deep.tif", deep, photometric="rgb")

    shown = pixels(content(widest_jpeg(one_set(tmp_path / "deep.tif", tmp_path / "cache"))))

    assert shown[300, 240].astype(int) == pytest.approx([255, 128, 32], abs=2)


@pytest.mark.parametrize(
    ("mode", "colour", "expected"),
    [
        ("1", 1, (255, 255, 255)),
        ("L", 120, (120, 120, 120)),
        ("LA", (120, 255), (120, 120, 120)),
        ("LA", (120, 0), GROUND),
        ("RGB", (200, 120, 60), (200, 120, 60)),
        ("RGBA", (200, 120, 60, 255), (200, 120, 60)),
        ("RGBA", (200, 120, 60, 0), GROUND),
        # Half of the colour and half of the ground, in encoded values, as every page mixes them.
        ("RGBA", (200, 120, 60, 128), (223, 182, 150)),
    ],
)
def test_modes_of_a_png(
    mode: str, colour: float | tuple[int, ...], expected: tuple[int, ...], tmp_path: Path
) -> None:
    """Line art, greys, colours and transparency become plain sRGB on the quiet ground."""
    path = photo(tmp_path / "a.png", Image.new(mode, SIZE, colour), "PNG")

    assert _middle(path, tmp_path) == pytest.approx(expected, abs=2)


def test_palette_with_a_transparent_colour_lies_on_the_ground(tmp_path: Path) -> None:
    """The transparent entry of a palette isn't shown as whatever colour stands there."""
    image = Image.new("P", SIZE, 0)
    image.putpalette([255, 0, 0, 10, 120, 60])
    image.paste(1, (0, 0, 240, 600))
    path = photo(tmp_path / "a.png", image, "PNG", transparency=0)

    shown = pixels(content(widest_jpeg(one_set(path, tmp_path / "cache"))))

    assert shown[300, 120].astype(int) == pytest.approx([10, 120, 60], abs=2)
    assert shown[300, 360].astype(int) == pytest.approx(GROUND, abs=2)


def test_soft_edge_of_a_cut_out_has_no_dark_rim(tmp_path: Path) -> None:
    """The black that hides under transparent pixels doesn't bleed in when the picture shrinks."""
    image = Image.new("RGBA", (3000, 600), (0, 0, 0, 0))
    image.paste((250, 248, 246, 255), (0, 0, 1501, 600))
    path = photo(tmp_path / "a.png", image, "PNG")

    shown = pixels(content(widest_jpeg(one_set(path, tmp_path / "cache"))))

    assert shown.min() >= 236


def test_cmyk_without_a_profile_is_shown(tmp_path: Path) -> None:
    """Full cyan ink is blue-green, and black ink is black, not their negatives."""
    cyan = photo(tmp_path / "cyan.jpg", Image.new("CMYK", SIZE, (255, 0, 0, 0)), quality=100)
    black = photo(tmp_path / "black.tif", Image.new("CMYK", SIZE, (0, 0, 0, 255)), "TIFF")

    assert _middle(cyan, tmp_path) == pytest.approx((0, 255, 255), abs=3)
    assert _middle(black, tmp_path) == pytest.approx((0, 0, 0), abs=3)


def test_lab_is_converted(tmp_path: Path) -> None:
    """L* 53.6, a* b* 0 is the grey 128 of sRGB (CIE 1976: L* = 116 Y^(1/3) - 16 with Y = 0.2159)."""
    path = photo(tmp_path / "a.tif", Image.new("LAB", SIZE, (137, 128, 128)), "TIFF")

    assert _middle(path, tmp_path) == pytest.approx((128, 128, 128), abs=3)


def test_grey_profile_of_another_curve_is_honoured(tmp_path: Path) -> None:
    """A grey with a linear curve is lightened: half the light is 188 in sRGB (0.5 encodes to 0.735)."""
    path = photo(tmp_path / "a.png", Image.new("L", SIZE, 128), "PNG", icc_profile=grey_profile())

    assert _middle(path, tmp_path) == pytest.approx((188, 188, 188), abs=2)


def test_thirty_two_bits_are_refused_with_a_cure(tmp_path: Path) -> None:
    """Nobody knows which number is white in such a file."""
    path = photo(tmp_path / "a.tif", Image.new("F", SIZE, 0.5), "TIFF")

    (fault,) = harvest(path, tmp_path / "cache").faults
    assert fault.message == (
        "the photo has 32 bits a channel; save it as JPEG, or as TIFF or PNG with 8 or 16 bits"
    )


def test_second_picture_behind_a_phones_photo_is_left_out(tmp_path: Path) -> None:
    """Phones put a depth map or a second view behind the photo; the photo itself is used."""
    image, other = scene(480, 600), Image.new("RGB", (480, 600), "red")
    image.save(tmp_path / "a.jpg", "MPO", save_all=True, append_images=[other])

    assert look(tmp_path / "a.jpg") is None
    assert _middle(tmp_path / "a.jpg", tmp_path) == pytest.approx(np.array(image)[300, 240], abs=12)


@pytest.mark.parametrize("size", [(1, 1), (1, 3000), (3000, 1), (7, 5), (319, 200), (321, 200)])
def test_odd_sizes_are_made_and_never_enlarged(size: tuple[int, int], tmp_path: Path) -> None:
    """A tiny or a thread-like picture is no fault, and no rendition has more pixels than the photo."""
    path = photo(tmp_path / "a.png", Image.new("RGB", size, (90, 120, 60)), "PNG")

    for rendition in renditions(one_set(path, tmp_path / "cache")):
        assert 1 <= rendition.width <= size[0]
        assert 1 <= rendition.height <= size[1]


def test_no_colour_profile_is_left_in_a_picture(tmp_path: Path) -> None:
    """The output is sRGB without a profile, which is what a browser takes it for."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    pictures = one_set(photo(tmp_path / "a.jpg", scene(480, 600), icc_profile=srgb), tmp_path / "cache")

    assert [r.name for r in renditions(pictures) if _has_profile(r)] == []


def _has_profile(rendition: Rendition) -> bool:
    encoded = content(rendition)
    return b"ICC_PROFILE" in encoded or b"acsp" in encoded


def _columns(path: Path, folder: Path) -> list[int]:
    shown = pixels(content(widest_jpeg(one_set(path, folder / "cache"))))
    return [int(shown[300, column, 0]) for column in (80, 240, 400)]


def _middle(path: Path, folder: Path) -> Floats:
    shown = pixels(content(widest_jpeg(one_set(path, folder / "cache"))))
    return np.asarray(shown[shown.shape[0] // 2, shown.shape[1] // 2], dtype=np.float64)
