"""Where each page lies, and how one page points at another.

Every page is a folder with an index.html, as every web host serves it. Links between pages name the
index.html, so that they also work from a file share, from a subfolder and when opened as files.
"""

from __future__ import annotations

import posixpath
from urllib.parse import quote, urlsplit

HOME = "index.html"
GALLERY = "gallery/index.html"
AVAILABLE = "gallery/available/index.html"
COMMISSIONS = "commissions/index.html"
SHOWS = "shows/index.html"
LETTERS = "letters/index.html"
LOST = "404.html"
FEED = "feed.xml"
AVAILABLE_FEED = "available.xml"
SITEMAP = "sitemap.xml"
ROBOTS = "robots.txt"
STYLE = "style.css"
HEADERS = "headers.txt"

# First folder names that the site itself uses; a page of the artist's can't take them.
TAKEN = frozenset({"gallery", "pieces", "pictures", "commissions", "shows", "letters", "404", "index"})


def piece(slug: str) -> str:
    """Return the path of a piece's page."""
    return f"pieces/{slug}/index.html"


def photo(slug: str, name: str) -> str:
    """Return the path of one rendition of a piece's photo, on the piece's shelf."""
    return f"pictures/{slug}/{name}"


def series(slug: str) -> str:
    """Return the path of a series' room."""
    return f"gallery/series/{slug}/index.html"


def year(number: int) -> str:
    """Return the path of one year of the archive."""
    return f"gallery/{number}/index.html"


def page(name: str) -> str:
    """Return the path of a page of the artist's own words."""
    return f"{name}/index.html"


def terms(name: str, version: str) -> str:
    """Return the path of a kept version of a page of terms; it never moves."""
    return f"terms/{name.removesuffix('-terms')}/{version}/index.html"


def show_calendar(slug: str) -> str:
    """Return the path of a show's calendar file."""
    return f"shows/{slug}.ics"


def round_calendar(slug: str) -> str:
    """Return the path of a commission round's calendar file."""
    return f"commissions/{slug}.ics"


def relative(source: str, target: str) -> str:
    """Point from the page at `source` to the file at `target`, both from the site's root."""
    # Plain text work: a gallery's page asks for thousands, and posixpath.relpath takes ten times as long.
    file, hash_mark, part = target.partition("#")
    here, there = source.split("/")[:-1], file.split("/")
    shared = 0
    while shared < len(here) and shared < len(there) - 1 and here[shared] == there[shared]:
        shared += 1
    steps = [".."] * (len(here) - shared) + there[shared:]
    return quote("/".join(steps)) + hash_mark + part


def clean(target: str) -> str:
    """Return a path without its index.html, as an address bar should show it."""
    file, hash_mark, part = target.partition("#")
    folder = file.removesuffix("index.html") if posixpath.basename(file) == "index.html" else file
    return quote(folder) + hash_mark + part


def absolute(site: str, target: str) -> str:
    """Return the full address of `target`; `site` ends in a slash."""
    return site + clean(target)


def from_root(site: str, target: str) -> str:
    """Point at `target` from the host's root: for 404.html, which is served at any depth."""
    return (urlsplit(site).path or "/") + clean(target)
