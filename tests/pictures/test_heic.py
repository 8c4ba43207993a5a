"""HEIC, as phones store photos: the same picture comes out, upright, in its colours, without a word about its maker.

Files are written by pillow-heif (libheif with x265), which is another library than the decoder the program carries.
"""

from __future__ import annotations

import functools
import io
import struct
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from sitegen.jobs import photos
from sitegen.pictures import examine, look
from tests.pictures import metadata
from tests.pictures.material import content, harvest, one_set, renditions, scene

GPS = 0x8825


@functools.cache
def photo() -> bytes:
    """Return a photo that tells its place; x265 takes its time."""
    return heic(scene(300, 400))


def heic(image: Image.Image, *, turn: int = 1, depth: int = 8, place: bool = True) -> bytes:
    """Store a picture as a phone does, with its place and how it was held."""
    exif = Image.Exif()
    exif[0x0112] = turn
    exif[0x010F] = metadata.SENTINEL
    if place:
        exif.get_ifd(GPS).update({1: "N", 2: (53.0, 20.0, 30.0), 3: "W", 4: (6.0, 15.0, 0.0)})
    made = io.BytesIO()
    if depth == 8:
        pillow_heif.from_pillow(image).save(made, quality=95, exif=exif.tobytes(), chroma=444)
    else:
        pixels = np.asarray(image).astype("<u2") << (16 - 8)
        file = pillow_heif.from_bytes("RGB;16", image.size, pixels.tobytes())
        file.save(made, quality=95, exif=exif.tobytes(), chroma=444)
    return made.getvalue()


def shown(path: Path, cache: Path) -> Image.Image:
    """Return the largest JPEG that the site would show."""
    made = [rendition for rendition in renditions(one_set(path, cache)) if rendition.mime == "image/jpeg"]
    return Image.open(io.BytesIO(content(max(made, key=lambda rendition: rendition.width))))


def difference(image: Image.Image, other: Image.Image) -> float:
    """Return the mean difference of two pictures, a channel, of 255."""
    small = image.convert("RGB").resize(other.size)
    return float(np.abs(np.asarray(small, float) - np.asarray(other.convert("RGB"), float)).mean())


@pytest.mark.parametrize("name", ["IMG_0001.HEIC", "IMG_0001.heif", "IMG_0001.jpg"])
def test_the_picture_comes_out_whatever_it_is_called(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(photo())

    assert look(path) is None
    assert examine(path) is None
    assert difference(shown(path, tmp_path / "cache"), scene(300, 400)) < 4


def test_ten_bits_come_out_as_eight(tmp_path: Path) -> None:
    path = tmp_path / "a.heic"
    path.write_bytes(heic(scene(300, 400), depth=10))

    assert difference(shown(path, tmp_path / "cache"), scene(300, 400)) < 4


@pytest.mark.parametrize("turn", [6, *(pytest.param(turn, marks=pytest.mark.long) for turn in (3, 8))])
def test_it_is_turned_once(tmp_path: Path, turn: int) -> None:
    """What was held turned lies turned in the file; ISO/IEC 23008-12 turns it by the box `irot`, Exif only tells."""
    path = tmp_path / "a.heic"
    path.write_bytes(heic(scene(300, 400), turn=turn))
    turns = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_270, 8: Image.Transpose.ROTATE_90}

    assert difference(shown(path, tmp_path / "cache"), scene(300, 400).transpose(turns[turn])) < 4
    small = Image.open(io.BytesIO(photos.small(path, 400)))
    assert difference(small, scene(300, 400).transpose(turns[turn])) < 8


def test_nothing_personal_survives(tmp_path: Path) -> None:
    path, cache = tmp_path / "a.heic", tmp_path / "cache"
    stored = photo()
    path.write_bytes(stored)
    one_set(path, cache, detail=True)

    assert metadata.found(stored)
    assert not [file for file in cache.rglob("*") if file.is_file() and metadata.found(file.read_bytes())]
    assert not metadata.found(photos.small(path, 400))


@pytest.mark.parametrize("share", [0.02, 0.5, 0.999])
def test_a_cut_file_is_a_fault_and_leaves_no_half_picture(tmp_path: Path, share: float) -> None:
    path = tmp_path / "a.heic"
    stored = photo()
    path.write_bytes(stored[: int(len(stored) * share)])

    gathered = harvest(path, tmp_path / "cache")

    (fault,) = gathered.faults
    assert fault.message.startswith("the photo is damaged or cut short")
    assert list((tmp_path / "cache").rglob("*.pack")) == []


@pytest.mark.parametrize("brands", [(b"heic", b"mif1"), (b"mif1", b"heic"), (b"msf1", b"hevc")])
def test_a_head_alone_is_no_photo(tmp_path: Path, brands: tuple[bytes, ...]) -> None:
    body = brands[0] + bytes(4) + b"".join(brands)
    path = tmp_path / "a.heic"
    path.write_bytes(struct.pack(">I", len(body) + 8) + b"ftyp" + body + bytes(64))

    fault = look(path)

    assert fault is not None
    assert "damaged or cut short" in fault.message


def test_one_larger_than_the_limit_is_refused_undecoded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The limit is lowered: to write a file of more than 100 megapixels takes half a minute."""
    monkeypatch.setattr("sitegen.pictures.opening.MOST_MEGAPIXELS", 1)
    path = tmp_path / "a.heic"
    path.write_bytes(heic(Image.new("RGB", (1400, 1000), "teal")))

    fault = look(path)

    assert fault is not None
    assert "1400" in fault.message or "1.4" in fault.message or "1 mega" in fault.message
