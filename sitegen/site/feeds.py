"""What programs fetch: Atom feeds of finished pieces (RFC 4287), calendars, the sitemap, robots.txt.

A price stands there only while a piece is available.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import islice
from xml.etree import ElementTree as ET

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.addresses import NOT_YET, Known, Links
from sitegen.site.content import Leaf, MadeSheet
from sitegen.site.house import Exhibit, House, Shot
from sitegen.studio.piece import Status
from sitegen.studio.public import RoundState
from sitegen.voice.calendar import calendar, round_events, show_events
from sitegen.voice.prose import html

ATOM = "http://www.w3.org/2005/Atom"
SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"
_LENGTH = 50
# A feed must say when it was last changed even if nothing is in it; no piece is older.
_BEFORE_ALL = date(1970, 1, 1)
# XML has no way to write most control characters, so a stray one is dropped.
_CONTROL = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 65534, 65535))


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed before it is written."""

    path: str
    title: str
    entries: tuple[Exhibit, ...]


def feeds(house: House) -> tuple[Feed, Feed]:
    """Return the feed of finished pieces, newest first, and the feed of what can be bought."""
    finished = (one for one in house.exhibits if one.piece.status is not Status.IN_PROGRESS and _day(one))
    return (
        Feed(addresses.FEED, house.say("feed.all"), tuple(islice(finished, _LENGTH))),
        Feed(addresses.AVAILABLE_FEED, house.say("feed.available"), house.available[:_LENGTH]),
    )


def write(house: House, known: Known, one: Feed) -> MadeSheet:
    """Write a feed. A link that leads nowhere is reported by the piece's own page, which is set before."""
    card, links = house.front.card, Links(known, one.path)
    address = card.address + one.path
    newest = max((_day(entry) or _BEFORE_ALL for entry in one.entries), default=_BEFORE_ALL)
    feed = ET.Element("feed", {"xmlns": ATOM, "xml:lang": card.language})
    _texts(feed, id=address, title=one.title, updated=_moment(house, newest))
    _texts(ET.SubElement(feed, "author"), name=card.maker, uri=card.address)
    _link(feed, "self", "application/atom+xml", address)
    _link(feed, "alternate", "text/html", house.address(addresses.GALLERY))
    for entry in one.entries:
        _entry(house, links, feed, entry)
    return MadeSheet(_document(feed), links.asked)


def _entry(house: House, links: Links, feed: ET.Element, one: Exhibit) -> None:
    piece, address = one.piece, house.address(one.path)
    entry, day = ET.SubElement(feed, "entry"), _moment(house, _day(one) or _BEFORE_ALL)
    _texts(entry, id=address, title=house.voice.typographic(piece.title), published=day, updated=day)
    _link(entry, "alternate", "text/html", address)
    if piece.series:
        ET.SubElement(entry, "category", {"term": piece.series.slug, "label": piece.series.name})
    label = house.voice.wall_label(piece)
    facts = label.year, label.materials, label.base, label.height, label.status, label.price, label.where
    line = " · ".join(filter(None, facts))

    def whole(target: str) -> str:
        # A feed reader shows the story away from the site, so its links are written out in full.
        path = "" if target.startswith("#") else links.find(target)
        return house.address(path) if path else NOT_YET

    story = html(piece.story, house.voice.quotes, whole)
    shown = _picture(house, one.first) if one.first else Markup("")
    _texts(entry, summary=line, content=shown + Markup("<p>{}</p>").format(line) + story)
    entry[-1].set("type", "html")


def _picture(house: House, shot: Shot) -> Markup:
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
        ET.SubElement(parent, name).text = str(text).translate(_CONTROL)


def _link(parent: ET.Element, rel: str, kind: str, address: str) -> None:
    ET.SubElement(parent, "link", {"rel": rel, "type": kind, "href": address})


def _document(root: ET.Element) -> bytes:
    """Return the bytes of a document, one element a line, in UTF-8."""
    ET.indent(root, space=" ")
    return f'<?xml version="1.0" encoding="utf-8"?>\n{ET.tostring(root, encoding="unicode")}\n'.encode()


def sitemap(house: House, leaves: Iterable[Leaf]) -> bytes:
    """Write the sitemap of the listed pages, each with the day of its last change where that is known.

    `lastmod` is a W3C datetime of a whole day (sitemaps.org). A day to come isn't told: nothing changed then.
    """
    root = ET.Element("urlset", {"xmlns": SITEMAP})
    today = house.front.moment.date()
    for leaf in (leaf for leaf in leaves if leaf.listed):
        url = ET.SubElement(root, "url")
        _texts(url, loc=house.address(leaf.path))
        if leaf.changed is not None and leaf.changed <= today:
            _texts(url, lastmod=leaf.changed.isoformat())
    return _document(root)


def robots(house: House) -> bytes:
    """Write robots.txt: everything may be read (RFC 9309), and the sitemap lies there."""
    return f"User-agent: *\nAllow: /\n\nSitemap: {house.address(addresses.SITEMAP)}\n".encode()


def calendars(house: House) -> Iterator[tuple[str, bytes]]:
    """Yield path and bytes of each calendar file: what is still to come, and all of it to subscribe to."""
    card, voice = house.front.card, house.voice
    shows = (one for one in house.front.shows if one.coming)
    rounds = (one for one in house.front.rounds if one.state is not RoundState.CLOSED)
    dated = {addresses.show_calendar(one.slug): show_events(voice, card, one) for one in shows}
    dated |= {addresses.round_calendar(one.slug): round_events(voice, card, one) for one in rounds}
    yield from ((path, calendar(events, card)) for path, events in dated.items())
    if dated:
        yield addresses.DATES, calendar([event for events in dated.values() for event in events], card)
