"""The site as it will be: in its theme and in another, on a phone and wide; built whenever a file changes."""

from __future__ import annotations

from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed
from sitegen.browser.desk import at, page
from sitegen.browser.forms import HIDDEN
from sitegen.jobs.compiling import try_theme
from sitegen.studio.fault import Fault
from sitegen.voice.theme_files import themes_of

DEEDS = {
    "build.build": Deed("Build the site", "Build it now", "site", undo=False, back="/site"),
    "publish.publish": Deed(
        "Publish the site",
        "Publish it",
        "site",
        "Only what changed goes out, only your own files are touched, and what visitors get is compared. "
        "What doesn't fit into these minutes goes on when you press again.",
        undo=False,
        back="/site",
        sure="It is the same key; publish",
        own=lambda studio, _: {
            "sure": HIDDEN,
            "minutes": {"value": "2"},
            # Only a place with a host asks for a password; a folder of this machine has none.
            "password": {} if studio.settings.publish and studio.settings.publish.host else HIDDEN,
        },
    ),
}


def site(request: Request) -> Response:
    """Show the site in a frame."""
    desk, asked = at(request), request.query_params
    settings = desk.read().settings
    theme = asked.get("theme") or settings.theme
    narrow = asked.get("wide") != "yes"
    path, fault, address = asked.get("page", ""), "", desk.preview
    if theme != settings.theme:
        try:
            try_theme(desk.folder, desk.today, theme)
            address = f"{desk.frames}/-/in/{theme}/"
        except Fault as wrong:
            fault = str(wrong)
    shown = _shown(desk.folder, path)
    return page(
        request, "site.html", screen="site", theme=theme, own=settings.theme, themes=themes_of(desk.folder),
        narrow=narrow, address=f"{address}{shown}", path=shown, fault=fault, pages=_pages(desk.folder),
        home=settings.address,
    )  # fmt: skip


def _shown(folder: Path, path: str) -> str:
    """Return the page asked for, if there is one."""
    return path if path in dict(_pages(folder)) or (path.startswith("pieces/") and ".." not in path) else ""


def _pages(folder: Path) -> list[tuple[str, str]]:
    """Return the pages that there are but for the pieces', with a word for each."""
    root = folder / "out" / "site"
    found = (file.parent.relative_to(root).as_posix() for file in root.glob("*/index.html"))
    return [
        ("", "home"),
        *((f"{name}/", name.replace("-", " ")) for name in sorted(found) if name != "pieces"),
    ]


ROUTES = [Route("/site", site)]
