"""The gallery and its rooms: what is available, each series, each year."""

from __future__ import annotations

from collections.abc import Iterator, Sized
from dataclasses import dataclass

from sitegen.site import addresses
from sitegen.site.content import Leaf, finished_of
from sitegen.site.house import House
from sitegen.site.shown import Exhibit

# So many pieces that are gone hang in the room of all pieces; the older ones hang by year.
_MANY = 120


@dataclass(frozen=True, slots=True)
class Door:
    """A way from one room of the gallery to another."""

    name: str
    path: str
    count: int | None
    """How many pieces are behind it; None where it isn't said."""


@dataclass(frozen=True, slots=True)
class Doors:
    """All ways through the gallery."""

    main: tuple[Door, ...]
    series: tuple[Door, ...]
    years: tuple[Door, ...]


@dataclass(frozen=True, slots=True)
class Wall:
    """Pieces that hang together; a wall may go without a heading."""

    heading: str
    hung: tuple[Exhibit, ...]
    older: int = 0
    """How many more belong here but hang in the rooms by year only."""

    @property
    def count(self) -> int:
        """How many pieces belong here."""
        return len(self.hung) + self.older


def gallery(house: House) -> Iterator[Leaf]:
    """Yield the gallery's pages: all, available, by series, by year."""
    yield _everything(house, _doors(house, counted=True))
    # A room that said how many hang in each other room would be another page with each new piece.
    doors = _doors(house, counted=False)
    yield _available(house, doors)
    for series in house.series:
        hung = house.of_series[series.slug]
        title = house.typographic(series.name)
        about = " ".join(series.about.split()) or house.say("gallery.series_about", name=series.name)
        yield _room(
            house, doors, addresses.series(series.slug), title, about, series.about, (Wall("", hung),)
        )
    for year, hung in house.of_year.items():
        title = house.say("gallery.year", year=year)
        about = house.say("gallery.year_about", year=year)
        yield _room(house, doors, addresses.year(year), title, about, "", (Wall("", hung),))


def _doors(house: House, *, counted: bool) -> Doors:
    say = house.say

    def count(hung: Sized) -> int | None:
        return len(hung) if counted else None

    # What is available changes with every sale, and is counted over its wall.
    return Doors(
        main=(
            Door(say("gallery.all"), addresses.GALLERY, count(house.exhibits)),
            Door(say("gallery.available"), addresses.AVAILABLE, None),
        ),
        series=tuple(
            Door(house.typographic(one.name), addresses.series(one.slug), count(house.of_series[one.slug]))
            for one in house.series
        ),
        years=tuple(
            Door(str(year), addresses.year(year), count(hung)) for year, hung in house.of_year.items()
        ),
    )


def _everything(house: House, doors: Doors) -> Leaf:
    say = house.say
    walls = (
        Wall(say("gallery.available_now"), house.available),
        _newest(say("gallery.the_rest"), house.elsewhere),
    )
    about = say("gallery.all_about")
    return _room(house, doors, addresses.GALLERY, say("gallery.title"), about, "", walls)


def _newest(heading: str, belonging: tuple[Exhibit, ...]) -> Wall:
    """Hang the newest; what a room by year has anyway may be left out, so that the page stays light."""
    dated = [one for one in belonging if one.piece.year]
    older = {one.piece.slug for one in dated[_MANY:]}
    return Wall(heading, tuple(one for one in belonging if one.piece.slug not in older), len(older))


def _available(house: House, doors: Doors) -> Leaf:
    say = house.say
    about = say("gallery.available_about")
    walls = (Wall("", house.available),)
    return _room(house, doors, addresses.AVAILABLE, say("gallery.available_title"), about, "", walls)


def _room(  # noqa: PLR0913, PLR0917 (each is said once, by the four kinds of room above)
    house: House, doors: Doors, path: str, title: str, about: str, intro: str, walls: tuple[Wall, ...]
) -> Leaf:
    full = tuple(wall for wall in walls if wall.hung)
    first = next((one.first for wall in full for one in wall.hung if one.shots), None)
    parts = {
        "doors": doors,
        "walls": full,
        "count": sum(wall.count for wall in full),
        "intro": intro,
        "first_piece": full[0].hung[0].piece.slug if full else "",
    }
    # What was sold has left the room of what is available, so that room is as old as the whole gallery.
    hung = house.exhibits if path == addresses.AVAILABLE else [one for wall in full for one in wall.hung]
    changed = finished_of(hung)
    return Leaf(path, "gallery.html", title, about, parts, shot=first, changed=changed)
