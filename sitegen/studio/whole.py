"""The studio as one value: what the sources room hands to everyone else."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import PurePath

from sitegen.studio.commission import Commissions
from sitegen.studio.person import Person
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the artist's own words."""

    name: str  # file name without `.md`
    title: str
    text: str  # Markdown, without the title line


@dataclass(frozen=True, slots=True)
class KeptTerms:
    """A page of terms as it was when it was kept, its numbers filled in for good."""

    name: str  # of the page: commission-terms or payment-terms
    version: str  # year and month, like 2026-11
    title: str
    text: str  # Markdown, without the title line


@dataclass(frozen=True, slots=True)
class Studio:
    """Everything the studio's files say. Private: hand on `front.front_of_house`, not this."""

    folder: PurePath
    settings: Settings
    pieces: tuple[Piece, ...]
    commissions: Commissions
    shows: tuple[Show, ...]
    pages: tuple[Page, ...]
    people: tuple[Person, ...] = field(repr=False)
    photo_folders: dict[str, PurePath] = field(default_factory=dict)
    """Folder of each piece's photos, by slug: the folder's own name may be spelt otherwise."""
    kept_terms: tuple[KeptTerms, ...] = ()  # every version of the terms that was kept, in no particular order
    numbers: Mapping[str, str] = field(default_factory=dict)
    """What stands in the places of the terms, by name; empty where there are no terms."""

    def piece(self, slug: str) -> Piece | None:
        """Find a piece by its slug, or by an earlier one that no piece has now."""
        now = next((piece for piece in self.pieces if piece.slug == slug), None)
        return now or next((piece for piece in self.pieces if slug in piece.was), None)

    def made_for(self, code: str) -> tuple[Piece, ...]:
        """Return the pieces that are made for an order, by its code: as their `order:` says."""
        return tuple(piece for piece in self.pieces if piece.private.order == code)

    def show(self, slug: str) -> Show | None:
        """Find a show by its slug."""
        return next((show for show in self.shows if show.slug == slug), None)
