"""Read a studio for one job, as far as its answer needs it."""

from __future__ import annotations

from pathlib import Path

from sitegen.desk.find import Sitting
from sitegen.jobs.where import moment_in
from sitegen.sources import read
from sitegen.sources.folder import EVERYTHING

# What the answers rest on beside studio.yaml.
PIECES = frozenset({"pieces"})
ORDERS = PIECES | {"commissions"}
BOOKS = ORDERS | {"shows"}
PEOPLE = frozenset({"people"})


def sit(folder: Path, today: str | None, only: frozenset[str] = EVERYTHING) -> Sitting:
    """Read what an answer needs, with what a build remembers of the pieces, and look at the clock.

    `today` is the day or the moment to pretend. Raises StudioFault with every error found there.
    """
    out = folder / "out"
    studio = read(folder, memory=out / ".reading.json" if out.is_dir() else None, only=only).sound()
    to_the_minute = today is None or ":" in today
    return Sitting(studio, moment_in(studio.settings.time_zone, today), to_the_minute)
