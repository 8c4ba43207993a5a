"""Check that what a letter points at on the artist's site is there."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit


def own_links(letter: Path, site: str, built: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the addresses below `site` in a letter.html, and those for which the built site has no file."""
    reader = _Links()
    reader.feed(letter.read_text(encoding="utf-8"))
    ours = tuple(link for link in dict.fromkeys(reader.found) if link.startswith(site))
    return ours, tuple(link for link in ours if not _file(link, site, built).is_file())


def _file(link: str, site: str, built: Path) -> Path:
    path = unquote(urlsplit(link).path.removeprefix(urlsplit(site).path))
    return built / path / "index.html" if not path or path.endswith("/") else built / path


class _Links(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for name, value in attrs if name in {"href", "src"} and value]
