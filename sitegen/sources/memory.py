"""What the last reading found in each piece's file, so that a file that hasn't changed isn't parsed again.

Kept as JSON: a studio's folder may come from someone else, and JSON runs nothing. Anything odd in it is
a miss, never an error.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from sitegen.disk import read_note, write_note
from sitegen.sources.complaints import Complaint, Level
from sitegen.studio.fields import Entry

Known = TypeVar("Known", bound=Entry)

_ROOMS = ("sources", "studio")


def stamp(path: Path) -> list[int]:
    """Return what changes whenever a file is written or replaced: size, two times, its number on the disk."""
    stat = path.stat()
    return [stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino]


def code_stamp() -> list[list[int]]:
    """Return a stamp of the code that reads: other code may read the same file otherwise."""
    package = Path(__file__).resolve().parent.parent
    return [stamp(file)[:2] for room in _ROOMS for file in sorted((package / room).rglob("*.py"))]


def remembered(said: Entry) -> str:
    """Write down what a file said, each line by the name it has in the file."""
    return said.model_dump_json(by_alias=True)


@lru_cache(maxsize=4096)
def recalled(model: type[Known], text: str, digits: int) -> Known:
    """Read back what `remembered` wrote, each text once. Raises ValueError for anything else."""
    return model.model_validate_json(text, context={"digits": digits})


@dataclass
class Memory:
    """The readings of earlier runs; `file` None remembers nothing."""

    file: Path | None
    digits: int
    known: dict[str, Any] = field(default_factory=dict)
    kept: dict[str, Any] = field(default_factory=dict)

    @classmethod
    def load(cls, file: Path | None, digits: int) -> Memory:
        """Open the memory, empty if there is none, or if it was written by other code."""
        noted = read_note(file) if file is not None else None
        if isinstance(noted, dict) and (noted.get("code"), noted.get("digits")) == (code_stamp(), digits):
            return cls(file, digits, noted["files"])
        return cls(file, digits)

    def recall(self, model: type[Known], name: str, path: Path) -> tuple[Known, tuple[Complaint, ...]] | None:
        """Return what an unchanged file said, with its complaints, or None."""
        entry = self.known.get(name)
        try:
            if entry is None or entry["stamp"] != stamp(path):
                return None
            complaints = tuple(Complaint(name, one[0], one[1], Level(one[2])) for one in entry["complaints"])
            said = recalled(model, str(entry["model"]), self.digits)
        except (KeyError, TypeError, ValueError, OSError):
            return None
        self.kept[name] = entry
        return said, complaints

    def keep(self, name: str, seen: list[int], said: Entry, complaints: list[Complaint]) -> None:
        """Remember a reading; `seen` is the file's stamp from before it was read."""
        told = [[complaint.line, complaint.message, str(complaint.level)] for complaint in complaints]
        self.kept[name] = {"stamp": seen, "model": remembered(said), "complaints": told}

    def save(self) -> None:
        """Write the memory down if it differs from what lies there."""
        if self.file is None or self.kept == self.known:
            return
        with suppress(OSError):  # a disk that is full can be read; the next reading only takes longer
            write_note(self.file, {"code": code_stamp(), "digits": self.digits, "files": self.kept})
