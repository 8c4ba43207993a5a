"""Put a piece in, or change what may be said of it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sitegen.jobs.pen import writes
from sitegen.jobs.where import moment_in
from sitegen.sources import StudioFault, read
from sitegen.sources.edit import set_value
from sitegen.sources.new_piece import NewPiece, add_piece, next_number
from sitegen.studio import money
from sitegen.studio.fields import did_you_mean, one_of
from sitegen.studio.names import slug as slug_of
from sitegen.studio.settings import Settings
from sitegen.studio.status import Status


@dataclass(frozen=True)
class Marked:
    """What marking a piece did."""

    file: Path
    status: Status
    changed: bool


@writes
def mark(folder: Path, slug: str, word: str) -> Marked:
    """Change a piece's status: one line of its YAML. `word` is the status as typed.

    Raises StudioFault if there is no such status or piece, or its file can't be changed safely.
    """
    status = status_of(word)
    file = _file_of(folder, slug)
    shown = file.relative_to(folder).as_posix()
    return Marked(file, status, set_value(file, shown, ["status"], str(status)))


def status_of(word: str) -> Status:
    """Return the status a person typed (`on-hold` and `On hold` count), or raise StudioFault."""
    try:
        return Status(one_of(Status)(re.sub(r"[-_]+", " ", word)))
    except ValueError as fault:
        raise StudioFault(f"status {fault}") from fault


def _file_of(folder: Path, slug: str) -> Path:
    files = {slug_of(file.parent.name): file for file in sorted((folder / "pieces").glob("*/piece.yaml"))}
    if slug not in files:
        raise no_piece(folder, slug, list(files))
    return files[slug]


def no_piece(folder: Path, slug: str, known: list[str]) -> StudioFault:
    """Say that there's no such piece, and which one was probably meant."""
    hint = did_you_mean(slug, known) or "; its folder's name below pieces/ is what to write"
    return StudioFault(f"there is no piece '{slug}' in {folder / 'pieces'}{hint}")


@dataclass(frozen=True)
class Draft:
    """A new piece as asked for on the command line: text, not yet checked."""

    photos: tuple[Path, ...]
    title: str | None = None
    status: str | None = None
    price: str | None = None
    series: str | None = None
    finished: str | None = None
    height_mm: int | None = None
    base: str | None = None
    materials: str | None = None
    alts: tuple[str, ...] = ()
    slug: str | None = None


@writes
def add(folder: Path, draft: Draft, pretended: str | None) -> Path:
    """Put a new piece into the inventory; return its folder.

    Its studio number counts on in the year it was finished (or today's). Raises StudioFault if the title
    is missing, a photo can't be read, the price is no amount, the series is unknown, the folder exists,
    or the studio's files hold errors already.
    """
    studio = read(folder).sound()
    today = moment_in(studio.settings.time_zone, pretended).date()
    piece = _checked(draft, studio.settings, today)
    year = (piece.finished or today).year
    return add_piece(
        folder, piece, next_number([one.number for one in studio.pieces], year), _own_slug(draft)
    )


def _checked(draft: Draft, settings: Settings, today: date) -> NewPiece:
    if not draft.title or not draft.title.strip():
        raise StudioFault("the piece needs a title; give one with --title 'The Moth Clerk'")
    _check_photos(draft.photos)
    status = status_of(draft.status or str(Status.AVAILABLE))
    known = [one.name for one in settings.series]
    if draft.series and draft.series not in known:
        raise StudioFault(f"series '{draft.series}' isn't in studio.yaml{did_you_mean(draft.series, known)}")
    return NewPiece(
        title=" ".join(draft.title.split()),
        status=status,
        photos=draft.photos,
        price=_price(draft.price, settings.digits) if draft.price else None,
        finished=_finished(draft, status, today),
        series=draft.series,
        height_mm=draft.height_mm,
        base=draft.base or "",
        materials=draft.materials or "",
        alts=draft.alts,
    )


def _check_photos(photos: tuple[Path, ...]) -> None:
    from sitegen import pictures

    faults = [f"{photo}: {fault.message}" for photo in photos if (fault := pictures.look(photo))]
    if faults:
        raise StudioFault("\n".join(faults))


def _finished(draft: Draft, status: Status, today: date) -> date | None:
    if draft.finished:
        try:
            return date.fromisoformat(draft.finished)
        except ValueError:
            raise StudioFault(f"finished '{draft.finished}' is no date; write it like 2026-05-14") from None
    return None if status is Status.IN_PROGRESS else today


def _price(text: str, digits: int) -> str:
    try:
        money.read_amount(text, digits)
    except ValueError as fault:
        raise StudioFault(f"price {fault}") from fault
    return text.strip()


def _own_slug(draft: Draft) -> str | None:
    if draft.slug is None:
        return None
    if slug_of(draft.slug) != draft.slug:
        raise StudioFault(f"--slug '{draft.slug}' may hold a-z, 0-9 and single hyphens only")
    return draft.slug
