"""One voice: a studio's language with all its words, opened once and handed to whoever speaks."""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.studio.fault import Fault
from sitegen.studio.person import Interest
from sitegen.studio.piece import Status, tall
from sitegen.studio.public import PublicPiece, PublicStudio
from sitegen.studio.settings import Settings
from sitegen.voice.theme_files import ThemeFiles, shared
from sitegen.voice.tongue import Tongue, typographic
from sitegen.voice.words import Words, read_locale, read_words


@dataclass(frozen=True, slots=True)
class WallLabel:
    """A piece in words; what isn't known of it is empty."""

    title: str
    number: str
    year: str
    materials: str
    base: str
    height: str
    status: str
    price: str
    """Empty for every piece that isn't offered."""


@dataclass(frozen=True)
class Voice:
    """How one studio says things, on its site, in its letters and on its paper."""

    words: Words
    tongue: Tongue

    def status(self, status: Status) -> str:
        """Say a piece's standing."""
        return self.words.plain(f"status.{status.name.lower()}")

    def interest(self, interest: Interest) -> str:
        """Say what a person asked to hear of."""
        return self.words.plain(f"letters.interest.{interest.name.lower()}")

    def height(self, size: str, millimetres: int | None) -> str:
        """Say how tall something is: in the artist's own words if there are any, else as measured."""
        said = tall(size, millimetres)
        return self.tongue.length(said) if isinstance(said, int) else self.typographic(said)

    def wall_label(self, piece: PublicPiece) -> WallLabel:
        """Say a piece in the trade's order: title, year and materials, base and height, status, price."""
        offered = piece.price if piece.offered else None
        return WallLabel(
            title=self.typographic(piece.title),
            number=piece.number or "",
            year=str(piece.year) if piece.year else "",
            materials=self.typographic(piece.materials),
            base=self.typographic(piece.base),
            height=self.height(piece.size, piece.height_mm),
            status=self.status(piece.status),
            price="" if offered is None else self.tongue.money(offered),
        )

    def typographic(self, text: str) -> str:
        """Set one plain line with the language's quotes, apostrophes and dashes."""
        return typographic(text, self.quotes)

    @property
    def quotes(self) -> str:
        """The four quotation marks of the language."""
        return self.words.plain("quotes")


def open_voice(theme: ThemeFiles, card: PublicStudio | Settings) -> Voice:
    """Open a studio's voice. Raises Fault for a language that nobody knows or that has no words."""
    words = read_words(theme, card.language)
    voice = Voice(words, Tongue(read_locale(card.language), words, card.currency, card.digits))
    if len(voice.quotes) != 4:
        raise Fault(f"{words.file}: 'quotes' must be four quotation marks, like “”‘’")
    return voice


def english() -> Voice:
    """Open the voice of no studio: English, in the words that all themes share, with no currency."""
    words = read_words(shared(), "en")
    return Voice(words, Tongue(read_locale("en"), words, "XXX", 2))
