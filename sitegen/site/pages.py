"""Every page of the site, in order: the whole of what is built stands on this screen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path

from sitegen.site import addresses
from sitegen.site.calendars import calendars
from sitegen.site.commissions import commissions
from sitegen.site.content import Content, Sheet, Shelf
from sitegen.site.faults import SiteFault
from sitegen.site.feeds import feeds, write
from sitegen.site.gallery import gallery
from sitegen.site.house import House
from sitegen.site.keys import common_key, digest, leaf_key
from sitegen.site.known import Known
from sitegen.site.leaf import Later, Leaf
from sitegen.site.moved import moved
from sitegen.site.own import home, kept_terms, letters, lost, own_pages
from sitegen.site.pieces import pieces
from sitegen.site.policy import headers
from sitegen.site.press import Press
from sitegen.site.setting import set_leaf, shared
from sitegen.site.shown import Exhibit, ratio_styles
from sitegen.site.shows import shows
from sitegen.site.sitemap import robots, sitemap
from sitegen.site.theme import TEMPLATES

_ROOMS: tuple[Callable[[House], Iterator[Leaf | Later]], ...] = (
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


def content(house: House, press: Press) -> Content:
    """Return the whole site: pages, feeds, calendars, pictures, the theme's own files."""
    leaves = [leaf for room in _ROOMS for leaf in room(house)]
    known = Known(frozenset(leaf.path for leaf in leaves), house.front.pending)
    return Content(
        files={
            addresses.SITEMAP: sitemap(house, leaves),
            addresses.ROBOTS: robots(house),
            addresses.HEADERS: headers(house),
            addresses.STYLE: _style(house),
            **dict(calendars(house)),
            **dict(moved(house)),
            **dict(_static(house)),
        },
        sheets=tuple(_sheets(house, press.lay_out(shared(house)), known, leaves)),
        shelves=tuple(_shelf(one) for one in house.exhibits if one.shots),
        find=known.look,
    )


def _sheets(house: House, press: Press, known: Known, leaves: Iterable[Leaf | Later]) -> Iterator[Sheet]:
    common = common_key(house)
    for leaf in leaves:
        make = partial(set_leaf, house, press, known, leaf)
        yield Sheet(leaf.path, leaf_key(common, house, leaf), make)
    for feed in feeds(house):
        yield Sheet(feed.path, digest(common, repr(feed)), partial(write, house, known, feed))


def _shelf(one: Exhibit) -> Shelf:
    key = digest(*(shot.mark for shot in one.shots))
    return Shelf(
        one.piece.slug, key, lambda: tuple(picture for shot in one.shots for picture in shot.renditions)
    )


def _style(house: House) -> bytes:
    file = house.theme.files.file(f"{TEMPLATES}/{_STYLE_SOURCE}")
    try:
        rules = file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SiteFault(f"{house.theme.files.shown(file)}: the theme's style can't be read") from error
    return (house.theme.colours() + ratio_styles(house.exhibits) + rules).encode("utf-8")


def _static(house: House) -> Iterator[tuple[str, Path]]:
    return iter(house.theme.files.all_below(f"{TEMPLATES}/{_STATIC}").items())
