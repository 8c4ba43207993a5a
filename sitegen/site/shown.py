"""A piece together with its pictures, and how a picture stands on a page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.studio.picture import PictureSet, Rendition
from sitegen.studio.public import PublicPhoto, PublicPiece

# Offered in this order; a browser takes the first kind it knows. JPEG is the one that all know.
_KINDS = ("image/avif", "image/webp", "image/jpeg", "image/png")
# Width of the picture that a browser without srcset, or a mail program, gets.
_PLAIN_WIDTH = 800


@dataclass(frozen=True, slots=True)
class Shot:
    """One photograph of a piece, made ready."""

    slug: str
    photo: PublicPhoto
    picture: PictureSet

    @property
    def ratio(self) -> float:
        """Width over height of the whole frame."""
        return self.picture.width / self.picture.height

    @property
    def card_ratio(self) -> float:
        """Width over height of the frame as a card shows it."""
        largest = max(self.picture.card, key=lambda one: one.width)
        return largest.width / largest.height

    @property
    def renditions(self) -> tuple[Rendition, ...]:
        """Every file that the site carries of this photograph."""
        return (*self.picture.full, *self.picture.card, self.picture.social)

    def path(self, rendition: Rendition) -> str:
        """Return where a rendition lies on the site."""
        return addresses.photo(self.slug, rendition.name)


@dataclass(frozen=True, slots=True)
class Exhibit:
    """A piece with those of its photographs that could be made ready."""

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


def exhibits(
    pieces: Iterable[PublicPiece], pictures: Mapping[tuple[str, str], PictureSet]
) -> tuple[Exhibit, ...]:
    """Join pieces with their pictures, in the same order."""
    return tuple(
        Exhibit(
            piece,
            tuple(
                Shot(piece.slug, photo, pictures[piece.slug, photo.file])
                for photo in piece.photos
                if (piece.slug, photo.file) in pictures
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
    shot: Shot,
    point: Callable[[str], str],
    alt: str,
    sizes: str,
    *,
    card: bool = False,
    first: bool = False,
) -> Markup:
    """Return a picture element: every kind and width, its size on record, lazy unless it comes `first`.

    `sizes` is the width at which the page shows it, as the HTML attribute says it.
    """
    renditions = shot.picture.card if card else shot.picture.full

    def address(one: Rendition) -> str:
        return point(shot.path(one))

    *modern, plain = _by_kind(renditions)
    loading = Markup('fetchpriority="high"') if first else Markup('loading="lazy" decoding="async"')
    largest, usual = plain[-1], _nearest(plain, _PLAIN_WIDTH)
    sources = Markup("").join(
        Markup('<source type="{}" srcset="{}" sizes="{}">').format(
            kind[0].mime, _srcset(kind, address), sizes
        )
        for kind in modern
    )
    image = Markup('<img src="{}" srcset="{}" sizes="{}" width="{}" height="{}" alt="{}" {}>').format(
        address(usual), _srcset(plain, address), sizes, largest.width, largest.height, alt, loading
    )
    return Markup("<picture>{}{}</picture>").format(sources, image)


def _by_kind(renditions: Sequence[Rendition]) -> list[list[Rendition]]:
    ordered = sorted(renditions, key=lambda one: (_KINDS.index(one.mime), one.width))
    return [list(kind) for _, kind in groupby(ordered, key=lambda one: one.mime)]


def _srcset(kind: Sequence[Rendition], address: Callable[[Rendition], str]) -> str:
    return ", ".join(f"{address(one)} {one.width}w" for one in kind)


def _nearest(kind: Sequence[Rendition], width: int) -> Rendition:
    return min(kind, key=lambda one: abs(one.width - width))
