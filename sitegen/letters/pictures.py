"""Pictures in a letter: carried inside it within a budget, or shown from the artist's own site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from sitegen.letters.message import MailPart
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
    part: MailPart | None
    """The picture itself, where the letter carries it."""


@dataclass(frozen=True, slots=True)
class Hanging:
    """How a letter's pictures are shown, and from what."""

    sets: Sets = field(default_factory=dict)
    showing: Showing = Showing.CARRIED
    budget: int = BUDGET
    """Octets of a whole message."""


@dataclass(frozen=True, slots=True)
class Want:
    """One picture that a letter asks for."""

    piece: PublicPiece
    photo: PublicPhoto
    alt: str = ""
    """The writer's own words for it, in place of the photo's."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The pictures of one letter, in the order they were wanted."""

    pictures: tuple[Picture | None, ...]
    """None where there's no web picture, or none is wanted."""
    too_many: bool = False
    """They didn't fit inside, so that all are shown from the site."""

    @property
    def parts(self) -> tuple[MailPart, ...]:
        """What the letter carries, each once."""
        found = {one.part.name: one.part for one in self.pictures if one and one.part}
        return tuple(found.values())


def whole_figure(piece: PublicPiece) -> PublicPhoto | None:
    """Return a piece's photo of the whole figure; the first, where all are details."""
    return next((one for one in piece.photos if not one.detail), piece.photos[0] if piece.photos else None)


def lay_out(wants: Sequence[Want | None], hanging: Hanging, words: int, site: str) -> Layout:
    """Choose each picture's size so that the whole message keeps to its budget.

    `words` is what its text takes. Carried pictures grow in turn, the smallest first, while there's room.
    Where not even the smallest of each fits, all are linked: half of them missing would look like a mistake.
    """
    sizes = [_sizes_of(one, hanging) for one in wants]
    places = [place for place, found in enumerate(sizes) if found]
    if hanging.showing is Showing.LINKED:
        return _linked(wants, sizes, site)
    chosen = grown([sizes[place] for place in places], max(0, hanging.budget - words))
    if chosen is None:
        return replace(_linked(wants, sizes, site), too_many=True)
    found: list[Picture | None] = [None] * len(wants)
    for place, one in zip(places, chosen, strict=True):
        if want := wants[place]:
            found[place] = _carried(want, one)
    return Layout(tuple(found))


def _sizes_of(want: Want | None, hanging: Hanging) -> list[Rendition]:
    if want is None or hanging.showing is Showing.NONE:
        return []
    pictures = hanging.sets.get((want.piece.slug, want.photo.file))
    return _sizes(pictures)[::-1] if pictures else []


def grown(sizes: Sequence[list[Rendition]], room: int) -> list[Rendition] | None:
    """Pick one size each, as large as fit together; None if the smallest don't."""
    at = [0] * len(sizes)
    left = room - sum(_taken(found[0].size) for found in sizes)
    if left < 0:
        return None
    while True:
        larger = [n for n, found in enumerate(sizes) if at[n] + 1 < len(found)]
        cost = {n: _taken(sizes[n][at[n] + 1].size) - _taken(sizes[n][at[n]].size) for n in larger}
        fitting = [n for n in larger if cost[n] <= left]
        if not fitting:
            return [found[n] for found, n in zip(sizes, at, strict=True)]
        smallest = min(fitting, key=lambda n: sizes[n][at[n]].width)
        left -= cost[smallest]
        at[smallest] += 1


def _linked(wants: Sequence[Want | None], sizes: Sequence[list[Rendition]], site: str) -> Layout:
    found = [
        _picture(want, one[-1], f"{site}pieces/{want.piece.slug}/{one[-1].name}", None)
        if want and one
        else None
        for want, one in zip(wants, sizes, strict=True)
    ]
    return Layout(tuple(found))


def _sizes(pictures: PictureSet) -> list[Rendition]:
    """Return the JPEG sizes, the best first: every mail reader shows JPEG."""
    found = [one for one in pictures.full if one.mime == "image/jpeg"]
    narrow = [one for one in found if one.width <= FINEST_WIDTH] or found[:1]
    return sorted(narrow, key=lambda one: -one.width)


def _taken(octets: int) -> int:
    return int(octets * _GROWTH) + _HEADER


def _carried(want: Want, one: Rendition) -> Picture:
    stem = one.name.rpartition(".")[0]
    part = MailPart("image/jpeg", one.name, one.read(), f"{stem}@pictures")
    return _picture(want, one, f"cid:{stem}@pictures", part)


def _picture(want: Want, one: Rendition, source: str, part: MailPart | None) -> Picture:
    width = min(SHOWN_WIDTH, one.width)
    alt = want.alt or want.photo.alt
    return Picture(source, width, round(one.height * width / one.width), alt, part)


def remarks(layout: Layout) -> tuple[str, ...]:
    """Say what the artist should know of a letter's pictures."""
    if not layout.too_many:
        return ()
    count = len([one for one in layout.pictures if one])
    return (
        f"The pictures ({count}) don't fit into {BUDGET // 1000} KB, so the letter shows them from your "
        "site; most readers are asked before they see them. Fewer would fit inside.",
    )
