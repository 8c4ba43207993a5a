"""Every page of the site, in order: the whole of what is built stands on this screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sitegen.site import addresses
from sitegen.site.calendars import calendars
from sitegen.site.commissions import commissions
from sitegen.site.faults import SiteFault
from sitegen.site.feeds import feed_of_all, feed_of_available
from sitegen.site.gallery import gallery
from sitegen.site.house import House
from sitegen.site.known import Known
from sitegen.site.leaf import Leaf
from sitegen.site.own import home, kept_terms, letters, lost, own_pages
from sitegen.site.pieces import pieces
from sitegen.site.policy import headers
from sitegen.site.publishing import Output
from sitegen.site.setting import open_press, set_leaf
from sitegen.site.shown import ratio_styles
from sitegen.site.shows import shows
from sitegen.site.sitemap import robots, sitemap

_ROOMS: tuple[Callable[[House], Iterator[Leaf]], ...] = (
    home,
    gallery,
    pieces,
    commissions,
    shows,
    letters,
    own_pages,
    kept_terms,
    lost,
)
_STYLE_SOURCE = "style.css"
_STATIC = "static"


def outputs(house: House) -> dict[str, Output]:
    """Return every file of the site by its path: pages, feeds, calendars, pictures, the theme's own files."""
    leaves = [leaf for room in _ROOMS for leaf in room(house)]
    known = Known(frozenset(leaf.path for leaf in leaves))
    press = open_press(house)
    return {
        **{leaf.path: set_leaf(house, press, known, leaf) for leaf in leaves},
        addresses.FEED: feed_of_all(house, known),
        addresses.AVAILABLE_FEED: feed_of_available(house, known),
        addresses.SITEMAP: sitemap(house, leaves),
        addresses.ROBOTS: robots(house),
        addresses.HEADERS: headers(house),
        addresses.STYLE: _style(house),
        **dict(calendars(house)),
        **dict(_photographs(house)),
        **dict(_static(house)),
    }


def _style(house: House) -> bytes:
    file = house.theme.templates / _STYLE_SOURCE
    try:
        rules = file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SiteFault(
            f"{house.theme.folder.name}/site/{_STYLE_SOURCE}: the theme's style can't be read"
        ) from error
    return (house.theme.colours() + ratio_styles(house.exhibits) + rules).encode("utf-8")


def _photographs(house: House) -> Iterator[tuple[str, Output]]:
    for one in house.exhibits:
        for shot in one.shots:
            for rendition in shot.renditions:
                yield shot.path(rendition), rendition


def _static(house: House) -> Iterator[tuple[str, Output]]:
    folder = house.theme.templates / _STATIC
    for file in sorted(folder.rglob("*")):
        if file.is_file():
            yield file.relative_to(folder).as_posix(), file
