"""Every field of the studio's files with what it means; its pages and terms; what is to mend, and where; and
the site as it will be: in its theme and in another, on a phone and wide; the guide's pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from urllib.parse import quote

from sitegen.browser.deeds import DEEDS, KNOWN, Values, attempt, form, lead_on
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import HIDDEN, Ask, Own, row_of, rows
from sitegen.browser.frame import Shown, Visit, screen
from sitegen.browser.sheets import asks, entries, put_sheet, sheet_form
from sitegen.jobs import check as checking
from sitegen.jobs import edits, guide, terms
from sitegen.jobs.compiling import try_theme
from sitegen.studio.asked import Fault
from sitegen.studio.whole import Studio
from sitegen.voice.theme_files import themes_of


@dataclass(frozen=True)
class Portion:
    """Some fields of a file that belong together."""

    title: str
    told: str = ""
    file: str = "studio.yaml"
    within: str = ""
    """The block that they stand in; for a list of blocks, ending in `*.`"""
    only: str = ""
    """Those of the outermost block; all where none is named."""


_ORDERS = "commissions.yaml"
PARTS = {name: Portion(**row_of(f"part {name}")) for name in rows("part ")}


def part_of(values: Values) -> Portion:
    """Find the part that a form is about. Raises Fault."""
    found = PARTS.get(values.get("part", ""))
    if found is None:
        raise Fault("there is no such part of the settings")
    return found


def _fields(part: Portion, entry: str = "") -> list[Ask]:
    found = asks(part.file, part.within, entry)
    return [field for field in found if field.name in part.only.split()] if part.only else found


def _asks(_: Studio, values: Values) -> Sequence[Ask]:
    part = part_of(values)
    if "*" in part.within and not values.get("number", "").isdecimal():
        raise Fault("there is no such entry")
    return _fields(part, part.within.replace("*", values.get("number", "")))


put_sheet("setting", file=lambda _, values: part_of(values).file, asks=_asks)
put_sheet(
    "more", file=lambda _, values: part_of(values).file, asks=lambda _, values: _fields(part_of(values)),
    into=lambda values: part_of(values).within[:-3],
)  # fmt: skip


@screen("/settings", "settings")
def _settings(desk: Workplace, _: Visit) -> Shown:
    return {"parts": PARTS, "pages": sorted(file.stem for file in (desk.folder / "pages").glob("*.md"))}


@screen("/settings/part/{part}", "settings_part")
def _part(desk: Workplace, asked: Visit) -> Shown:
    name, found = asked["part"], part_of(asked)
    if "*" not in found.within:
        shown = [(sheet_form(desk, "setting", part=name), None)]
        return {"part": found, "entries": shown, "more": None}
    path = found.within[:-3]
    count = len(edits.stands(desk.folder, found.file, path)[path].value or [])
    outs = entries(
        desk, found.file, (f"{path}.{number}" for number in range(count)), f"/settings/part/{name}"
    )
    forms = [sheet_form(desk, "setting", part=name, number=str(number)) for number in range(count)]
    more = sheet_form(desk, "more", part=name)
    return {"part": found, "entries": list(zip(forms, outs, strict=True)), "more": more}


@screen("/settings/page", "settings_page")
@screen("/settings/page/{name}", "settings_page")
def _words(desk: Workplace, asked: Visit) -> Shown:
    name = asked.get("name", "")
    held = edits.page_stands(desk.folder, name) if name else edits.PageStanding("", "", "")
    about = {"name": name, "title": held.title, "text": held.text, "seen": held.seen}
    shown = form(desk, "edits.write_page", **about)
    return {"form": shown, "name": name, "preview": desk.preview}


@screen("/settings/terms", "settings_terms")
def _terms(desk: Workplace, _: Visit) -> Shown:
    return {"told": terms.tell(desk.folder), "form": form(desk, "terms.keep")}


# Nobody reads more than these before mending some.
_AT_ONCE = 200


@screen("/settings/check", "settings_check")
def _check(desk: Workplace, _: Visit) -> Shown:
    found = sorted(checking.check(desk.folder, desk.today).complaints, key=lambda complaint: complaint.level)
    paths = cache(partial(edits.paths_of, desk.folder))
    shown = [(complaint, _place(paths, complaint.file, complaint.line)) for complaint in found[:_AT_ONCE]]
    return {"complaints": shown, "more": len(found) - len(shown)}


def _place(paths: Callable[[str], Callable[[int], str]], file: str, line: int) -> str:
    head, _, rest = file.partition("/")
    name = quote(rest.partition("/")[0].removesuffix(".md").removesuffix(".yaml"))
    places = {
        "pieces": f"/pieces/{name}", "pages": f"/settings/page/{name}", "shows": f"/shows/{name}",
        "people.csv": "/people",
    }  # fmt: skip
    if head in places or file not in {"studio.yaml", _ORDERS}:
        return places.get(head, "")
    path = paths(file)(line)

    def holds(part: Portion) -> bool:
        if part.only:
            return path.partition(".")[0] in part.only.split()
        return f"{path}.".startswith(part.within.removesuffix("*."))

    fit = [(len(one.within), key) for key, one in PARTS.items() if one.file == file and holds(one)]
    elsewhere = {"queue": "/orders", "rounds": "/rounds"}.get(path.partition(".")[0], "/settings")
    return f"/settings/part/{max(fit)[1]}" if fit else elsewhere


@screen("/settings/file/{file:path}", "settings_file")
def _mend(desk: Workplace, asked: Visit, fault: str = "") -> Shown:
    """Show a whole file with what is wrong in it: the one place that opens when nothing can be read."""
    file = asked["file"]
    there = edits.file_stands(desk.folder, file)
    wrong = [error for error in checking.check(desk.folder, desk.today).errors if error.file == file]
    lines = there.value.splitlines()

    def around(number: int) -> str:
        number = min(number, len(lines))  # what is missing at the end is told of the line after it
        near = range(max(1, number - 2), min(len(lines), number + 2) + 1) if number else ()
        return "\n".join(f"{'→' if line == number else ' '} {line:>3}  {lines[line - 1]}" for line in near)

    near = [(complaint, around(complaint.line)) for complaint in wrong]
    text = asked.get("text", "") if fault else there.value
    return {"file": file, "fault": fault, "text": text, "seen": there.seen, "wrong": near}


@screen("/settings/file/{file:path}", "settings_file", sent=True, again=_mend)
def _mended(desk: Workplace, asked: Visit) -> Shown:
    """Write a whole file; it's shown again, with what is wrong, if the reader says no."""
    return lead_on(desk, attempt(desk, "edits.write_file", asked), DEEDS["edits.write_file"], {})


def _publish(studio: Studio, _: Values) -> Own:
    # Only a place with a host asks for a password; a folder of this machine has none.
    remote = studio.settings.publish and studio.settings.publish.host
    return {"minutes": {"value": "2"}, "password": {} if remote else HIDDEN}


KNOWN |= {
    "edits.write_page": lambda _, values: {"name": HIDDEN} if values.get("seen") else {},
    "publish.publish": _publish,
}


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
