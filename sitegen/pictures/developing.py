"""Turn an opened photo into plain sRGB pixels, upright, no larger than the widest rendition."""

from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

from PIL import Image, ImageCms

from sitegen.pictures import recipe
from sitegen.pictures.opening import FOREIGN, UnreadablePhoto, damaged

_ORIENTATION = 0x0112
_Turn = Image.Transpose
# What brings the stored picture upright, by Exif tag 274 (TIFF 6.0, Exif 2.3); 1 needs nothing.
_TURNS = {
    2: _Turn.FLIP_LEFT_RIGHT, 3: _Turn.ROTATE_180, 4: _Turn.FLIP_TOP_BOTTOM, 5: _Turn.TRANSPOSE, 6:
    _Turn.ROTATE_270, 7: _Turn.TRANSVERSE, 8: _Turn.ROTATE_90,
}  # fmt: skip
_SIDEWAYS = {5, 6, 7, 8}


@dataclass(frozen=True, slots=True)
class Developed:
    """Hold a photo ready to be cut into renditions."""

    # RGB, sRGB, upright, without anything but pixels.
    image: Image.Image
    # Pixels of the upright original, which may be larger.
    width: int
    height: int


def develop(photo: Image.Image) -> Developed:
    """Decode, shrink, turn, colour and flatten; raises UnreadablePhoto."""
    try:
        size = _decode(photo)
        turn = _orientation(photo)
        plain = _plain(photo)
        width, height = size[::-1] if turn in _SIDEWAYS else size
        shrunk = shrink(plain, _sideways(largest(width, height), turn))
        upright = shrunk.transpose(_TURNS[turn]) if turn in _TURNS else shrunk
        return Developed(_bare(_flat(upright, photo.info.get("icc_profile"))), width, height)
    except UnreadablePhoto:
        raise
    except FOREIGN as error:
        raise damaged(error) from error


def _bare(image: Image.Image) -> Image.Image:
    """Drop profile, Exif, comments and all else that Pillow carries along and would write again."""
    image.info = {}
    return image


def largest(width: int, height: int) -> tuple[int, int]:
    """Return the size of the widest rendition of an upright photo; never more than the photo has."""
    scale = min(1.0, recipe.LARGEST[0] / width, recipe.LARGEST[1] / height)
    return max(1, round(width * scale)), max(1, round(height * scale))


def shrink(image: Image.Image, size: tuple[int, int]) -> Image.Image:
    """Return the image in the given, not larger, size."""
    if image.size == size:
        return image
    return image.resize(size, Image.Resampling.LANCZOS)


def _decode(photo: Image.Image) -> tuple[int, int]:
    """Load the pixels, of a JPEG at the nearest scale that loses nothing; return the stored size."""
    size = photo.size
    if photo.format in {"JPEG", "MPO"}:
        turn = _orientation(photo)
        wanted = _sideways(largest(*_sideways(size, turn)), turn)
        photo.draft(None, (round(wanted[0] * recipe.SPARE), round(wanted[1] * recipe.SPARE)))
        photo.load()
        return size
    photo.load()
    # A TIFF is turned upright by Pillow while loading.
    return photo.size


def _sideways(size: tuple[int, int], turn: int) -> tuple[int, int]:
    return (size[1], size[0]) if turn in _SIDEWAYS else size


def _orientation(photo: Image.Image) -> int:
    """Return the Exif orientation; 1 where it is missing or unreadable, as the pixels are still good then."""
    try:
        turn = photo.getexif().get(_ORIENTATION, 1)
    except FOREIGN:
        return 1
    return turn if isinstance(turn, int) else 1


def _plain(photo: Image.Image) -> Image.Image:
    """Return the photo with 8 bits a channel, in a mode that can be resized and given a profile."""
    if photo.mode in {"I", "F"} or photo.mode.startswith("I;16"):
        return _eight_bits(photo)
    if photo.has_transparency_data:
        return photo if photo.mode in {"RGBA", "LA"} else photo.convert("RGBA")
    if photo.mode == "1":
        return photo.convert("L")
    return photo if photo.mode in {"L", "RGB", "CMYK", "LAB"} else photo.convert("RGB")


def _eight_bits(photo: Image.Image) -> Image.Image:
    """Return a grey photo of 16 bits with 8; raises UnreadablePhoto for deeper ones: where is their white?"""
    grey = photo.convert("I")
    _, brightest = grey.getextrema()
    if photo.mode == "F" or float(str(brightest)) > 0xFFFF:
        raise UnreadablePhoto(
            "the photo has 32 bits a channel; save it as JPEG, or as TIFF or PNG with 8 or 16 bits"
        )
    return grey.point(lambda value: value * (1 / 257) + 0.5).convert("L")


def _flat(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return sRGB pixels with transparent parts laid on the ground."""
    if image.mode not in {"RGBA", "LA"}:
        return to_srgb(image, profile)
    colours = to_srgb(image.convert(image.mode[:-1]), profile)
    return Image.composite(colours, Image.new("RGB", image.size, recipe.GROUND), image.getchannel("A"))


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
