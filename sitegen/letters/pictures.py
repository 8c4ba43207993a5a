"""Pictures in a letter: carried inside it within a budget, or shown from the artist's own site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from sitegen.letters.message import Part
from sitegen.studio.picture import PictureSet, Rendition
from sitegen.studio.public import PublicPhoto, PublicPiece

# Beyond some 100 KB, mail readers cut a letter short (common practice, no source).
BUDGET = 100_000
# A column of 600 px less its margins, at most twice as fine.
SHOWN_WIDTH, FINEST_WIDTH = 544, 1088
# Octets a picture takes in base64 (RFC 2045 section 6.8): 4 for 3, and CRLF after 76; and its own header.
_GROWTH, _HEADER = 4 / 3 * 78 / 76, 400

Sets = Mapping[tuple[str, str], PictureSet]
"""By piece and photo file."""


class Showing(StrEnum):
    """How a letter shows pictures."""

    CARRIED = "carried"
    """Inside the letter: shown at once, also offline."""
    LINKED = "linked"
    """From the artist's site: a small letter, but most readers are asked first."""
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture as a template shows it."""

    source: str
    width: int
    """CSS pixels."""
    height: int
    alt: str
    part: Part | None
    """The picture itself, where the letter carries it."""


def pick(piece: PublicPiece, sets: Sets, showing: Showing, room: int, site: str) -> Picture | None:
    """Pick the photo of a whole figure and its best size; None where there's none or it doesn't fit in.

    `room` is how many octets of the message it may take.
    """
    photo = next((one for one in piece.photos if not one.detail), piece.photos[0] if piece.photos else None)
    if photo is None or showing is Showing.NONE or (piece.slug, photo.file) not in sets:
        return None
    sizes = _sizes(sets[piece.slug, photo.file])
    if showing is Showing.LINKED:
        return (
            _picture(photo, sizes[0], f"{site}pieces/{piece.slug}/{sizes[0].name}", None) if sizes else None
        )
    best = next((one for one in sizes if _taken(one.size) <= room), None)
    return _carried(photo, best) if best else None


def _sizes(pictures: PictureSet) -> list[Rendition]:
    """Return the JPEG sizes, the best first: every mail reader shows JPEG."""
    found = [one for one in pictures.full if one.mime == "image/jpeg"]
    narrow = [one for one in found if one.width <= FINEST_WIDTH] or found[:1]
    return sorted(narrow, key=lambda one: -one.width)


def _taken(octets: int) -> int:
    return int(octets * _GROWTH) + _HEADER


def _carried(photo: PublicPhoto, one: Rendition) -> Picture:
    with one.pack.open("rb") as pack:
        pack.seek(one.offset)
        content = pack.read(one.size)
    stem = one.name.rpartition(".")[0]
    return _picture(
        photo, one, f"cid:{stem}@pictures", Part("image/jpeg", one.name, content, f"{stem}@pictures")
    )


def _picture(photo: PublicPhoto, one: Rendition, source: str, part: Part | None) -> Picture:
    width = min(SHOWN_WIDTH, one.width)
    return Picture(source, width, round(one.height * width / one.width), photo.alt, part)
