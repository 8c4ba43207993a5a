"""What every page of one build shares: the public view, the language, the theme, the pictures."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

from sitegen.site import addresses
from sitegen.site.shown import Exhibit, Shot, exhibits
from sitegen.site.theme import Theme, read_theme
from sitegen.studio.fields import is_placeholder
from sitegen.studio.picture import PhotoKey, PictureSet
from sitegen.studio.public import FrontOfHouse, PublicSeries, PublicStudio
from sitegen.studio.status import Status
from sitegen.studio.whole import Page
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.tongue import Tongue
from sitegen.voice.voice import Voice, open_voice
from sitegen.voice.words import Words

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True)
class House:
    """Front of house, ready to be shown in one theme and one language."""

    front: FrontOfHouse
    theme: Theme
    voice: Voice
    exhibits: tuple[Exhibit, ...]
    icons: tuple[str, ...] = ()
    """Names of the icon files at the site's root."""

    @property
    def words(self) -> Words:
        """The words of theme and language."""
        return self.voice.words

    @property
    def tongue(self) -> Tongue:
        """Dates, money and lengths in the studio's language."""
        return self.voice.tongue

    @cached_property
    def available(self) -> tuple[Exhibit, ...]:
        """What can be bought."""
        return tuple(one for one in self.exhibits if one.piece.offered)

    @cached_property
    def elsewhere(self) -> tuple[Exhibit, ...]:
        """Everything that can't."""
        return tuple(one for one in self.exhibits if not one.piece.offered)

    @cached_property
    def newest(self) -> Exhibit | None:
        """The latest finished piece that has a picture."""
        finished = (one for one in self.exhibits if one.piece.status is not Status.IN_PROGRESS)
        return next((one for one in finished if one.shots), None)

    @cached_property
    def years(self) -> tuple[int, ...]:
        """Years in which something was finished, latest first."""
        return tuple(sorted({one.piece.year for one in self.exhibits if one.piece.year}, reverse=True))

    @cached_property
    def series(self) -> tuple[PublicSeries, ...]:
        """Series that have pieces, in the studio's order."""
        used = {one.piece.series.slug for one in self.exhibits if one.piece.series}
        return tuple(one for one in self.front.series if one.slug in used)

    @property
    def face(self) -> Shot | None:
        """The picture that stands for the studio."""
        return self.newest.first if self.newest else None

    def of_series(self, slug: str) -> tuple[Exhibit, ...]:
        """Return a series' pieces, newest first."""
        return tuple(self._by_series[slug])

    def of_year(self, year: int) -> tuple[Exhibit, ...]:
        """Return what was finished in a year."""
        return tuple(self._by_year[year])

    def title_of(self, slug: str) -> str:
        """Return the title of the piece with this address."""
        return self._titles[slug]

    @cached_property
    def _by_series(self) -> Mapping[str, list[Exhibit]]:
        return _grouped((one.piece.series.slug, one) for one in self.exhibits if one.piece.series)

    @cached_property
    def _by_year(self) -> Mapping[int, list[Exhibit]]:
        return _grouped((one.piece.year, one) for one in self.exhibits if one.piece.year)

    @cached_property
    def _titles(self) -> Mapping[str, str]:
        return {one.piece.slug: one.piece.title for one in self.exhibits}

    def pages(self, *names: str) -> tuple[Page, ...]:
        """Return those of the artist's pages that exist, in the order of the names."""
        return tuple(page for page in map(self.front.page, names) if page is not None)

    def address(self, path: str) -> str:
        """Return the full address of a path."""
        return addresses.absolute(self.front.card.address, path)

    def typographic(self, text: str) -> str:
        """Set one plain line with the language's quotes."""
        from sitegen.site.prose import typographic  # noqa: PLC0415

        return typographic(text, self.quotes)

    @property
    def quotes(self) -> str:
        """The four quotation marks of the language."""
        return self.voice.quotes


def _grouped(rows: Iterable[tuple[Key, Exhibit]]) -> Mapping[Key, list[Exhibit]]:
    groups: dict[Key, list[Exhibit]] = defaultdict(list)
    for key, one in rows:
        groups[key].append(one)
    return groups


def open_house(
    front: FrontOfHouse,
    pictures: Mapping[PhotoKey, PictureSet],
    theme: ThemeFiles,
    icons: tuple[str, ...],
) -> House:
    """Gather what the pages share. Raises a Fault for a theme or language that can't be used."""
    voice = open_voice(theme, front.card)
    return House(
        front=replace(front, card=_named(front.card, voice)),
        theme=read_theme(theme, front.card.accent, front.card.theme_options),
        voice=voice,
        exhibits=exhibits(front.pieces, pictures),
        icons=icons,
    )


def _named(card: PublicStudio, voice: Voice) -> PublicStudio:
    """Give a studio that hasn't said its name yet one for the meantime."""
    say = voice.words.plain
    return replace(
        card,
        studio=say("unnamed.studio") if is_placeholder(card.studio) else card.studio,
        maker=say("unnamed.maker") if is_placeholder(card.maker) else card.maker,
        contact=_or_nothing(card.contact),
        postal_address=_or_nothing(card.postal_address),
        how_to_ask=_or_nothing(card.how_to_ask),
    )


def _or_nothing(text: str) -> str:
    return "" if is_placeholder(text) else text
