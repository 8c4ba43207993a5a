"""What is for programs: what a page says to them in schema.org's words (release 30.0), and what it may do;
Atom feeds of finished pieces (RFC 4287), calendars, the sitemap, robots.txt.

A price stands there only while a piece is available.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, datetime, time
from hashlib import sha256
from itertools import islice
from typing import Any, NamedTuple
from xml.etree import ElementTree as ET

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.addresses import NOT_YET, Known, Links
from sitegen.site.house import Exhibit, House, Leaf, MadeSheet, Shot
from sitegen.studio.money import plain
from sitegen.studio.picture import Rendition
from sitegen.studio.piece import Status
from sitegen.studio.public import PublicShow, RoundState
from sitegen.studio.settings import origin
from sitegen.voice.calendar import calendar, round_events, show_events
from sitegen.voice.prose import html, said

Facts = dict[str, Any]


def block(facts: Iterable[Facts]) -> str:
    """Write facts as JSON-LD that can't end its element or start another, whatever a title holds."""
    graph = {"@context": "https://schema.org", "@graph": list(facts)}
    text = json.dumps(graph, ensure_ascii=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def _thing(kind: str, ident: str | None = None, **facts: Any) -> Facts:
    found = {"@type": kind, "@id": ident, **facts}
    return {name: value for name, value in found.items() if value not in (None, "", [])}


def _maker(house: House, **more: Any) -> Facts:
    return _thing("Person", house.address("#maker"), name=house.front.card.maker, **more)


def _person(house: House, _: object) -> Facts:
    name, address = house.front.card.studio, house.address("")
    return _maker(house, url=address, worksFor=_thing("Organization", name=name, url=address))


def _website(house: House, _: object) -> Facts:
    card = house.front.card
    return _thing(
        "WebSite", house.address("#site"), name=card.studio, description=card.tagline, url=house.address(""),
        inLanguage=card.language,
    )  # fmt: skip


def _artwork(house: House, exhibit: Exhibit) -> Facts:
    """Describe a piece; an offer only while it can be bought."""
    piece, address = exhibit.piece, house.address(exhibit.path)

    def largest(shot: Shot) -> Rendition:
        jpegs = (each for each in shot.picture.full if each.mime == "image/jpeg")
        return max(jpegs, key=lambda each: each.width, default=shot.picture.full[-1])

    series = piece.series and _thing(
        "Collection", name=piece.series.name, url=house.address(addresses.series(piece.series.slug))
    )
    return _thing(
        "VisualArtwork",
        address + "#piece",
        name=piece.title,
        url=address,
        identifier=piece.number,
        creator=dict(sorted(_maker(house).items())),
        artform=house.voice.words.plain("artform"),
        artEdition=1,
        artMedium=piece.materials,
        dateCreated=piece.finished.isoformat() if piece.finished else None,
        height=f"{piece.height_mm} mm" if piece.height_mm else None,
        image=[house.address(shot.path(largest(shot))) for shot in exhibit.shots],
        isPartOf=series,
        offers=_offer(house, exhibit),
    )


def _offer(house: House, exhibit: Exhibit) -> Facts | None:
    piece, card = exhibit.piece, house.front.card
    if not piece.offered or piece.price is None:
        return None
    there = piece.away if piece.bought_there else None
    # InStoreOnly: "available only at physical locations" (schema.org, ItemAvailability).
    availability = piece.status.availability if there is None else "InStoreOnly"
    seller = {"seller": _maker(house)}
    if there:  # bought there, not from the maker
        seller = {
            "seller": _thing("Organization", name=there.place, url=there.link),
            "availableAtOrFrom": _thing("Place", name=there.place, address=there.town),
        }
    return {
        **_available(availability, plain(piece.price, card.digits), card.currency),
        "itemCondition": "https://schema.org/NewCondition",
        "url": house.address(exhibit.path),
        **seller,
    }


def _available(availability: str, price: str | None, currency: str) -> Facts:
    availability = f"https://schema.org/{availability}"
    return _thing("Offer", availability=availability, price=price, priceCurrency=price and currency)


def _event(house: House, show: PublicShow) -> Facts:
    """Describe a show or class; an offer of a class only while it takes place."""
    return _thing(
        "EducationEvent" if show.is_class else "Event",
        house.address(f"{addresses.SHOWS}#{show.slug}"),
        name=show.name,
        startDate=show.first_day.isoformat(),
        endDate=show.last_day.isoformat(),
        location=_thing("Place", name=show.venue or show.name, address=", ".join(show.place)),
        description=said(show.about, house.voice.quotes),
        url=show.link or house.address(addresses.SHOWS),
        eventStatus="https://schema.org/EventCancelled" if show.cancelled else None,
        maximumAttendeeCapacity=show.places,
        organizer=_maker(house) if show.is_class else None,
        offers=_place(house, show) if show.is_class and not show.cancelled else None,
    )


def _place(house: House, show: PublicShow) -> Facts:
    """Describe the offer of a place in a class; its fee only while there is one to be had."""
    card = house.front.card
    fee = None if show.fee is None else plain(show.fee, card.digits)
    offer = _available("InStock" if show.open else "SoldOut", fee, card.currency)
    return {**offer, "url": house.address(addresses.SHOWS)}


TELLERS: Mapping[str, Callable[[House, Any], Facts]] = {
    "website": _website, "person": _person, "artwork": _artwork, "event": _event,
}  # fmt: skip


def about(house: House, leaf: Leaf) -> str:
    """Return a page's description for search engines; that of a piece is made of its facts."""
    exhibit = leaf.parts.get("exhibit")
    if leaf.description or exhibit is None:
        return leaf.description
    piece, height = exhibit.piece, house.voice.height(exhibit.piece.size, exhibit.piece.height_mm)
    facts = (
        house.say("piece.by", title=piece.title),
        *(f"{fact.rstrip('.')}." for fact in (piece.materials, height) if fact),
    )
    return " ".join(house.voice.typographic(fact) for fact in facts)


def preview(house: House, leaf: Leaf) -> dict[str, str]:
    """Return what a link to a page shows elsewhere, by the names of the Open Graph protocol."""
    locale = house.voice.tongue.locale
    values = {
        "type": leaf.kind,
        "url": house.address(leaf.path),
        "title": leaf.title,
        "description": about(house, leaf),
        "site_name": house.front.card.studio,
        "locale": str(locale) if locale.territory else "",  # it asks for language and country
    }
    if shot := leaf.shot or house.face:
        social = shot.picture.social
        values |= {
            "image": house.address(shot.path(social)),
            "image:width": str(social.width),
            "image:height": str(social.height),
            "image:alt": shot.photo.alt,
        }
    return {name: value for name, value in values.items() if value}


# No frame, no foreign host, no script. `file:` is for pages opened from a disk, where 'self' means nothing in
# some browsers; a page from the web can't reach files by it. `connect-src` lets auditing tools that work
# inside the page read robots.txt.
_SHARED = (
    "default-src 'none'; img-src 'self' file:; style-src 'self' file:; font-src 'self' file:; "
    "connect-src 'self'; base-uri 'none'"
)


def page_policy(posts_to: str | None, facts: str) -> str:
    """Return the Content-Security-Policy of a page with this block of facts, or none.

    Structured data is named by its hash, though no browser would run it: some checkers take it for a script.
    """
    receiver = origin(posts_to) if posts_to else "'none'"
    rules = f"{_SHARED}; form-action {receiver}"
    digest = b64encode(sha256(facts.encode("utf-8")).digest()).decode("ascii")
    return f"{rules}; script-src 'sha256-{digest}'" if facts else rules


def headers(house: House) -> bytes:
    """Write the response headers of the whole site, one a line (RFC 9110, section 5).

    The policy is the pages' own without what only one page needs; `frame-ancestors` counts only in a header
    (Content Security Policy Level 3, section 3.3).
    """
    rules = f"{page_policy(house.front.card.sign_up, '')}; frame-ancestors 'none'"
    return f"Content-Security-Policy: {rules}\nX-Content-Type-Options: nosniff\n".encode("ascii")


ATOM = "http://www.w3.org/2005/Atom"
SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"
_LENGTH = 50
# A feed must say when it was last changed even if nothing is in it; no piece is older.
_BEFORE_ALL = date(1970, 1, 1)
# XML has no way to write most control characters, so a stray one is dropped.
_CONTROL = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 65534, 65535))


class Feed(NamedTuple):
    """A feed before it is written."""

    path: str
    title: str
    entries: tuple[Exhibit, ...]


def feeds(house: House) -> tuple[Feed, Feed]:
    """Return the feed of finished pieces, newest first, and the feed of what can be bought."""
    finished = (hung for hung in house.exhibits if hung.piece.status is not Status.IN_PROGRESS and _day(hung))
    return (
        Feed(addresses.FEED, house.say("feed.all"), tuple(islice(finished, _LENGTH))),
        Feed(addresses.AVAILABLE_FEED, house.say("feed.available"), house.available[:_LENGTH]),
    )


def write(house: House, known: Known, told: Feed) -> MadeSheet:
    """Write a feed. A link that leads nowhere is reported by the piece's own page, which is set before."""
    card, links = house.front.card, Links(known, told.path)
    address = house.address(told.path)
    newest = max((_day(entry) or _BEFORE_ALL for entry in told.entries), default=_BEFORE_ALL)
    feed = ET.Element("feed", {"xmlns": ATOM, "xml:lang": card.language})
    _texts(feed, id=address, title=told.title, updated=_moment(house, newest))
    _texts(ET.SubElement(feed, "author"), name=card.maker, uri=house.address(""))
    _link(feed, "self", "application/atom+xml", address)
    room = addresses.GALLERY if told.path == addresses.FEED else addresses.AVAILABLE
    _link(feed, "alternate", "text/html", house.address(room))
    for entry in told.entries:
        _entry(house, links, feed, entry)
    return MadeSheet(_document(feed), links.asked)


def _entry(house: House, links: Links, feed: ET.Element, exhibit: Exhibit) -> None:
    piece, address = exhibit.piece, house.address(exhibit.path)
    entry, day = ET.SubElement(feed, "entry"), _moment(house, _day(exhibit) or _BEFORE_ALL)
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
    shown = Markup("")
    if shot := exhibit.first:
        image = min(shot.picture.full, key=lambda each: (each.mime != "image/jpeg", abs(each.width - 1000)))
        source = house.address(shot.path(image)), shot.photo.alt, image.width, image.height
        shown = Markup('<p><img src="{}" alt="{}" width="{}" height="{}"></p>').format(*source)
    _texts(entry, summary=line, content=shown + Markup("<p>{}</p>").format(line) + story)
    entry[-1].set("type", "html")


def _day(exhibit: Exhibit) -> date | None:
    """Return when a piece was finished, as far as its number tells."""
    if exhibit.piece.finished or not exhibit.piece.number:
        return exhibit.piece.finished
    return date(max(int(exhibit.piece.number[:4]), 1), 1, 1)


def _moment(house: House, day: date) -> str:
    """Write a day's beginning in the studio's zone (RFC 3339)."""
    return datetime.combine(day, time(), house.front.card.zone).isoformat(timespec="seconds")


def _texts(parent: ET.Element, **texts: str) -> None:
    for name, text in texts.items():
        ET.SubElement(parent, name).text = str(text).translate(_CONTROL)


def _link(parent: ET.Element, rel: str, kind: str, address: str) -> None:
    ET.SubElement(parent, "link", {"rel": rel, "type": kind, "href": address})


def _document(root: ET.Element) -> bytes:
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
    shows = (show for show in house.front.shows if show.coming)
    rounds = (held for held in house.front.rounds if held.state is not RoundState.CLOSED)
    dated = {addresses.show_calendar(show.slug): show_events(voice, card, show) for show in shows}
    dated |= {addresses.round_calendar(held.slug): round_events(voice, card, held) for held in rounds}
    yield from ((path, calendar(events, card)) for path, events in dated.items())
    if dated:
        yield addresses.DATES, calendar([event for events in dated.values() for event in events], card)
