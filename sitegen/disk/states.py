"""Earlier states of the artist's files: what each command found before it wrote, to be taken back.

`.kept/states/NUMBER/` belongs to one command: `entry.json` says which, when, and which files it changed from
what to what; beside it lie the files as they were. The entry is on the disk before the file changes, so a
command killed in between can be taken back as well. For their owner only.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections import Counter
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path

from sitegen.disk.files import own_folder, write_whole

KEPT = ".kept"
"""The program's own folder in a studio: unfinished files, earlier states."""
PARTS = "parts"
STATES, _ENTRY, _AFTER = "states", "entry.json", "after"
# So many later changes of a file push an earlier one out.
FEW = 10


@dataclass
class FileChange:
    """One file's change."""

    file: str  # path below the studio's folder, with forward slashes
    before: str | None  # SHA-256 of what was there; None for nothing
    after: str | None  # SHA-256 of what was written; None where the file was taken away


@dataclass
class KeptEdit:
    """What one command changed."""

    folder: Path
    command: str
    at: str  # ISO 8601, this machine's clock
    changes: list[FileChange] = field(default_factory=list)
    undone: bool = False  # it was taken back

    @property
    def number(self) -> int:
        """Counts the commands that changed something."""
        return int(self.folder.name)

    def note(self, path: Path, file: Path, after: str | None) -> None:
        """Keep a file's present state; of several changes by one command the first state counts."""
        known = next((change for change in self.changes if change.file == path.as_posix()), None)
        if known is not None:
            known.after = after
        else:
            own_folder(self.folder)
            before, kept = digest_of(file), self.folder / str(len(self.changes))
            if file.is_dir():
                shutil.copytree(file, kept)
            elif before is not None:
                self._write(kept.name, file.read_bytes())
            if after is None:  # its rights go with it
                shutil.copymode(file, kept)
            self.changes.append(FileChange(path.as_posix(), before, after))
        self.mark(undone=False)

    def mark(self, *, undone: bool) -> None:
        """Write down what changed, and whether it was taken back."""
        self.undone = undone
        changes = [*map(asdict, self.changes)]
        told = {"command": self.command, "at": self.at, "changes": changes, "undone": undone}
        self._write(_ENTRY, json.dumps(told).encode())

    def _write(self, name: str, content: bytes) -> None:
        """Write by way of the folder that the next command sweeps: an unfinished state may hold people."""
        parts = self.folder.parent.parent / PARTS
        own_folder(parts)
        write_whole(self.folder / name, content, parts=parts, private=True)

    def before(self, change: FileChange) -> Path | None:
        """Return where it lies what a file held before; None if it wasn't there."""
        return None if change.before is None else self.folder / str(self.changes.index(change))

    def after(self, change: FileChange) -> Path | None:
        """Return where it lies what a file held after, once that was taken back; None for nothing."""
        return None if change.after is None else self.folder / f"{self.changes.index(change)}-{_AFTER}"

    def keep_after(self, studio: Path) -> None:
        """Keep what the command wrote, and its rights, before it is taken back: it can be done again."""
        for change in self.changes:
            file, kept = studio / change.file, self.after(change)
            if kept is not None and digest_of(file) == change.after:
                self._write(kept.name, file.read_bytes())
                shutil.copymode(file, kept)

    def forget_after(self) -> None:
        """Erase what was kept when it was taken back."""
        for kept in map(self.after, self.changes):
            if kept is not None:
                kept.unlink(missing_ok=True)

    def happened(self, studio: Path) -> bool:
        """Tell whether any of its files isn't as it was before, and it wasn't taken back."""
        return not self.undone and any(digest_of(studio / edit.file) != edit.before for edit in self.changes)

    def stands(self, studio: Path) -> bool:
        """Tell whether its files are as it left them."""
        return not self.undone and all(digest_of(studio / edit.file) == edit.after for edit in self.changes)

    def taken_back(self) -> bool:
        """Tell whether it was taken back, or was about to be when that was stopped."""
        return self.undone or any(kept and kept.exists() for kept in map(self.after, self.changes))

    def drop(self) -> None:
        """Erase it: first what tells that it's there, then the states."""
        (self.folder / _ENTRY).unlink(missing_ok=True)
        shutil.rmtree(self.folder)


def digest_of(file: Path) -> str | None:
    """Return the SHA-256 of a file, or of all that lies in a folder; None if there's none."""
    if file.is_dir():
        files = sorted(path for path in file.rglob("*") if path.is_file())
        return hashlib.sha256("".join(f"{path.name}{digest_of(path)}" for path in files).encode()).hexdigest()
    return hashlib.sha256(file.read_bytes()).hexdigest() if file.is_file() else None


def open_entry(kept: Path, command: str, *, goes_on: bool = False) -> KeptEdit:
    """Return an entry for a command that is about to change something; older ones make room.

    What `goes_on` is noted in its latest entry, if no file of that was changed since.
    """
    entries = read_entries(kept)
    if goes_on and entries and entries[0].command == command and entries[0].stands(kept.parent):
        return entries[0]
    later: Counter[str] = Counter()
    for entry in entries:
        entry.forget_after()
        files = {change.file for change in entry.changes}
        # Something else is done now instead of what was taken back; or every file has changed often since.
        if entry.undone or all(later[file] >= FEW for file in files):
            entry.drop()
        later.update(() if entry.undone else files)
    own_folder(kept)
    own_folder(kept / STATES)
    numbers = [int(path.name) for path in (kept / STATES).iterdir() if path.name.isdigit()]
    at = datetime.now().astimezone().isoformat(timespec="seconds")
    return KeptEdit(kept / STATES / f"{max(numbers, default=0) + 1:06d}", command, at)


def read_entries(kept: Path, *, sweep: bool = True) -> list[KeptEdit]:
    """Read all entries, the latest first.

    `sweep` erases what a killed command left without a word in it; the pen must be in hand.
    """
    found = []
    folders = [path for path in (kept / STATES).glob("*") if path.name.isdigit()]
    for folder in sorted(folders, key=lambda path: int(path.name), reverse=True):
        try:
            tree = json.loads((folder / _ENTRY).read_bytes())
            changes = [FileChange(**change) for change in tree["changes"]]
            found.append(KeptEdit(folder, tree["command"], tree["at"], changes, tree.get("undone", False)))
        except (OSError, ValueError, KeyError, TypeError):
            if sweep:
                shutil.rmtree(folder, ignore_errors=True)
    return found


def forget_states(studio: Path, address: str) -> None:
    """Erase each earlier state that may know the holder of an address: of the list, or naming it."""
    word = address.casefold()
    for entry in read_entries(studio / KEPT):
        files = [file for file in entry.folder.rglob("*") if file.is_file() and file.name != _ENTRY]
        listed = any(change.file.endswith(".csv") for change in entry.changes)
        if listed or any(word in file.read_text("utf-8", "replace").casefold() for file in files):
            entry.drop()
