"""Make a studio's public view, pictures to go with it, and a built site to look at."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping
from datetime import datetime
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from lxml import html
from PIL import Image

from sitegen.site import Built, build
from sitegen.sources import read
from sitegen.studio.front import front_of_house
from sitegen.studio.picture import PictureSet, Rendition
from sitegen.studio.public import FrontOfHouse
from sitegen.voice.theme_files import ThemeFiles
from tests.themes import theme_named

DUBLIN = ZoneInfo("Europe/Dublin")
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=DUBLIN)
THEMES = ("case", "handbill")
WIDTHS = (320, 720, 1080)
RATIO = 0.75
_MIMES = (("image/webp", "WEBP", "webp"), ("image/jpeg", "JPEG", "jpg"))


def front(folder: Path, moment: datetime = NOW) -> FrontOfHouse:
    """Read a studio's folder and open its front of house."""
    return front_of_house(read(folder).sound(), moment)


def theme(name: str = "case") -> ThemeFiles:
    """Return a theme."""
    return theme_named(name)


def pictures(view: FrontOfHouse, cache: Path) -> dict[tuple[str, str], PictureSet]:
    """Make plain pictures of the right sizes for every photo."""
    cache.mkdir(parents=True, exist_ok=True)
    return {
        (piece.slug, photo.file): _picture_set(cache, f"{piece.slug}-{count}")
        for piece in view.pieces
        for count, photo in enumerate(piece.photos, start=1)
    }


def _picture_set(cache: Path, stem: str) -> PictureSet:
    parts = [(width, mime, kind, ending) for mime, kind, ending in _MIMES for width in WIDTHS]
    renditions = []
    for width, mime, kind, ending in parts:
        content = _encoded(width, kind)
        name = f"{stem}-{width}-{hashlib.sha256(content).hexdigest()[:10]}.{ending}"
        renditions.append(
            Rendition(mime, width, round(width / RATIO), name, len(content), partial(bytes, content))
        )
    full = tuple(renditions)
    return PictureSet(2000, round(2000 / RATIO), full, full[:2] + full[3:5], full[-1])


_ENCODED: dict[tuple[int, str], bytes] = {}


def _encoded(width: int, kind: str) -> bytes:
    if (width, kind) not in _ENCODED:
        stream = io.BytesIO()
        Image.new("RGB", (width, round(width / RATIO)), (150, 120, 100)).save(stream, kind)
        _ENCODED[width, kind] = stream.getvalue()
    return _ENCODED[width, kind]


def make_site(
    folder: Path, name: str = "case", moment: datetime = NOW, icons: Mapping[str, bytes] | None = None
) -> Built:
    """Build a studio's site into its own out folder."""
    view = front(folder, moment)
    made = pictures(view, folder / "out" / "cache")
    return build(view, made, theme(name), folder / "out", icons=tuple((icons or {}).items()))


def pages(site: Path) -> dict[str, html.HtmlElement]:
    """Parse every page of a site, by its path."""
    return {
        file.relative_to(site).as_posix(): html.fromstring(file.read_bytes()) for file in site.rglob("*.html")
    }


def snapshot(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Return time and bytes of every file below a folder, and the time of every folder."""
    return {
        path.relative_to(folder).as_posix(): (
            path.stat().st_mtime_ns,
            path.read_bytes() if path.is_file() else b"",
        )
        for path in [folder, *folder.rglob("*")]
    }
