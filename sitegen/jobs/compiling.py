"""Compile the site: read everything, make the pictures, write what changed."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from sitegen import pictures, site
from sitegen.jobs import unchanged
from sitegen.jobs.build import Compiled, Progress
from sitegen.jobs.place import find_theme, moment_in
from sitegen.pictures import Fault as PhotoFault
from sitegen.pictures import PictureSet, Wish
from sitegen.sources import StudioFault, read
from sitegen.studio.public import FrontOfHouse, PublicPiece, front_of_house
from sitegen.studio.whole import Studio


def compile_site(folder: Path, today: str | None, progress: Progress | None) -> Compiled:
    """Compile the studio in `folder` into its out/site, and note what was done for `unchanged`."""
    out = folder / "out"
    reading = read(folder, memory=out / ".reading.json")
    studio = reading.sound()
    front = front_of_house(studio, moment_in(studio.settings.time_zone, today))
    theme = find_theme(folder, front.card.theme)
    read_key = unchanged.read_key_of(folder, theme)
    with one_at_a_time(out):
        harvest, sets = _pictures(studio, front, out, progress)
        built = site.build(front, sets, theme, out, icons=_icons(front, out))
        done = Compiled(
            site=out / "site",
            written=built.written,
            removed=built.removed,
            unchanged=built.unchanged,
            pictures_made=harvest.made,
            pictures_reused=harvest.reused,
            warnings=len(reading.warnings),
        )
        unchanged.write(folder, front, theme, read_key, done.as_of_next_time())
    return done


def _pictures(
    studio: Studio, front: FrontOfHouse, out: Path, progress: Progress | None
) -> tuple[pictures.Harvest, dict[tuple[str, str], PictureSet]]:
    """Make every photo ready; raise StudioFault naming each that can't be."""
    wishes = dict(_wishes(studio, front))
    harvest = pictures.make(list(wishes), out / ".pictures", progress=progress)
    if harvest.faults:
        folder = Path(studio.folder)
        raise StudioFault("\n".join(_told(fault, folder) for fault in harvest.faults))
    return harvest, {place: harvest.sets[wish.path] for wish, place in wishes.items()}


def _wishes(studio: Studio, front: FrontOfHouse) -> Iterator[tuple[Wish, tuple[str, str]]]:
    """Yield what to ask the pictures room for, with the key that the site knows the photo by."""
    for piece in front.pieces:
        folder = Path(studio.photo_folders[piece.slug])
        for count, photo in enumerate(piece.photos, start=1):
            wish = Wish(folder / photo.file, f"{_stem(piece)}-{count}", photo.focus, photo.detail)
            yield wish, (piece.slug, photo.file)


def _stem(piece: PublicPiece) -> str:
    return f"{piece.number}-{piece.slug}" if piece.number else piece.slug


def _told(fault: PhotoFault, folder: Path) -> str:
    return f"{fault.path.relative_to(folder).as_posix()}: {fault.message}"


def _icons(front: FrontOfHouse, out: Path) -> list[tuple[str, bytes]]:
    accent = front.card.accent or "#4b2a24"
    return list(
        pictures.icons(None, front.card.studio[:1] or "•", "#fbf8f2", accent, out / ".pictures").files
    )


@contextlib.contextmanager
def one_at_a_time(out: Path) -> Iterator[None]:
    """Hold the out folder for one build. Raises StudioFault while another build holds it.

    The operating system drops the lock when a process dies, so a killed build leaves none behind.
    """
    out.mkdir(parents=True, exist_ok=True)
    with (out / ".lock").open("a+b") as file:
        try:
            _lock(file.fileno())
        except OSError:
            raise StudioFault(f"another build is at work in {out}; wait until it is done") from None
        yield


def _lock(handle: int) -> None:
    if os.name == "nt":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
