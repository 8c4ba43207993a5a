"""What can't be used is told in the artist's words, with the cure, and never as a traceback."""

import struct
from pathlib import Path
from zlib import crc32

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sitegen.pictures import PhotoFault, look
from tests.pictures import metadata
from tests.pictures.material import encoded, harvest, photo, scene

NOT_A_PHOTO = (
    "this isn't a photo that can be read; use JPEG, HEIC, PNG, TIFF or WebP (renaming a file doesn't convert"
    " it: open it and export it as JPEG)"
)
EMPTY = "the file is empty; copy the photo again from the camera or phone"


def _file_type(*brands: bytes) -> bytes:
    """Return a file type box (ISO/IEC 14496-12, 4.3): major brand, version, compatible brands."""
    body = brands[0] + b"\0\0\0\0" + b"".join(brands)
    return struct.pack(">I", len(body) + 8) + b"ftyp" + body + b"\0" * 64


UNREADABLE = {
    "zero bytes": (b"", EMPTY),
    "words under a photo's name": (b"Dear diary, today the moth clerk got her wings.\n", NOT_A_PHOTO),
    "a page description, which would start a program": (b"%!PS-Adobe-3.0 EPSF-3.0\n", NOT_A_PHOTO),
    "a film": (_file_type(b"isom", b"mp42"), NOT_A_PHOTO),
}


@pytest.mark.parametrize(("stored", "message"), UNREADABLE.values(), ids=UNREADABLE)
def test_unreadable_files_are_named_with_a_cure(stored: bytes, message: str, tmp_path: Path) -> None:
    """The quick look and the build say the same."""
    path = tmp_path / "IMG_0007.jpg"
    path.write_bytes(stored)

    assert look(path) == PhotoFault(path, message)
    assert harvest(path, tmp_path / "cache").faults == (PhotoFault(path, message),)


def test_missing_photo_and_folder_are_told(tmp_path: Path) -> None:
    """A misspelt name is the most likely fault of all."""
    missing, folder = tmp_path / "moht.jpg", tmp_path
    expected = "there is no photo of this name; check the spelling, capitals included"

    assert look(missing) == PhotoFault(missing, expected)
    assert harvest(missing, tmp_path / "cache").faults == (PhotoFault(missing, expected),)
    assert look(folder) == PhotoFault(folder, "this is a folder, not a photo")


@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_truncated_photo_is_a_fault_and_leaves_no_half_picture(name: str, tmp_path: Path) -> None:
    """Half a photo isn't shown as half a grey square."""
    stored = encoded(scene(300, 400), name)
    path = tmp_path / "half"
    path.write_bytes(stored[: len(stored) * 2 // 3])

    gathered = harvest(path, tmp_path / "cache")

    (fault,) = gathered.faults
    assert fault.message.startswith("the photo is damaged or cut short (its reader says ")
    assert fault.message.endswith("); copy it again from the camera or phone")
    assert list((tmp_path / "cache").rglob("*.pack")) == []
    assert (len(gathered.sets), gathered.made, gathered.reused) == (0, 0, 0)


def test_truncated_jpeg_has_this_very_message(tmp_path: Path) -> None:
    """Read it aloud."""
    stored = encoded(scene(300, 400), "JPEG")
    path = tmp_path / "half.jpg"
    path.write_bytes(stored[:-2000])

    (fault,) = harvest(path, tmp_path / "cache").faults

    assert fault.message == (
        'the photo is damaged or cut short (its reader says "image file is truncated (13 bytes not processed)");'
        " copy it again from the camera or phone"
    )


BOMB = (
    "the photo is 30000 × 30000 pixels, 900 megapixels; more than 100 are refused because they could fill the"
    " computer's memory; save a smaller copy (4000 pixels on the long side are plenty)"
)


def test_bomb_is_refused_by_its_header(tmp_path: Path) -> None:
    """900 megapixels are declared and none is there: a decoder that began would say "cut short"."""
    path = tmp_path / "bomb.png"
    path.write_bytes(_png_head(30000, 30000))

    assert look(path) == PhotoFault(path, BOMB)
    assert harvest(path, tmp_path / "cache").faults == (PhotoFault(path, BOMB),)


def test_limit_counts_pixels(tmp_path: Path) -> None:
    """A photo at the limit passes its look; one pixel row more doesn't."""
    at, beyond = tmp_path / "at.png", tmp_path / "beyond.png"
    at.write_bytes(_png_head(10_000, 10_000))
    beyond.write_bytes(_png_head(10_000, 10_001))

    assert look(at) is None
    assert look(beyond) is not None


def test_warnings_about_odd_files_stay_inside(tmp_path: Path, recwarn: pytest.WarningsRecorder) -> None:
    """A photo whose Exif block is garbled is still a photo; the suite turns a warning into an error."""
    path = photo(tmp_path / "a.jpg", scene(100, 100), exif=b"Exif\0\0II*\0\xff\xff\xff\xff")

    assert harvest(path, tmp_path / "cache").made == 1
    assert recwarn.list == []


SOUND = {name: made() for name, made in metadata.MADE.items()}


@settings(max_examples=80)
@given(
    st.sampled_from(sorted(SOUND)),
    st.integers(0, 100_000),
    st.one_of(st.just(None), st.binary(min_size=1, max_size=12)),
)
@example("PNG", 8, b"\xff\xff\xff\xff")
@example("TIFF", 4, b"\xff\xff\xff\x7f")
def test_no_damage_raises(
    tmp_path_factory: pytest.TempPathFactory, name: str, at: int, put: bytes | None
) -> None:
    """Cut a photo anywhere, or overwrite some bytes anywhere: pictures or a fault, nothing else."""
    stored = SOUND[name]
    at %= len(stored)
    folder = tmp_path_factory.mktemp("damage")
    path = folder / "photo"
    path.write_bytes(stored[:at] if put is None else stored[:at] + put + stored[at + len(put) :])

    look(path)
    gathered = harvest(path, folder / "cache")

    assert len(gathered.sets) + len(gathered.faults) == 1


def _png_head(width: int, height: int) -> bytes:
    body = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    head = struct.pack(">I", 13) + body + struct.pack(">I", crc32(body))
    data = b"IDAT" + b"\x78\x9c\x03\x00\x00\x00\x00\x01"
    return b"\x89PNG\r\n\x1a\n" + head + struct.pack(">I", 8) + data + struct.pack(">I", crc32(data))
