"""Write a picture as a JPEG the way cameras and phones do: turned, tagged, in their own colours."""

import struct
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
from PIL import ExifTags, Image

from solids import Floats

# Display P3: primaries as SMPTE RP 431-2, white D65, transfer curve of sRGB (IEC 61966-2-1).
P3_PRIMARIES = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
SRGB_PRIMARIES = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
D65 = (0.3127, 0.3290)
D50 = np.array([0.9642, 1.0, 0.8249])  # ICC.1 profile connection space
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])

# What was done to the pixels before they were stored, so that the tag undoes it.
UNDO = {
    2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270,
}  # fmt: skip
LARGEST = 148_000  # bytes a photograph may take


@dataclass(frozen=True)
class Tags:
    """What a file carries beside its pixels; all of it invented."""

    turned: int = 1
    place: tuple[float, float] | None = None  # latitude, longitude: mid-ocean
    camera: tuple[str, str, str] | None = None  # make, model, serial number
    artist: str | None = None
    comment: str | None = None
    wide_colours: bool = False


def to_xyz(primaries: tuple[tuple[float, float], ...]) -> Floats:
    """Give the matrix from linear RGB to XYZ under D65."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in primaries]).T
    white = np.array([D65[0] / D65[1], 1.0, (1 - D65[0] - D65[1]) / D65[1]])
    return columns * np.linalg.solve(columns, white)


def to_d50() -> Floats:
    """Give the adaptation from D65 to D50."""
    white = np.array([D65[0] / D65[1], 1.0, (1 - D65[0] - D65[1]) / D65[1]])
    scale = (BRADFORD @ D50) / (BRADFORD @ white)
    return np.linalg.inv(BRADFORD) @ np.diag(scale) @ BRADFORD


def _number(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _text(words: str) -> bytes:
    code = words.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II", 1, 12) + b"enUS" + struct.pack(">II", len(code), 28) + code


def p3_profile() -> bytes:
    """Build a minimal display profile (ICC.1:2010, version 4)."""
    columns = (to_d50() @ to_xyz(P3_PRIMARIES)).T
    curve = (
        b"para"
        + bytes(4)
        + struct.pack(">HH", 3, 0)
        + b"".join(map(_number, (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)))
    )
    tags = [
        (b"desc", _text("Display P3")),
        (b"cprt", _text("No copyright, use freely")),
        (b"wtpt", b"XYZ " + bytes(4) + b"".join(map(_number, D50))),
    ]
    tags.append((b"chad", b"sf32" + bytes(4) + b"".join(_number(v) for v in to_d50().ravel())))
    tags += [
        (name, b"XYZ " + bytes(4) + b"".join(map(_number, c)))
        for name, c in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)
    ]
    tags += [(name, curve) for name in (b"rTRC", b"gTRC", b"bTRC")]
    table, body, at = struct.pack(">I", len(tags)), b"", 128 + 4 + 12 * len(tags)
    for name, block in tags:
        padded = block + bytes(-len(block) % 4)
        table += name + struct.pack(">II", at + len(body), len(block))
        body += padded
    size = at + len(body)
    head = (
        struct.pack(">I", size)
        + bytes(4)
        + struct.pack(">I", 0x04000000)
        + b"mntrRGB XYZ "
        + struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
    )
    head += b"acsp" + bytes(28) + b"".join(map(_number, D50)) + bytes(48)
    return head + table + body


def srgb_to_p3(shown: Floats) -> Floats:
    """Encode sRGB values (0 to 1) anew in Display P3."""
    light = np.where(shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4)
    light = light @ (np.linalg.inv(to_xyz(P3_PRIMARIES)) @ to_xyz(SRGB_PRIMARIES)).T
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def _degrees(value: float) -> tuple[float, float, float]:
    value = abs(value)
    return float(int(value)), float(int(value * 60 % 60)), round(value * 3600 % 60, 2)


def _exif(tags: Tags) -> Image.Exif:
    exif = Image.Exif()
    if tags.turned != 1:
        exif[ExifTags.Base.Orientation] = tags.turned
    if tags.camera:
        exif[ExifTags.Base.Make], exif[ExifTags.Base.Model] = tags.camera[:2]
        exif[ExifTags.Base.Software] = "Darkroom of the demo studio"
        inner = exif.get_ifd(ExifTags.IFD.Exif)
        inner[ExifTags.Base.BodySerialNumber], inner[ExifTags.Base.CameraOwnerName] = (
            tags.camera[2],
            tags.artist or "",
        )
        inner[ExifTags.Base.DateTimeOriginal] = "2026:03:02 10:41:07"
    if tags.artist:
        exif[ExifTags.Base.Artist] = tags.artist
    if tags.place:
        gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
        for ref, at, letters, value in ((1, 2, "NS", tags.place[0]), (3, 4, "EW", tags.place[1])):
            gps[ref], gps[at] = letters[value < 0], _degrees(value)
    return exif


def _xmp(tags: Tags) -> bytes:
    return (
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description xmlns:dc="http://purl.org/dc/elements/1.1/" '
        'xmlns:exif="http://ns.adobe.com/exif/1.0/" '
        f'exif:GPSLatitude="{tags.place}"><dc:creator><rdf:Seq><rdf:li>{tags.artist}</rdf:li></rdf:Seq></dc:creator>'
        "</rdf:Description></rdf:RDF></x:xmpmeta>"
    ).encode()


def write_jpeg(shown: Floats, path: Path, tags: Tags) -> int:
    """Write the picture no larger than LARGEST; returns its size in bytes."""
    pixels = srgb_to_p3(shown) if tags.wide_colours else shown
    image = Image.fromarray((pixels * 255 + 0.5).astype(np.uint8))
    if tags.turned in UNDO:
        image = image.transpose(UNDO[tags.turned])
    more: dict[str, object] = {}
    if tags.turned != 1 or tags.camera or tags.place:
        more["exif"] = _exif(tags)
    if tags.wide_colours:
        more["icc_profile"] = p3_profile()
    if tags.comment:
        more["comment"], more["xmp"] = tags.comment, _xmp(tags)
    for quality in (88, 85, 82, 79, 76, 73, 70, 67, 64, 60, 56, 52, 48, 44, 40):
        buffer = BytesIO()
        image.save(
            buffer, "JPEG", quality=quality, subsampling="4:2:0", optimize=True, progressive=True, **more
        )
        if buffer.tell() <= LARGEST:
            break
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(buffer.getvalue())
    return buffer.tell()
