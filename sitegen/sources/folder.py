"""The way through a studio's folder: read every file, note every complaint, hand over one value."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from pydantic import BaseModel

from sitegen.sources import cross_check, kept
from sitegen.sources.gathered import Gathered, Instead, Look, Memory, stamp
from sitegen.sources.people import read_people
from sitegen.sources.text import Addresses, Complaint, Notebook, StudioFault, read_page, read_text, shown
from sitegen.sources.validate import build
from sitegen.sources.yaml_text import read_yaml, texts_in
from sitegen.studio import money
from sitegen.studio.commission import Commissions
from sitegen.studio.fields import placeholders
from sitegen.studio.person import Person
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show
from sitegen.studio.whole import Studio

Model = TypeVar("Model", bound=BaseModel)


@dataclass(frozen=True)
class Reading:
    """A studio as read, and all that is wrong with it."""

    studio: Studio | None  # None when there is any error
    complaints: tuple[Complaint, ...]

    @property
    def errors(self) -> tuple[Complaint, ...]:
        """The complaints that must be mended before anything is compiled."""
        return tuple(complaint for complaint in self.complaints if complaint.stops)

    @property
    def warnings(self) -> tuple[Complaint, ...]:
        """The complaints that only speak."""
        return tuple(complaint for complaint in self.complaints if not complaint.stops)

    def sound(self) -> Studio:
        """Return the studio, or raise StudioFault with every error."""
        if self.studio is None:
            raise StudioFault("\n".join(str(error) for error in self.errors), self.errors)
        return self.studio


EVERYTHING = frozenset({"pieces", "commissions", "shows", "pages", "people"})


def read(
    folder: Path,
    look: Look | None = None,
    memory: Path | None = None,
    only: frozenset[str] = EVERYTHING,
    instead: Instead = MappingProxyType({}),
) -> Reading:
    """Read a studio. `look` examines each photo; without it only its presence is checked.

    `memory` is a file in which to remember the pieces for the next reading; without it nothing is
    written. `only` names what to read beside studio.yaml, for an answer that rests on nothing else: faults
    elsewhere then don't stop it, and photos aren't looked for. `instead` are files as they would be after a
    change; of such a reading nothing is remembered. Raises StudioFault if the folder holds no
    studio.yaml at all.
    """
    if not (folder / "studio.yaml").is_file():
        raise StudioFault(
            f"there is no studio.yaml in {folder}; `sitegen begin DIR` puts a starter studio in DIR"
        )
    seen = Gathered(folder, instead=instead)
    seen.settings = _model(seen, Settings, "studio.yaml")
    seen.memory = Memory.load(memory, seen.digits)
    for part, read_part in _PARTS.items():
        if part in only:
            read_part(seen)
    cross_check.everything(seen, look, photos=only == EVERYTHING)
    if "pages" in only:
        kept.fill_places(seen)
        kept.check_accepted(seen)
    studio = _studio(seen)
    if studio is not None:
        kept.warn_of_changes(seen, studio)
        kept.warn_of_own_plans(seen, studio)
        if "pieces" in only and not instead:
            seen.memory.save()
    return Reading(studio, tuple(seen.complaints()))


def _studio(seen: Gathered) -> Studio | None:
    if seen.settings is None or any(complaint.stops for complaint in seen.complaints()):
        return None
    return Studio(
        seen.folder, seen.settings, tuple(seen.pieces), seen.commissions or Commissions(),
        tuple(seen.shows.values()), pages=tuple(seen.pages), people=seen.people, numbers=seen.numbers,
        photo_folders=dict(seen.photo_folders), kept_terms=tuple(seen.kept_terms),
    )  # fmt: skip


def _pieces(seen: Gathered) -> None:
    addresses = Addresses("folder")
    home = os.fspath(seen.folder / "pieces")
    for name in sorted(entry.name for entry in _entries(seen.folder / "pieces") if _is_folder(entry)):
        file = f"pieces/{shown(name)}/piece.yaml"
        # One path a piece, made of text: a thousand pieces are read in a build that changes one.
        path = Path(f"{home}{os.sep}{name}{os.sep}piece.yaml")
        if not path.is_file():
            none = "this folder has no piece.yaml; add one, or move the folder away"
            seen.notebook(f"pieces/{shown(name)}").error(0, none)
        elif own := addresses.of(name, f"pieces/{name}", seen.notebook(file)):
            seen.photo_folders[own] = path.parent
            if (piece := _piece(seen, file, path, own)) is not None:
                seen.pieces.append(piece)


def _piece(seen: Gathered, file: str, path: Path, own: str) -> Piece | None:
    if file not in seen.instead and (remembered := seen.memory.recall(file, path)):
        seen.notebook(file).complaints.extend(remembered[1])
        return remembered[0]
    before = stamp(path)
    piece = _model(seen, Piece, file, slug=own)
    if piece is not None:
        cross_check.standing(piece, seen.notebook(file))
        seen.memory.keep(file, before, piece, seen.notebook(file).complaints)
    return piece


def _commissions(seen: Gathered) -> None:
    if "commissions.yaml" in seen.instead or os.path.lexists(seen.folder / "commissions.yaml"):
        seen.commissions = _model(seen, Commissions, "commissions.yaml")


def _shows(seen: Gathered) -> None:
    for file, own in _named(seen, "shows", ".yaml"):
        show = _model(seen, Show, file, slug=own)
        if show is not None:
            seen.shows[file] = show


def _pages(seen: Gathered) -> None:
    for file, own in _named(seen, "pages", ".md"):
        notes = seen.notebook(file)
        text = seen.text_of(file, notes)
        page = read_page(own, text, notes) if text is not None else None
        if page is not None and text is not None:
            seen.pages.append(page)
            for number, line in enumerate(text.splitlines(), start=1):
                for place in placeholders(line):
                    notes.warn(number, f"still to fill in: {place}; until then the page isn't shown")
    seen.kept_terms.extend(kept.read_kept(seen))


def _named(seen: Gathered, folder: str, ending: str) -> Iterator[tuple[str, str]]:
    """Yield what is to be read, whatever it turns out to be: each file with the address its name makes."""
    addresses = Addresses("file")
    entries = (entry for entry in _entries(seen.folder / folder) if entry.name.endswith(ending))
    for name in sorted(seen.names_in(folder, (entry.name for entry in entries if not _is_folder(entry)))):
        file = f"{folder}/{shown(name)}"
        if own := addresses.of(name.removesuffix(ending), file, seen.notebook(file)):
            yield file, own


def _people(seen: Gathered) -> None:
    notes = seen.notebook("people.csv")
    there = os.path.lexists(seen.folder / "people.csv")
    if there and (text := read_text(seen.folder / "people.csv", notes)) is not None:
        seen.people, complaints = _people_in(text)
        notes.complaints.extend(complaints)


@lru_cache(maxsize=1)
def _people_in(text: str) -> tuple[tuple[Person, ...], tuple[Complaint, ...]]:
    """Read a list; a process that stays reads the same one once, whatever else was changed."""
    notes = Notebook("people.csv")
    return read_people(text, notes), tuple(notes.complaints)


_PARTS: dict[str, Callable[[Gathered], None]] = {
    "pieces": _pieces, "commissions": _commissions, "shows": _shows, "pages": _pages, "people": _people,
}  # fmt: skip


def _model(seen: Gathered, model: type[Model], file: str, **given: str) -> Model | None:
    """Read a file as a model; None after complaints."""
    notes = seen.notebook(file)
    text = seen.text_of(file, notes)
    notes.parsed = written = read_yaml(text, notes) if text is not None else None
    if written is None:
        return None
    for path, said in texts_in(written.value):
        for place in placeholders(said):
            notes.warn(written.line_reading(place, path), f"still to fill in: {place}")
    if model is Settings:
        currency = str(written.value.get("currency", "")).strip()
        seen.digits = money.minor_digits(currency) if currency in money.MINOR_DIGITS else 2
    zone = seen.settings.time_zone if seen.settings else None
    return build(model, written, notes, digits=seen.digits, zone=zone, given=given)


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:  # links in a circle
        return False


def _entries(folder: Path) -> Iterator[os.DirEntry[str]]:
    if folder.is_dir():
        with os.scandir(folder) as entries:
            yield from (entry for entry in entries if not entry.name.startswith((".", "_")))
