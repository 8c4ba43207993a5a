"""Text files in and out, UTF-8, whole or not at all; and complaints about them."""

from __future__ import annotations

import csv
import re
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path

from sitegen.disk import put
from sitegen.studio.asked import Fault
from sitegen.studio.text import named, quoted, slug, unfit_for_text, without_unfit
from sitegen.studio.whole import Page


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

    @property
    def stops(self) -> bool:
        """Whether it must be mended before anything is compiled."""
        return self.level is Level.ERROR

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


# What a damaged file raises while it's read.
_ODD = (
    ArithmeticError, AttributeError, LookupError, OSError, RecursionError, TypeError, ValueError, csv.Error,
)  # fmt: skip


@contextmanager
def readable(cure: str) -> Iterator[None]:
    """Read a file of the program's own. Raises StudioFault, with what to do, if it is damaged."""
    try:
        yield
    except _ODD as fault:
        raise StudioFault(cure) from fault


BOM = b"\xef\xbb\xbf"
"""The byte-order mark that some editors put before UTF-8."""


def read_text(path: Path, notes: Notebook) -> str | None:
    """Read a UTF-8 file with or without a byte-order mark; None after a complaint."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe or a device never ends
            notes.error(0, "this is no ordinary file; put a text file in its place")
            return None
        return readable_text(path.read_bytes().decode("utf-8-sig"), notes)
    except UnicodeDecodeError as fault:
        line = fault.object[: fault.start].count(b"\n") + 1
        notes.error(line, "this isn't UTF-8 text; save the file again with the encoding UTF-8")
    except OSError as fault:
        notes.error(0, f"the file can't be read ({fault.strerror or fault})")
    return None


def readable_text(text: str, notes: Notebook) -> str:
    """Complain of every line with a character that belongs in no text, and let the rest be read."""
    if unfit_for_text(text) is None:
        return text
    for number, line in enumerate(text.split("\n"), start=1):
        if unfit := unfit_for_text(line):
            notes.error(
                number,
                f"there is a character that doesn't belong in a text file ({named(unfit[0])}); take it out",
            )
    return without_unfit(text)


def rewrite(path: Path, change: Callable[[str], str], *, private: bool = False) -> bool:
    """Change a UTF-8 file's text and keep its byte-order mark; False if the text is the same afterwards.

    A file that isn't there counts as empty. What `change` raises leaves the file untouched.
    `private` makes the file its owner's alone. Raises PenMissing without the studio's pen.
    """
    content = path.read_bytes() if path.exists() else b""
    mark = BOM if content.startswith(BOM) else b""
    text = content[len(mark) :].decode("utf-8")
    changed = change(text)
    if changed == text:
        return False
    put(path, mark + changed.encode("utf-8"), private=private)
    return True


def read_page(name: str, text: str, notes: Notebook) -> Page | None:
    """Split a page into its title line and the rest."""
    lines = text.replace("\r\n", "\n").split("\n")
    first = next((n for n, line in enumerate(lines) if line.strip()), None)
    match = re.fullmatch(r"#\s+(.+?)\s*#*\s*", lines[first]) if first is not None else None
    if first is None or match is None:
        line = 1 if first is None else first + 1
        notes.error(line, "the page must start with its title, written like `# About the studio`")
        return None
    return Page(name=name, title=match[1], text="\n".join(lines[first + 1 :]).strip() + "\n")


# A file's name has at most 255 bytes (ext4, NTFS, APFS), and a picture's is made of its piece's number and
# address, a count, a digest and a width.
LONGEST = 100
# Names that Windows keeps for devices: the site may be built, copied or shown there.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}


@dataclass
class Addresses:
    """Makes addresses of names, each once."""

    what: str  # of what the names are: a folder, a file
    taken: dict[str, str] = field(default_factory=dict)

    def of(self, name: str, path: str, notes: Notebook) -> str | None:
        """Return the address that a name makes; None after a complaint. `path` is where it stands."""
        own = slug(name)
        it = f"the {self.what}'s name"
        faults = (
            # Python carries bytes that are no UTF-8 along as halves of characters.
            (shown(name) != name, f"{it} isn't UTF-8 and can't stand in an address; rename it"),
            (own in self.taken, f"this {self.what} and {self.taken.get(own)} both make the address '{own}'; "
             "rename one of them"),
            (not own, f"{it} {quoted(name)} needs at least one letter from a to z or digit"),
            (len(own) > LONGEST, f"{it} makes an address of {len(own)} letters; shorten it to {LONGEST}"),
            (own in _DEVICES, f"'{own}' is the name of a device on some computers; give the {self.what} "
             "another one"),
        )  # fmt: skip
        if fault := next((said for wrong, said in faults if wrong), None):
            notes.error(0, fault)
            return None
        self.taken[own] = path
        return own


def shown(name: str) -> str:
    """Return a name as it can be printed and written down."""
    return name.encode("utf-8", "backslashreplace").decode("utf-8")
