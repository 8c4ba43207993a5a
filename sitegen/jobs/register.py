"""The register of studio numbers: told, and kept up with every number that is given."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from sitegen.jobs.pen import pen
from sitegen.jobs.reading import PIECES, sit
from sitegen.jobs.where import is_ours
from sitegen.sources.kept import add_to_register, read_register
from sitegen.studio.fault import Fault
from sitegen.studio.register import Register, unnoted
from sitegen.studio.register import register as register_of
from sitegen.studio.whole import Studio


def register(folder: Path, today: str | None) -> Register:
    """Say which piece has which studio number, also of pieces that are gone, and where each is."""
    sitting = sit(folder, today, PIECES)
    return register_of(sitting.studio, read_register(folder), sitting.today)


def note_numbers(folder: Path, studio: Studio) -> None:
    """Note the numbers that the register doesn't know yet; the program's own studios have none."""
    # What can't be noted now is noted by whatever comes next; no build and no card waits for it.
    with suppress(Fault, OSError):
        if not is_ours(folder) and unnoted(studio, read_register(folder)):
            with pen(folder):
                add_to_register(folder, unnoted(studio, read_register(folder)))
