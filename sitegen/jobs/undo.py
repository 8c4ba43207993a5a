"""Take back what a command changed in the artist's own files, all of it or nothing."""

from __future__ import annotations

import contextlib
import difflib
import shutil
from collections.abc import Callable, Sequence
from itertools import chain
from pathlib import Path
from typing import Any

from sitegen.disk import put
from sitegen.disk.files import is_own
from sitegen.disk.states import KEPT, FileChange, KeptEdit, digest_of, read_entries
from sitegen.jobs.where import writes
from sitegen.studio.asked import Fault, Said, WishFault, ask, wish

# Lines of a difference that are shown; more of them help nobody.
_FEW = 12


@wish
class UndoWish:
    listed: bool = ask("Only show what can be taken back, the latest first.", default=False, name="list")
    again: bool = ask("Do again what the last undo took back.", default=False)
    number: int | None = ask("Only that change, by its number in the list as JSON.", default=None)

    def __post_init__(self) -> None:
        if self.listed and self.again:
            raise WishFault("--list and --again don't go together")


def undo(folder: Path, wish: UndoWish) -> Said:
    """List what can be taken back, take back the latest, or do that again. Raises Fault."""
    if not wish.listed:
        return _do_again(folder) if wish.again else _take_back(folder, wish.number)
    found = [entry for entry in read_entries(folder / KEPT, sweep=False) if entry.happened(folder)]
    lines = [_line(entry) for entry in found] or ["There is nothing to take back."]
    return Said(tuple(lines), {"edits": [_facts(entry) for entry in found]})


@writes
def _take_back(folder: Path, number: int | None) -> Said:
    entry = _latest(folder)
    if number not in {None, entry.number}:
        raise Fault(
            f"this isn't the latest change any more, so nothing is taken back. The latest is {_line(entry)}. "
            "To take that back: `sitegen undo`"
        )
    differences = _differences(folder, entry, entry.changes, entry.before)
    entry.keep_after(folder)
    for change in reversed(entry.changes):
        _bring(entry.before(change), folder / change.file)
    with contextlib.suppress(OSError):  # the files are back; who heard otherwise would take back one more
        entry.mark(undone=True)
    said = (f"Taken back: {_line(entry)}", *differences)
    return Said(said, {"taken_back": _facts(entry), "differences": list(differences)})


@writes
def _do_again(folder: Path) -> Said:
    entry = next((edit for edit in reversed(read_entries(folder / KEPT)) if edit.taken_back()), None)
    if entry is None:
        raise Fault("there is nothing to do again: nothing was taken back, or something else was done since")
    # A command that was killed in its midst changed only some of its files.
    made = [change for change in entry.changes if (kept := entry.after(change)) is None or kept.exists()]
    differences = _differences(folder, entry, made, entry.after)
    entry.mark(undone=False)
    for change in made:
        _bring(entry.after(change), folder / change.file)
    with contextlib.suppress(OSError):
        entry.forget_after()
    said = (f"Done again: {_line(entry)}", *differences)
    return Said(said, {"done_again": _facts(entry), "differences": list(differences)})


def _latest(folder: Path) -> KeptEdit:
    for entry in read_entries(folder / KEPT):
        if entry.happened(folder):
            return entry
        if not entry.taken_back():
            entry.drop()  # killed before it changed anything, or taken back by hand
    raise Fault("there is nothing to take back: no command has changed your files, or all was taken back")


def _line(entry: KeptEdit) -> str:
    files = ", ".join(change.file for change in entry.changes)
    return f"{entry.at[:10]} {entry.at[11:16]}  {entry.command}: {files}"


def _facts(entry: KeptEdit) -> dict[str, Any]:
    files = [change.file for change in entry.changes]
    return {"number": entry.number, "command": entry.command, "at": entry.at, "files": files}


def _bring(state: Path | None, file: Path) -> None:
    """Give a file or folder back as it was, and its rights if it's gone; None if there was none."""
    if state is not None and state.is_dir():
        shutil.copytree(state, file, dirs_exist_ok=True)
    elif state is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
        put(file, state.read_bytes(), kept=False, private=not file.exists() and is_own(state))
    elif file.is_dir():
        shutil.rmtree(file)
    else:
        file.unlink(missing_ok=True)
        with contextlib.suppress(OSError):  # other files lie there
            file.parent.rmdir()


def _differences(
    folder: Path, entry: KeptEdit, changes: Sequence[FileChange], state: Callable[[FileChange], Path | None]
) -> tuple[str, ...]:
    """Return the lines by which files differ now from a state.

    Raises Fault unless each file is as the command left it, or as it was before.
    """
    now = ((change, digest_of(folder / change.file)) for change in entry.changes)
    if changed := [change for change, digest in now if digest not in {change.after, change.before}]:
        diffs = (_difference(folder, change.file, entry.before(change)) for change in changed)
        raise Fault("\n".join([
            f"{', '.join(change.file for change in changed)}: changed since `{entry.command}` of "
            f"{entry.at[:10]} {entry.at[11:16]}, so nothing is taken back. Between then and now:",
            *chain.from_iterable(diffs),
            "Change it by hand, or bring the file back to what the command left",
        ]))  # fmt: skip
    return tuple(line for change in changes for line in _difference(folder, change.file, state(change)))


def _difference(folder: Path, name: str, state: Path | None) -> list[str]:
    file = folder / name
    if file.is_dir() or (state and state.is_dir()):
        return [f"  {name}: a folder"]
    now = file.read_bytes() if file.is_file() else b""
    try:
        then = (state.read_bytes() if state and state.exists() else b"").decode("utf-8-sig").splitlines()
        found = difflib.unified_diff(now.decode("utf-8-sig").splitlines(), then, lineterm="", n=0)
    except UnicodeDecodeError:
        return [f"  {name}: a picture or the like"]
    lines = [f"  {line}" for line in found if not line.startswith(("---", "+++", "@@"))]
    more = [f"  and {len(lines) - _FEW} lines more"] if len(lines) > _FEW else []
    return [f"  {name}:", *lines[:_FEW], *more]
