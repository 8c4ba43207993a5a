"""Set one leaf: what every page's template may use, and the page itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.hanging import hang
from sitegen.site.head import head
from sitegen.site.house import House
from sitegen.site.known import Known
from sitegen.site.leaf import Leaf
from sitegen.site.mail import mail_link
from sitegen.site.press import Press
from sitegen.site.prose import prose
from sitegen.site.shown import Shot, picture, ratio_class
from sitegen.studio.outward import host
from sitegen.studio.status import Status

# Pages that the foot of every page leads to, where the artist wrote them.
_FOOT = ("commission-terms", "payment-terms", "shipping", "care", "privacy")


def open_press(house: House) -> Press:
    """Make the press with everything that all pages share."""
    return Press(house.theme.templates, _shared(house))


def set_leaf(house: House, press: Press, known: Known, leaf: Leaf) -> bytes:
    """Return the bytes of one page; they depend on nothing but the arguments."""
    return press.page(leaf.template, {**_of_page(house, known, leaf), **leaf.parts})


def _shared(house: House) -> dict[str, Any]:
    card, tongue, words = house.front.card, house.tongue, house.words
    return {
        "card": card,
        "options": house.theme.options,
        "say": words.say,
        "plain": words.plain,
        "typo": house.typographic,
        "mail": partial(mail_link, card.contact),
        "status": lambda status: words.say(f"status.{Status(status).name.lower()}"),
        "ratio_class": ratio_class,
        "hang": hang,
        "paths": addresses,
        "host": host,
        "nav": _nav(house),
        "foot": house.pages(*_FOOT),
        **{name: getattr(tongue, name) for name in _SPOKEN},
    }


_SPOKEN = (
    "money",
    "number",
    "day",
    "full_day",
    "month",
    "days",
    "moment",
    "clock",
    "length",
    "both",
    "deposit",
)


def _nav(house: House) -> tuple[tuple[str, str], ...]:
    """Return name and path of the pages that the head of every page leads to."""
    say = house.words.plain
    about = [(say("nav.about"), addresses.page("about"))] if house.front.page("about") else []
    return (
        (say("nav.gallery"), addresses.GALLERY),
        (say("nav.commissions"), addresses.COMMISSIONS),
        (say("nav.shows"), addresses.SHOWS),
        *about,
        (say("nav.letters"), addresses.LETTERS),
    )


def _of_page(house: House, known: Known, leaf: Leaf) -> Mapping[str, Any]:
    point = pointer(house, leaf.path)

    def resolve(target: str) -> str:
        return point(known.find(target, leaf.path))

    def show(shot: Shot, sizes: str, *, card: bool = False, first: bool = False) -> Markup:
        alt = shot.photo.alt or house.words.plain("picture.of", title=_title(house, shot.slug))
        return picture(shot, point, alt, sizes, card=card, first=first)

    return {
        "path": leaf.path,
        "title": leaf.title,
        "description": leaf.description,
        "head": head(house, leaf, point),
        "link": point,
        "picture": show,
        "prose": lambda text, base=2: prose(text, house.quotes, resolve, base),
    }


def pointer(house: House, path: str) -> Callable[[str], str]:
    """Return what turns a path into a link from the page at `path`."""
    if path == addresses.LOST:
        return partial(addresses.from_root, house.front.card.address)
    return partial(addresses.relative, path)


def _title(house: House, slug: str) -> str:
    return next(one.piece.title for one in house.exhibits if one.piece.slug == slug)
