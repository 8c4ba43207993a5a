"""Open a photo, or say in the artist's words why that can't be done."""

import struct
import warnings
import zlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageCms, UnidentifiedImageError
from PIL.AvifImagePlugin import AvifImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.TiffImagePlugin import TiffImageFile
from PIL.WebPImagePlugin import WebPImageFile

# Formats that photos come in; their readers are imported by name, as Pillow would else load all that it has.
# Others that Pillow knows start outside programs or hold no photos.
_READERS = (JpegImageFile, PngImageFile, TiffImageFile, WebPImageFile, AvifImageFile)
FORMATS = tuple(reader.format for reader in _READERS)

# Everything Pillow's readers were seen to raise at broken files (found by feeding them damaged ones).
FOREIGN = (
    ArithmeticError, AttributeError, EOFError, ImageCms.PyCMSError, LookupError, MemoryError, OSError,
    RuntimeError, SyntaxError, TypeError, ValueError, struct.error, zlib.error,
)  # fmt: skip

# Brands of HEIF files with HEVC inside, in the box that starts with "ftyp" (ISO/IEC 23008-12).
_HEIC = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"}

# Larger photos are refused undecoded.
MOST_MEGAPIXELS = 100
# That limit replaces Pillow's, which warns at one size and raises at another.
Image.MAX_IMAGE_PIXELS = None


@dataclass(frozen=True, slots=True)
class Wish:
    """Ask for the web pictures of one photo."""

    path: str | Path  # as text where there are thousands: making a Path takes longer than a look at the file
    stem: str  # start of the public file names, such as "2026-07-moth-usher-1"
    # Centre of interest: shares of the upright width and height from the top left, 0 to 1; None: the default.
    focus: tuple[float, float] | None = None
    detail: bool = False  # a detail may be cropped for a card; a whole figure never is


@dataclass(frozen=True, slots=True)
class PhotoFault:
    """Say what is wrong with one photo and what to do about it."""

    path: Path
    message: str


class UnreadablePhoto(Exception):
    """Tell why a photo can't be used; `str()` is a sentence for the artist."""


def look(path: Path) -> PhotoFault | None:
    """Check by its header alone whether a photo can be used; None means yes."""
    return examine(path, whole=False)


def examine(path: Path, *, whole: bool = True) -> PhotoFault | None:
    """Check by its header, then by its pixels, whether a photo can be used; None means yes."""
    opened = False
    try:
        with path.open("rb") as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            head = file.read(64)
            file.seek(0)
            with open_checked(file, head) as photo:
                if opened := whole:
                    # A JPEG is decoded at an eighth of its size: all of it is read, and little computed.
                    if photo.format in {"JPEG", "MPO"}:
                        photo.draft(None, (max(1, photo.width // 8), max(1, photo.height // 8)))
                    photo.load()
    except UnreadablePhoto as fault:
        return PhotoFault(path, str(fault))
    except FOREIGN as error:
        return PhotoFault(path, str(damaged(error)) if opened else _missing(error))
    return None


def read_photo(path: str | Path) -> bytes:
    """Return the bytes of the file; raises UnreadablePhoto."""
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise UnreadablePhoto(_missing(error)) from error


def open_photo(content: bytes) -> Image.Image:
    """Return the photo with its header read and its pixels not yet decoded; raises UnreadablePhoto."""
    return open_checked(BytesIO(content), content[:64])


def open_checked(file: object, head: bytes) -> Image.Image:
    """Return the opened picture in `file`, which starts with `head`; raises UnreadablePhoto."""
    if not head:
        raise UnreadablePhoto("the file is empty; copy the photo again from the camera or phone")
    try:
        formats = _with_heic() if _is_heic(head) else FORMATS
        photo = Image.open(file, formats=formats)  # type: ignore[arg-type]
    except UnidentifiedImageError as error:
        if _is_heic(head):
            raise damaged(error) from error
        raise UnreadablePhoto(
            "this isn't a photo that can be read; use JPEG, HEIC, PNG, TIFF or WebP (renaming a file doesn't"
            " convert it: open it and export it as JPEG)"
        ) from error
    except FOREIGN as error:
        raise damaged(error) from error
    width, height = photo.size
    megapixels = width * height / 1e6
    if megapixels > MOST_MEGAPIXELS:
        raise UnreadablePhoto(
            f"the photo is {width} × {height} pixels, {megapixels:.0f} megapixels; more than"
            f" {MOST_MEGAPIXELS} are refused because they could fill the computer's memory; save a smaller"
            " copy (4000 pixels on the long side are plenty)"
        )
    return photo


def damaged(error: BaseException) -> UnreadablePhoto:
    """Return the complaint about a photo whose file breaks off or is garbled."""
    return UnreadablePhoto(
        f'the photo is damaged or cut short (its reader says "{_reason(error)}"); copy it again from the'
        " camera or phone"
    )


def _with_heic() -> tuple[str, ...]:
    """Return the format of phones' photos, its reader loaded: few commands need it.

    It turns the picture as the file says (ISO/IEC 23008-12, `irot` and `imir`), and gives 8 bits.
    """
    from pi_heif.as_plugin import HeifImageFile, register_heif_opener  # noqa: PLC0415 (slow to load)

    if HeifImageFile.format not in Image.ID:
        register_heif_opener()
    return (str(HeifImageFile.format),)


def _is_heic(head: bytes) -> bool:
    """Tell whether the file type box names HEIC brands and no AVIF brand (ISO/IEC 14496-12, 4.3)."""
    if head[4:8] != b"ftyp":
        return False
    length = min(int.from_bytes(head[:4], "big"), len(head))
    brands = {head[8:12], *(head[at : at + 4] for at in range(16, length - 3, 4))}
    return bool(brands & _HEIC) and not brands & {b"avif", b"avis"}


def _missing(error: BaseException) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no photo of this name; check the spelling, capitals included"
    if isinstance(error, IsADirectoryError):
        return "this is a folder, not a photo"
    return f"the photo can't be opened ({_reason(error)})"


def _reason(error: BaseException) -> str:
    if isinstance(error, MemoryError):
        return "not enough memory"
    if isinstance(error, OSError) and error.strerror:
        return error.strerror.lower()
    return (str(error).splitlines() or [type(error).__name__])[0].strip("'\" .") or type(error).__name__
