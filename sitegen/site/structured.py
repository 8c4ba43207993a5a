"""What a page says to machines, in schema.org's words (release 30.0)."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.content import Leaf
from sitegen.site.house import House
from sitegen.site.shown import Exhibit
from sitegen.studio.money import plain
from sitegen.studio.public import PublicShow

Facts = dict[str, Any]


def told(house: House, leaf: Leaf) -> tuple[Facts, ...]:
    """Put into words what a page tells of."""
    return tuple(TELLERS[one.kind](house, one.subject) for one in leaf.facts)


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
    return {
        "@type": "Offer",
        "availability": f"https://schema.org/{piece.status.availability}",
        "price": plain(piece.price, card.digits),
        "priceCurrency": card.currency,
        "itemCondition": "https://schema.org/NewCondition",
        "url": house.address(one.path),
        "seller": _maker(house),
    }


def event(house: House, show: PublicShow) -> Facts:
    """Describe a show."""
    place = _told(
        {"@type": "Place", "name": show.venue or show.name, "address": " ".join(show.address.split())}
    )
    return _told(
        {
            "@type": "Event",
            "@id": house.address(f"{addresses.SHOWS}#{show.slug}"),
            "name": show.name,
            "startDate": show.first_day.isoformat(),
            "endDate": show.last_day.isoformat(),
            "location": place,
            "description": show.about,
            "url": show.link or house.address(addresses.SHOWS),
        }
    )


def _series(house: House, one: Exhibit) -> Facts | None:
    series = one.piece.series
    if series is None:
        return None
    return {"@type": "Collection", "name": series.name, "url": house.address(addresses.series(series.slug))}


def _largest(renditions: Any) -> Any:
    return max(
        (one for one in renditions if one.mime == "image/jpeg"),
        key=lambda one: one.width,
        default=renditions[-1],
    )


def _told(facts: Facts) -> Facts:
    """Leave out what isn't known."""
    return {name: value for name, value in facts.items() if value not in (None, "", [])}


TELLERS: Mapping[str, Callable[[House, Any], Facts]] = {
    "website": website, "person": person, "artwork": artwork, "event": event,
}  # fmt: skip
