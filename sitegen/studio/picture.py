"""A photograph made ready for the web: plain values that pictures makes and the output rooms read."""

from collections.abc import Callable
from dataclasses import dataclass, field

PhotoKey = tuple[str, str]
"""Which photograph: the slug of its piece, and the name of its file."""

# Where a picture lies on the site, by its piece and its name; letters point there too.
shelf = "pictures/{}/{}".format


@dataclass(frozen=True, slots=True)
class Rendition:
    """One encoded size of a photograph."""

    mime: str
    width: int  # pixels across
    height: int
    name: str  # its public file name, which ends in a hash of its bytes: other bytes always have another name
    size: int  # octets
    read: Callable[[], bytes] = field(repr=False, compare=False)
    """Returns its bytes. Raises OSError if they are lost or cut short."""


@dataclass(frozen=True)
class PictureSet:
    """All renditions of one photograph."""

    width: int  # pixels across of the upright original
    height: int
    full: tuple[Rendition, ...]
    """The whole frame: the modern format first, then JPEG, each from narrow to wide."""
    card: tuple[Rendition, ...]  # the same for a grid of pieces: the whole frame, or a crop of a detail
    social: Rendition  # JPEG for link previews

    @property
    def mark(self) -> str:
        """A text that is another one whenever a picture of the set or its name is."""
        return repr(self)

    @property
    def ratio(self) -> float:
        """Width over height of the whole frame."""
        return self.width / self.height

    @property
    def card_ratio(self) -> float:
        """Width over height of the frame as a card shows it."""
        largest = max(self.card, key=lambda card: card.width)
        return largest.width / largest.height
