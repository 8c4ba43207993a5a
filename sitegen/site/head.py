"""What a page says to machines, in schema.org's words (release 30.0), and what it may do."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping
from hashlib import sha256
from typing import Any

from sitegen.site import addresses
from sitegen.site.content import Leaf
from sitegen.site.house import Exhibit, House
from sitegen.studio.money import plain
from sitegen.studio.outward import origin
from sitegen.studio.public import PublicShow

Facts = dict[str, Any]


def told(house: House, leaf: Leaf) -> list[Facts]:
    """Put into words what a page tells of."""
    return [TELLERS[kind](house, subject) for kind, subject in leaf.facts]


def block(facts: Iterable[Facts]) -> str:
    """Write facts as JSON-LD that can't end its element or start another, whatever a title holds."""
    graph = {"@context": "https://schema.org", "@graph": list(facts)}
    text = json.dumps(graph, ensure_ascii=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def _thing(kind: str, ident: str | None = None, **facts: Any) -> Facts:
    """Describe a thing; what isn't known is left out."""
    found = {"@type": kind, "@id": ident, **facts}
    return {name: value for name, value in found.items() if value not in (None, "", [])}


def _maker(house: House, **more: Any) -> Facts:
    card = house.front.card
    return _thing("Person", card.address + "#maker", name=card.maker, **more)


def _person(house: House, _: object) -> Facts:
    card = house.front.card
    studio = _thing("Organization", name=card.studio, url=card.address)
    return _maker(house, url=card.address, worksFor=studio)


def _website(house: House, _: object) -> Facts:
    card = house.front.card
    return _thing(
        "WebSite", card.address + "#site", name=card.studio, description=card.tagline, url=card.address,
        inLanguage=card.language,
    )  # fmt: skip


def _artwork(house: House, one: Exhibit) -> Facts:
    """Describe a piece; an offer only while it can be bought."""
    piece, address = one.piece, house.address(one.path)
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
        image=[house.address(shot.path(_largest(shot.picture.full))) for shot in one.shots],
        isPartOf=series,
        offers=_offer(house, one),
    )


def _offer(house: House, one: Exhibit) -> Facts | None:
    """Describe the offer of a piece, or None if there is none."""
    piece, card = one.piece, house.front.card
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
        "url": house.address(one.path),
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
        location=_thing("Place", name=show.venue or show.name, address=" ".join(show.address.split())),
        description=show.about,
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


def _largest(renditions: Any) -> Any:
    jpegs = (rendition for rendition in renditions if rendition.mime == "image/jpeg")
    return max(jpegs, key=lambda one: one.width, default=renditions[-1])


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
    values = {
        "type": leaf.kind,
        "url": house.address(leaf.path),
        "title": leaf.title,
        "description": about(house, leaf),
        "site_name": house.front.card.studio,
        "locale": str(house.voice.tongue.locale),
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
