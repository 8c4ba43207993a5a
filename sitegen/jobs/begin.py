"""Put a studio into a new folder: the starter to fill in, or the demo to play with."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sitegen.carried import carried
from sitegen.disk import own_folder
from sitegen.disk.files import OWN_FILE
from sitegen.jobs.starters import put_starters
from sitegen.jobs.unchanged import Progress
from sitegen.sources import StudioFault
from sitegen.studio.wish import ask, wish

IGNORED = """\
# What is about other people, and what is made anew: it doesn't travel with the rest.
people.csv
commissions.yaml
sent/
closed/
.kept/
out/
"""
IGNORE_FILE = ".gitignore"
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
    (letter,) = letters.commissions(folder, letters.AnnounceCommissions(), today).facts["letters"]
    sheet = papers.sheet(folder, papers.SheetWish(), today)
    return Tour(compiled.site, Path(letter["folder"]), letter["to"], *sheet.opens)


def put(name: str, folder: Path) -> Path:
    """Copy the carried studio `name` ("content" or "demo") into `folder`, which must be new or empty."""
    with new_studio(folder) as making:
        shutil.copytree(carried(name), making, ignore=_NOT_COPIED, dirs_exist_ok=True)
        (making / IGNORE_FILE).write_text(IGNORED, "utf-8")
        for other_people in ("people.csv", "commissions.yaml"):
            (making / other_people).chmod(OWN_FILE)
        put_starters(making)
    return folder


_MAKING, _WHOLE = ".making-studio", ".whole-studio"
_LAST = "studio.yaml"


@contextlib.contextmanager
def new_studio(folder: Path) -> Iterator[Path]:
    """Give a hidden folder to fill; what is in it when all went well becomes the studio `folder`.

    Raises StudioFault unless `folder` is new or empty: nothing of the artist's is ever overwritten.
    """
    made, making = not folder.exists(), folder / _MAKING
    if (folder / _WHOLE).is_dir():
        _move_up(folder)
        raise StudioFault(
            f"{folder}: an earlier run was stopped just before its end; that's made up for, and all is there"
        )
    shutil.rmtree(making, ignore_errors=True)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StudioFault(
            f"{folder} is not empty; name a new folder, so that nothing of yours is written over"
        )
    folder.mkdir(mode=0o755, parents=True, exist_ok=True)
    own_folder(making)
    try:
        yield making
        making.rename(folder / _WHOLE)
        _move_up(folder)
    finally:
        shutil.rmtree(making, ignore_errors=True)
        if made:
            with contextlib.suppress(OSError):  # it's filled
                folder.rmdir()


def _move_up(folder: Path) -> None:
    whole = folder / _WHOLE
    for entry in sorted(whole.iterdir(), key=lambda entry: entry.name == _LAST):
        entry.rename(folder / entry.name)
    whole.rmdir()
