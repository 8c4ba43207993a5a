"""What leaves the house is seen to first: photos are made ready, and the numbers of pieces are noted."""

from __future__ import annotations

import os
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

from sitegen import pictures
from sitegen.jobs.where import is_ours, pen
from sitegen.pictures import Wish
from sitegen.sources.kept import add_to_register, read_register
from sitegen.studio.asked import Fault, Progress
from sitegen.studio.picture import PhotoKey, PictureSet
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.register import unnoted
from sitegen.studio.whole import Studio

Sets = dict[PhotoKey, PictureSet]


def picture_sets(studio: Studio, front: FrontOfHouse, out: Path, only: str = "") -> Sets:
    """Return the web pictures of every photo, or of `only` one piece, making what is missing."""
    return harvested(studio, front, out, None, only)[1]


def harvested(
    studio: Studio, front: FrontOfHouse, out: Path, progress: Progress | None, only: str = ""
) -> tuple[pictures.Harvest, Sets]:
    """Make every photo ready; raise Fault naming each that can't be."""
    wishes: dict[PhotoKey, Wish] = {}
    for piece in (piece for piece in front.pieces if only in ("", piece.slug)):
        folder = os.fspath(studio.photo_folders[piece.slug])
        stem = f"{piece.number}-{piece.slug}" if piece.number else piece.slug
        for count, photo in enumerate(piece.photos, start=1):
            path = f"{folder}{os.sep}{photo.file}"
            wishes[piece.slug, photo.file] = Wish(path, f"{stem}-{count}", photo.focus, photo.detail)
    harvest = pictures.make(wishes.values(), out / ".pictures", progress=progress)
    if harvest.faults:
        told = ((fault.path.relative_to(studio.folder), fault.message) for fault in harvest.faults)
        raise Fault("\n".join(f"{path.as_posix()}: {message}" for path, message in told))
    return harvest, {key: harvest.sets[wish.path] for key, wish in wishes.items()}


def note_numbers(folder: Path, studio: Studio) -> None:
    """Note the numbers that the register doesn't know yet; the program's own studios have none."""
    # What can't be noted now is noted by whatever comes next; no build and no card waits for it.
    with suppress(Fault, OSError):
        if not is_ours(folder) and unnoted(studio, read_register(folder)):
            with pen(folder):
                add_to_register(folder, unnoted(studio, read_register(folder)))


# Small pictures that are kept in memory: about 20 MB of them.
_MANY = 1500


def small(photo: Path, side: int) -> bytes:
    """Return a small picture of a photo for the desk. Raises Fault."""
    try:
        seen = photo.stat()
        return _small(photo, side, seen.st_mtime_ns, seen.st_size)
    except (OSError, pictures.UnreadablePhoto) as fault:
        raise Fault(f"{photo.name}: {fault}") from fault


@lru_cache(_MANY)
def _small(photo: Path, side: int, _changed: int, _size: int) -> bytes:
    from sitegen.pictures.developing import small as made

    return made(photo, side)
