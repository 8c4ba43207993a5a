"""Make the small pictures that stand for the studio in a browser's tab, list of bookmarks and home screen."""

import unicodedata
from functools import cache
from html import escape
from io import BytesIO
from typing import Any

from PIL import Image, ImageColor, ImageDraw, ImageFont

# Pixels: home screens of phones 180 and 192, their start screens 512 (common practice, no source).
SIZES = (180, 192, 512)
ICO_SIZES = (16, 32, 48)
_LARGEST = max(SIZES)


@cache
def icons(initial: str, ink: str, ground: str) -> tuple[tuple[str, bytes], ...]:
    """Return icon.svg, favicon.ico and icon-180, -192 and -512.png, by file name.

    They show the initial in the ink on the ground, both CSS colours such as "#203040".
    """
    image = _drawn(initial, ink, ground)
    shrunk = {size: image.resize((size, size), Image.Resampling.LANCZOS) for size in SIZES}
    pngs = tuple((f"icon-{size}.png", _saved(image, "PNG")) for size, image in shrunk.items())
    ico = _saved(image, "ICO", sizes=[(size, size) for size in ICO_SIZES])
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64">'
        f'<rect width="64" height="64" fill="{escape(ground)}"/>'
        '<text x="32" y="32" dy="0.35em" text-anchor="middle" font-family="serif" font-size="48"'
        f' fill="{escape(ink)}">{escape(initial)}</text></svg>\n'
    )
    return ("icon.svg", svg.encode()), ("favicon.ico", ico), *pngs


def _drawn(initial: str, ink: str, ground: str) -> Image.Image:
    """Draw the initial, or its letter without accents; a plain disc where the font at hand lacks both."""
    image = Image.new("RGB", (_LARGEST, _LARGEST), ImageColor.getrgb(ground)[:3])
    pen, colour = ImageDraw.Draw(image), ImageColor.getrgb(ink)[:3]
    font = ImageFont.load_default(_LARGEST * 0.72)
    missing = bytes(font.getmask("\U0010ffff"))
    letters = [initial, unicodedata.normalize("NFKD", initial)[:1]]
    letter = next((sign for sign in letters if sign.strip() and bytes(font.getmask(sign)) != missing), None)
    if letter is None:
        inset = _LARGEST * 0.27
        pen.ellipse((inset, inset, _LARGEST - inset, _LARGEST - inset), fill=colour)
        return image
    left, top, right, bottom = pen.textbbox((0, 0), letter, font=font)
    pen.text(((_LARGEST - left - right) / 2, (_LARGEST - top - bottom) / 2), letter, fill=colour, font=font)
    return image


def _saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    buffer = BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()
