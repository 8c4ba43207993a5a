"""Photos with a sentinel in each place where their format can hold words about a person or place.

Segment and chunk layouts: JPEG (ITU-T T.81), Exif 2.3, XMP part 3, IPTC in Photoshop resources, PNG (W3C, third
edition), WebP container (RFC 9649), TIFF 6.0, GIF 89a.
"""

import struct
import zlib
from contextlib import suppress
from io import BytesIO

from PIL import Image, PngImagePlugin, TiffImagePlugin

from tests.pictures.material import SRGB, encoded, profile, scene

SENTINEL = "Sentinel-Quay-7"
_BYTES = SENTINEL.encode()
_XMP = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'><who>{SENTINEL}</who></x:xmpmeta>".encode()
_IPTC = b"\x1c\x02\x50" + struct.pack(">H", len(_BYTES)) + _BYTES
_RESOURCE = b"8BIM\x04\x04\0\0" + struct.pack(">I", len(_IPTC)) + _IPTC + b"\0" * (len(_IPTC) % 2)

# Tags of section 8.2 of REFERENCE that are text, in the first directory of an Exif block and in the Exif one.
_FIRST = (0x010E, 0x010F, 0x0110, 0x0131, 0x0132, 0x013B, 0x013C, 0x8298, 0xC62F)
_WINDOWS = (0x9C9B, 0x9C9C, 0x9C9D, 0x9C9E, 0x9C9F)
_EXIF = (0x9003, 0x9010, 0xA420, 0xA430, 0xA431, 0xA435)


def exif_block() -> bytes:
    """Return an Exif block, "Exif" in front, with a sentinel in every tag, in GPS and in the thumbnail."""
    exif = Image.Exif()
    for tag in _FIRST:
        exif[tag] = SENTINEL
    for tag in _WINDOWS:
        exif[tag] = SENTINEL.encode("utf-16-le")
    inner, gps = exif.get_ifd(0x8769), exif.get_ifd(0x8825)
    inner.update(dict.fromkeys(_EXIF, SENTINEL))
    inner[0x927C] = b"MAKER\0" + _BYTES
    inner[0x9286] = b"ASCII\0\0\0" + _BYTES
    gps.update({1: "N", 2: (53.0, 20.0, 7.77), 3: "W", 4: (6.0, 15.0, 7.77), 0x1D: SENTINEL, 0x1B: _BYTES})
    return _with_thumbnail(exif.tobytes())


def jpeg() -> bytes:
    """Return a JPEG with sentinels in Exif, XMP, extended XMP, IPTC, ICC text, other APPn, COM and behind the end."""
    plain = encoded(scene(240, 300), "JPEG", icc_profile=profile(SRGB, None, SENTINEL))
    segments = [
        (0xE1, exif_block()),
        (0xE1, b"http://ns.adobe.com/xap/1.0/\0" + _XMP),
        (0xE1, b"http://ns.adobe.com/xmp/extension/\0" + b"0" * 32 + struct.pack(">II", len(_XMP), 0) + _XMP),
        (0xED, b"Photoshop 3.0\0" + _RESOURCE),
        (0xEC, b"Ducky\0" + _BYTES),
        (0xEB, b"JP" + _BYTES),
        (0xEF, _BYTES),
        (0xFE, _BYTES),
    ]
    head = b"".join(struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body for marker, body in segments)
    return plain[:2] + head + plain[2:] + _BYTES


def png() -> bytes:
    """Return a PNG with sentinels in tEXt, zTXt, iTXt plain and packed, eXIf, iCCP, a private chunk and behind IEND."""
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", SENTINEL)
    words.add_text("Comment", SENTINEL, zip=True)
    words.add_itxt("XML:com.adobe.xmp", _XMP.decode())
    words.add_itxt("Location", SENTINEL, zip=True)
    words.add(b"prVt", _BYTES)
    options = {"exif": exif_block(), "icc_profile": profile(SRGB, None, SENTINEL), "pnginfo": words}
    return encoded(scene(240, 300), "PNG", **options) + _BYTES


def tiff() -> bytes:
    """Return a TIFF with sentinels in text tags, XMP, IPTC, Photoshop resources, a private tag and an Exif directory."""
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    for tag in (0x010D, 0x010E, 0x010F, 0x0110, 0x011D, 0x0131, 0x013B, 0x013C, 0x8298, 0xC62F):
        tags[tag] = SENTINEL
    for tag, body in ((700, _XMP), (33723, _IPTC), (34377, _RESOURCE), (65000, _BYTES)):
        tags.tagtype[tag] = 1
        tags[tag] = body
    return encoded(scene(240, 300), "TIFF", tiffinfo=tags, icc_profile=profile(SRGB, None, SENTINEL))


def webp() -> bytes:
    """Return a WebP with sentinels in EXIF, XMP, ICCP, an unknown chunk and behind the end."""
    options = {"exif": exif_block(), "xmp": _XMP, "icc_profile": profile(SRGB, None, SENTINEL)}
    plain = encoded(scene(240, 300), "WEBP", **options)
    chunk = b"prVt" + struct.pack("<I", len(_BYTES)) + _BYTES + b"\0" * (len(_BYTES) % 2)
    return b"RIFF" + struct.pack("<I", len(plain) - 8 + len(chunk)) + plain[8:] + chunk + _BYTES


def avif() -> bytes:
    """Return an AVIF with sentinels in Exif, XMP and the profile."""
    options = {"exif": exif_block(), "xmp": _XMP, "icc_profile": profile(SRGB, None, SENTINEL)}
    return encoded(scene(240, 300), "AVIF", **options)


MADE = {"JPEG": jpeg, "PNG": png, "TIFF": tiff, "WEBP": webp, "AVIF": avif}


def found(content: bytes) -> int:
    """Count the sentinel as bytes, as UTF-16 of either order, and inside zlib streams."""
    # Without its outer zero byte the text is the same in both orders.
    wide = SENTINEL.encode("utf-16-le")[:-1]
    return sum(part.count(_BYTES) + part.count(wide) for part in (content, *_inflated(content)))


def _inflated(content: bytes) -> list[bytes]:
    """Return what can be inflated at each place that looks like the start of a zlib stream (RFC 1950)."""
    streams = []
    for level in (b"\x78\x01", b"\x78\x5e", b"\x78\x9c", b"\x78\xda"):
        at = content.find(level)
        while at >= 0:
            with suppress(zlib.error):
                streams.append(zlib.decompressobj().decompress(content[at:], 100_000))
            at = content.find(level, at + 1)
    return streams


def _with_thumbnail(block: bytes) -> bytes:
    """Hang a second directory with a thumbnail behind the first one (Exif 2.3, 4.5.4)."""
    tiff_part = bytearray(block[6:])
    order = "<" if tiff_part[:2] == b"II" else ">"
    (first,) = struct.unpack_from(order + "I", tiff_part, 4)
    (count,) = struct.unpack_from(order + "H", tiff_part, first)
    end = first + 2 + 12 * count
    tiff_part += b"\0" * (len(tiff_part) % 2)
    struct.pack_into(order + "I", tiff_part, end, len(tiff_part))
    thumbnail = BytesIO()
    scene(32, 40).save(thumbnail, "JPEG", comment=SENTINEL)
    body, start = thumbnail.getvalue(), len(tiff_part) + 2 + 24 + 4
    entries = ((0x0201, 4, 1, start), (0x0202, 4, 1, len(body)))
    tiff_part += struct.pack(order + "H", 2) + b"".join(
        struct.pack(order + "HHII", *entry) for entry in entries
    )
    return block[:6] + bytes(tiff_part) + struct.pack(order + "I", 0) + body
