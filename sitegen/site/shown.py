"""A piece together with its pictures, and how a picture stands on a page."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import cycle, groupby

from markupsafe import Markup, escape

from sitegen.site import addresses
from sitegen.studio.fault import Fault
from sitegen.studio.picture import PhotoKey, PictureSet, Rendition
from sitegen.studio.public import PublicPhoto, PublicPiece

# Offered in this order; a browser takes the first kind it knows. JPEG is the one that all know.
_KINDS = ("image/avif", "image/webp", "image/jpeg", "image/png")
# Width of the picture that a browser without srcset, or a mail program, gets.
_PLAIN_WIDTH = 800


@dataclass(frozen=True)
class Shot:
    """One photograph of a piece; its text as `repr` gives it is another one whenever a picture of it is."""

    slug: str
    title: str
    """Of its piece."""
    photo: PublicPhoto
    picture: PictureSet = field(repr=False, compare=False)
    mark: str

    @property
    def ratio(self) -> float:
        """Width over height of the whole frame."""
        return self.picture.ratio

    @property
    def card_ratio(self) -> float:
        """Width over height of the frame as a card shows it."""
        return self.picture.card_ratio

    @property
    def renditions(self) -> tuple[Rendition, ...]:
        """Every file that the site carries of this photograph."""
        both = {one.name: one for one in (*self.picture.full, *self.picture.card, self.picture.social)}
        return tuple(both.values())

    @property
    def large(self) -> str:
        """Where its largest picture lies, for whoever wants to look closely."""
        return self.path(min(self.picture.full, key=lambda one: (-one.width, _KINDS.index(one.mime))))

    def path(self, rendition: Rendition) -> str:
        """Return where a rendition lies on the site."""
        return addresses.photo(self.slug, rendition.name)


@dataclass(frozen=True)
class Exhibit:
    """A piece with those of its photographs that could be made ready.

    Its text as `repr` gives it is a digest of all of it, since pages are known by the text of their parts.
    """

    piece: PublicPiece
    shots: tuple[Shot, ...]

    @property
    def path(self) -> str:
        """Return the path of its page."""
        return addresses.piece(self.piece.slug)

    @property
    def first(self) -> Shot | None:
        """The photograph that stands for the piece."""
        return self.shots[0] if self.shots else None

    @cached_property
    def digest(self) -> str:
        """Digest of the piece, its photographs and their pictures."""
        return hashlib.sha256(repr((self.piece, self.shots)).encode("utf-8", "surrogatepass")).hexdigest()

    def __repr__(self) -> str:
        return f"Exhibit({self.digest})"


def exhibits(pieces: Iterable[PublicPiece], pictures: Mapping[PhotoKey, PictureSet]) -> tuple[Exhibit, ...]:
    """Join pieces with their pictures, in the same order."""
    return tuple(
        Exhibit(
            piece,
            tuple(
                Shot(piece.slug, piece.title, photo, made, made.mark)
                for photo in piece.photos
                if (made := pictures.get((piece.slug, photo.file))) is not None
            ),
        )
        for piece in pieces
    )


def ratio_class(ratio: float) -> str:
    """Name the style class that tells a grid how wide a picture is for its height."""
    return f"r{round(ratio * 1000)}"


def ratio_styles(shown: Iterable[Exhibit]) -> str:
    """Return one rule for each shape of picture in use; a page needs no inline style for it."""
    shapes = {
        round(ratio * 1000) for one in shown for shot in one.shots for ratio in (shot.ratio, shot.card_ratio)
    }
    return "".join(f".r{shape}{{--r:{shape / 1000:g}}}\n" for shape in sorted(shapes))


def picture(
    shot: Shot, point: Callable[[str], str], alt: str, sizes: str, *, card: bool = False, first: bool = False
) -> Markup:
    """Return a picture element: every kind and width, its size on record, lazy unless it comes `first`.

    `sizes` is the width at which the page shows it, as the HTML attribute says it.
    """
    renditions = shot.picture.card if card else shot.picture.full
    *modern, plain = _by_kind(renditions)
    loading = 'fetchpriority="high" decoding="sync"' if first else 'loading="lazy" decoding="async"'
    largest, usual = plain[-1], _nearest(plain, _PLAIN_WIDTH)
    # Written by hand, since a gallery has hundreds and Markup's own format takes ten times as long.
    room, text = escape(sizes), escape(alt)

    def srcset(kind: Sequence[Rendition]) -> str:
        return ", ".join(f"{point(shot.path(one))} {one.width}w" for one in kind)

    sources = "".join(
        f'<source type="{kind[0].mime}" srcset="{escape(srcset(kind))}" sizes="{room}">' for kind in modern
    )
    image = (
        f'<img src="{escape(point(shot.path(usual)))}" srcset="{escape(srcset(plain))}" sizes="{room}" '
        f'width="{largest.width}" height="{largest.height}" alt="{text}" {loading}>'
    )
    return Markup(f"<picture>{sources}{image}</picture>")  # noqa: S704 (every part is escaped above)


def _by_kind(renditions: Sequence[Rendition]) -> list[list[Rendition]]:
    ordered = sorted(renditions, key=lambda one: (_KINDS.index(one.mime), one.width))
    return [list(kind) for _, kind in groupby(ordered, key=lambda one: one.mime)]


def _nearest(kind: Sequence[Rendition], width: int) -> Rendition:
    return min(kind, key=lambda one: abs(one.width - width))


# A piece without a picture takes the room of an upright one.
_UPRIGHT = 0.75


@dataclass(frozen=True, slots=True)
class Hung:
    """A piece on its nail."""

    exhibit: Exhibit
    share: float
    """Its part of the row's width, 0 to 1, where the whole row hangs side by side."""
    pair_share: float
    """The same where the first of three hangs alone above the other two."""


def hang(exhibits: Sequence[Exhibit], pattern: str) -> tuple[tuple[Hung, ...], ...]:
    """Lay pieces out in rows; `pattern` says how many hang in each, in turn, like `3 2 3`.

    Raises Fault for a pattern that holds anything but whole numbers from 1.
    """
    rows: list[tuple[Hung, ...]] = []
    at = 0
    for count in cycle(_counts(pattern)):
        if at >= len(exhibits):
            return tuple(rows)
        rows.append(_row(exhibits[at : at + count]))
        at += count
    return tuple(rows)


def _counts(pattern: str) -> list[int]:
    words = pattern.split()
    if not words or not all(word.isdecimal() and int(word) > 0 for word in words):
        raise Fault(f"the theme's rows are '{pattern}'; write whole numbers with spaces, like 3 2 3")
    return [int(word) for word in words]


def _row(exhibits: Sequence[Exhibit]) -> tuple[Hung, ...]:
    ratios = [exhibit.first.card_ratio if exhibit.first else _UPRIGHT for exhibit in exhibits]
    pair = sum(ratios[1:]) or 1
    return tuple(
        Hung(
            one,
            round(ratio / sum(ratios), 3),
            1.0
            if place == 0 and len(ratios) != 2
            else round(ratio / (pair if len(ratios) > 2 else sum(ratios)), 3),
        )
        for place, (one, ratio) in enumerate(zip(exhibits, ratios, strict=True))
    )
