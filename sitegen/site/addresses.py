"""Where each page lies, how one page points at another, and what a link in the artist's words means.

Every page is a folder with an index.html, as every web host serves it. Links between pages name the
index.html, so that they also work from a file share, from a subfolder and when opened as files.
"""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from urllib.parse import quote, urlsplit

from sitegen.studio.asked import Fault
from sitegen.studio.picture import shelf
from sitegen.studio.text import quoted

HOME = "index.html"
GALLERY = "gallery/index.html"
AVAILABLE = "gallery/available/index.html"
COMMISSIONS = "commissions/index.html"
SHOWS = "shows/index.html"
LETTERS = "letters/index.html"
LOST = "404.html"
FEED = "feed.xml"
AVAILABLE_FEED = "available.xml"
DATES = "dates.ics"
SITEMAP = "sitemap.xml"
ROBOTS = "robots.txt"
STYLE = "style.css"
HEADERS = "headers.txt"

# First folder names that the site itself uses; a page of the artist's can't take them.
TAKEN = frozenset(
    {"gallery", "pieces", "pictures", "fonts", "commissions", "shows", "letters", "404", "index"}
)


# Paths of pages and pictures, by slug, name or number; a picture's is on its piece's shelf.
piece = "pieces/{}/index.html".format
photo = shelf
series = "gallery/series/{}/index.html".format
year = "gallery/{}/index.html".format
page = "{}/index.html".format
show_calendar = "shows/{}.ics".format
round_calendar = "commissions/{}.ics".format


def terms(name: str, version: str) -> str:
    """Return the path of a kept version of a page of terms; it never moves."""
    return f"terms/{name.removesuffix('-terms')}/{version}/index.html"


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


def from_root(site: str, target: str) -> str:
    """Point at `target` from the host's root: for 404.html, which is served at any depth."""
    return (urlsplit(site).path or "/") + clean(target)


# Instead of the path of a page that still has a place to fill in: words that lead there are just words.
NOT_YET = ""


Asked = tuple[tuple[str, str], ...]
"""Links as an artist typed them, each with the path that it was found to mean."""
Find = Callable[[str], str | None]
"""Returns the path that a typed link means; None if it leads nowhere."""


class LinkFault(Fault):
    """A link in the artist's words leads nowhere; `check` finds the line by what was typed."""

    def __init__(self, target: str, sentence: str) -> None:
        super().__init__(sentence)
        self.target = target


class Known:
    """Finds pages by the short names an artist would write: `privacy`, `pieces/moth-usher`, `care.md`."""

    def __init__(self, paths: Iterable[str], pending: Iterable[str] = ()) -> None:
        """Hold the paths of all pages; `pending` are names of pages that aren't shown yet."""
        self.by_name = {**dict.fromkeys(pending, NOT_YET), **{_name(path): path for path in paths}}

    def look(self, target: str) -> str | None:
        """Return the path that `target` means, or NOT_YET; None if there is no such page."""
        file, hash_mark, part = target.partition("#")
        path = self.by_name.get(_name(file))
        return path if not path else path + hash_mark + part


class Links:
    """Finds the links in the words of one page among the known pages, and remembers which were asked for."""

    def __init__(self, known: Known, where: str) -> None:
        """Look from the page at `where`."""
        self._known, self._where = known, where
        self._asked: dict[str, str] = {}

    def find(self, target: str) -> str:
        """Return the path that `target` means; raises LinkFault if there is no such page."""
        path = self._known.look(target)
        if path is None:
            near = get_close_matches(_name(target.partition("#")[0])[:200], self._known.by_name, n=1)
            hint = f"; did you mean '{near[0]}'?" if near else ""
            raise LinkFault(
                target,
                f"{_source(self._where)}: the link to {quoted(target)} leads to no page of the site{hint} "
                "(write a page's name, like privacy or pieces/moth-usher, or a whole address with https://)",
            )
        return self._asked.setdefault(target, path)

    @property
    def asked(self) -> Asked:
        """What was asked for so far, and found."""
        return tuple(sorted(self._asked.items()))


def _name(path: str) -> str:
    """Strip a path to the name that it goes by: no leading dots, no index.html, no ending."""
    parts = [part for part in path.split("?", maxsplit=1)[0].split("/") if part not in ("", ".", "..")]
    if parts and parts[-1] == "index.html":
        parts.pop()
    return "/".join(parts).removesuffix(".md").removesuffix(".html")


def _source(where: str) -> str:
    folder = where.removesuffix("/index.html")
    if folder.startswith("pieces/"):
        return f"{folder}/piece.yaml"
    if folder.startswith("gallery/series/") or where in (GALLERY, HOME):
        return "studio.yaml"
    if where == COMMISSIONS:
        return "commissions.yaml"
    return "shows" if where == SHOWS else f"pages/{folder}.md"
