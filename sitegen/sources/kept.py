"""What is written once and stays: closed years in closed/2026.json, numbers given in sent/register.csv."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from sitegen.disk import own_folder, put
from sitegen.sources.text import StudioFault, readable
from sitegen.studio.register import Given
from sitegen.studio.text import as_csv, unguarded

FOLDER = "closed"


def name_of(year: int) -> str:
    """Return a closed year's file as the artist knows it."""
    return f"{FOLDER}/{year}.json"


def closed_years(folder: Path) -> Iterator[int]:
    """Yield the years that are closed."""
    for file in sorted((folder / FOLDER).glob("*.json")):
        if file.stem.isdigit() and file.is_file():
            yield int(file.stem)


def read_closed(folder: Path, year: int) -> Any:
    """Return what was kept of a year, as plain values; None if it isn't closed. Raises StudioFault."""
    file = folder / name_of(year)
    if not file.is_file():
        return None
    cure = "bring it back from a backup, or delete it and close the year again"
    with readable(f"{name_of(year)} can't be read; {cure}"):
        return json.loads(file.read_text("utf-8")) or {}


def refuse_closed(folder: Path, year: int) -> None:
    """Raise StudioFault for a year that is closed."""
    if (folder / name_of(year)).exists():
        opens = "Delete that file to open the year again"
        raise StudioFault(f"{year} is closed already; {name_of(year)} says how. {opens}")


def write_closed(folder: Path, year: int, kept: Any) -> Path:
    """Write a closed year; one that's there is never written over. Raises StudioFault."""
    file = folder / name_of(year)
    refuse_closed(folder, year)
    file.parent.mkdir(mode=0o700, exist_ok=True)
    put(file, (json.dumps(kept, ensure_ascii=False, indent=1) + "\n").encode(), private=True)
    return file


REGISTER = "sent/register.csv"
_HEADER = ("number", "piece", "title")


def read_register(folder: Path) -> tuple[Given, ...]:
    """Return the numbers given so far. Raises StudioFault for a file that can't be read."""
    file = folder / REGISTER
    keeps = "it keeps numbers of pieces that are gone from being given again"
    with readable(f"{REGISTER} can't be read; bring it back from a backup: {keeps}"):
        text = file.read_text("utf-8-sig") if file.is_file() else ""
        rows = csv.DictReader(io.StringIO(text, newline=""))
        return tuple(Given(*(unguarded(row[name]) for name in _HEADER)) for row in rows)


def add_to_register(folder: Path, more: Iterable[Given]) -> None:
    """Note numbers that are given now. Raises StudioFault, PenMissing without the studio's pen."""
    rows = [*read_register(folder), *more]
    made = as_csv([_HEADER, *((row.number, row.piece, row.title) for row in rows)])
    own_folder(folder / "sent")
    # Not taken back with what gave it: a number may stand on paper by then.
    put(folder / REGISTER, made.encode(), kept=False, private=True)
