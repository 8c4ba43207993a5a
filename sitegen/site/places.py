"""The folders of a swap, and the swap itself: one site leaves, the next one stands, nothing between.

Most of a site is pictures, which never change under their names, and pages of pieces, few of which change at
a time. Neither is staged again: their two folders move from the old site to the new one. New pictures are
put beside the old before, pictures that nobody shows any more go after, and the changed pages of pieces take
their places while neither site is there. A run killed between the renames is finished by the next one.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

PICTURES = "pictures"
PIECES = "pieces"
# Below the folder of changed pages: the names of pieces that are no more.
_GONE = "gone"


@dataclass(frozen=True)
class Places:
    """Where everything lies."""

    out: Path

    @property
    def site(self) -> Path:
        """The site that visitors get."""
        return self.out / "site"

    @property
    def new(self) -> Path:
        """Where the next site is put together; all of it, but for what moves, before the old one leaves."""
        return self.out / ".site-new"

    @property
    def changed(self) -> Path:
        """The changed pages of pieces, if the folder of all of them is to move."""
        return self.out / ".site-changed"

    @property
    def old(self) -> Path:
        """The last site, on its way out. Its presence says that `new` and `changed` were complete."""
        return self.out / ".site-old"

    @property
    def part(self) -> Path:
        """A picture on its way to its shelf."""
        return self.out / ".site-part"

    @property
    def manifest(self) -> Path:
        """What lies in `site`, so that the next run needn't read it all."""
        return self.out / ".site-manifest.json"


def recover(places: Places) -> None:
    """Finish or undo what a killed run left behind."""
    if places.old.exists() and not places.site.exists():
        # Killed in the middle of the swap: what was staged is complete, so go forward.
        if places.new.exists():
            _forward(places)
        else:
            places.old.rename(places.site)
    for leftover in (places.new, places.changed, places.old):
        if leftover.exists():
            shutil.rmtree(leftover)
    places.part.unlink(missing_ok=True)


def note_gone(places: Places, folders: list[str]) -> None:
    """Say which pieces' folders are to go when all of them move; the last thing that is staged."""
    places.changed.mkdir(exist_ok=True)
    (places.changed / _GONE).write_text("\n".join(folders), "utf-8")


def swap(places: Places) -> None:
    """Put the staged site in the place of the old one."""
    if places.site.exists():
        places.site.rename(places.old)
    _forward(places)
    if places.old.exists():
        shutil.rmtree(places.old)


def _forward(places: Places) -> None:
    """Take the steps that are left; each may have been taken before."""
    if places.changed.exists():
        _move(places, PIECES)
        _change_pages(places)
    _move(places, PICTURES)
    places.new.rename(places.site)
    if places.changed.exists():
        shutil.rmtree(places.changed)


def _move(places: Places, folder: str) -> None:
    if (places.old / folder).exists():
        (places.old / folder).rename(places.new / folder)


def _change_pages(places: Places) -> None:
    for page in sorted(places.changed.glob("*/*")):
        target = places.new / PIECES / page.relative_to(places.changed)
        target.parent.mkdir(parents=True, exist_ok=True)
        page.replace(target)
    for name in (places.changed / _GONE).read_text("utf-8").split("\n"):
        if name and (places.new / PIECES / name).exists():
            shutil.rmtree(places.new / PIECES / name)
