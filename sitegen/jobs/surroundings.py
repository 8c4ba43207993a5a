"""Where the studio lies and whether it's kept twice: what `check` says beside the files themselves."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from sitegen.jobs.backup import last_backup
from sitegen.jobs.where import is_ours
from sitegen.sources import Complaint
from sitegen.sources.complaints import Level

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
# Folders that web servers and file shares hand out, by the names they usually have.
_PUBLIC = frozenset({"public_html", "public", "htdocs", "httpdocs", "www", "wwwroot", "webroot"})
_HISTORIES = (".git", ".hg", ".svn", ".bzr")
_OLD = timedelta(days=30)


def complaints(folder: Path, moment: datetime) -> Iterator[Complaint]:
    """Say what is wrong about the place of a studio. The program's own studios are nobody's."""
    if is_ours(folder):
        return
    whole = folder.resolve()
    if shared := next((one for one in whole.parts if one.lower() in _PUBLIC), None):
        yield _warning(
            f"the studio lies in a folder called {shared}, which others may be able to read: it holds names, "
            "addresses and prices. Move it, and publish only out/site"
        )
    if not _left_out(whole):
        yield _warning(
            "the studio is under version control, and nothing keeps people.csv, the order book and sent/ out "
            f"of it; write a file {IGNORE_FILE} with the lines {', '.join(IGNORED.splitlines()[1:])}"
        )
    if told := _backup(folder, moment):
        yield _warning(told)


def _warning(sentence: str) -> Complaint:
    return Complaint("studio.yaml", 0, sentence, Level.WARNING)


def _left_out(whole: Path) -> bool:
    """Tell whether people stay out of the history that the studio is part of, if it's part of one."""
    above = (whole, *whole.parents)
    root = next((one for one in above if any((one / name).exists() for name in _HISTORIES)), None)
    if root is None:
        return True
    between = (one for one in above if one.is_relative_to(root))
    lines = (line.strip().strip("/") for one in between for line in _lines(one / IGNORE_FILE))
    named = {"people.csv", "*.csv", whole.name, whole.relative_to(root).as_posix()}
    return any(line in named for line in lines)


def _lines(file: Path) -> list[str]:
    try:
        return file.read_text("utf-8", errors="replace").splitlines()
    except OSError:
        return []


def _backup(folder: Path, moment: datetime) -> str:
    """Say that there's something to lose and no fresh copy of it."""
    made = last_backup(folder)
    if made is None:
        if (folder / "sent").is_dir():
            return "there's no backup of this studio yet; `sitegen backup DIR` makes one, on another disk"
        return ""
    days = (moment - made) // timedelta(days=1)
    if moment - made <= _OLD:
        return ""
    return f"the last backup is {days} days old; `sitegen backup DIR` makes a new one"
