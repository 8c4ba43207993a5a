"""What has been read of a studio so far, with the places that a later check points at."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path

from sitegen.sources.complaints import Complaint, Notebook
from sitegen.sources.memory import Memory
from sitegen.sources.text import read_text, readable_text
from sitegen.sources.yaml_text import Written, read_yaml
from sitegen.studio.commission import Commissions
from sitegen.studio.fault import Fault
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


@dataclass
class Gathered:
    """What has been read so far."""

    folder: Path
    settings: Settings | None = None
    pieces: list[Piece] = field(default_factory=list)
    commissions: Commissions | None = None
    shows: list[Show] = field(default_factory=list)
    show_files: list[str] = field(default_factory=list)  # of each, since an address may be spelt otherwise
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
        split = [(*one.rpartition("/"), text) for one, text in self.instead.items()]
        changed = {name: text for within, _, name, text in split if within == folder}
        return {one for one in {*present, *changed} if changed.get(one, "") is not None}

    def complaints(self) -> Iterator[Complaint]:
        """Yield everything that was noted."""
        return chain.from_iterable(file.complaints for file in self.files.values())

    def notebook(self, file: str) -> FileRead:
        """Return the notebook on a file."""
        if file not in self.files:
            self.files[file] = FileRead(file, folder=self.folder)
        return self.files[file]


_OURS = "studio.yaml: "


def placed(folder: Path, fault: Fault) -> Complaint:
    """Give a fault of the theme or its words its file, and the line where it is one of studio.yaml."""
    words = str(fault)
    if words.startswith(_OURS):
        words = words.removeprefix(_OURS)
        key = getattr(fault, "key", "language" if "language" in words else "theme")
        return Complaint("studio.yaml", line_in(folder / "studio.yaml", [key]), words)
    found = re.match(r"(?P<file>[^:,]+)(?:, line (?P<line>[0-9]+))?: ", words)
    if found is None:
        return Complaint("studio.yaml", 0, words)
    ours = found["file"].startswith(("pages/", "pieces/", "shows/", "themes/"))
    file = found["file"] if ours else f"themes/{found['file']}"
    return Complaint(file, int(found["line"] or 0), words[found.end() :])


def line_in(file: Path, path: Sequence[str | int]) -> int:
    """Return the line of a YAML file in which the deepest part of `path` stands; 0 if it can't be read."""
    return FileRead(file.name, folder=file.parent).written.line(path)
