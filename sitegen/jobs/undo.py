"""Take back what a command changed in the artist's own files, all of it or nothing."""

from __future__ import annotations

import contextlib
import difflib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sitegen.disk import put
from sitegen.disk.files import is_own
from sitegen.disk.states import KEPT, FileChange, KeptEdit, digest_of, read_entries
from sitegen.jobs.pen import writes
from sitegen.sources import StudioFault
from sitegen.studio.wish import WishFault, ask, wish

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
    again: bool = False
    """It was done again instead."""

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        done = "done_again" if self.again else "taken_back"
        return {done: self.edit.as_answer(), "differences": list(self.lines_back)}

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        done = "Done again" if self.again else "Taken back"
        return [f"{done}: {self.edit.line()}", *self.lines_back]


@wish
class UndoWish:
    """Which way to go."""

    listed: bool = ask("Only show what can be taken back, the latest first.", default=False, name="list")
    again: bool = ask("Do again what the last undo took back.", default=False)

    def __post_init__(self) -> None:
        if self.listed and self.again:
            raise WishFault("--list and --again don't go together")


def undo(folder: Path, wish: UndoWish) -> Edits | TakenBack:
    """List what can be taken back, take back the latest of it, or do that again."""
    if wish.listed:
        return _edits(folder)
    return _do_again(folder) if wish.again else _take_back(folder)


def _edits(folder: Path) -> Edits:
    """List what can be taken back."""
    found = read_entries(folder / KEPT, sweep=False)
    return Edits(tuple(_edit(one) for one in found if one.happened(folder)))


@writes
def _take_back(folder: Path) -> TakenBack:
    """Bring the files of the latest command back to what they were before it.

    Raises StudioFault if there is none, or if one of its files was changed since.
    """
    entry = _latest(folder)
    _refuse_changed(folder, entry)
    differences = _differences(folder, entry.changes, entry.before)
    entry.keep_after(folder)
    for change in reversed(entry.changes):
        _bring(entry.before(change), folder / change.file)
    entry.mark(undone=True)
    return TakenBack(_edit(entry), differences)


@writes
def _do_again(folder: Path) -> TakenBack:
    """Bring back what the last undo took.

    Raises StudioFault if there's nothing, or if one of the files was changed since.
    """
    entry = next((one for one in reversed(read_entries(folder / KEPT)) if one.taken_back()), None)
    if entry is None:
        raise StudioFault(
            "there is nothing to do again: nothing was taken back, or something else was done since"
        )
    _refuse_changed(folder, entry)
    # A command that was killed in its midst changed only some of its files.
    made = [one for one in entry.changes if entry.after(one).exists()]
    differences = _differences(folder, made, entry.after)
    entry.mark(undone=False)
    for change in made:
        _bring(entry.after(change), folder / change.file)
    entry.forget_after()
    return TakenBack(_edit(entry), differences, again=True)


def _latest(folder: Path) -> KeptEdit:
    for entry in read_entries(folder / KEPT):
        if entry.happened(folder):
            return entry
        if not (entry.undone or entry.taken_back()):
            entry.drop()  # killed before it changed anything, or taken back by hand
    raise StudioFault(
        "there is nothing to take back: no command has changed your files, or all was taken back"
    )


def _edit(entry: KeptEdit) -> Edit:
    return Edit(entry.command, entry.at, tuple(one.file for one in entry.changes))


def _refuse_changed(folder: Path, entry: KeptEdit) -> None:
    """Raise StudioFault unless each file is as the command left it, or as it was before."""
    changed = [one for one in entry.changes if digest_of(folder / one.file) not in {one.after, one.before}]
    if not changed:
        return
    lines = [
        f"{', '.join(one.file for one in changed)}: changed since `{entry.command}` of {entry.at[:10]} "
        f"{entry.at[11:16]}, so nothing is taken back. Between then and now:",
        *_differences(folder, changed, entry.before),
        "Change it by hand, or bring the file back to what the command left",
    ]
    raise StudioFault("\n".join(lines))


def _bring(state: Path | None, file: Path) -> None:
    """Give a file back the bytes of a state, and its rights if it's gone; None if there was no file."""
    if state is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
        put(file, state.read_bytes(), kept=False, private=not file.exists() and is_own(state))
        return
    file.unlink(missing_ok=True)
    with contextlib.suppress(OSError):  # other files lie there
        file.parent.rmdir()


def _differences(
    folder: Path, changes: Iterable[FileChange], state: Callable[[FileChange], Path | None]
) -> tuple[str, ...]:
    """Return the lines by which files differ now from a state."""
    return tuple(line for one in changes for line in _difference(folder / one.file, one.file, state(one)))


def _difference(file: Path, name: str, state: Path | None) -> list[str]:
    now = file.read_bytes() if file.is_file() else b""
    try:
        then = (state.read_bytes() if state and state.exists() else b"").decode("utf-8-sig").splitlines()
        found = difflib.unified_diff(now.decode("utf-8-sig").splitlines(), then, lineterm="", n=0)
    except UnicodeDecodeError:
        return [f"  {name}: a picture or the like"]
    lines = [f"  {line}" for line in found if not line.startswith(("---", "+++", "@@"))]
    more = [f"  and {len(lines) - _FEW} lines more"] if len(lines) > _FEW else []
    return [f"  {name}:", *lines[:_FEW], *more]
