"""Every field of the studio's files with what it means; its pages and terms; what is to mend, and where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Assent, Deed, Values, attempt, form, lead_on
from sitegen.browser.desk import Workplace, at, page
from sitegen.browser.fields import asks
from sitegen.browser.forms import HIDDEN, Ask, filled_in
from sitegen.browser.sheets import FileForm, entries, sheet_form
from sitegen.jobs import check as checking
from sitegen.jobs import edits, terms
from sitegen.studio.fault import Fault
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Said


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


def _fields(part: Portion, entry: str) -> list[Ask]:
    found = asks(part.file, part.within, entry)
    return [one for one in found if one.name in part.only] if part.only else found


def _asks(_: Studio, values: Values) -> Sequence[Ask]:
    part = part_of(values)
    return _fields(part, _entry(part, values))


def _entry(part: Portion, values: Values) -> str:
    """Return the path of a block in the file."""
    if "*" not in part.within:
        return part.within
    if not values.get("number", "").isdecimal():
        raise Fault("there is no such entry")
    return part.within.replace("*", values["number"])


def _file(_: Workplace, values: Values) -> str:
    return part_of(values).file


def _more(_: Studio, values: Values) -> Sequence[Ask]:
    return _fields(part_of(values), "")


SHEETS = {
    "setting": FileForm("Settings", "Save it", "settings", _file, _asks, "/settings/part/{part}"),
    "more": FileForm(
        "One more", "Add it", "settings", _file, _more, "/settings/part/{part}",
        into=lambda values: part_of(values).within[:-3],
    ),
}  # fmt: skip


def _page_fields(_: Studio, values: Values) -> Any:
    address = {"label": "Its address", "help": "Small letters and hyphens, like shipping-abroad."}
    how = "An empty line begins a paragraph, ## a heading, - each line of a list."
    return {
        "name": HIDDEN if values.get("seen") else address,
        "title": {"help": ""},
        "seen": HIDDEN,
        "text": {"kind": "long", "help": how},
    }


DEEDS = {
    "edits.write_page": Deed(
        "A page of your own words", "Save the page", "settings", own=_page_fields,
        back="/settings/page/{name}",
    ),
    "edits.remove": Deed(
        "Take an entry out", "Take it out", "settings",
        own=lambda *_: {"file": HIDDEN, "path": HIDDEN, "seen": HIDDEN},
    ),
    "edits.write_file": Deed("Mend a file", "Save the file", "settings"),
    "terms.keep": Deed(
        "Keep the terms", "Keep them as they are now", "settings",
        "Their text, with every number filled in, gets a name and an address that never moves, so that "
        "everyone can read what they agreed to.",
        back="/settings/terms",
        caution="A lawyer knows what your terms may say where you live; this program doesn't.",
    ),
}  # fmt: skip


def settings(request: Request) -> Response:
    """List the parts of the settings."""
    desk = at(request)
    names = sorted(file.stem for file in (desk.folder / "pages").glob("*.md"))
    return page(request, "settings.html", screen="settings", parts=PARTS, pages=names)


def part(request: Request) -> Response:
    """Show the fields of one part; of a list, each entry and a form for one more."""
    desk, name = at(request), request.path_params["part"]
    found, studio = part_of({"part": name}), at(request).read()
    shown, more = [], None
    if "*" in found.within:
        held = edits.stands(desk.folder, found.file, found.within[:-3])[found.within[:-3]].value or []
        shown = [_shown(desk, studio, name, found, number) for number in range(len(held))]
        more = sheet_form(desk, "more", studio, part=name)
    else:
        shown = [{"form": sheet_form(desk, "setting", studio, part=name), "out": None}]
    return page(request, "settings_part.html", screen="settings", part=found, entries=shown, more=more)


def _shown(desk: Workplace, studio: Studio, name: str, found: Portion, number: int) -> dict[str, Any]:
    path = found.within[:-1].replace("*", str(number))
    (out,) = entries(desk, found.file, [path], f"/settings/part/{name}")
    return {"form": sheet_form(desk, "setting", studio, part=name, number=str(number)), "out": out}


def words(request: Request) -> Response:
    """Show one page of the artist's own words, or an empty one."""
    desk, name = at(request), request.path_params.get("name", "")
    held = edits.page_stands(desk.folder, name) if name else edits.PageStanding("", "", "")
    shown = form(
        desk, "edits.write_page", desk.read(), name=name, title=held.title, text=held.text, seen=held.seen
    )
    return page(request, "settings_page.html", screen="settings", form=shown, name=name, preview=desk.preview)


def kept_terms(request: Request) -> Response:
    """Show which versions of the terms are kept, and a form to keep them."""
    desk = at(request)
    return page(
        request,
        "settings_terms.html",
        screen="settings",
        told=terms.tell(desk.folder),
        form=form(desk, "terms.keep", desk.read()),
    )


def check(request: Request) -> Response:
    """Show everything that is to mend, each with the place to do it."""
    desk = at(request)
    found = sorted(checking.check(desk.folder, desk.today).complaints, key=lambda one: one.level)
    shown = [(one, _place(desk, one.file, one.line)) for one in found]
    return page(request, "settings_check.html", screen="settings", complaints=shown)


def _place(desk: Workplace, file: str, line: int) -> str:
    """Return where on the desk a file's line is changed."""
    head, _, rest = file.partition("/")
    name = quote(rest.partition("/")[0].removesuffix(".md").removesuffix(".yaml"))
    places = {
        "pieces": f"/pieces/{name}",
        "pages": f"/settings/page/{name}",
        "shows": f"/shows/{name}",
        "people.csv": "/people",
    }
    if head in places:
        return places[head]
    if file not in {"studio.yaml", "commissions.yaml"}:
        return ""
    path = edits.path_at(desk.folder, file, line)
    fit = [(len(one.within), key) for key, one in PARTS.items() if one.file == file and _holds(one, path)]
    return (
        f"/settings/part/{max(fit)[1]}"
        if fit
        else {"queue": "/orders", "rounds": "/rounds"}.get(path.partition(".")[0], "/settings")
    )


def _holds(part: Portion, path: str) -> bool:
    return (
        path.partition(".")[0] in part.only
        if part.only
        else f"{path}.".startswith(part.within.removesuffix("*."))
    )


def mend(request: Request, typed: str | None = None, fault: str = "") -> Response:
    """Show a whole file with what is wrong in it: the one place that opens when nothing can be read."""
    desk, file = at(request), request.path_params["file"]
    there = edits.file_stands(desk.folder, file)
    wrong = [error for error in checking.check(desk.folder, desk.today).errors if error.file == file]
    lines = there.value.splitlines()
    return page(
        request, "settings_file.html", 422 if fault else 200, screen="settings", file=file, fault=fault,
        text=there.value if typed is None else typed, seen=there.seen,
        wrong=[(one, _around(lines, one.line)) for one in wrong],
    )  # fmt: skip


def _around(lines: Sequence[str], number: int) -> str:
    """Return the lines about one that is wrong, each with its number."""
    number = min(number, len(lines))  # what is missing at the end is told of the line after it
    near = range(max(1, number - 2), min(len(lines), number + 2) + 1) if number else ()
    return "\n".join(f"{'→' if one == number else ' '} {one:>3}  {lines[one - 1]}" for one in near)


def mended(request: Request, values: dict[str, str]) -> Response:
    """Write a whole file; show it again, with what is wrong, if the reader says no."""
    desk, path = at(request), "edits.write_file"
    values["file"] = request.path_params["file"]
    try:
        answer = attempt(desk, path, values, Assent(""))
    except Fault as fault:
        return mend(request, values.get("text", ""), str(fault))
    return lead_on(desk, answer or Said(()), DEEDS[path], {"back": "/settings/check"})


ROUTES = [
    Route("/settings", settings),
    Route("/settings/check", check),
    Route("/settings/terms", kept_terms),
    Route("/settings/file/{file:path}", mend),
    Route("/settings/file/{file:path}", filled_in(mended), methods=["POST"]),
    Route("/settings/page", words),
    Route("/settings/page/{name}", words),
    Route("/settings/part/{part}", part),
]
