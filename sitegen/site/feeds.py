"""What programs fetch: Atom feeds of finished pieces (RFC 4287), the sitemap, robots.txt.

A price stands there only while a piece is available.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import islice
from xml.etree import ElementTree as ET

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.addresses import NOT_YET, Known, Links
from sitegen.site.content import Later, Leaf, MadeSheet
from sitegen.site.house import House
from sitegen.site.shown import Exhibit, Shot
from sitegen.studio.piece import Status
from sitegen.voice.prose import html

ATOM = "http://www.w3.org/2005/Atom"
_LENGTH = 50
# A feed must say when it was last changed even if nothing is in it; no piece is older.
_BEFORE_ALL = date(1970, 1, 1)
_CONTROL = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 65534, 65535))


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed before it is written."""

    path: str
    title: str
    entries: tuple[Exhibit, ...]


def feeds(house: House) -> tuple[Feed, Feed]:
    """Return the feed of finished pieces, newest first, and the feed of what can be bought."""
    finished = (
        exhibit
        for exhibit in house.exhibits
        if exhibit.piece.status is not Status.IN_PROGRESS and _day(exhibit)
    )
    return (
        Feed(addresses.FEED, house.say("feed.all"), tuple(islice(finished, _LENGTH))),
        Feed(addresses.AVAILABLE_FEED, house.say("feed.available"), house.available[:_LENGTH]),
    )


def write(house: House, known: Known, one: Feed) -> MadeSheet:
    """Write a feed. A link that leads nowhere is reported by the piece's own page, which is set before."""
    links = Links(known, one.path)
    return MadeSheet(_feed(house, links, one), links.asked)


def _feed(house: House, links: Links, one: Feed) -> bytes:
    address = house.front.card.address + one.path
    newest = max((_day(entry) or _BEFORE_ALL for entry in one.entries), default=_BEFORE_ALL)
    feed = ET.Element("feed", {"xmlns": ATOM, "xml:lang": house.front.card.language})
    _texts(feed, id=address, title=one.title, updated=_moment(house, newest))
    _texts(ET.SubElement(feed, "author"), name=house.front.card.maker, uri=house.front.card.address)
    _link(feed, "self", "application/atom+xml", address)
    _link(feed, "alternate", "text/html", house.address(addresses.GALLERY))
    for entry in one.entries:
        _entry(house, links, feed, entry)
    return document(feed)


def _entry(house: House, links: Links, feed: ET.Element, one: Exhibit) -> None:
    piece, address = one.piece, house.address(one.path)
    entry, day = ET.SubElement(feed, "entry"), _moment(house, _day(one) or _BEFORE_ALL)
    _texts(entry, id=address, title=house.typographic(piece.title), published=day, updated=day)
    _link(entry, "alternate", "text/html", address)
    if piece.series:
        ET.SubElement(entry, "category", {"term": piece.series.slug, "label": piece.series.name})
    _texts(entry, summary=label_line(house, one), content=_content(house, links, one))
    entry[-1].set("type", "html")


def label_line(house: House, one: Exhibit) -> str:
    """Write a wall label in one line: year, materials, base, height, status, price, place."""
    label = house.voice.wall_label(one.piece)
    facts = label.year, label.materials, label.base, label.height, label.status, label.price, label.where
    return " · ".join(filter(None, facts))


def _content(house: House, links: Links, one: Exhibit) -> Markup:
    def whole(target: str) -> str:
        # A feed reader shows the story away from the site, so its links are written out in full.
        path = "" if target.startswith("#") else links.find(target)
        return house.address(path) if path else NOT_YET

    label = Markup("<p>{}</p>").format(label_line(house, one))
    return _picture(house, one.first) + label + html(one.piece.story, house.voice.quotes, whole)


def _picture(house: House, shot: Shot | None) -> Markup:
    if shot is None:
        return Markup("")
    shown = min(shot.picture.full, key=lambda image: (image.mime != "image/jpeg", abs(image.width - 1000)))
    return Markup('<p><img src="{}" alt="{}" width="{}" height="{}"></p>').format(
        house.address(shot.path(shown)), shot.photo.alt, shown.width, shown.height
    )


def _day(one: Exhibit) -> date | None:
    """Return when a piece was finished, as far as its number tells."""
    if one.piece.finished or not one.piece.number:
        return one.piece.finished
    return date(max(int(one.piece.number[:4]), 1), 1, 1)


def _moment(house: House, day: date) -> str:
    """Write a day's beginning in the studio's zone (RFC 3339)."""
    return datetime.combine(day, time(), house.front.card.zone).isoformat(timespec="seconds")


def _texts(parent: ET.Element, **texts: str) -> None:
    for name, text in texts.items():
        # XML has no way to write most control characters, so a stray one is dropped.
        ET.SubElement(parent, name).text = str(text).translate(_CONTROL)


def _link(parent: ET.Element, rel: str, kind: str, address: str) -> None:
    ET.SubElement(parent, "link", {"rel": rel, "type": kind, "href": address})


def document(root: ET.Element) -> bytes:
    """Return the bytes of a document, one element a line, in UTF-8."""
    ET.indent(root, space=" ")
    return f'<?xml version="1.0" encoding="utf-8"?>\n{ET.tostring(root, encoding="unicode")}\n'.encode()


SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"


def sitemap(house: House, leaves: Iterable[Leaf | Later]) -> bytes:
    """Write the sitemap of the listed pages, each with the day of its last change where that is known.

    `lastmod` is a W3C datetime of a whole day (sitemaps.org). A day to come isn't told: nothing changed then.
    """
    root = ET.Element("urlset", {"xmlns": SITEMAP})
    today = house.front.moment.date()
    for leaf in leaves:
        if leaf.listed:
            url = ET.SubElement(root, "url")
            ET.SubElement(url, "loc").text = house.address(leaf.path)
            if leaf.changed is not None and leaf.changed <= today:
                ET.SubElement(url, "lastmod").text = leaf.changed.isoformat()
    return document(root)


def robots(house: House) -> bytes:
    """Write robots.txt: everything may be read (RFC 9309), and the sitemap lies there."""
    return f"User-agent: *\nAllow: /\n\nSitemap: {house.address(addresses.SITEMAP)}\n".encode()
