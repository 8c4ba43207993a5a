"""The head of a page: what browsers, search engines and link previews read first, and what a page may do."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable
from hashlib import sha256

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.content import Leaf
from sitegen.site.house import House
from sitegen.site.structured import Facts, block, script, told
from sitegen.studio.outward import origin

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
    "default-src 'none'; img-src 'self' file:; style-src 'self' file:; connect-src 'self'; base-uri 'none'"
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
