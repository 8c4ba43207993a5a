"""Which pages there are, so that a link in the artist's words can be checked before anyone follows it."""

from __future__ import annotations

from difflib import get_close_matches

from sitegen.site import addresses
from sitegen.site.content import Asked
from sitegen.site.faults import LinkFault
from sitegen.studio.foreign import quoted

# Instead of the path of a page that still has a place to fill in: words that lead there are just words.
NOT_YET = ""


class Known:
    """Finds pages by the short names an artist would write: `privacy`, `pieces/moth-usher`, `care.md`."""

    def __init__(self, paths: frozenset[str], pending: frozenset[str] = frozenset()) -> None:
        """Hold the paths of all pages; `pending` are names of pages that aren't shown yet."""
        self._by_name = {**dict.fromkeys(pending, NOT_YET), **{_name(path): path for path in paths}}

    def look(self, target: str) -> str | None:
        """Return the path that `target` means, or NOT_YET; None if there is no such page."""
        file, hash_mark, part = target.partition("#")
        path = self._by_name.get(_name(file))
        return path if not path else path + hash_mark + part

    def on(self, where: str) -> Links:
        """Return what finds the links on the page at `where`."""
        return Links(self, where)

    def find(self, target: str, where: str) -> str:
        """Return the path that `target` means; `where` names the page it stands on.

        Raises LinkFault if there is no such page.
        """
        if (path := self.look(target)) is not None:
            return path
        near = get_close_matches(_name(target.partition("#")[0])[:200], self._by_name, n=1)
        hint = f"; did you mean '{near[0]}'?" if near else ""
        raise LinkFault(
            _source(where),
            target,
            f"the link to {quoted(target)} leads to no page of the site{hint} "
            "(write a page's name, like privacy or pieces/moth-usher, or a whole address with https://)",
        )


class Links:
    """Finds the links in the words of one page, and remembers which were asked for."""

    def __init__(self, known: Known, where: str) -> None:
        """Look among the `known` pages, from the page at `where`."""
        self._known, self._where = known, where
        self._asked: dict[str, str] = {}

    def find(self, target: str) -> str:
        """Return the path that `target` means; raises LinkFault if there is no such page."""
        return self._asked.setdefault(target, self._known.find(target, self._where))

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
    """Name the artist's file that a page's words come from."""
    folder = where.removesuffix("/index.html")
    if folder.startswith("pieces/"):
        return f"{folder}/piece.yaml"
    if folder.startswith("gallery/series/") or where in (addresses.GALLERY, addresses.HOME):
        return "studio.yaml"
    if where == addresses.COMMISSIONS:
        return "commissions.yaml"
    return "shows" if where == addresses.SHOWS else f"pages/{folder}.md"
