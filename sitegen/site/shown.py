"""A piece together with its pictures, and how a picture stands on a page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from itertools import groupby
from urllib.parse import quote

from markupsafe import Markup, escape

from sitegen.site import addresses
from sitegen.studio.picture import Pictures, PictureSet, Rendition, mark_of
from sitegen.studio.public import PublicPhoto, PublicPiece

# Offered in this order; a browser takes the first kind it knows. JPEG is the one that all know.
_KINDS = ("image/avif", "image/webp", "image/jpeg", "image/png")
# Width of the picture that a browser without srcset, or a mail program, gets.
_PLAIN_WIDTH = 800


class Shot:
    """One photograph of a piece, made ready; its pictures are looked up when something shows it."""

    def __init__(self, slug: str, photo: PublicPhoto, pictures: Pictures) -> None:
        """Take a photo whose pictures are among `pictures`."""
        self.slug, self.photo, self._pictures = slug, photo, pictures

    @cached_property
    def picture(self) -> PictureSet:
        """Its web pictures."""
        return self._pictures[self.slug, self.photo.file]

    @property
    def mark(self) -> str:
        """A text that changes with its pictures' bytes, names or sizes."""
        return mark_of(self._pictures, (self.slug, self.photo.file))

    @property
    def ratio(self) -> float:
        """Width over height of the whole frame."""
        return self.picture.width / self.picture.height

    @cached_property
    def card_ratio(self) -> float:
        """Width over height of the frame as a card shows it."""
        largest = max(self.picture.card, key=lambda one: one.width)
        return largest.width / largest.height

    @property
    def renditions(self) -> tuple[Rendition, ...]:
        """Every file that the site carries of this photograph."""
        return (*self.picture.full, *self.picture.card, self.picture.social)

    @cached_property
    def full_kinds(self) -> list[list[Rendition]]:
        """The whole frame by kind, in the order of offering, each from narrow to wide."""
        return _by_kind(self.picture.full)

    @cached_property
    def card_kinds(self) -> list[list[Rendition]]:
        """The same for a card."""
        return _by_kind(self.picture.card)

    def path(self, rendition: Rendition) -> str:
        """Return where a rendition lies on the site."""
        return addresses.photo(self.slug, rendition.name)


@dataclass(frozen=True, eq=False)
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

    @cached_property
    def mark(self) -> str:
        """A digest of all that is shown of the piece, pictures included."""
        rows = [repr(self.piece), *(f"{shot.photo.file} {shot.mark}" for shot in self.shots)]
        return sha256("\n".join(rows).encode("utf-8", "surrogatepass")).hexdigest()


def exhibits(pieces: Iterable[PublicPiece], pictures: Pictures) -> tuple[Exhibit, ...]:
    """Join pieces with their pictures, in the same order."""
    return tuple(
        Exhibit(
            piece,
            tuple(
                Shot(piece.slug, photo, pictures)
                for photo in piece.photos
                if (piece.slug, photo.file) in pictures
            ),
        )
        for piece in pieces
    )


def ratio_class(ratio: float) -> str:
    """Name the style class that tells a grid how wide a picture is for its height."""
    return f"r{round(ratio * 1000)}"


def shapes(one: Exhibit) -> tuple[int, ...]:
    """Return the shapes of a piece's pictures, as `ratio_styles` takes them."""
    return tuple(
        sorted({round(ratio * 1000) for shot in one.shots for ratio in (shot.ratio, shot.card_ratio)})
    )


def ratio_styles(shapes: Iterable[int]) -> str:
    """Return one rule for each shape of picture in use; a page needs no inline style for it."""
    return "".join(f".r{shape}{{--r:{shape / 1000:g}}}\n" for shape in sorted(set(shapes)))


def picture(self) -> PictureSet:
        """Its web pictures."""
        return self._pictures[self.slug, self.photo.file]

    @property
    def mark(self) -> str:
        """A text that changes with its pictures' bytes, names or sizes."""
        return mark_of(self._pictures, (self.slug, self.photo.file))

    @property
    def ratio(self) -> float:
        """Width over height of the whole frame."""
        return self.picture.width / self.picture.height

    @cached_property
    def card_ratio(self) -> float:
        """Width over height of the frame as a card shows it."""
        largest = max(self.picture.card, key=lambda one: one.width)
        return largest.width / largest.height

    @property
    def renditions(self) -> tuple[Rendition, ...]:
        """Every file that the site carries of this photograph."""
        return (*self.picture.full, *self.picture.card, self.picture.social)

    @cached_property
    def full_kinds(self) -> list[list[Rendition]]:
        """The whole frame by kind, in the order of offering, each from narrow to wide."""
        return _by_kind(self.picture.full)

    @cached_property
    def card_kinds(self) -> list[list[Rendition]]:
        """The same for a card."""
        return _by_kind(self.picture.card)

    def path(self, rendition: Rendition) -> str:
        """Return where a rendition lies on the site."""
        return addresses.photo(self.slug, rendition.name)


@dataclass(frozen=True, eq=False)
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

    @cached_property
    def mark(self) -> str:
        """A digest of all that is shown of the piece, pictures included."""
        rows = [repr(self.piece), *(f"{shot.photo.file} {shot.mark}" for shot in self.shots)]
        return sha256("\n".join(rows).encode("utf-8", "surrogatepass")).hexdigest()


def exhibits(pieces: Iterable[PublicPiece], pictures: Pictures) -> tuple[Exhibit, ...]:
    """Join pieces with their pictures, in the same order."""
    return tuple(
        Exhibit(
            piece,
            tuple(
                Shot(piece.slug, photo, pictures)
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
    # Put together by hand: a gallery of a thousand pieces asks for this more often than for anything else.
    *modern, plain = shot.card_kinds if card else shot.full_kinds
    folder = point(addresses.photo(shot.slug, ""))
    loading = 'fetchpriority="high"' if first else 'loading="lazy" decoding="async"'
    largest, usual = plain[-1], _nearest(plain, _PLAIN_WIDTH)
    shown_at = escape(sizes)
    sources = "".join(
        f'<source type="{kind[0].mime}" srcset="{_srcset(kind, folder)}" sizes="{shown_at}">'
        for kind in modern
    )
    image = (
        f'<img src="{escape(folder + quote(usual.name))}" srcset="{_srcset(plain, folder)}" sizes="{shown_at}" '
        f'width="{largest.width}" height="{largest.height}" alt="{escape(alt)}" {loading}>'
    )
    return Markup(f"<picture>{sources}{image}</picture>")  # noqa: S704 (every part is escaped above)


def _by_kind(renditions: Sequence[Rendition]) -> list[list[Rendition]]:
    ordered = sorted(renditions, key=lambda one: (_KINDS.index(one.mime), one.width))
    return [list(kind) for _, kind in groupby(ordered, key=lambda one: one.mime)]


def _srcset(kind: Sequence[Rendition], folder: str) -> Markup:
    return escape(", ".join(f"{folder}{quote(one.name)} {one.width}w" for one in kind))


def _nearest(kind: Sequence[Rendition], width: int) -> Rendition:
    return min(kind, key=lambda one: abs(one.width - width))
