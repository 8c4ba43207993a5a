"""The files of closed years: closed/2026.json, written once."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sitegen.disk.pen import put
from sitegen.sources.complaints import StudioFault

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
    try:
        found = json.loads(file.read_text("utf-8"))
    except (OSError, ValueError, RecursionError) as fault:
        raise StudioFault(
            f"{name_of(year)} can't be read; bring it back from a backup, or delete it and close the year "
            "again"
        ) from fault
    return found or {}


def refuse_closed(folder: Path, year: int) -> None:
    """Raise StudioFault for a year that is closed."""
    if (folder / name_of(year)).exists():
        raise StudioFault(
            f"{year} is closed already; {name_of(year)} says how. Delete that file to open the year again"
        )


def write_closed(folder: Path, year: int, kept: Any) -> Path:
    """Write a closed year; one that's there is never written over. Raises StudioFault."""
    file = folder / name_of(year)
    refuse_closed(folder, year)
    file.parent.mkdir(mode=0o700, exist_ok=True)
    put(file, (json.dumps(kept, ensure_ascii=False, indent=1) + "\n").encode(), private=True)
    return file
