"""Have the studio's photos made ready, for whoever shows them."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from sitegen import pictures
from sitegen.jobs.build import Progress
from sitegen.pictures import Fault as PhotoFault
from sitegen.pictures import Sets, Wish
from sitegen.sources import StudioFault
from sitegen.studio.picture import Album, PhotoKey, PictureSet, Shape
from sitegen.studio.public import FrontOfHouse, PublicPiece
from sitegen.studio.whole import Studio


class StudioAlbum(Album):
    """The pictures room's sets, found as the other rooms know a photo."""

    def __init__(self, sets: Sets, paths: Mapping[PhotoKey, Path]) -> None:
        """Hold the sets, and where each photo lies."""
        self._sets, self._paths = sets, paths

    def mark(self, key: PhotoKey) -> str:
        """Return a text that is another one whenever a picture of the set or its name is."""
        return self._sets.mark(self._paths[key])

    def shape(self, key: PhotoKey) -> Shape:
        """Return the shape of a photo."""
        return self._sets.shape(self._paths[key])

    def __contains__(self, key: object) -> bool:
        return key in self._paths

    def __getitem__(self, key: PhotoKey) -> PictureSet:
        return self._sets[self._paths[key]]

    def __iter__(self) -> Iterator[PhotoKey]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)


def picture_sets(studio: Studio, front: FrontOfHouse, out: Path) -> Album:
    """Return the web pictures of every photo, making what is missing."""
    return harvested(studio, front, out, None)[1]


def harvested(
    studio: Studio, front: FrontOfHouse, out: Path, progress: Progress | None
) -> tuple[pictures.Harvest, Album]:
    """Make every photo ready; raise StudioFault naming each that can't be."""
    wishes = dict(_wishes(studio, front))
    harvest = pictures.make(wishes.values(), out / ".pictures", progress=progress)
    if harvest.faults:
        folder = Path(studio.folder)
        raise StudioFault("\n".join(_told(fault, folder) for fault in harvest.faults))
    return harvest, StudioAlbum(harvest.sets, {key: wish.path for key, wish in wishes.items()})


def _wishes(studio: Studio, front: FrontOfHouse) -> Iterator[tuple[PhotoKey, Wish]]:
    """Yield what to ask the pictures room for, with the key that the other rooms know the photo by."""
    for piece in front.pieces:
        folder = os.fspath(studio.photo_folders[piece.slug])
        for count, photo in enumerate(piece.photos, start=1):
            path = Path(f"{folder}{os.sep}{photo.file}")
            yield (piece.slug, photo.file), Wish(path, f"{_stem(piece)}-{count}", photo.focus, photo.detail)


def _stem(piece: PublicPiece) -> str:
    return f"{piece.number}-{piece.slug}" if piece.number else piece.slug


def _told(fault: PhotoFault, folder: Path) -> str:
    return f"{fault.path.relative_to(folder).as_posix()}: {fault.message}"
