"""True colour: profiles to sRGB against values computed without a colour management library.

The curve is that of IEC 61966-2-1, as CSS Color 4 prints it; matrices follow from the primaries.
"""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.pictures.decoding import Floats, pixels
from tests.pictures.material import (
    D65,
    DISPLAY_P3,
    SRGB,
    WIDE_RGB,
    content,
    one_set,
    photo,
    profile,
    to_xyz,
    widest_jpeg,
)

# Encoding loses a little even on a flat area.
JPEG_LOSS = 2

# Display P3 to sRGB, in 8 bits. First two: web-platform-tests, css-color/display-p3-006 and the P3 red of
# CSS Color 4, clipped; the others computed from the published primaries with colour-science 0.4.7.
PUBLISHED = {
    (0.465377, 0.532768, 0.317713): (0.448436, 0.53537, 0.288113),
    (1.0, 0.0, 0.0): (1.0, 0.0, 0.0),
    (0.0, 1.0, 0.0): (0.0, 1.0, 0.0),
    (0.9, 0.3, 0.2): (0.9768, 0.2299, 0.1290),
    (0.5, 0.5, 0.5): (0.5, 0.5, 0.5),
    (1.0, 1.0, 1.0): (1.0, 1.0, 1.0),
}


@pytest.mark.parametrize(("wide", "expected"), PUBLISHED.items())
def test_display_p3_becomes_srgb(
    wide: tuple[float, ...], expected: tuple[float, ...], tmp_path: Path
) -> None:
    """A colour of a phone's photo comes out as the published sRGB value."""
    shown = _shown(wide, profile(DISPLAY_P3, None), tmp_path)

    assert np.abs(shown - np.array(expected) * 255).max() <= JPEG_LOSS


@pytest.mark.parametrize("wide", [(0.2, 0.5, 0.4), (0.7, 0.45, 0.4), (0.1, 0.1, 0.1), (0.8, 0.8, 0.6)])
@pytest.mark.parametrize(("primaries", "gamma"), [(WIDE_RGB, 563 / 256), (DISPLAY_P3, None)])
def test_wide_profiles_agree_with_matrix_arithmetic(
    wide: tuple[float, ...], primaries: tuple[tuple[float, float], ...], gamma: float | None, tmp_path: Path
) -> None:
    """Decode the curve, go through XYZ, encode with sRGB's curve: the photo agrees."""
    shown = _shown(wide, profile(primaries, gamma), tmp_path)

    linear = np.array([_decode(value, gamma) for value in np.round(np.array(wide) * 255) / 255])
    mixed = np.linalg.inv(to_xyz(SRGB)) @ to_xyz(primaries) @ linear
    expected = np.array([_encode(value) for value in mixed.clip(0, 1)]) * 255
    assert np.abs(shown - expected).max() <= JPEG_LOSS


# REFERENCE values of the curve: 0.5 decodes to 0.214041, 0.18 encodes to 0.461356 (IEC 61966-2-1).
def test_the_curve_used_here_is_the_published_one() -> None:
    """The arithmetic that judges the photos gives the published check values itself."""
    assert _decode(0.5, None) == pytest.approx(0.214041, abs=1e-6)
    assert _encode(0.18) == pytest.approx(0.461356, abs=1e-6)


@pytest.mark.parametrize("embedded", [None, "srgb", "garbage"])
def test_srgb_untagged_and_unusable_profiles_change_nothing(embedded: str | None, tmp_path: Path) -> None:
    """A photo without a profile is sRGB; so is one whose profile can't be read."""
    icc = {None: None, "srgb": profile(SRGB, None), "garbage": b"no profile at all" * 20}[embedded]

    shown = _shown((0.8, 0.5, 0.3), icc, tmp_path)

    assert np.abs(shown - np.round(np.array((0.8, 0.5, 0.3)) * 255)).max() <= JPEG_LOSS


@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_profile_is_honoured_in_every_format(name: str, tmp_path: Path) -> None:
    """The profile is found wherever the format keeps it."""
    options = {"lossless": True} if name == "WEBP" else {}
    path = photo(
        tmp_path / "photo", _flat((0.9, 0.3, 0.2)), name, icc_profile=profile(DISPLAY_P3, None), **options
    )

    shown = _middle(path, tmp_path)

    assert np.abs(shown - np.array((249, 59, 33))).max() <= JPEG_LOSS


def test_profile_reaches_pixels_behind_an_alpha_channel(tmp_path: Path) -> None:
    """Colour of an opaque part is converted, a transparent part shows the quiet ground."""
    image = _flat((0.9, 0.3, 0.2)).convert("RGBA")
    image.paste((0, 0, 0, 0), (0, 0, 200, 400))
    path = photo(tmp_path / "photo.png", image, "PNG", icc_profile=profile(DISPLAY_P3, None))

    picture = pixels(content(widest_jpeg(one_set(path, tmp_path / "cache"))))

    assert np.abs(picture[200, 300].astype(int) - (249, 59, 33)).max() <= JPEG_LOSS
    assert np.abs(picture[200, 100].astype(int) - (247, 245, 240)).max() <= JPEG_LOSS


def test_white_point_of_the_profiles_is_d65() -> None:
    """Equal parts of the primaries give the white they were made for, else the checks above mean nothing."""
    white = to_xyz(DISPLAY_P3) @ np.ones(3)

    assert white[0] / white.sum() == pytest.approx(D65[0])
    assert white[1] / white.sum() == pytest.approx(D65[1])


def _flat(colour: tuple[float, ...]) -> Image.Image:
    red, green, blue = (round(value * 255) for value in colour)
    return Image.new("RGB", (400, 400), (red, green, blue))


def _shown(colour: tuple[float, ...], icc: bytes | None, folder: Path) -> Floats:
    return _middle(photo(folder / "photo.png", _flat(colour), "PNG", icc_profile=icc), folder)


def _middle(path: Path, folder: Path) -> Floats:
    picture = pixels(content(widest_jpeg(one_set(path, folder / "cache"))))
    return np.asarray(picture[picture.shape[0] // 2, picture.shape[1] // 2], dtype=np.float64)


def _decode(value: float, gamma: float | None) -> float:
    if gamma is not None:
        return float(value**gamma)
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def _encode(value: float) -> float:
    return float(12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055)
