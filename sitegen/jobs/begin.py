"""Put a studio into a new folder: the starter to fill in, or the demo to play with."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from sitegen.carried import carried
from sitegen.disk.files import OWN_FILE
from sitegen.jobs.new_studio import new_studio
from sitegen.jobs.surroundings import IGNORE_FILE, IGNORED
from sitegen.jobs.unchanged import Progress
from sitegen.studio.wish import ask, wish

# What lies in demo/ for its makers and not for its visitors, and what a build leaves behind.
_NOT_COPIED = shutil.ignore_patterns("out", "sent", "__pycache__", ".*")


@wish
class NewStudio:
    """Where a studio is to be put."""

    folder: Path = ask(word=True, like="DIR", folder=True)


@dataclass(frozen=True)
class Tour:
    """Where the results of the three daily jobs lie."""

    site: Path
    letter: Path
    recipients: int
    sheet: Path


def begin(wish: NewStudio) -> Path:
    """Put the starter into a new or empty folder; return it. Raises StudioFault if anything lies there."""
    return put("content", wish.folder)


def demo(wish: NewStudio, today: str | None, progress: Progress | None = None) -> Tour:
    """Put the invented studio into a new or empty folder, and do the three daily jobs in it.

    Builds the site, writes the letter for the next round, prints the sheet for the next show.
    """
    from sitegen.jobs import letters, papers
    from sitegen.jobs.build import build

    folder = put("demo", wish.folder)
    compiled = build(folder, today, progress)
    (letter,) = letters.commissions(folder, letters.AnnounceCommissions(), today).letters
    sheet = papers.sheet(folder, papers.SheetWish(), today)
    return Tour(compiled.site, letter.folder, len(letter.choice.chosen), sheet.file)


def put(name: str, folder: Path) -> Path:
    """Copy the carried studio `name` ("content" or "demo") into `folder`, which must be new or empty."""
    with new_studio(folder) as making:
        shutil.copytree(carried(name), making, ignore=_NOT_COPIED, dirs_exist_ok=True)
        (making / IGNORE_FILE).write_text(IGNORED, "utf-8")
        for other_people in ("people.csv", "commissions.yaml"):
            (making / other_people).chmod(OWN_FILE)
    return folder
