"""Large invented studios for the benches: many pieces, few different photographs.

The photos of all pieces are hard links to a few files, so that a catalogue of thousands is laid out in a
moment and its first build has only those few to develop. Everything after that costs what it costs with
thousands of different photos: the cache answers by path, date and size.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from tests import makers
from tests.pictures.material import encoded, scene

# Width by height of a photo of 12 megapixels.
CAMERA = (3000, 4000)
PHOTOS = 4
_STATUSES = ("sold", "sold", "available", "sold", "commissioned", "sold", "not for sale", "sold")


def album(folder: Path, size: tuple[int, int] = CAMERA, count: int = PHOTOS) -> list[Path]:
    """Write a few photos that differ in a byte behind the picture, so that each is developed."""
    folder.mkdir(parents=True, exist_ok=True)
    taken = encoded(scene(*size), "JPEG", quality=92)
    paths = [folder / f"{number}.jpg" for number in range(count)]
    for number, path in enumerate(paths):
        path.write_bytes(taken + number.to_bytes(4))
        os.utime(path, (1_700_000_000, 1_700_000_000))
    return paths


def studio(folder: Path, pieces: int, photos: Sequence[Path]) -> Path:
    """Write a studio of so many pieces, finished over forty years, each with all the photos."""
    makers.studio(folder, {})
    for number in range(pieces):
        add(folder, number, photos)
    return folder


def add(folder: Path, number: int, photos: Sequence[Path], title: str = "") -> Path:
    """Write one more piece; its photos are links to `photos`. Return its file."""
    year, month, day = 1986 + number % 40, number % 12 + 1, number % 28 + 1
    listed = "".join(
        f"\n  - {{file: {at}.jpg, alt: 'Piece {number} seen from side {at}, \"awake\".'}}"
        for at in range(len(photos))
    )
    home = folder / "pieces" / f"figure-{number}"
    home.mkdir(parents=True)
    for at, photo in enumerate(photos):
        os.link(photo, home / f"{at}.jpg")
    return makers.write(
        home / "piece.yaml",
        makers.piece_yaml(
            title or f"Figure {number}",
            _STATUSES[number % len(_STATUSES)],
            number=f"{year}-{number // 40 + 1:02}",
            finished=f"{year}-{month:02}-{day:02}",
            series="Night Ferry" if number % 20 == 0 else "",
            story=f"|\n  She never pays the fare, number {number}.\n\n  Her *coat* is older than the boat.",
            photos=listed,
        ),
    )
