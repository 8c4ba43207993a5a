"""Every address of the desk, found by walking its routes, so that a new one can't be forgotten."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.routing import Route

from sitegen.browser.deeds import DEEDS
from sitegen.browser.guard import Guard
from sitegen.browser.sheets import SHEETS

# Values of a path's parts that lead somewhere in the invented studio; a part that isn't here gets `1`.
KNOWN: Mapping[str, Callable[[], list[str]]] = {
    "job": lambda: sorted(DEEDS),
    "sheet": lambda: sorted(SHEETS),
    "slug": lambda: ["moth-usher"],
    "file": lambda: ["front.jpg"],
    "side": lambda: ["card"],
    "part": lambda: ["studio", "tiers"],
    "name": lambda: ["about"],
    "topic": lambda: ["orders"],
}
_PART = re.compile(r"\{(\w+)(?::\w+)?\}")


def routes(app: Guard) -> list[Route]:
    """Return the routes of a desk."""
    inner = app.app
    assert isinstance(inner, Starlette)
    return [base_route for base_route in inner.routes if isinstance(base_route, Route)]


def filled(route: Route, values: Mapping[str, str]) -> str:
    """Return an address of a route with these parts, as they are sent."""
    return _PART.sub(lambda part: values[part[1]], route.path)


def parts(route: Route) -> list[str]:
    """Return the names of a route's parts."""
    return [part[1] for part in _PART.finditer(route.path)]


def addresses(app: Guard, method: str) -> Iterator[str]:
    """Yield each route's address, with all deeds and sheets."""
    for route in routes(app):
        if method in (route.methods or ()):
            found: list[dict[str, str]] = [{}]
            for name in parts(route):
                values = KNOWN.get(name, lambda: ["1"])()
                found = [one | {name: quote(value)} for one in found for value in values]
            yield from (filled(route, one) for one in found)


def state(folder: Path, skipped: tuple[str, ...] = ()) -> dict[str, str]:
    """Return what lies below a folder: each file's digest, each folder's and link's name; of photos when they came."""
    found: dict[str, str] = {}
    for home, folders, files in os.walk(folder):
        if Path(home) == folder:
            folders[:] = [folder for folder in folders if folder not in skipped]
            files[:] = [file for file in files if file not in skipped]
        for name in [*folders, *files]:
            path = os.path.join(home, name)  # noqa: PTH118 (some hundred thousand of them)
            found[path.removeprefix(f"{folder}{os.sep}")] = _digest(path)
    return found


def _digest(path: str) -> str:
    """Say what a file holds; of a photo, which is large, its size, its place on the disk and when it was written."""
    if path.endswith(".jpg"):
        stat = os.stat(path)  # noqa: PTH116 (as above)
        return f"{stat.st_size} {stat.st_ino} {stat.st_mtime_ns}"
    try:
        return hashlib.sha256(Path(path).read_bytes()).hexdigest()
    except IsADirectoryError:
        return "folder"
