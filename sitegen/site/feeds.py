"""Atom feeds of finished pieces (RFC 4287). A price stands there only while a piece is available."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time
from xml.etree import ElementTree as ET

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.site.known import Known
from sitegen.site.prose import prose
from sitegen.site.shown import Exhibit
from sitegen.site.xml import document
from sitegen.studio.status import Status

ATOM = "http://www.w3.org/2005/Atom"
_LENGTH = 50
# A feed must say when it was last changed even if nothing is in it; no piece is older.
_BEFORE_ALL = date(1970, 1, 1)
_CONTROL = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 65534, 65535))


def feed_of_all(house: House, known: Known) -> bytes:
    """Write the feed of finished pieces, newest first."""
    finished = [one for one in house.exhibits if one.piece.status is not Status.IN_PROGRESS and _day(one)]
    return _feed(
        house, known, addresses.FEED, house.words.plain("feed.all", studio=house.front.card.studio), finished
    )


def feed_of_available(house: House, known: Known) -> bytes:
    """Write the feed of what can be bought."""
    title = house.words.plain("feed.available", studio=house.front.card.studio)
    return _feed(house, known, addresses.AVAILABLE_FEED, title, house.available)


def _feed(house: House, known: Known, path: str, title: str, shown: Iterable[Exhibit]) -> bytes:
    entries = list(shown)[:_LENGTH]
    address = house.front.card.address + path
    feed = ET.Element("feed", {"xmlns": ATOM, "xml:lang": house.front.card.language})
    _text(feed, "id", address)
    _text(feed, "title", title)
    _text(
        feed,
        "updated",
        _moment(house, max((_day(one) or _BEFORE_ALL for one in entries), default=_BEFORE_ALL)),
    )
    _author(house, feed)
    ET.SubElement(feed, "link", {"rel": "self", "type": "application/atom+xml", "href": address})
    ET.SubElement(
        feed, "link", {"rel": "alternate", "type": "text/html", "href": house.address(addresses.GALLERY)}
    )
    for one in entries:
        _entry(house, known, feed, one)
    return document(feed)


def _entry(house: House, known: Known, feed: ET.Element, one: Exhibit) -> None:
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
    _text(entry, "content", str(_content(house, known, one)), {"type": "html"})


def label_line(house: House, one: Exhibit) -> str:
    """Write a wall label in one line: year, materials, base, height, status, price."""
    piece = one.piece
    facts = [
        str(piece.year or ""),
        piece.materials,
        piece.base,
        house.tongue.length(piece.height_mm) if piece.height_mm else piece.size,
        house.words.plain(f"status.{piece.status.name.lower()}"),
        house.tongue.money(piece.price) if piece.offered and piece.price is not None else "",
    ]
    return " · ".join(house.typographic(fact) for fact in facts if fact)


def _content(house: House, known: Known, one: Exhibit) -> Markup:
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
    parts.append(
        prose(one.piece.story, house.quotes, lambda target: house.address(known.find(target, one.path)))
    )
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
