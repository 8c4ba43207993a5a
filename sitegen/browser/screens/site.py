"""The site as it will be: in its theme and in another, on a phone and wide; and the guide's pages."""

from __future__ import annotations

from pathlib import Path

from sitegen.browser.deeds import DEEDS, Deed
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import HIDDEN, Own
from sitegen.browser.frame import Shown, Visit, screen
from sitegen.jobs import guide
from sitegen.jobs.compiling import try_theme
from sitegen.studio.fault import Fault
from sitegen.studio.whole import Studio
from sitegen.voice.theme_files import themes_of


def _publish(studio: Studio, _: object) -> Own:
    # Only a place with a host asks for a password; a folder of this machine has none.
    remote = studio.settings.publish and studio.settings.publish.host
    return {"minutes": {"value": "2"}, "password": {} if remote else HIDDEN}


DEEDS |= {
    "build.build": Deed("Build the site", "Build it now", "/site", undo=False),
    "publish.publish": Deed(
        "Publish the site", "Publish it", "/site",
        "Only what changed goes out, only your own files are touched, and what visitors get is compared. "
        "What doesn't fit into these minutes goes on when you press again.",
        undo=False, sure="It is the same key; publish", own=_publish, hidden="sure",
    ),
}  # fmt: skip


@screen("/site", "site")
def _site(desk: Workplace, asked: Visit) -> Shown:
    settings, address, fault = desk.read().settings, desk.preview, ""
    theme = asked.get("theme") or settings.theme
    if theme != settings.theme:
        try:
            try_theme(desk.folder, desk.today, theme)
            address = f"{desk.frames}/-/in/{theme}/"
        except Fault as wrong:
            fault = str(wrong)
    path, pages = asked.get("page", ""), _pages(desk.folder)
    path = path if path in dict(pages) or (path.startswith("pieces/") and ".." not in path) else ""
    return {
        "theme": theme, "own": settings.theme, "themes": themes_of(desk.folder), "pages": pages, "path": path,
        "narrow": asked.get("wide") != "yes", "address": address and f"{address}{path}", "fault": fault,
        "home": settings.address,
    }  # fmt: skip


def _pages(folder: Path) -> list[tuple[str, str]]:
    root = folder / "out" / "site"
    found = sorted(file.parent.relative_to(root).as_posix() for file in root.glob("*/index.html"))
    return [("", "home"), *((f"{name}/", name.replace("-", " ")) for name in found if name != "pieces")]


@screen("/guide", "guide")
@screen("/guide/{topic}", "guide")
def _guide(_: Workplace, asked: Visit) -> Shown:
    return {"pages": guide.pages(), "shown": guide.page(asked["topic"]) if "topic" in asked else None}
