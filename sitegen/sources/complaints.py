"""A complaint about the studio's files, and the file a complaint is about."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum

from sitegen.studio.fault import Fault


class Level(StrEnum):
    """An error stops everything; a warning only speaks."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, order=True)
class Complaint:
    """What is wrong, where, and (in the message) what to write instead."""

    file: str  # path below the studio's folder, with forward slashes
    line: int  # counted from 1; 0 when the fault is in no particular line
    message: str
    level: Level = Level.ERROR

    def __str__(self) -> str:
        place = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{place}: {self.message}"

    def as_answer(self) -> dict[str, str | int]:
        """Return the machine-readable form of `check --json`."""
        return {"file": self.file, "line": self.line, "level": str(self.level), "message": self.message}


@dataclass
class Notebook:
    """Collects complaints about one file."""

    file: str
    complaints: list[Complaint] = field(default_factory=list)

    def error(self, line: int, message: str) -> None:
        """Note something that must be mended."""
        self.complaints.append(Complaint(self.file, line, message))

    def warn(self, line: int, message: str) -> None:
        """Note something worth a look."""
        self.complaints.append(Complaint(self.file, line, message, Level.WARNING))


class StudioFault(Fault):
    """The studio's files, or what was asked of them, are at fault. Exit code 1.

    `str()` is the sentence for the artist; `complaints` holds the single faults, if there are any.
    """

    def __init__(self, message: str, complaints: Iterable[Complaint] = ()) -> None:
        super().__init__(message)
        self.complaints = tuple(complaints)


# What a damaged file raises while it's read.
_ODD = (
    ArithmeticError,
    AttributeError,
    LookupError,
    OSError,
    RecursionError,
    TypeError,
    ValueError,
    csv.Error,
)


@contextmanager
def readable(cure: str) -> Iterator[None]:
    """Read a file of the program's own. Raises StudioFault, with what to do, if it is damaged."""
    try:
        yield
    except _ODD as fault:
        raise StudioFault(cure) from fault
