"""Quality against scikit-image's structural similarity (Wang et al. 2004, Gaussian window 11, sigma 1.5).

The pictures are read with another decoder than Pillow; the reference is the original reduced by averaging whole
blocks in linear light (IEC 61966-2-1), which no resampling filter of Pillow had a part in.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data
from skimage.color import deltaE_ciede2000, rgb2gray, rgb2lab
from skimage.metrics import structural_similarity

from sitegen.studio.picture import Rendition
from tests.pictures.decoding import Floats, Pixels, pixels
from tests.pictures.material import content, one_set, photo, scene

# Photographs that scikit-image carries; a cat, a cup of coffee, a portrait.
PHOTOGRAPHS = ["chelsea", "coffee", "astronaut"]


@pytest.mark.parametrize("name", PHOTOGRAPHS)
@pytest.mark.parametrize("mime", ["image/avif", "image/jpeg"])
def test_pictures_look_like_the_original(name: str, mime: str, tmp_path: Path) -> None:
    """At its own size an encoded photograph keeps 0.95 of its structure and its colours within 2.5 of CIEDE2000."""
    original = np.asarray(getattr(data, name)())[:, :400]
    pictures = one_set(photo(tmp_path / "a.png", Image.fromarray(original), "PNG"), tmp_path / "cache")

    widest = [rendition for rendition in pictures.full if rendition.mime == mime][-1]

    assert (widest.width, widest.height) == (original.shape[1], original.shape[0])
    assert _similarity(_pixels(widest), original) >= 0.95
    assert _colour_difference(_pixels(widest), original) <= 2.5


@pytest.mark.parametrize("name", PHOTOGRAPHS)
def test_modern_format_is_as_good_and_smaller(name: str, tmp_path: Path) -> None:
    """The modern format earns its place: fewer bytes, and similarity within 0.01 of the JPEG."""
    original = np.asarray(getattr(data, name)())[:, :400]
    pictures = one_set(photo(tmp_path / "a.png", Image.fromarray(original), "PNG"), tmp_path / "cache")

    modern, plain = (
        [web for web in pictures.full if web.mime == mime][-1] for mime in ("image/avif", "image/jpeg")
    )

    assert modern.size < 0.9 * plain.size
    assert _similarity(_pixels(modern), original) >= _similarity(_pixels(plain), original) - 0.01


def test_reduced_picture_is_as_sharp_as_averaging(tmp_path: Path) -> None:
    """Half the size: similar to block averages in linear light, and as much detail, neither less nor more."""
    original = np.asarray(scene(800, 1000))
    pictures = one_set(photo(tmp_path / "a.png", Image.fromarray(original), "PNG"), tmp_path / "cache")

    small = next(rendition for rendition in pictures.full if rendition.width == 400)
    expected = _averaged(original, 2)

    assert _similarity(_pixels(small), expected) >= 0.95
    assert _detail(_pixels(small)) == pytest.approx(_detail(expected), rel=0.25)


def test_decoding_at_a_reduced_scale_loses_nothing_that_shows(tmp_path: Path) -> None:
    """A very large JPEG, decoded at half its scale, ends where its pixels decoded in full end."""
    original = scene(4000, 1000)
    large = photo(tmp_path / "a.jpg", original, quality=97)
    same = photo(tmp_path / "a.png", original, "PNG", compress_level=1)

    reduced, full = (
        next(rendition for rendition in one_set(path, tmp_path / "cache").full if rendition.width == 760)
        for path in (large, same)
    )

    assert _similarity(_pixels(reduced), _pixels(full)) >= 0.98


def _pixels(rendition: Rendition) -> Pixels:
    return pixels(content(rendition))


def _similarity(shown: Pixels, expected: Pixels) -> float:
    greys = (rgb2gray(picture) for picture in (shown, expected))
    similarity: Callable[..., float] = structural_similarity
    return similarity(*greys, data_range=1, gaussian_weights=True, sigma=1.5, use_sample_covariance=False)


def _colour_difference(shown: Pixels, expected: Pixels) -> float:
    difference: Callable[..., Floats] = deltaE_ciede2000
    return float(difference(rgb2lab(shown), rgb2lab(expected)).mean())


def _averaged(picture: Pixels, factor: int) -> Pixels:
    values = picture / 255
    linear = np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)
    height, width, _ = picture.shape
    blocks = linear.reshape(height // factor, factor, width // factor, factor, 3).mean((1, 3))
    encoded = np.where(blocks <= 0.0031308, 12.92 * blocks, 1.055 * blocks ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(encoded * 255), dtype=np.uint8)


def _detail(picture: Pixels) -> float:
    """Return the mean difference between neighbours, which sharpening raises and blur lowers."""
    grey: Floats = picture.mean(-1)
    return float(np.abs(np.diff(grey, axis=0)).mean() + np.abs(np.diff(grey, axis=1)).mean())
