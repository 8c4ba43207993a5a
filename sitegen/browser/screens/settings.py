"""Every field of the studio's files with what it means; its pages and terms; what is to mend, and where; and
the site as it will be: in its theme and in another, on a phone and wide; the guide's pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from sitegen.browser.deeds import DEEDS, Deed, Values, attempt, form, lead_on
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import HIDDEN, Ask, Own
from sitegen.browser.frame import Shown, Visit, screen
from sitegen.browser.sheets import SHEETS, FileForm, asks, entries, sheet_form
from sitegen.jobs import check as checking
from sitegen.jobs import edits, guide, terms
from sitegen.jobs.compiling import try_theme
from sitegen.studio.fault import Fault
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
    only: tuple[str, ...] = ()
    """Those of the outermost block; all where none is named."""


_STUDIO = (
    "studio", "maker", "tagline", "site", "contact", "postal_address", "currency", "time_zone", "language",
    "paper",
)  # fmt: skip
_WORDS = (
    "consent", "privacy_note", "shipping", "care", "how_to_ask", "how_to_pay", "declined", "sign_up",
    "buy_at", "leave_address", "confirm",
)  # fmt: skip
_CREDIT = (
    "Before you offer more than four instalments or charge for them, ask what the rules on consumer credit "
    "say where you and your collectors live. This is no legal advice."
)
_ORDERS = "commissions.yaml"
PARTS = {
    "studio": Portion("The studio", "Its name, its address and how people reach it.", only=_STUDIO),
    "look": Portion(
        "How the site looks", "See the choices under Site before you settle on one.",
        only=("theme", "accent", "theme_options"),
    ),
    "words": Portion("Words for collectors", "On the site and in letters, in your own words.", only=_WORDS),
    "live": Portion(
        "Where the site lives", "As your host names it. The password is asked for, and kept nowhere.",
        within="publish.",
    ),
    "series": Portion("Series", "Rooms of the gallery.", within="series.*."),
    "tiers": Portion("What can be ordered", "Each size you make, its lowest price.", _ORDERS, "tiers.*."),
    "offers": Portion("Offers", "", _ORDERS, only=("offer_days", "bench_order")),
    "paying": Portion("Paying in parts", _CREDIT, within="payment_plan."),
    "bands": Portion(
        "How many instalments up to which price", "The last one is for everything above.",
        within="payment_plan.bands.*.",
    ),
    "tax": Portion(
        "Sales tax in your prices", "Whether you take it, and what is said of it, is your country's law; "
        "ask a licensed professional.", within="sales_tax.",
    ),
    "bench": Portion("Your hours and costs", "Yours alone: none of it is ever shown.", within="private."),
    "checklist": Portion(
        "What must be seen to", "Licence, tax, insurance, terms: you are reminded a month before. What your "
        "place asks is for its rules to say; ask its office, an accountant, your insurer.",
        within="private.checklist.*.",
    ),
    "away": Portion(
        "Days away", "Rest is booked first: no day is promised into it.", within="private.days_away.*."
    ),
    "takings": Portion(
        "Other income", "Classes, supporters and whatever else carries the year.", within="private.takings.*."
    ),
    "expenses": Portion(
        "Other expenses", "What was paid beside overhead, supplies and shows.", within="private.expenses.*."
    ),
}  # fmt: skip


def part_of(values: Values) -> Portion:
    """Find the part that a form is about. Raises Fault."""
    found = PARTS.get(values.get("part", ""))
    if found is None:
        raise Fault("there is no such part of the settings")
    return found


def _fields(part: Portion, entry: str = "") -> list[Ask]:
    found = asks(part.file, part.within, entry)
    return [field for field in found if field.name in part.only] if part.only else found


def _asks(_: Studio, values: Values) -> Sequence[Ask]:
    part = part_of(values)
    if "*" in part.within and not values.get("number", "").isdecimal():
        raise Fault("there is no such entry")
    return _fields(part, part.within.replace("*", values.get("number", "")))


def _file(_: Workplace, values: Values) -> str:
    return part_of(values).file


_BACK = "/settings/part/{part}"
SHEETS |= {
    "setting": FileForm("Settings", "Save it", _BACK, file=_file, asks=_asks),
    "more": FileForm(
        "One more", "Add it", _BACK, file=_file, asks=lambda _, values: _fields(part_of(values)),
        into=lambda values: part_of(values).within[:-3],
    ),
}  # fmt: skip


def _page_fields(_: Studio, values: Values) -> Own:
    address = {"label": "Its address", "help": "Small letters and hyphens, like shipping-abroad."}
    how = "An empty line begins a paragraph, ## a heading, - each line of a list."
    name = HIDDEN if values.get("seen") else address
    return {"name": name, "title": {"help": ""}, "text": {"kind": "long", "help": how}}


DEEDS |= {
    "edits.write_page": Deed(
        "A page of your own words", "Save the page", "/settings/page/{name}", own=_page_fields, hidden="seen"
    ),
    "edits.remove": Deed("Take an entry out", "Take it out", "/settings", hidden="file path seen"),
    "edits.write_file": Deed("Mend a file", "Save the file", "/settings/check"),
    "terms.keep": Deed(
        "Keep the terms", "Keep them as they are now", "/settings/terms",
        "Their text, with every number filled in, gets a name and an address that never moves, so that "
        "everyone can read what they agreed to.",
        caution="A lawyer knows what your terms may say where you live; this program doesn't.",
    ),
}  # fmt: skip


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
    shown = [(complaint, _place(desk, complaint.file, complaint.line)) for complaint in found[:_AT_ONCE]]
    return {"complaints": shown, "more": len(found) - len(shown)}


def _place(desk: Workplace, file: str, line: int) -> str:
    head, _, rest = file.partition("/")
    name = quote(rest.partition("/")[0].removesuffix(".md").removesuffix(".yaml"))
    places = {
        "pieces": f"/pieces/{name}", "pages": f"/settings/page/{name}", "shows": f"/shows/{name}",
        "people.csv": "/people",
    }  # fmt: skip
    if head in places or file not in {"studio.yaml", _ORDERS}:
        return places.get(head, "")
    path = edits.path_at(desk.folder, file, line)

    def holds(part: Portion) -> bool:
        if part.only:
            return path.partition(".")[0] in part.only
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
