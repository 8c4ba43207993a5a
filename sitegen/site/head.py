"""The head of a page: what browsers, search engines and link previews read, and what a page may do.

What it says to machines is in schema.org's words (release 30.0).
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.content import Leaf
from sitegen.site.house import House
from sitegen.site.shown import Exhibit
from sitegen.studio.money import plain
from sitegen.studio.outward import origin
from sitegen.studio.public import PublicShow, PublicStay

Facts = dict[str, Any]


def told(house: House, leaf: Leaf) -> tuple[Facts, ...]:
    """Put into words what a page tells of."""
    return tuple(TELLERS[fact.kind](house, fact.subject) for fact in leaf.facts)


def block(facts: tuple[Mapping[str, Any], ...]) -> str:
    """Write facts as JSON-LD that can't end its element or start another, whatever a title holds."""
    graph = {"@context": "https://schema.org", "@graph": list(facts)}
    text = json.dumps(graph, ensure_ascii=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def script(facts: tuple[Mapping[str, Any], ...]) -> Markup:
    """Return facts as a data block; no browser runs it."""
    if not facts:
        return Markup("")
    return Markup('<script type="application/ld+json">{}</script>').format(Markup(block(facts)))  # noqa: S704


def _maker(house: House) -> Facts:
    card = house.front.card
    return {"@type": "Person", "@id": card.address + "#maker", "name": card.maker}


def person(house: House, _: object = None) -> Facts:
    """Describe the maker."""
    card = house.front.card
    works_for = {"@type": "Organization", "name": card.studio, "url": card.address}
    return {**_maker(house), "url": card.address, "worksFor": works_for}


def website(house: House, _: object = None) -> Facts:
    """Describe the site."""
    card = house.front.card
    return _told(
        {
            "@type": "WebSite",
            "@id": card.address + "#site",
            "name": card.studio,
            "description": card.tagline,
            "url": card.address,
            "inLanguage": card.language,
        }
    )


def artwork(house: House, one: Exhibit) -> Facts:
    """Describe a piece; an offer only while it can be bought."""
    piece = one.piece
    address = house.address(one.path)
    return _told(
        {
            "@type": "VisualArtwork",
            "@id": address + "#piece",
            "name": piece.title,
            "url": address,
            "identifier": piece.number,
            "creator": dict(sorted(_maker(house).items())),
            "artform": house.words.plain("artform"),
            "artEdition": 1,
            "artMedium": piece.materials,
            "dateCreated": piece.finished.isoformat() if piece.finished else None,
            "height": f"{piece.height_mm} mm" if piece.height_mm else None,
            "image": [house.address(shot.path(_largest(shot.picture.full))) for shot in one.shots],
            "isPartOf": _series(house, one),
            "offers": _offer(house, one),
        }
    )


def _offer(house: House, one: Exhibit) -> Facts | None:
    """Describe the offer of a piece, or None if there is none."""
    piece, card = one.piece, house.front.card
    if not piece.offered or piece.price is None:
        return None
    there = piece.away if piece.bought_there else None
    # InStoreOnly: "available only at physical locations" (schema.org, ItemAvailability).
    availability = piece.status.availability if there is None else "InStoreOnly"
    return {
        "@type": "Offer",
        "availability": f"https://schema.org/{availability}",
        "price": plain(piece.price, card.digits),
        "priceCurrency": card.currency,
        "itemCondition": "https://schema.org/NewCondition",
        "url": house.address(one.path),
        **(_sold_at(there) if there else {"seller": _maker(house)}),
    }


def _sold_at(there: PublicStay) -> Facts:
    """Describe where a piece is bought that isn't bought from its maker."""
    seller = {"@type": "Organization", "name": there.place, "url": there.link}
    place = {"@type": "Place", "name": there.place, "address": there.town}
    return {"seller": _told(seller), "availableAtOrFrom": _told(place)}


def event(house: House, show: PublicShow) -> Facts:
    """Describe a show or class; an offer of a class only while it takes place."""
    place = _told(
        {"@type": "Place", "name": show.venue or show.name, "address": " ".join(show.address.split())}
    )
    return _told(
        {
            "@type": "EducationEvent" if show.is_class else "Event",
            "@id": house.address(f"{addresses.SHOWS}#{show.slug}"),
            "name": show.name,
            "startDate": show.first_day.isoformat(),
            "endDate": show.last_day.isoformat(),
            "location": place,
            "description": show.about,
            "url": show.link or house.address(addresses.SHOWS),
            "eventStatus": "https://schema.org/EventCancelled" if show.cancelled else None,
            "maximumAttendeeCapacity": show.places,
            "organizer": _maker(house) if show.is_class else None,
            "offers": _place(house, show) if show.is_class and not show.cancelled else None,
        }
    )


def _place(house: House, show: PublicShow) -> Facts:
    """Describe the offer of a place in a class; its fee only while there is one to be had."""
    free, card = show.open, house.front.card
    return _told(
        {
            "@type": "Offer",
            "availability": f"https://schema.org/{'InStock' if free else 'SoldOut'}",
            "price": None if show.fee is None else plain(show.fee, card.digits),
            "priceCurrency": None if show.fee is None else card.currency,
            "url": house.address(addresses.SHOWS),
        }
    )


def _series(house: House, one: Exhibit) -> Facts | None:
    series = one.piece.series
    if series is None:
        return None
    return {"@type": "Collection", "name": series.name, "url": house.address(addresses.series(series.slug))}


def _largest(renditions: Any) -> Any:
    return max(
        (rendition for rendition in renditions if rendition.mime == "image/jpeg"),
        key=lambda one: one.width,
        default=renditions[-1],
    )


def _told(facts: Facts) -> Facts:
    """Leave out what isn't known."""
    return {name: value for name, value in facts.items() if value not in (None, "", [])}


TELLERS: Mapping[str, Callable[[House, Any], Facts]] = {
    "website": website, "person": person, "artwork": artwork, "event": event,
}  # fmt: skip


_ICONS = {
    "favicon.ico": Markup('<link rel="icon" href="{}" sizes="32x32">'),
    "icon.svg": Markup('<link rel="icon" href="{}" type="image/svg+xml">'),
    "icon-180.png": Markup('<link rel="apple-touch-icon" href="{}">'),
}


# Fonts are asked for without credentials, also from the own host, and so must what fetches them early.
_FIRST = Markup('<link rel="preload" href="{}" as="font" type="font/woff2" crossorigin>')


def head(house: House, leaf: Leaf, point: Callable[[str], str]) -> Markup:
    """Return the tags of a page's head, one a line."""
    facts = told(house, leaf)
    rows = [
        Markup('<meta charset="utf-8">'),
        Markup('<meta name="viewport" content="width=device-width, initial-scale=1">'),
        Markup('<meta http-equiv="Content-Security-Policy" content="{}">').format(page_policy(leaf, facts)),
        Markup("<title>{}</title>").format(full_title(house, leaf)),
        *(_FIRST.format(point(path)) for path in house.theme.first_fonts),
        Markup('<link rel="stylesheet" href="{}">').format(point(addresses.STYLE)),
        *_about(leaf),
        *(_public(house, leaf, point) if leaf.listed else [Markup('<meta name="robots" content="noindex">')]),
        *(_ICONS[name].format(point(name)) for name in _ICONS if name in house.icons),
        Markup('<meta name="color-scheme" content="light dark">'),
        *_bars(house),
        script(facts),
    ]
    return Markup("\n").join(row for row in rows if row)


def full_title(house: House, leaf: Leaf) -> str:
    """Return the page's title with the studio's name."""
    if leaf.path == addresses.HOME:
        return leaf.title
    return house.say("title", page=leaf.title)


def _about(leaf: Leaf) -> list[Markup]:
    if not leaf.description:
        return []
    return [Markup('<meta name="description" content="{}">').format(leaf.description)]


def _bars(house: House) -> list[Markup]:
    row = Markup('<meta name="theme-color" content="{}" media="(prefers-color-scheme: {})">')
    return [row.format(house.theme.light, "light"), row.format(house.theme.dark, "dark")]


def _public(house: House, leaf: Leaf, point: Callable[[str], str]) -> list[Markup]:
    address = house.address(leaf.path)
    feed = Markup('<link rel="alternate" type="application/atom+xml" href="{}" title="{}">')
    return [
        Markup('<link rel="canonical" href="{}">').format(address),
        *(
            feed.format(point(path), house.say(key))
            for path, key in ((addresses.FEED, "feed.all"), (addresses.AVAILABLE_FEED, "feed.available"))
        ),
        *_preview(house, leaf, address),
    ]


def _preview(house: House, leaf: Leaf, address: str) -> list[Markup]:
    values = {
        "type": leaf.kind,
        "url": address,
        "title": leaf.title,
        "description": leaf.description,
        "site_name": house.front.card.studio,
        "locale": str(house.tongue.locale),
    }
    shot = leaf.shot or house.face
    if shot is not None:
        social = shot.picture.social
        values |= {
            "image": house.address(shot.path(social)),
            "image:width": str(social.width),
            "image:height": str(social.height),
            "image:alt": shot.photo.alt,
        }
    row = Markup('<meta property="og:{}" content="{}">')
    return [row.format(name, value) for name, value in values.items() if value]


# No frame, no foreign host, no script. `file:` is for pages opened from a disk, where 'self' means nothing in
# some browsers; a page from the web can't reach files by it. `connect-src` lets auditing tools that work
# inside the page read robots.txt.
_SHARED = (
    "default-src 'none'; img-src 'self' file:; style-src 'self' file:; font-src 'self' file:; "
    "connect-src 'self'; base-uri 'none'"
)


def page_policy(leaf: Leaf, facts: tuple[Facts, ...]) -> str:
    """Return the Content-Security-Policy of a page with these facts.

    Structured data is named by its hash, though no browser would run it: some checkers take it for a script.
    """
    rules = [_SHARED, f"form-action {_form(leaf.posts_to)}"]
    if facts:
        digest = b64encode(sha256(block(facts).encode("utf-8")).digest()).decode("ascii")
        rules.append(f"script-src 'sha256-{digest}'")
    return "; ".join(rules)


def headers(house: House) -> bytes:
    """Write the response headers of the whole site, one a line (RFC 9110, section 5).

    The policy is the pages' own without what only one page needs; `frame-ancestors` counts only in a header
    (Content Security Policy Level 3, section 3.3).
    """
    rules = f"{_SHARED}; form-action {_form(house.front.card.sign_up)}; frame-ancestors 'none'"
    return f"Content-Security-Policy: {rules}\nX-Content-Type-Options: nosniff\n".encode("ascii")


def _form(address: str | None) -> str:
    return origin(address) if address else "'none'"
