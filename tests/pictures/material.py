"""Photos, colour profiles and metadata for the tests, made here byte by byte."""

import struct
from io import BytesIO
from pathlib import Path

import numpy as np
from PIL import Image

from sitegen.pictures import Harvest, Wish, make
from sitegen.studio.picture import PictureSet, Rendition


def scene(width: int, height: int, seed: int = 1) -> Image.Image:
    """Return a soft picture with a face-like disc, some texture and no two like places."""
    random = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    x, y = x / max(1, width - 1), y / max(1, height - 1)
    disc = 1 / (1 + np.exp(np.clip((((x - 0.5) / 0.25) ** 2 + ((y - 0.33) / 0.2) ** 2 - 1) * 20, -50, 50)))
    ground = np.stack([0.5 + 0.3 * x, 0.45 + 0.25 * y, 0.5 - 0.2 * x * y], -1)
    skin = np.stack([0.9 - 0.1 * y, 0.72 - 0.1 * x, 0.65 - 0.1 * y], -1)
    weave = 0.06 * np.sin(x * 160) * np.sin(y * 200)
    mixed = ground * (1 - disc[..., None]) + skin * disc[..., None] + weave[..., None]
    mixed += random.standard_normal(mixed.shape) * 0.008
    return Image.fromarray((np.clip(mixed, 0, 1) * 255).astype(np.uint8))


def encoded(image: Image.Image, name: str, **options: object) -> bytes:
    """Return the image in a format that Pillow calls `name`."""
    buffer = BytesIO()
    image.save(buffer, name, **options)
    return buffer.getvalue()


def photo(path: Path, image: Image.Image, name: str = "JPEG", **options: object) -> Path:
    """Write the image and return where."""
    path.write_bytes(encoded(image, name, **({"quality": 95} if name == "JPEG" else {}) | options))
    return path


def harvest(path: Path, cache: Path, *, detail: bool = False) -> Harvest:
    """Return what is made of one photo."""
    return make([Wish(path, "piece", detail=detail)], cache, workers=1)


def one_set(path: Path, cache: Path, *, detail: bool = False) -> PictureSet:
    """Return the pictures of one photo that has no fault."""
    gathered = harvest(path, cache, detail=detail)
    assert gathered.faults == ()
    return gathered.sets[path]


def contents_of(gathered: Harvest) -> dict[str, bytes]:
    """Return the bytes of every picture that was made, by name."""
    return {web.name: content(web) for pictures in gathered.sets.values() for web in renditions(pictures)}


def content(rendition: Rendition) -> bytes:
    """Return the encoded picture out of its pack."""
    return rendition.read()


def renditions(pictures: PictureSet) -> list[Rendition]:
    """Return every rendition of a set once."""
    return list(dict.fromkeys((*pictures.full, *pictures.card, pictures.social)))


def widest_jpeg(pictures: PictureSet) -> Rendition:
    """Return the widest JPEG of the whole frame."""
    return next(r for r in reversed(pictures.full) if r.mime == "image/jpeg")


# --- Colour profiles ---------------------------------------------------------------------------------------

# x, y of red, green, blue. Display P3: REFERENCE, section 8.3. The other: a wide RGB as older cameras use it,
# gamma 563/256 (from memory, unconfirmed).
DISPLAY_P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
WIDE_RGB = ((0.640, 0.330), (0.210, 0.710), (0.150, 0.060))
SRGB = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
D65 = (0.3127, 0.3290)

Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]


def to_xyz(primaries: tuple[tuple[float, float], ...]) -> Matrix:
    """Return the matrix from linear RGB to XYZ, white D65, by the usual derivation from chromaticities."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in primaries]).T
    white = np.array([D65[0] / D65[1], 1.0, (1 - D65[0] - D65[1]) / D65[1]])
    return columns * np.linalg.solve(columns, white)


def profile(primaries: tuple[tuple[float, float], ...], gamma: float | None, text: str = "test") -> bytes:
    """Return an ICC profile (ICC.1:2010) of a display with these primaries; gamma None means sRGB's curve."""
    bradford = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
    white = np.array([D65[0] / D65[1], 1.0, (1 - D65[0] - D65[1]) / D65[1]])
    d50 = np.array([0.9642, 1.0, 0.8249])
    adapt = np.linalg.inv(bradford) @ np.diag((bradford @ d50) / (bradford @ white)) @ bradford
    columns = (adapt @ to_xyz(primaries)).T
    sides = {name: _xyz(column) for name, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)}
    curves = dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), _curve(gamma))
    tags = {b"desc": _words(text), b"cprt": _words("none"), b"wtpt": _xyz(d50), **sides, **curves}
    return _icc(tags)


def grey_profile() -> bytes:
    """Return an ICC profile of a grey whose numbers are proportional to light."""
    tags = {b"desc": _words("grey"), b"cprt": _words("none"), b"wtpt": _xyz(np.array([0.9642, 1.0, 0.8249]))}
    return _icc(tags | {b"kTRC": _curve(1.0)}, b"GRAY")


def _fixed(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _xyz(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> bytes:
    return b"XYZ \0\0\0\0" + b"".join(_fixed(value) for value in values)


def _curve(gamma: float | None) -> bytes:
    if gamma is not None:
        return b"para\0\0\0\0" + struct.pack(">HH", 0, 0) + _fixed(gamma)
    # IEC 61966-2-1 as function type 3: gamma, a, b, c, d.
    return (
        b"para\0\0\0\0"
        + struct.pack(">HH", 3, 0)
        + b"".join(_fixed(v) for v in (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
    )


def _words(text: str) -> bytes:
    letters = text.encode("utf-16-be")
    return b"mluc\0\0\0\0" + struct.pack(">II2s2sII", 1, 12, b"en", b"GB", len(letters), 28) + letters


def _icc(tags: dict[bytes, bytes], space: bytes = b"RGB ") -> bytes:
    offset, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, content in tags.items():
        padded = content + b"\0" * (-len(content) % 4)
        table += struct.pack(">4sII", name, offset + len(body), len(content))
        body += padded
    size = offset + len(body)
    head = struct.pack(">I4sI4s4s4s", size, b"none", 0x04200000, b"mntr", space, b"XYZ ")
    head += struct.pack(">6H4s", 2026, 1, 1, 0, 0, 0, b"acsp") + b"\0" * 24
    head += struct.pack(">I", 0) + _fixed(0.9642) + _fixed(1.0) + _fixed(0.8249)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body
