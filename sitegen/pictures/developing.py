"""Turn an opened photo into plain sRGB pixels, upright, cut these into renditions and encode them."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from itertools import product
from pathlib import Path

from PIL import Image, ImageCms

from sitegen.pictures import recipe
from sitegen.pictures.opening import FOREIGN, UnreadablePhoto, damaged, open_photo, read_photo

_ORIENTATION = 0x0112
_Turn = Image.Transpose
# What brings the stored picture upright, by Exif tag 274 (TIFF 6.0, Exif 2.3); 1 needs nothing.
_TURNS = {
    2: _Turn.FLIP_LEFT_RIGHT, 3: _Turn.ROTATE_180, 4: _Turn.FLIP_TOP_BOTTOM, 5: _Turn.TRANSPOSE, 6:
    _Turn.ROTATE_270, 7: _Turn.TRANSVERSE, 8: _Turn.ROTATE_90,
}  # fmt: skip
_SIDEWAYS = {5, 6, 7, 8}


FULL, CARD, SOCIAL = "full", "card", "social"


@dataclass(frozen=True, slots=True)
class Section:
    """Hold one encoded picture and what it's for."""

    uses: tuple[str, ...]  # some of FULL, CARD, SOCIAL
    mime: str
    width: int  # pixels
    height: int
    content: bytes


def develop(
    photo: Image.Image, box: tuple[int, int] = recipe.LARGEST, ground: tuple[int, int, int] = recipe.GROUND
) -> tuple[Image.Image, tuple[int, int]]:
    """Decode, shrink into a box, turn, colour and flatten; raises UnreadablePhoto.

    Returns upright sRGB pixels and nothing else, and the size of the upright original, which may be larger.
    """
    try:
        size = _decode(photo, box)
        turn = _orientation(photo)
        size, plain = _sideways(size, turn), _plain(photo)
        shrunk = shrink(plain, _sideways(largest(*size, box), turn))
        upright = shrunk.transpose(_TURNS[turn]) if turn in _TURNS else shrunk
        image = _flat(upright, photo.info.get("icc_profile"), ground)
        image.info = {}  # profile, Exif, comments and all else that Pillow would write again
        return image, size
    except FOREIGN as error:
        raise damaged(error) from error


def cut(
    image: Image.Image, size: tuple[int, int], focus: tuple[float, float] | None, *, detail: bool
) -> list[Section]:
    """Return all renditions: the modern format first, each format from narrow to wide.

    `size` is that of the original.
    """
    # A face would be in the upper third of an upright photo, and in the middle of any other.
    centre = focus or ((0.5, 1 / 3) if size[1] > size[0] and not detail else (0.5, 0.5))
    parts = list(_renditions(image, full=True, card=not detail))
    if detail:
        parts += _renditions(crop(image, recipe.CARD_SHAPE, centre), full=False, card=True)
    wide = crop(image, recipe.SOCIAL, centre)
    parts.append(encode(shrink(wide, min(wide.size, recipe.SOCIAL)), recipe.JPEG, (SOCIAL,)))
    return sorted(parts, key=lambda part: (part.mime == recipe.JPEG, part.width, part.uses))


def largest(width: int, height: int, box: tuple[int, int] = recipe.LARGEST) -> tuple[int, int]:
    """Return the size of the widest rendition of an upright photo in a box; never more than the photo has."""
    scale = min(1.0, box[0] / width, box[1] / height)
    return max(1, round(width * scale)), max(1, round(height * scale))


def shrink(image: Image.Image, size: tuple[int, int]) -> Image.Image:
    """Return the image in the given, not larger, size."""
    if image.size == size:
        return image
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=4.0)


def _decode(photo: Image.Image, box: tuple[int, int]) -> tuple[int, int]:
    """Load the pixels, of a JPEG at the nearest scale that loses nothing; return the stored size."""
    size = photo.size
    if photo.format in {"JPEG", "MPO"}:
        turn = _orientation(photo)
        wanted = _sideways(largest(*_sideways(size, turn), box), turn)
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


def _flat(image: Image.Image, profile: bytes | None, ground: tuple[int, int, int]) -> Image.Image:
    """Return sRGB pixels with transparent parts laid on the ground."""
    if image.mode not in {"RGBA", "LA"}:
        return to_srgb(image, profile)
    colours = to_srgb(image.convert(image.mode[:-1]), profile)
    return Image.composite(colours, Image.new("RGB", image.size, ground), image.getchannel("A"))


# Relative colorimetric keeps every colour that sRGB has exactly as it was and clips the rest; black point
# compensation keeps shadows of inks open (ISO 15076-1 and ISO 18619 describe the two).
_INTENT = ImageCms.Intent.RELATIVE_COLORIMETRIC
_FLAGS = ImageCms.Flags.BLACKPOINTCOMPENSATION

# Modes a profile is applied to; others are brought to one of these first.
PROFILED = ("L", "RGB", "CMYK", "LAB")


def to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return the image in mode RGB and in sRGB; an image without a usable profile is taken for sRGB."""
    transform = _transform(profile, image.mode) if profile and image.mode in PROFILED else None
    if transform is None and image.mode == "LAB":
        transform = _transform(None, "LAB")
    converted = ImageCms.applyTransform(image, transform) if transform is not None else None
    return converted if converted is not None else image.convert("RGB")


@lru_cache(maxsize=16)
def _transform(profile: bytes | None, mode: str) -> ImageCms.ImageCmsTransform | None:
    """Return the way from the profile, or plain CIELAB, to sRGB; None if it's unusable or changes nothing."""
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile) if profile else ImageCms.createProfile("LAB"))
        srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
        transform = ImageCms.buildTransform(source, srgb, mode, "RGB", _INTENT, _FLAGS)
        return None if mode == "RGB" and _changes_nothing(transform) else transform
    except (ImageCms.PyCMSError, OSError, SyntaxError, TypeError, ValueError):
        return None


def _changes_nothing(transform: ImageCms.ImageCmsTransform) -> bool:
    """Try the transform on a grid of colours; profiles of sRGB have many names, so their names say little."""
    steps = bytes(range(0, 256, 15))
    colours = bytes(value for colour in product(steps, repeat=3) for value in colour)
    converted = ImageCms.applyTransform(Image.frombytes("RGB", (18 * 18, 18), colours), transform)
    if converted is None:
        return False
    return all(abs(colour - other) <= 1 for colour, other in zip(colours, converted.tobytes(), strict=True))


def ladder(width: int, least: int, most: int) -> list[int]:
    """Return the widths to make of an image of this width, from narrow to wide.

    The image's own width closes the ladder if it's at most `most`; a step just below it isn't worth a file.
    """
    top = min(width, most)
    return [step for step in recipe.WIDTHS if least <= step and step * recipe.NEAR <= top] + [top]


def crop(image: Image.Image, shape: tuple[int, int], focus: tuple[float, float]) -> Image.Image:
    """Return the largest part of this shape (width by height) that has the focus nearest its middle."""
    scale = min(image.width / shape[0], image.height / shape[1])
    width, height = max(1, round(shape[0] * scale)), max(1, round(shape[1] * scale))
    left = _place(focus[0], image.width, width)
    top = _place(focus[1], image.height, height)
    return image.crop((left, top, left + width, top + height))


def encode(image: Image.Image, mime: str, uses: tuple[str, ...]) -> Section:
    """Encode pixels and nothing else."""
    name, options = recipe.encoder(mime, image.width)
    buffer = BytesIO()
    image.save(buffer, name, **options)
    return Section(uses, mime, image.width, image.height, buffer.getvalue())


def _place(share: float, length: int, window: int) -> int:
    pixel = min(length - 1, int(share * length))  # a window of one pixel could be rounded past it
    return max(0, pixel - window + 1, min(length - window, pixel, round(share * length - window / 2)))


def _renditions(image: Image.Image, *, full: bool, card: bool) -> Iterator[Section]:
    """Yield the image for pages, cards or both, from wide to narrow, each made from the one before."""
    least = recipe.WIDTHS[0] if card else recipe.FULL_FROM
    widths = ladder(image.width, least, image.width if full else recipe.CARD_TO)
    as_jpeg = set(recipe.JPEG_WIDTHS) & set(widths)
    if max(recipe.JPEG_WIDTHS) not in as_jpeg:
        as_jpeg.add(widths[-1])
    step = image
    for width in reversed(widths):
        step = shrink(step, (width, max(1, round(width * image.height / image.width))))
        large = full and (width >= recipe.FULL_FROM or width == widths[-1])
        small = card and (width <= recipe.CARD_TO or width == widths[0])
        uses = (FULL,) * large + (CARD,) * small
        yield encode(step, recipe.MODERN, uses)
        if width in as_jpeg:
            yield encode(step, recipe.JPEG, uses)


def small(path: Path, side: int) -> bytes:
    """Return a JPEG for the desk or paper, its longer side at most so many pixels; nothing personal is in it.

    Raises UnreadablePhoto.
    """
    with open_photo(read_photo(path)) as photo:
        image, _ = develop(photo, (side, side), ground=(255, 255, 255))
    return encode(image, recipe.JPEG, ()).content
