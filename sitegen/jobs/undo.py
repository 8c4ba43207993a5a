"""Take back what a command changed in the artist's own files, all of it or nothing."""

from __future__ import annotations

import contextlib
import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitegen.disk import put
from sitegen.disk.states import KEPT, Change, Entry, digest_of, read_entries
from sitegen.jobs.pen import writes
from sitegen.sources import StudioFault

# Lines of a difference that are shown; more of them help nobody.
_FEW = 12


@dataclass(frozen=True)
class Edit:
    """What one command changed."""

    command: str
    at: str
    files: tuple[str, ...]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {"command": self.command, "at": self.at, "files": list(self.files)}

    def line(self) -> str:
        """Say it in a line."""
        return f"{self.at[:10]} {self.at[11:16]}  {self.command}: {', '.join(self.files)}"


@dataclass(frozen=True)
class Edits:
    """What can be taken back, the latest first."""

    edits: tuple[Edit, ...]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {"edits": [one.as_answer() for one in self.edits]}

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        return [one.line() for one in self.edits] or ["There is nothing to take back."]


@dataclass(frozen=True)
class TakenBack:
    """What was taken back."""

    edit: Edit
    lines_back: tuple[str, ...]
    """What came back or went, as lines of a difference."""

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {"taken_back": self.edit.as_answer(), "differences": list(self.lines_back)}

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        return [f"Taken back: {self.edit.line()}", *self.lines_back]


def edits(folder: Path) -> Edits:
    """List what can be taken back."""
    found = read_entries(folder / KEPT, sweep=False)
    return Edits(tuple(_edit(one) for one in found if one.happened(folder)))


@writes
def take_back(folder: Path) -> TakenBack:
    """Bring the files of the latest command back to what they were before it.

    Raises StudioFault if there is none, or if one of its files was changed since.
    """
    entry = _latest(folder)
    if changed := [one for one in entry.changes if not _as_left(folder, one)]:
        raise StudioFault(_told(folder, entry, changed))
    differences = tuple(line for one in entry.changes for line in _difference(folder, entry, one))
    for change in reversed(entry.changes):
        _restore(folder / change.file, entry.before(change))
    entry.drop()
    return TakenBack(_edit(entry), differences)


def _latest(folder: Path) -> Entry:
    for entry in read_entries(folder / KEPT):
        if entry.happened(folder):
            return entry
        entry.drop()  # killed before it changed anything, or taken back by hand
    raise StudioFault(
        "there is nothing to take back: no command has changed your files, or all was taken back"
    )


def _edit(entry: Entry) -> Edit:
    return Edit(entry.command, entry.at, tuple(one.file for one in entry.changes))


def _as_left(folder: Path, change: Change) -> bool:
    """Tell whether a file is as the command left it, or already as it was before."""
    return digest_of(folder / change.file) in {change.after, change.before}


def _restore(file: Path, before: bytes | None) -> None:
    if before is not None:
        put(file, before, kept=False)
        return
    file.unlink(missing_ok=True)
    with contextlib.suppress(OSError):  # other files lie there
        file.parent.rmdir()


def _told(folder: Path, entry: Entry, changed: list[Change]) -> str:
    lines = [
        f"{', '.join(one.file for one in changed)}: changed since `{entry.command}` of {entry.at[:10]} "
        f"{entry.at[11:16]}, so nothing is taken back. Between then and now:"
    ]
    for one in changed:
        lines += _difference(folder, entry, one)
    return "\n".join([*lines, "Change it by hand, or bring the file back to what the command left"])


def _difference(folder: Path, entry: Entry, change: Change) -> list[str]:
    """Return the lines by which a file differs now from what it was before the command."""
    file = folder / change.file
    now = file.read_bytes() if file.is_file() else b""
    try:
        then = (entry.before(change) or b"").decode("utf-8-sig").splitlines()
        found = difflib.unified_diff(now.decode("utf-8-sig").splitlines(), then, lineterm="", n=0)
    except UnicodeDecodeError:
        return [f"  {change.file}: a picture or the like"]
    lines = [f"  {line}" for line in found if not line.startswith(("---", "+++", "@@"))]
    more = [f"  and {len(lines) - _FEW} lines more"] if len(lines) > _FEW else []
    return [f"  {change.file}:", *lines[:_FEW], *more]
