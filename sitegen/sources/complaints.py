"""A complaint about the studio's files, and the file a complaint is about."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
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


FEW = 20
"""So many complaints of one kind are told of a file; further ones are counted."""
# What differs between two complaints of one kind: what is quoted, numbers, the cure.
_OWN = re.compile(r"'[^']*'|[0-9]+|[;(].*", re.DOTALL)


def few_of_a_kind(found: Iterable[Complaint]) -> Iterator[Complaint]:
    """Keep the first of each kind in each file; the last one kept says how many more there are."""
    kinds: dict[object, list[Complaint]] = {}
    for one in found:
        kinds.setdefault((one.file, one.level, _OWN.sub("", one.message)), []).append(one)
    for alike in kinds.values():
        yield from alike[:FEW]
        if more := alike[FEW:]:
            yield replace(more[0], message=more[0].message + and_more(len(more) - 1))


def and_more(count: int) -> str:
    """Say that there are so many more of a kind."""
    return f"; and {count} more like it in this file" if count else ""


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
