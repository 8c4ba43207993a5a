"""The shows page: where the table stands next, and where it stood."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.site import addresses, dated
from sitegen.site.house import House
from sitegen.site.leaf import Leaf, Told


def shows(house: House) -> Iterator[Leaf]:
    """Yield the shows page."""
    front = house.front
    coming = tuple(one for one in front.shows if one.coming)
    yield Leaf(
        path=addresses.SHOWS,
        template="shows.html",
        title=house.words.plain("shows.title"),
        description=house.words.plain("shows.about", maker=front.card.maker, studio=front.card.studio),
        parts={"coming": coming, "past": tuple(one for one in reversed(front.shows) if not one.coming)},
        facts=tuple(Told("event", one) for one in coming),
        changed=dated.of_shows(front.shows),
    )
