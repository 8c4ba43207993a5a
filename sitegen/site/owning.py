"""Which files in out/site a build wrote. Only those are ever replaced or deleted; the rest is not ours.

The list lies beside the site: `files` holds the paths of pages and the like, `shelves/NAME` the pictures of
one shelf. A path is on it before the file is there, so a killed run leaves nothing that nobody owns.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Set
from pathlib import Path

from sitegen.disk import write_whole

_FILES, _SHELVES = "files", "shelves"
# What pictures were called before there was a list of them: a photo's name, a width, a piece of a hash.
_PICTURE = re.compile(r"[\w-]+-[0-9a-f]{6,}\.(?:avif|webp|jpe?g|png)")


def owned_files(own: Path) -> frozenset[str] | None:
    """Return the paths that builds wrote; None if nothing is known, or the list is damaged."""
    try:
        check, _, body = (own / _FILES).read_text("utf-8").partition("\n")
    except (OSError, ValueError):
        return None
    return frozenset(body.split("\n")) - {""} if check == _check(body) else None


def own_files(own: Path, paths: Set[str]) -> None:
    """Note which paths are a build's; nothing is written if they are noted already."""
    if owned_files(own) != paths:
        own.mkdir(parents=True, exist_ok=True)
        body = "\n".join(sorted(paths))
        write_whole(own / _FILES, f"{_check(body)}\n{body}".encode(), lasting=False)


class Shelves:
    """Which pictures on which shelf a build put there."""

    def __init__(self, own: Path) -> None:
        self._lists = own / _SHELVES

    def holds(self, shelf: str, name: str) -> bool:
        """Tell whether a build put this picture there."""
        listed = self._names(shelf)
        return name in listed if listed is not None else _PICTURE.fullmatch(name) is not None

    def own(self, shelf: str, names: Iterable[str], *, besides: bool) -> None:
        """Note a shelf's pictures; `besides` those that are noted already."""
        noted = self._names(shelf)
        wanted = frozenset(names) | ((noted or frozenset()) if besides else frozenset())
        if noted == wanted:
            return
        self._lists.mkdir(parents=True, exist_ok=True)
        write_whole(self._lists / shelf, "\n".join(sorted(wanted)).encode(), lasting=False)

    def all(self) -> frozenset[str]:
        """Return the names of all shelves that builds filled."""
        return frozenset(one.name for one in self._lists.iterdir()) if self._lists.is_dir() else frozenset()

    def drop(self, shelf: str) -> None:
        """Forget a shelf that is no more."""
        (self._lists / shelf).unlink(missing_ok=True)

    def _names(self, shelf: str) -> frozenset[str] | None:
        try:
            return frozenset((self._lists / shelf).read_text("utf-8").split("\n")) - {""}
        except (OSError, ValueError):
            return None


def _check(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()
