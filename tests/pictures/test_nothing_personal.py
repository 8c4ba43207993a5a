"""Nothing personal survives: what a photo says about its maker stays with the maker."""

import struct
from pathlib import Path

import pytest

from tests.pictures import metadata
from tests.pictures.material import content, one_set, renditions

# How often each photo names the sentinel, so that a sentinel that was never written can't pass for one removed.
PLANTED = {"JPEG": 34, "PNG": 32, "TIFF": 15, "WEBP": 29, "AVIF": 27}


@pytest.mark.parametrize("name", metadata.MADE)
def test_no_sentinel_reaches_the_output(name: str, tmp_path: Path) -> None:
    """Exif, GPS, MakerNote, thumbnail, XMP, IPTC, comments and text chunks are in no picture and nowhere in the cache."""
    source = metadata.MADE[name]()
    path = tmp_path / "photo"
    path.write_bytes(source)
    cache = tmp_path / "cache"

    one_set(path, cache, detail=True)

    assert metadata.found(source) == PLANTED[name]
    files = [file for file in cache.rglob("*") if file.is_file()]
    assert len(files) == 2
    assert [file.name for file in files if metadata.found(file.read_bytes())] == []


def test_a_jpeg_holds_only_what_decoding_needs(tmp_path: Path) -> None:
    """Segments are those of T.81 and the JFIF head; no other APPn, no COM, nothing behind the end."""
    path = tmp_path / "photo.jpg"
    path.write_bytes(metadata.jpeg())

    for rendition in renditions(one_set(path, tmp_path / "cache")):
        if rendition.mime == "image/jpeg":
            # DQT, SOF2, DHT, SOS, APP0.
            assert set(_segments(content(rendition))) <= {0xDB, 0xC2, 0xC4, 0xDA, 0xE0}
            assert content(rendition).endswith(b"\xff\xd9")


def test_an_avif_holds_only_what_decoding_needs(tmp_path: Path) -> None:
    """Items are the coded picture alone, without Exif or XMP item and without an ICC profile (ISO/IEC 23008-12)."""
    path = tmp_path / "photo.jpg"
    path.write_bytes(metadata.jpeg())

    for rendition in renditions(one_set(path, tmp_path / "cache")):
        encoded = content(rendition)
        if rendition.mime == "image/avif":
            assert encoded.count(b"infe") == 1
            assert encoded.count(b"av01") >= 1
            assert b"colrnclx" in encoded
            assert not any(word in encoded for word in (b"Exif", b"mime", b"colrprof", b"colrrICC"))


def _segments(jpeg: bytes) -> list[int]:
    """Return the markers of a JPEG's segments, entropy-coded data skipped (T.81, annex B)."""
    found, at = [], 2
    while jpeg[at + 1] != 0xD9:
        assert jpeg[at] == 0xFF
        found.append(jpeg[at + 1])
        at += 2 + int(struct.unpack_from(">H", jpeg, at + 2)[0])
        while jpeg[at] != 0xFF or jpeg[at + 1] == 0 or 0xD0 <= jpeg[at + 1] <= 0xD7:
            at += 1
    return found
