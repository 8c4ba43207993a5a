"""sent/register.csv: the studio numbers that were given, a line each; lines come, none goes."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path

from sitegen.disk import own_folder, put
from sitegen.sources.complaints import StudioFault
from sitegen.studio.register import Given
from sitegen.studio.text import as_csv, unguarded

NAME = "sent/register.csv"
_HEADER = ("number", "piece", "title")


def read_register(folder: Path) -> tuple[Given, ...]:
    """Return the numbers given so far. Raises StudioFault for a file that can't be read."""
    file = folder / NAME
    try:
        rows = (
            list(csv.DictReader(io.StringIO(file.read_text("utf-8-sig"), newline="")))
            if file.is_file()
            else []
        )
        return tuple(Given(*(unguarded(row[name]) for name in _HEADER)) for row in rows)
    except (OSError, ValueError, KeyError, TypeError, csv.Error) as fault:
        raise StudioFault(
            f"{NAME} can't be read; bring it back from a backup: it keeps numbers of pieces that are gone "
            "from being given again"
        ) from fault


def add_to_register(folder: Path, more: Iterable[Given]) -> None:
    """Note numbers that are given now. Raises StudioFault, PenMissing without the studio's pen."""
    rows = [*read_register(folder), *more]
    made = as_csv([_HEADER, *((row.number, row.piece, row.title) for row in rows)])
    own_folder(folder / "sent")
    # Not taken back with what gave it: a number may stand on paper by then.
    put(folder / NAME, made.encode(), kept=False, private=True)
