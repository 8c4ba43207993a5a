"""Compile the site, unless nothing has changed since it was compiled."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitegen.jobs import unchanged
from sitegen.jobs.where import moment_in

Progress = Callable[[int, int], None]
"""Called with how many pictures are done, and of how many."""


@dataclass(frozen=True)
class Compiled:
    """What a build did."""

    site: Path
    written: tuple[str, ...]
    """Paths below out/site."""
    removed: tuple[str, ...]
    unchanged: int
    """Files that stayed as they were."""
    pictures_made: int
    """Photos."""
    pictures_reused: int
    warnings: int
    """Complaints that only speak."""

    @property
    def gone(self) -> tuple[str, ...]:
        """Names of pieces whose pages were taken away: a printed code that leads there leads nowhere now."""
        found = (re.fullmatch(r"pieces/([^/]+)/index\.html", path) for path in self.removed)
        return tuple(one[1] for one in found if one)

    def as_of_next_time(self) -> dict[str, Any]:
        """Return what a build would report that finds all this done."""
        return {
            "unchanged": self.unchanged + len(self.written),
            "pictures_reused": self.pictures_made + self.pictures_reused,
            "warnings": self.warnings,
        }


def build(folder: Path, today: str | None = None, progress: Progress | None = None) -> Compiled:
    """Compile the studio in `folder` into its out/site.

    Raises StudioFault with every complaint when the files are at fault; the old site then stands whole.
    """
    seen = None
    if (folder / "studio.yaml").is_file():
        seen = unchanged.look(folder, lambda zone: moment_in(zone, today))
    if seen is not None and seen.answer is not None:
        return Compiled(site=folder / "out" / "site", written=(), removed=(), pictures_made=0, **seen.answer)
    from sitegen.jobs.compiling import (
        compile_site,
    )  # what it brings along takes longer than the question above

    return compile_site(folder, today, progress, seen.studio_key if seen else None)
