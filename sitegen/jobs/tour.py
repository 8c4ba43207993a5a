"""The three daily jobs in one go, for someone who has just put the demo in a folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sitegen.jobs import letters, papers
from sitegen.jobs.build import build
from sitegen.jobs.unchanged import Progress


@dataclass(frozen=True)
class Tour:
    """Where the results lie."""

    site: Path
    letter: Path
    recipients: int
    sheet: Path


def three_jobs(folder: Path, today: str | None, progress: Progress | None = None) -> Tour:
    """Build the site, write the letter for the next round, print the sheet for the next show."""
    compiled = build(folder, today, progress)
    with letters.at_desk(folder, today) as desk:
        (letter,) = letters.commissions(desk, None, letters.Own())
    sheet = papers.sheet(folder, papers.SheetWish(), today).file
    return Tour(compiled.site, letter.folder, len(letter.choice.chosen), sheet)
