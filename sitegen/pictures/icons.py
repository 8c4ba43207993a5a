"""Make the small pictures that stand for the studio in a browser's tab, list of bookmarks and home screen."""

import base64
import hashlib
import unicodedata
from contextlib import suppress
from dataclasses import dataclass
from html import escape
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageColor, ImageDraw, ImageFont

from sitegen.disk import read_note, write_note
from sitegen.pictures import recipe
from sitegen.pictures.cutting import crop
from sitegen.pictures.developing import develop
from sitegen.pictures.opening import PhotoFault, UnreadablePhoto, open_photo, read_photo

# Pixels: home screens of phones 180 and 192, their start screens 512 (common practice, no source).
SIZES = (180, 192, 512)
ICO_SIZES = (16, 32, 48)
_LARGEST = max(SIZES)
# The photographs' limit is for photographs.
_MARK_MEGAPIXELS = 100


@dataclass(frozen=True, slots=True)
class IconSet:
    """Hold the icons as file name and content; the fault tells why the mark couldn't be used."""

    files: tuple[tuple[str, bytes], ...]
    fault: PhotoFault | None = None


def icons(mark: Path | None, initial: str, ink: str, ground: str, cache: Path) -> IconSet:
    """Return icon.svg, favicon.ico and icon-180, -192 and -512.png.

    They show the mark, cut square around its middle, or, without a usable one, the initial in the ink on the
    ground (both CSS colours such as "#203040").
    """
    try:
        content = read_photo(mark) if mark is not None else None
        return IconSet(_kept(content, initial, ink, ground, cache))
    except UnreadablePhoto as fault:
        return IconSet(_kept(None, initial, ink, ground, cache), PhotoFault(mark or Path(), str(fault)))


def _kept(
    mark: bytes | None, initial: str, ink: str, ground: str, cache: Path
) -> tuple[tuple[str, bytes], ...]:
    """Return the icons from the cache, or draw and keep them; raises UnreadablePhoto."""
    asked = repr((recipe.fingerprint(), mark and hashlib.sha256(mark).hexdigest(), initial, ink, ground))
    kept = cache / f"icons-{hashlib.sha256(asked.encode()).hexdigest()}.json"
    if found := read_note(kept):
        return tuple((name, base64.b64decode(content)) for name, content in found)
    image = _from_mark(mark) if mark is not None else _drawn(initial, ink, ground)
    drawing = _svg_of(image) if mark is not None else _svg(initial, ink, ground)
    files = (("icon.svg", drawing), ("favicon.ico", _ico(image)), *_pngs(image))
    with suppress(OSError):  # a disk that refuses costs only time later
        write_note(kept, [(name, base64.b64encode(content).decode()) for name, content in files])
    return files


def _from_mark(content: bytes) -> Image.Image:
    with open_photo(content, _MARK_MEGAPIXELS) as opened:
        square = crop(develop(opened).image, (1, 1), (0.5, 0.5))
    return square.resize((_LARGEST, _LARGEST), Image.Resampling.LANCZOS)


def _drawn(initial: str, ink: str, ground: str) -> Image.Image:
    """Draw the initial; a plain disc for a letter that the font at hand lacks."""
    image = Image.new("RGB", (_LARGEST, _LARGEST), ImageColor.getrgb(ground)[:3])
    pen, colour = ImageDraw.Draw(image), ImageColor.getrgb(ink)[:3]
    font = ImageFont.load_default(_LARGEST * 0.72)
    letter = _drawable(initial, font)
    if letter is None:
        inset = _LARGEST * 0.27
        pen.ellipse((inset, inset, _LARGEST - inset, _LARGEST - inset), fill=colour)
        return image
    left, top, right, bottom = pen.textbbox((0, 0), letter, font=font)
    pen.text(((_LARGEST - left - right) / 2, (_LARGEST - top - bottom) / 2), letter, fill=colour, font=font)
    return image


def _drawable(initial: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont) -> str | None:
    """Return the initial, else its letter without accents, else None, as far as the font has it."""
    missing = bytes(font.getmask("\U0010ffff"))
    letters = [initial, unicodedata.normalize("NFKD", initial)[:1]]
    return next(
        (letter for letter in letters if letter.strip() and bytes(font.getmask(letter)) != missing), None
    )


def _pngs(image: Image.Image) -> tuple[tuple[str, bytes], ...]:
    return tuple((f"icon-{size}.png", _png(image, size)) for size in SIZES)


def _png(image: Image.Image, size: int) -> bytes:
    buffer = BytesIO()
    image.resize((size, size), Image.Resampling.LANCZOS).save(buffer, "PNG")
    return buffer.getvalue()


def _ico(image: Image.Image) -> bytes:
    buffer = BytesIO()
    image.save(buffer, "ICO", sizes=[(size, size) for size in ICO_SIZES])
    return buffer.getvalue()


def _svg(initial: str, ink: str, ground: str) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">'
        f'<rect width="64" height="64" fill="{escape(ground)}"/>'
        '<text x="32" y="32" dy="0.35em" text-anchor="middle" font-family="serif" font-size="48"'
        f' fill="{escape(ink)}">{escape(initial)}</text></svg>\n'
    ).encode()


def _svg_of(image: Image.Image) -> bytes:
    """Wrap the mark in an SVG, for browsers that take the first icon they are offered."""
    picture = base64.b64encode(_png(image, SIZES[0])).decode()
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">'
        f'<image width="64" height="64" href="data:image/png;base64,{picture}"/></svg>\n'
    ).encode()
