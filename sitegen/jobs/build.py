"""Compile the site, unless nothing has changed since it was compiled."""

from __future__ import annotations

from pathlib import Path

from sitegen.jobs import unchanged
from sitegen.jobs.unchanged import Compiled, Progress
from sitegen.jobs.where import moment_in


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
