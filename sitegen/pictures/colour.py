"""Bring a photo's colours to sRGB, the colour space of pictures that carry no profile."""

from functools import lru_cache
from io import BytesIO

from PIL import Image, ImageCms

# Relative colorimetric keeps every colour that sRGB has exactly as it was and clips the rest; black point
# compensation keeps shadows of inks open (ISO 15076-1 and ISO 18619 describe the two).
_INTENT = ImageCms.Intent.RELATIVE_COLORIMETRIC
_FLAGS = ImageCms.Flags.BLACKPOINTCOMPENSATION

# Modes a profile is applied to; others are brought to one of these first.
PROFILED = ("L", "RGB", "CMYK", "LAB")


def to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return the image in mode RGB and in sRGB; an image without a usable profile is taken for sRGB."""
    transform = _transform(profile, image.mode) if profile and image.mode in PROFILED else None
    if transform is not None:
        converted = ImageCms.applyTransform(image, transform)
        return converted if converted is not None else image
    if image.mode == "LAB":
        return _from_lab(image)
    return image.convert("RGB")


@lru_cache(maxsize=16)
def _transform(profile: bytes, mode: str) -> ImageCms.ImageCmsTransform | None:
    """Return the way from the profile to sRGB; None if it changes nothing or the profile is unusable."""
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        transform = ImageCms.buildTransform(source, _srgb(), mode, "RGB", _INTENT, _FLAGS)
        return None if mode == "RGB" and _changes_nothing(transform) else transform
    except (ImageCms.PyCMSError, OSError, SyntaxError, TypeError, ValueError):
        return None


def _changes_nothing(transform: ImageCms.ImageCmsTransform) -> bool:
    """Try the transform on a grid of colours; profiles of sRGB have many names, so their names say little."""
    steps = bytes(range(0, 256, 15))
    grid = Image.frombytes(
        "RGB", (18 * 18, 18), bytes(v for r in steps for g in steps for b in steps for v in (r, g, b))
    )
    converted = ImageCms.applyTransform(grid, transform)
    if converted is None:
        return False
    return all(
        abs(before - after) <= 1 for before, after in zip(grid.tobytes(), converted.tobytes(), strict=True)
    )


@lru_cache(maxsize=1)
def _srgb() -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


def _from_lab(image: Image.Image) -> Image.Image:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    transform = ImageCms.buildTransform(lab, _srgb(), "LAB", "RGB", _INTENT, _FLAGS)
    converted = ImageCms.applyTransform(image, transform)
    return converted if converted is not None else image.convert("RGB")
