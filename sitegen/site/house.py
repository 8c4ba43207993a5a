"""What every page of one build shares: the public view, the language, the theme, the pictures."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeVar

from sitegen.site import addresses
from sitegen.site.shown import Exhibit, Shot, exhibits
from sitegen.site.theme import Theme, read_theme
from sitegen.studio.fields import is_placeholder
from sitegen.studio.picture import PhotoKey, PictureSet
from sitegen.studio.piece import Status
from sitegen.studio.public import FrontOfHouse, PublicSeries, PublicStudio
from sitegen.studio.whole import Page
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Tongue, Voice, open_voice
from sitegen.voice.words import Words

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True)
class House:
    """Front of house, ready to be shown in one theme and one language."""

    front: FrontOfHouse
    theme: Theme
    voice: Voice
    every: tuple[Exhibit, ...]
    """All pieces that have a page, also those that rest."""
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
    def exhibits(self) -> tuple[Exhibit, ...]:
        """All pieces that are shown, newest first."""
        return tuple(one for one in self.every if not one.piece.rests)

    @cached_property
    def available(self) -> tuple[Exhibit, ...]:
        """What can be bought."""
        return tuple(exhibit for exhibit in self.exhibits if exhibit.piece.offered)

    @cached_property
    def elsewhere(self) -> tuple[Exhibit, ...]:
        """Everything that can't."""
        return tuple(exhibit for exhibit in self.exhibits if not exhibit.piece.offered)

    @cached_property
    def newest(self) -> Exhibit | None:
        """The latest finished piece that has a picture."""
        finished = (exhibit for exhibit in self.exhibits if exhibit.piece.status is not Status.IN_PROGRESS)
        return next((one for one in finished if one.shots), None)

    @cached_property
    def series(self) -> tuple[PublicSeries, ...]:
        """Series that have pieces, in the studio's order."""
        return tuple(one for one in self.front.series if one.slug in self.of_series)

    @property
    def face(self) -> Shot | None:
        """The picture that stands for the studio."""
        return self.newest.first if self.newest else None

    @cached_property
    def of_series(self) -> Mapping[str, tuple[Exhibit, ...]]:
        """Each series' pieces by its slug, newest first."""
        return _grouped(
            (exhibit.piece.series.slug, exhibit) for exhibit in self.exhibits if exhibit.piece.series
        )

    @cached_property
    def of_year(self) -> Mapping[int, tuple[Exhibit, ...]]:
        """What was finished in each year, the latest year first."""
        found = _grouped((exhibit.piece.year, exhibit) for exhibit in self.exhibits if exhibit.piece.year)
        return dict(sorted(found.items(), reverse=True))

    def say(self, key: str, **values: object) -> str:
        """Return a sentence as plain text; it may name the maker and the studio."""
        card = self.front.card
        return self.words.plain(key, maker=card.maker, studio=card.studio, **values)

    def pages(self, *names: str) -> tuple[Page, ...]:
        """Return those of the artist's pages that exist, in the order of the names."""
        return tuple(page for page in map(self.front.page, names) if page is not None)

    def address(self, path: str) -> str:
        """Return the full address of a path."""
        return addresses.absolute(self.front.card.address, path)

    def typographic(self, text: str) -> str:
        """Set one plain line with the language's quotes."""
        return self.voice.typographic(text)


def _grouped(rows: Iterable[tuple[Key, Exhibit]]) -> dict[Key, tuple[Exhibit, ...]]:
    groups: dict[Key, list[Exhibit]] = {}
    for key, one in rows:
        groups.setdefault(key, []).append(one)
    return {key: tuple(group) for key, group in groups.items()}


def open_house(
    front: FrontOfHouse, pictures: Mapping[PhotoKey, PictureSet], theme: ThemeFiles, icons: tuple[str, ...]
) -> House:
    """Gather what the pages share. Raises a Fault for a theme or language that can't be used."""
    voice = open_voice(theme, front.card)
    return House(
        front=replace(front, card=_named(front.card, voice)),
        theme=read_theme(theme, front.card.accent, front.card.theme_options),
        voice=voice,
        every=exhibits(front.pieces, pictures),
        icons=icons,
    )


def _named(card: PublicStudio, voice: Voice) -> PublicStudio:
    """Give a studio that hasn't said its name yet one for the meantime."""
    say = voice.words.plain
    asked_for = ("contact", "postal_address", "how_to_ask")
    gone: dict[str, Any] = {name: "" for name in asked_for if is_placeholder(getattr(card, name))}
    return replace(
        card,
        studio=say("unnamed.studio") if is_placeholder(card.studio) else card.studio,
        maker=say("unnamed.maker") if is_placeholder(card.maker) else card.maker,
        **gone,
    )
