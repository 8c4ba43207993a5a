"""What was read of a studio so far, with the places a later check points at; memory of the last reading."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import chain
from pathlib import Path
from typing import Any

from sitegen.disk import read_note, write_note
from sitegen.sources.text import Complaint, Level, Notebook, few_of_a_kind, read_text, readable_text
from sitegen.sources.yaml_text import Written, read_yaml
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Commissions
from sitegen.studio.person import Person
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show
from sitegen.studio.whole import KeptTerms, Page

Look = Callable[[Path], str | None]
"""Says what is wrong with a photo, in an artist's words; None when nothing is."""

Instead = Mapping[str, str | None]
"""Files as they would be after a change, by path below the folder: a text (of a photo any), None for gone."""


@dataclass
class FileRead(Notebook):
    """One file as read, so that a later check can point at the line of a value, like `photos.2.alt`."""

    folder: Path = Path()
    parsed: Written | None = None

    @property
    def written(self) -> Written:
        """The file's values with their lines; parsed only now if the memory knew the file."""
        if self.parsed is None:
            quiet = Notebook(self.file)
            text = read_text(self.folder / self.file, quiet) or ""
            self.parsed = read_yaml(text, quiet) or Written({}, None, [])
        return self.parsed

    def line_of(self, place: str) -> int:
        """Return the line of a value."""
        return self.written.line([int(part) if part.isdigit() else part for part in place.split(".")])

    def error_at(self, place: str, sentence: str) -> None:
        """Note what must be mended."""
        self.error(self.line_of(place), sentence)

    def warn_at(self, place: str, sentence: str) -> None:
        """Note what is worth a look."""
        self.warn(self.line_of(place), sentence)


def stamp(path: Path) -> list[int]:
    """Return what changes whenever a file is written or replaced: size, two times, its number on the disk."""
    stat = path.stat()
    return [stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino]


def code_stamp() -> list[list[int]]:
    """Return a stamp of the code that reads: other code may read the same file otherwise."""
    package = Path(__file__).resolve().parent.parent
    return [
        stamp(file)[:2] for room in ("sources", "studio") for file in sorted((package / room).rglob("*.py"))
    ]


def remembered(piece: Piece) -> str:
    """Write down what a piece's file said, each line by the name it has in the file."""
    return piece.model_dump_json(by_alias=True)


@lru_cache(maxsize=4096)
def recalled(text: str, digits: int) -> Piece:
    """Read back what `remembered` wrote, each text once. Raises ValueError for anything else."""
    return Piece.model_validate_json(text, context={"digits": digits})


@dataclass
class Memory:
    """What the last reading found in each piece's file, so that one that hasn't changed isn't parsed again.

    Kept as JSON: a studio's folder may come from someone else, and JSON runs nothing. Anything odd in it is a
    miss, never an error. `file` None remembers nothing.
    """

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

    def recall(self, name: str, path: Path) -> tuple[Piece, list[Complaint]] | None:
        """Return what an unchanged file said, with its complaints, or None."""
        try:
            entry = self.known[name]
            if entry["stamp"] != stamp(path):
                return None
            complaints = [Complaint(name, said[0], said[1], Level(said[2])) for said in entry["complaints"]]
            piece = recalled(str(entry["model"]), self.digits)
        except (KeyError, TypeError, ValueError, OSError):
            return None
        self.kept[name] = entry
        return piece, complaints

    def keep(self, name: str, seen: list[int], piece: Piece, complaints: list[Complaint]) -> None:
        """Remember a reading; `seen` is the file's stamp from before it was read."""
        told = [[complaint.line, complaint.message, str(complaint.level)] for complaint in complaints]
        self.kept[name] = {"stamp": seen, "model": remembered(piece), "complaints": told}

    def save(self) -> None:
        """Write the memory down if it differs from what lies there."""
        if self.file is None or self.kept == self.known:
            return
        with suppress(OSError):  # a disk that is full can be read; the next reading only takes longer
            write_note(self.file, {"code": code_stamp(), "digits": self.digits, "files": self.kept})


@dataclass
class Gathered:
    """What has been read so far."""

    folder: Path
    settings: Settings | None = None
    pieces: list[Piece] = field(default_factory=list)
    commissions: Commissions | None = None
    shows: dict[str, Show] = field(default_factory=dict)  # by file, since an address may be spelt otherwise
    pages: list[Page] = field(default_factory=list)
    kept_terms: list[KeptTerms] = field(default_factory=list)
    numbers: Mapping[str, str] = field(default_factory=dict)  # what stands in the places of the terms
    people: tuple[Person, ...] = ()
    files: dict[str, FileRead] = field(default_factory=dict)  # by path below the folder
    photo_folders: dict[str, Path] = field(default_factory=dict)
    digits: int = 2
    memory: Memory = field(default_factory=lambda: Memory(None, 2))
    instead: Instead = field(default_factory=dict)

    def file_of(self, piece: Piece) -> FileRead:
        """Return the file that a piece was read from."""
        return self.notebook(f"pieces/{self.photo_folders[piece.slug].name}/piece.yaml")

    def text_of(self, file: str, notes: Notebook) -> str | None:
        """Read a file, or take its text as it would be; None after a complaint."""
        text = self.instead.get(file)
        return read_text(self.folder / file, notes) if text is None else readable_text(text, notes)

    def names_in(self, folder: str, present: Iterable[str]) -> set[str]:
        """Return the names of a folder's files as they would be."""
        split = [(*file.rpartition("/"), text) for file, text in self.instead.items()]
        changed = {name: text for within, _, name, text in split if within == folder}
        return {name for name in {*present, *changed} if changed.get(name, "") is not None}

    def complaints(self) -> list[Complaint]:
        """Return everything that was noted, in order; of one kind in one file the first."""
        found = chain.from_iterable(file.complaints for file in self.files.values())
        return sorted(few_of_a_kind(sorted(found)))

    def notebook(self, file: str) -> FileRead:
        """Return the notebook on a file."""
        if file not in self.files:
            self.files[file] = FileRead(file, folder=self.folder)
        return self.files[file]


_OURS = "studio.yaml: "
_OF_WORDS = re.compile(r"(?:the words for )?'([a-z0-9_.]+)'")


def placed(folder: Path, fault: Fault) -> Complaint:
    """Give a fault of the theme or its words its file, and the line of what it names where that is known."""
    words = str(fault)
    if words.startswith(_OURS):
        words = words.removeprefix(_OURS)
        key = getattr(fault, "key", "language" if "language" in words else "theme")
        return Complaint("studio.yaml", line_in(folder / "studio.yaml", [key]), words)
    found = re.match(r"(?P<file>[^:,]+)(?:, line (?P<line>[0-9]+))?: ", words)
    if found is None:
        return Complaint("studio.yaml", 0, words)
    ours = found["file"].startswith(("pages/", "pieces/", "shows/", "themes/"))
    file, words = found["file"] if ours else f"themes/{found['file']}", words[found.end() :]
    named = _OF_WORDS.match(words)
    line = line_in(folder / file, named[1].split(".")) if named and (folder / file).is_file() else 0
    return Complaint(file, int(found["line"] or line), words)


def line_in(file: Path, path: Sequence[str | int]) -> int:
    """Return the line of a YAML file in which the deepest part of `path` stands; 0 if it can't be read."""
    return _as_read(file, tuple(stamp(file))).written.line(path)


@lru_cache(maxsize=8)  # a translation may lack hundreds of sentences
def _as_read(file: Path, _: tuple[int, ...]) -> FileRead:
    return FileRead(file.name, folder=file.parent)
