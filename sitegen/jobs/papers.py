"""Print paper: read the studio, compile the PDF, put it in out/paper."""

from __future__ import annotations

import warnings as warnings_of_python
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sitegen import paper
from sitegen.jobs.place import find_theme, moment_in
from sitegen.sources import StudioFault, read
from sitegen.sources.text import write_whole
from sitegen.studio.fields import did_you_mean
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicShow, front_of_house


def sheet(folder: Path, today: str | None, show: str | None, size: str | None, pages: int) -> Path:
    """Print the sign-up sheet for a show's table: the named one, else the next to come."""
    front = _front(folder, today)
    chosen = _show(front, show)
    content = paper.sheet(front, chosen, _theme(folder, front), paper=size or front.card.paper, pages=pages)
    return _put(folder, f"sheet-{chosen.slug}.pdf", content)


@dataclass(frozen=True)
class Printed:
    """A PDF that was made, and what was printed other than it was written."""

    file: Path
    warnings: tuple[str, ...]


def cards(folder: Path, today: str | None, slugs: Sequence[str], size: str | None) -> Printed:
    """Print table cards: of the pieces named, else of every piece that is available."""
    front = _front(folder, today)
    chosen = [_piece(front, slug) for slug in slugs] or None
    with _warned() as warnings:
        content = paper.cards(front, chosen, _theme(folder, front), paper=size or front.card.paper)
    return Printed(_put(folder, "cards.pdf", content), tuple(warnings))


def certificate(folder: Path, today: str | None, slug: str, size: str | None) -> Printed:
    """Print a piece's certificate of authenticity."""
    front = _front(folder, today)
    piece = _piece(front, slug)
    with _warned() as warnings:
        content = paper.certificate(front, piece, _theme(folder, front), paper=size or front.card.paper)
    return Printed(_put(folder, f"certificate-{piece.slug}.pdf", content), tuple(warnings))


@contextmanager
def _warned() -> Iterator[list[str]]:
    """Collect the paper room's warnings as sentences."""
    sentences: list[str] = []
    with warnings_of_python.catch_warnings(record=True) as caught:
        warnings_of_python.simplefilter("always", paper.PaperWarning)
        yield sentences
    sentences += [str(one.message) for one in caught]


def _piece(front: FrontOfHouse, slug: str) -> PublicPiece:
    found = next((one for one in front.pieces if one.slug == slug), None)
    if found is None:
        hint = did_you_mean(slug, [one.slug for one in front.pieces])
        raise StudioFault(
            f"there is no piece '{slug}'{hint or '; its folder name below pieces/ is what to write'}"
        )
    return found


def _front(folder: Path, today: str | None) -> FrontOfHouse:
    studio = read(folder).sound()
    return front_of_house(studio, moment_in(studio.settings.time_zone, today))


def _theme(folder: Path, front: FrontOfHouse) -> Path:
    return find_theme(folder, front.card.theme)


def _show(front: FrontOfHouse, name: str | None) -> PublicShow:
    if name is None:
        return _next_show(front.shows, front.moment.date())
    found = next((one for one in front.shows if name.casefold() in {one.slug, one.name.casefold()}), None)
    if found is None:
        slugs = [one.slug for one in front.shows]
        hint = (
            did_you_mean(name, slugs) or f"; there are {', '.join(slugs)}" if slugs else "; shows/ is empty"
        )
        raise StudioFault(f"there is no show '{name}'{hint}")
    return found


def _next_show(shows: tuple[PublicShow, ...], today: date) -> PublicShow:
    coming = [one for one in shows if one.last_day >= today]
    if not coming:
        raise StudioFault("no show is coming; add one as shows/NAME.yaml, or name a past one")
    return coming[0]


def _put(folder: Path, name: str, content: bytes) -> Path:
    """Write a PDF unless the same bytes lie there already."""
    file = folder / "out" / "paper" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    if not file.exists() or file.read_bytes() != content:
        write_whole(file, content)
    return file
