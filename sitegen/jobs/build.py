"""Compile the site, unless nothing has changed since it was compiled."""

from __future__ import annotations

from pathlib import Path

from sitegen.jobs.unchanged import Compiled, look
from sitegen.jobs.where import moment_in
from sitegen.studio.asked import Progress


def build(folder: Path, today: str | None = None, progress: Progress | None = None) -> Compiled:
    """Compile the studio in `folder` into its out/site.

    Raises StudioFault with every complaint when the files are at fault; the old site then stands whole.
    """
    known = (folder / "studio.yaml").is_file()
    seen = look(folder, lambda zone: moment_in(zone, today)) if known else None
    if seen is not None and seen.answer is not None:
        return Compiled(folder / "out" / "site", pictures_made=0, **seen.answer)
    from sitegen.jobs.compiling import compile_site  # brings along more than the question above costs

    return compile_site(folder, today, progress, seen.studio_key if seen else None)
