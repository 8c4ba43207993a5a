"""What programs fetch: Atom feeds of finished pieces (RFC 4287), the sitemap, robots.txt.

A price stands there only while a piece is available.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import islice
from xml.etree import ElementTree as ET
from xml.etree.ElementTree import Element, indent, tostring

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.addresses import NOT_YET, Known, Links
from sitegen.site.content import Made
from sitegen.site.house import House
from sitegen.site.leaf import Later, Leaf
from sitegen.site.prose import prose
from sitegen.site.shown import Exhibit
from sitegen.studio.status import Status

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
    studio = house.front.card.studio
    finished = (one for one in house.exhibits if one.piece.status is not Status.IN_PROGRESS and _day(one))
    return (
        Feed(addresses.FEED, house.words.plain("feed.all", studio=studio), tuple(islice(finished, _LENGTH))),
        Feed(
            addresses.AVAILABLE_FEED,
            house.words.plain("feed.available", studio=studio),
            house.available[:_LENGTH],
        ),
    )


def write(house: House, known: Known, one: Feed) -> Made:
    """Write a feed. A link that leads nowhere is reported by the piece's own page, which is set before."""
    links = known.on(one.path)
    return Made(_feed(house, links, one), links.asked)


def _feed(house: House, links: Links, one: Feed) -> bytes:
    entries = one.entries
    address = house.front.card.address + one.path
    feed = ET.Element("feed", {"xmlns": ATOM, "xml:lang": house.front.card.language})
    _text(feed, "id", address)
    _text(feed, "title", one.title)
    _text(
        feed,
        "updated",
        _moment(house, max((_day(entry) or _BEFORE_ALL for entry in entries), default=_BEFORE_ALL)),
    )
    _author(house, feed)
    ET.SubElement(feed, "link", {"rel": "self", "type": "application/atom+xml", "href": address})
    ET.SubElement(
        feed, "link", {"rel": "alternate", "type": "text/html", "href": house.address(addresses.GALLERY)}
    )
    for entry in entries:
        _entry(house, links, feed, entry)
    return document(feed)


def _entry(house: House, links: Links, feed: ET.Element, one: Exhibit) -> None:
    piece = one.piece
    entry = ET.SubElement(feed, "entry")
    address = house.address(one.path)
    _text(entry, "id", address)
    _text(entry, "title", house.typographic(piece.title))
    day = _moment(house, _day(one) or _BEFORE_ALL)
    _text(entry, "published", day)
    _text(entry, "updated", day)
    ET.SubElement(entry, "link", {"rel": "alternate", "type": "text/html", "href": address})
    if piece.series:
        ET.SubElement(entry, "category", {"term": piece.series.slug, "label": piece.series.name})
    _text(entry, "summary", label_line(house, one))
    _text(entry, "content", str(_content(house, links, one)), {"type": "html"})


def label_line(house: House, one: Exhibit) -> str:
    """Write a wall label in one line: year, materials, base, height, status, price."""
    piece = one.piece
    facts = [
        str(piece.year or ""),
        piece.materials,
        piece.base,
        house.tongue.length(piece.height_mm) if piece.height_mm else piece.size,
        house.voice.status(piece.status),
        house.tongue.money(piece.price) if piece.offered and piece.price is not None else "",
    ]
    return " · ".join(house.typographic(fact) for fact in facts if fact)


def _content(house: House, links: Links, one: Exhibit) -> Markup:
    parts = [Markup("<p>{}</p>").format(label_line(house, one))]
    if one.first is not None:
        shown = min(
            one.first.picture.full, key=lambda image: (image.mime != "image/jpeg", abs(image.width - 1000))
        )
        parts.insert(
            0,
            Markup('<p><img src="{}" alt="{}" width="{}" height="{}"></p>').format(
                house.address(one.first.path(shown)), one.first.photo.alt, shown.width, shown.height
            ),
        )
    # A feed reader shows the story away from the site, so its links are written out in full.
    parts.append(prose(one.piece.story, house.quotes, lambda target: _whole(house, links.find(target))))
    return Markup("").join(parts)


def _author(house: House, feed: ET.Element) -> None:
    author = ET.SubElement(feed, "author")
    _text(author, "name", house.front.card.maker)
    _text(author, "uri", house.front.card.address)


def _day(one: Exhibit) -> date | None:
    """Return when a piece was finished, as far as its number tells."""
    if one.piece.finished or not one.piece.number:
        return one.piece.finished
    return date(max(int(one.piece.number[:4]), 1), 1, 1)


def _moment(house: House, day: date) -> str:
    """Write a day's beginning in the studio's zone (RFC 3339)."""
    return datetime.combine(day, time(), house.front.card.zone).isoformat(timespec="seconds")


def _text(parent: ET.Element, name: str, text: str, attributes: dict[str, str] | None = None) -> None:
    # XML has no way to write most control characters, so a stray one is dropped.
    ET.SubElement(parent, name, attributes or {}).text = text.translate(_CONTROL)


def _whole(house: House, path: str) -> str:
    return house.address(path) if path else NOT_YET


def document(root: Element) -> bytes:
    """Return the bytes of a document, one element a line, in UTF-8."""
    indent(root, space=" ")
    return (
        b'<?xml version="1.0" encoding="utf-8"?>\n'
        + tostring(root, encoding="unicode").encode("utf-8")
        + b"\n"
    )


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
