"""What every page of one build shares, and what the site consists of before any of it is made.

Each sheet and shelf has a key of all it depends on, so that what didn't change needn't be made to be known.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

from sitegen.site import addresses
from sitegen.site.addresses import Asked, Find
from sitegen.site.theme import Theme, read_theme
from sitegen.studio.fields import is_placeholder
from sitegen.studio.front import ASKED_FOR
from sitegen.studio.picture import PhotoKey, PictureSet, Rendition
from sitegen.studio.piece import Status
from sitegen.studio.public import FrontOfHouse, PublicPhoto, PublicPiece, PublicSeries
from sitegen.studio.settings import uri
from sitegen.studio.whole import Page
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Voice, open_voice

# Offered in this order; a browser takes the first kind it knows. JPEG is the one that all know.
KINDS = ("image/avif", "image/webp", "image/jpeg", "image/png")
Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True)
class Shot:
    """One photograph of a piece; its text as `repr` gives it is another one whenever a picture of it is."""

    slug: str
    title: str  # of its piece
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
        both = {web.name: web for web in (*self.picture.full, *self.picture.card, self.picture.social)}
        return tuple(both.values())

    @property
    def large(self) -> str:
        """Where its largest picture lies, for whoever wants to look closely."""
        return self.path(min(self.picture.full, key=lambda web: (-web.width, KINDS.index(web.mime))))

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

    def renditions(self) -> tuple[Rendition, ...]:
        """Return every file that the site carries of it."""
        return tuple(made for shot in self.shots for made in shot.renditions)

    @cached_property
    def digest(self) -> str:
        """Digest of the piece, its photographs and their pictures."""
        return hashlib.sha256(repr((self.piece, self.shots)).encode("utf-8", "surrogatepass")).hexdigest()

    def __repr__(self) -> str:
        return f"Exhibit({self.digest})"


@dataclass(frozen=True)
class House:
    """Front of house, ready to be shown in one theme and one language."""

    front: FrontOfHouse
    theme: Theme
    voice: Voice
    every: tuple[Exhibit, ...]  # all pieces that have a page, also those that rest
    icons: Sequence[tuple[str, bytes]] = ()  # files for the site's root, by name

    @cached_property
    def exhibits(self) -> tuple[Exhibit, ...]:
        """All pieces that are shown, newest first."""
        return tuple(exhibit for exhibit in self.every if not exhibit.piece.rests)

    @cached_property
    def available(self) -> tuple[Exhibit, ...]:
        """What can be bought."""
        return tuple(exhibit for exhibit in self.exhibits if exhibit.piece.offered)

    @cached_property
    def newest(self) -> Exhibit | None:
        """The latest finished piece that has a picture."""
        finished = (exhibit for exhibit in self.exhibits if exhibit.piece.status is not Status.IN_PROGRESS)
        return next((exhibit for exhibit in finished if exhibit.shots), None)

    @property
    def face(self) -> Shot | None:
        """The picture that stands for the studio."""
        return self.newest.first if self.newest else None

    @cached_property
    def series(self) -> tuple[PublicSeries, ...]:
        """Series that have pieces, in the studio's order."""
        return tuple(series for series in self.front.series if series.slug in self.of_series)

    @cached_property
    def of_series(self) -> Mapping[str, tuple[Exhibit, ...]]:
        """Each series' pieces by its slug, newest first."""
        return _grouped((shown.piece.series.slug, shown) for shown in self.exhibits if shown.piece.series)

    @cached_property
    def of_year(self) -> Mapping[int, tuple[Exhibit, ...]]:
        """What was finished in each year, the latest year first."""
        found = _grouped((exhibit.piece.year, exhibit) for exhibit in self.exhibits if exhibit.piece.year)
        return dict(sorted(found.items(), reverse=True))

    def say(self, key: str, **values: object) -> str:
        """Return a sentence as plain text; it may name the maker and the studio."""
        card = self.front.card
        return self.voice.words.plain(key, **{"maker": card.maker, "studio": card.studio, **values})

    def pages(self, *names: str) -> tuple[Page, ...]:
        """Return those of the artist's pages that exist, in the order of the names."""
        return tuple(page for page in map(self.front.page, names) if page is not None)

    def shot(self, named: str) -> Shot | None:
        """Return the photograph that words name as in a letter: `moth-usher`, or `moth-usher/hand.jpg`."""
        slug, _, file = named.partition("/")
        exhibit = next((exhibit for exhibit in self.every if exhibit.piece.slug == slug), None)
        shots = exhibit.shots if exhibit else ()
        return next((shot for shot in shots if file in ("", shot.photo.file)), None)

    def address(self, path: str) -> str:
        """Return the full address of a path, for programs."""
        return uri(self.front.card.address) + addresses.clean(path)


def _grouped(rows: Iterable[tuple[Key, Exhibit]]) -> dict[Key, tuple[Exhibit, ...]]:
    groups: dict[Key, list[Exhibit]] = {}
    for key, exhibit in rows:
        groups.setdefault(key, []).append(exhibit)
    return {key: tuple(group) for key, group in groups.items()}


def open_house(
    front: FrontOfHouse,
    pictures: Mapping[PhotoKey, PictureSet],
    theme: ThemeFiles,
    icons: Sequence[tuple[str, bytes]] = (),
) -> House:
    """Gather what the pages share. Raises a Fault for a theme or language that can't be used."""
    voice = open_voice(theme, front.card)
    # A studio that hasn't said its name yet has one for the meantime; what else waits stays empty.
    meantime: dict[str, Any] = {
        name: voice.words.plain(f"unnamed.{name}") if name in {"studio", "maker"} else ""
        for name in ASKED_FOR
        if is_placeholder(getattr(front.card, name))
    }

    def hung(piece: PublicPiece) -> Exhibit:
        found = ((photo, pictures.get((piece.slug, photo.file))) for photo in piece.photos)
        shots = (Shot(piece.slug, piece.title, photo, made, made.mark) for photo, made in found if made)
        return Exhibit(piece, tuple(shots))

    return House(
        front=replace(front, card=replace(front.card, **meantime)),
        theme=read_theme(theme, front.card.accent, front.card.theme_options),
        voice=voice,
        every=tuple(map(hung, front.pieces)),
        icons=icons,
    )


@dataclass(frozen=True)
class Leaf:
    """A page as plain values: leaves with the same text (`repr`) give the same bytes, within one house."""

    path: str  # from the site's root, like gallery/index.html
    template: str
    title: str  # without the studio's name
    description: str = ""
    """One or two sentences for search engines and link previews; that of a piece is made with its page."""
    parts: Mapping[str, Any] = field(default_factory=dict)  # what the template gets, by name
    shot: Shot | None = None  # the picture of link previews
    facts: tuple[tuple[str, Any], ...] = ()
    """What its structured data tells of: one of `machines.TELLERS`, and its subject."""
    listed: bool = True  # whether search engines are asked to keep it
    kind: str = "website"  # Open Graph's type
    posts_to: str | None = None  # where a form on it sends what is written in
    changed: date | None = field(default=None, repr=False)
    """Day of its last change, where the files tell one that may be told: for the sitemap, not on the page."""


@dataclass(frozen=True, slots=True)
class MadeSheet:
    """A sheet's bytes, and which links among the artist's words they hold."""

    content: bytes
    asked: Asked = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page, a feed or another file that is made only if there is none yet with its key."""

    path: str
    key: str  # digest of everything that decides over the bytes, but for where the artist's own links lead
    make: Callable[[], MadeSheet]


@dataclass(frozen=True, slots=True)
class Shelf:
    """The pictures of one piece. A picture's name changes with its bytes, so none is ever overwritten."""

    name: str  # of its folder
    key: str  # changes whenever a picture or its name does
    pictures: Callable[[], tuple[Rendition, ...]]


@dataclass(frozen=True)
class Content:
    """The whole site; paths are from its root."""

    sheets: tuple[Sheet, ...] = ()
    shelves: tuple[Shelf, ...] = ()
    find: Find = lambda _: None
