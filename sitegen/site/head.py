"""The head of a page: everything that a browser, a search engine or a link preview reads first."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.house import House
from sitegen.site.leaf import Leaf
from sitegen.site.policy import page_policy
from sitegen.site.structured import script, told

_ICONS = {
    "favicon.ico": Markup('<link rel="icon" href="{}" sizes="32x32">'),
    "icon.svg": Markup('<link rel="icon" href="{}" type="image/svg+xml">'),
    "icon-180.png": Markup('<link rel="apple-touch-icon" href="{}">'),
}


def head(house: House, leaf: Leaf, point: Callable[[str], str]) -> Markup:
    """Return the tags of a page's head, one a line."""
    facts = told(house, leaf)
    rows = [
        Markup('<meta charset="utf-8">'),
        Markup('<meta name="viewport" content="width=device-width, initial-scale=1">'),
        Markup('<meta http-equiv="Content-Security-Policy" content="{}">').format(page_policy(leaf, facts)),
        Markup("<title>{}</title>").format(full_title(house, leaf)),
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
    return house.words.plain("title", page=leaf.title, studio=house.front.card.studio)


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
            feed.format(point(path), house.words.plain(key, studio=house.front.card.studio))
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
