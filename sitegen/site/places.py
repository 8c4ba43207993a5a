"""The folders of a swap, and the swap itself: one site leaves, the next one stands, nothing between.

The pictures are most of a site and never change under their names, so they aren't staged again: new ones are
put beside the old, their folder moves from the old site to the new one, and those that nobody shows any more
go last. A run killed between the renames is finished by the next one.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

PICTURES = "pictures"


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
        """Where the next site is put together; complete, but for the pictures, before the old one moves."""
        return self.out / ".site-new"

    @property
    def old(self) -> Path:
        """The last site, on its way out. Its presence says that `new` was complete."""
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
        # Killed in the middle of the swap: the staged site was complete, so go forward.
        if places.new.exists():
            _forward(places)
        else:
            places.old.rename(places.site)
    for leftover in (places.new, places.old):
        if leftover.exists():
            shutil.rmtree(leftover)
    places.part.unlink(missing_ok=True)


def swap(places: Places) -> None:
    """Put the staged site in the place of the old one."""
    if places.site.exists():
        places.site.rename(places.old)
    _forward(places)
    if places.old.exists():
        shutil.rmtree(places.old)


def _forward(places: Places) -> None:
    if (places.old / PICTURES).exists():
        (places.old / PICTURES).rename(places.new / PICTURES)
    places.new.rename(places.site)
