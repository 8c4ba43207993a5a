"""What is made from a photo: widths, formats, qualities, chosen by measurement (table in DEVELOPERS.md)."""

import hashlib
from functools import cache
from importlib.util import find_spec

import PIL
from PIL import features
from PIL.AvifImagePlugin import get_codec_version

# A new number makes every photo anew; raise it when the pictures change for a reason no constant below shows.
EDITION = 2

# Pixels. Neighbours, the photo's own width included, differ by a factor below two, so that a browser that
# rounds up, as it does at one device pixel per CSS pixel, fetches less than twice the pixels it shows across.
WIDTHS = (160, 280, 400, 560, 760, 1080)
# The widest rendition fits in this box, width by height; more is never shown, even at two device pixels.
LARGEST = (2000, 2400)
# The JPEG fallback serves letters and a few old browsers; fewer sizes will do.
JPEG_WIDTHS = (400, 560, 1080)
FULL_FROM = 280
CARD_TO = 1080
# Width by height of a cropped card.
CARD_SHAPE = (4, 5)
# Pixels of a link preview; 1.91 : 1 is what link previews are commonly cut to (common practice, no source).
SOCIAL = (1200, 630)
# A ladder step is left out where the photo itself is less than this many times as wide.
NEAR = 1.15
# The photo is decoded at a reduced scale only if that leaves this many times the wanted width.
SPARE = 2.0
# Ground under transparent parts: plaster white.
GROUND = (247, 245, 240)

AVIF = "image/avif"
WEBP = "image/webp"
JPEG = "image/jpeg"
# A few builds of Pillow come without AVIF.
MODERN = AVIF if find_spec("PIL._avif") else WEBP
EXTENSIONS = {AVIF: ".avif", WEBP: ".webp", JPEG: ".jpg"}

_ENCODERS: dict[str, tuple[str, dict[str, object]]] = {
    # One thread: the photos share the cores, and the bytes must not depend on their number.
    AVIF: ("AVIF", {"quality": 66, "speed": 9, "subsampling": "4:2:0", "max_threads": 1}),
    WEBP: ("WEBP", {"quality": 80, "method": 4}),
    JPEG: ("JPEG", {"quality": 84, "progressive": True, "optimize": True, "subsampling": "4:2:0"}),
}
# Phones fetch these over slow lines: 15 to 25% fewer octets than with the above, photographs as alike (SSIM
# within 0.003), for 20 ms more a photo. Only libaom can be tuned for likeness.
CAREFUL_TO = 560
_TUNED = {"quality": 62, "advanced": {"tune": "ssim"}} if MODERN == AVIF and get_codec_version("aom") else {}
_CAREFUL: dict[str, dict[str, object]] = {AVIF: {"speed": 8, **_TUNED}}


def encoder(mime: str, width: int) -> tuple[str, dict[str, object]]:
    """Return Pillow's name of the format and its options for a picture so many pixels wide."""
    name, options = _ENCODERS[mime]
    return name, options | _CAREFUL.get(mime, {}) if width <= CAREFUL_TO else dict(options)


@cache
def fingerprint() -> str:
    """Return a text that changes whenever the same photo could give other bytes."""
    constants = (
        EDITION, WIDTHS, LARGEST, JPEG_WIDTHS, FULL_FROM, CARD_TO, CARD_SHAPE, SOCIAL, NEAR, SPARE, GROUND,
        CAREFUL_TO, _CAREFUL,
    )  # fmt: skip
    libraries = [
        (name, features.version(name))
        for name in ("jpg", "libjpeg_turbo", "avif", "littlecms2", "libtiff", "webp")
    ]
    return hashlib.sha256(repr((constants, _ENCODERS, PIL.__version__, libraries)).encode()).hexdigest()


def key_of(digest: str, focus: tuple[float, float] | None, detail: bool) -> str:
    """Return the name under which the pictures of a photo with this content are kept."""
    return hashlib.sha256(f"{digest} {fingerprint()} {focus} {detail}".encode()).hexdigest()
