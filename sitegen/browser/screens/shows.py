"""Shows and classes: what each brought, what is printed for the next; one with its facts, costs, sales."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, Values, form
from sitegen.browser.desk import Workplace, at, page, tongue_of
from sitegen.browser.fields import asks
from sitegen.browser.forms import HIDDEN, Ask, Own
from sitegen.browser.sheets import FileForm, entries, sheet_form
from sitegen.jobs import answers, papers
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Status
from sitegen.studio.show import Show
from sitegen.studio.whole import Studio

_KIND = "shows/*.yaml"
_MOST_TICKS = 100
_SIZES = (("", "as your settings say"), ("a4", "A4"), ("letter", "Letter"))
_FORMS = (
    ("portrait", "a list, upright"), ("landscape", "a list, wide"), ("cards", "cards to cut, one name each")
)  # fmt: skip
_PAPER = {"label": "Paper size", "help": "", "choices": _SIZES}


def show_named(studio: Studio, values: Values) -> Show:
    """Find the show that a form or a page is about. Raises Fault."""
    found = next((one for one in studio.shows if one.slug == values.get("show")), None)
    if found is None:
        raise Fault("there is no such show on the desk; it may have been renamed")
    return found


def _sheet(studio: Studio, values: Values) -> Own:
    shows = tuple((one.slug, one.name) for one in reversed(studio.shows))
    chosen = HIDDEN if values.get("show") else {"kind": "pick", "choices": (("", "the next to come"), *shows)}
    rows = "Up to 18 rows each, or 6 cards; they count on from page to page."
    form = {"label": "Laid out as", "choices": _FORMS, "help": ""}
    return {"show": chosen, "paper": _PAPER, "pages": {"help": rows}, "form": form}


def _by_title(studio: Studio, named: Collection[str]) -> dict[str, Any]:
    """Offer the pieces that can be sold, the latest first, and those that are named already."""
    free = [piece for piece in studio.pieces if piece.status is Status.AVAILABLE and piece.slug not in named]
    free.sort(key=lambda one: (one.number or "", one.slug), reverse=True)
    shown = [one for one in studio.pieces if one.slug in named] + free
    few = f"The latest {_MOST_TICKS} stand here." if len(shown) > _MOST_TICKS else ""
    choices = tuple((one.slug, one.title) for one in shown[:_MOST_TICKS])
    return {"kind": "ticks", "label": "Pieces", "choices": choices, "help": few}


def _cards(studio: Studio, values: Values) -> Own:
    pieces = _by_title(studio, values.get("slugs", "").split())
    told = f"None ticked: each that is available. {pieces['help']} Only what is available shows a price."
    return {"slugs": {**pieces, "help": told}, "paper": _PAPER}


def _certificate(_: Studio, values: Values) -> Own:
    slug = HIDDEN if values.get("slug") else {"label": "A piece", "needed": True}
    return {"slug": slug, "paper": _PAPER}


def _at_show(studio: Studio, values: Values) -> Own:
    return {"show": _sheet(studio, values)["show"], "paper": _PAPER}


def _prices(studio: Studio, values: Values) -> Own:
    own = _at_show(studio, values)
    if own["show"] is HIDDEN:
        return own
    _, *shows = own["show"]["choices"]
    return {**own, "show": {**own["show"], "choices": (("", "no show: all at the studio"), *shows)}}


def _on_paper(_: Studio, __: Values) -> Own:
    price = {"kind": "yes", "label": "Also what was paid", "help": "A present shouldn’t say."}
    return {"slug": HIDDEN, "paper": _PAPER, "price": price}


_AT_A_TABLE = ("papers.cards", "papers.price_list", "papers.packing_list")
DEEDS = {
    "papers.price_list": Deed(
        "Print a price list", "Make the PDF", "money", own=_prices, back="/shows", undo=False,
        told="Only of what is available: what goes to the show, or all at the studio where its facts name "
        "nothing. What is away isn’t on it.",
    ),
    "papers.packing_list": Deed(
        "Print the packing list", "Make the PDF", "money", own=_at_show, back="/shows", undo=False,
        told="The pieces that the show’s facts name under Bring, with boxes for the way there and back.",
    ),
    "papers.packing_slip": Deed(
        "Print its packing slip", "Make the PDF", "pieces", own=_on_paper, back="/pieces/{slug}", undo=False,
        told="With a care card to cut off. It says no price unless you ask for it.",
    ),
    "papers.inventory": Deed(
        "Print the inventory for an insurer", "Make the PDF", "pieces", own=_on_paper, back="/pieces",
        undo=False, told="Values and pictures of all that is on hand. It is private, and each page says so.",
        caution="What a policy pays for is in the policy; ask the insurer before you rely on a value here.",
    ),
    "papers.stock": Deed(
        "What is in stock on a day", "Add it up", "pieces", back="/pieces", undo=False,
        own=lambda *_: {"on": {"help": "As at year’s end; left open: today."}},
        caution="Which of the sums a tax return wants differs from place to place; ask an accountant.",
    ),
    "papers.sheet": Deed(
        "Print the sign-up sheet", "Make the PDF", "money", own=_sheet, back="/shows", undo=False,
        told="Your consent sentence and the show's code stand on each page, so that you can show who agreed.",
        caution="Rules on consent by letter and mail differ from place to place; this is no legal advice.",
    ),
    "papers.cards": Deed("Print table cards", "Make the PDF", "money", own=_cards, back="/shows", undo=False),
    "papers.certificate": Deed(
        "Print its certificate", "Make the PDF", "pieces", own=_certificate, undo=False,
        back="/pieces/{slug}",
        told="One page to sign. It never carries a price.",
        caution=(
            "It calls the piece a collectible for adults, not a toy; whether that is enough where you sell "
            "is a question for local rules."
        ),
    ),
}  # fmt: skip


def _file(desk: Workplace, values: Values) -> str:
    """Return the path of a show's file below the studio. Raises Fault for one that isn't there."""
    file = f"shows/{values.get('show', '')}.yaml"
    if not (desk.folder / file).is_file():
        raise Fault("there is no such show on the desk; it may have been renamed")
    return file


def _facts(studio: Studio, values: Values) -> Sequence[Ask]:
    said = {
        "from": "First day", "to": "Last day", "hours": "Open", "table": "Your table", "link": "Its site",
        "kind": "A show or a class", "attendance": "Is it open", "places": "Places in a class",
        "fee": "Fee of a class", "includes": "What the fee includes",
        "private.hours": "Hours it took: preparation, the way, the table",
    }  # fmt: skip
    named = show_named(studio, values).bring if values.get("show") else ()
    own: Own = {"bring": {**_by_title(studio, named), "label": "What you bring"}}
    found = (replace(ask, label=said.get(ask.name, ask.label), help="") for ask in asks(_KIND))
    return [replace(one, **own.get(one.name, {})) for one in found]


def _lines(studio: Studio, values: Values) -> Sequence[Ask]:
    """Ask for every line of a show's costs or sales."""
    kind = values.get("kind", "")
    if kind not in _LISTS:
        raise Fault("there is no such list of a show")
    count = len(getattr(show_named(studio, values).private, kind))
    return [one for number in range(count) for one in _line(kind, number)]


def _line(kind: str, number: int | None = None) -> list[Ask]:
    """Ask for one line, or a new one."""
    entry, of = ("", "") if number is None else (f"private.{kind}.{number}.", f" of line {number + 1}")
    return [
        replace(ask, help="", label=f"{ask.label}{of}") for ask in asks(_KIND, f"private.{kind}.*.", entry)
    ]


_LISTS = {"costs": "What it cost", "sales": "What was sold at the table"}
SHEETS = {
    "show": FileForm("Facts", "Save them", "money", _file, _facts, "/shows/{show}"),
    "show_lines": FileForm("Its lines", "Save the lines", "money", _file, _lines, "/shows/{show}#{kind}"),
    "costs": FileForm(
        "One more cost", "Add it", "money", _file, lambda *_: _line("costs"), "/shows/{show}#costs",
        into=lambda _: "private.costs",
    ),
    "sales": FileForm(
        "One more sale", "Add it", "money", _file, lambda *_: _line("sales"), "/shows/{show}#sales",
        into=lambda _: "private.sales",
        told="Small things, in words. A piece sold here is noted on its own page, and counts by itself.",
    ),
    "new_show": FileForm("A new show or class", "Add it", "money", lambda *_: "", _facts, "/shows/{show}"),
}  # fmt: skip


def shows(request: Request) -> Response:
    """List the shows: those to come, and what each brought."""
    desk = at(request)
    found, studio = answers.shows(desk.folder, answers.ShowsWish(), desk.today), desk.read()
    day = found.day
    coming = [one for one in reversed(found.shows) if one.show.ends >= day]
    past = [one for one in found.shows if one.show.ends < day]
    return page(
        request, "shows.html", screen="money", months=found.months, coming=coming, past=past, day=day,
        printed=papers.printed(desk.folder), tongue=tongue_of(studio),
    )  # fmt: skip


def show(request: Request) -> Response:
    """Show one show."""
    desk, about = at(request), {"show": request.path_params["show"]}
    studio = desk.read()
    found = show_named(studio, about)
    told = answers.shows(desk.folder, answers.ShowsWish(), desk.today)
    brought = next(one for one in told.shows if one.show.slug == found.slug)
    back = f"/shows/{found.slug}"
    return page(
        request, "show.html", screen="money", months=told.months, show=found, brought=brought, day=told.day,
        tongue=tongue_of(studio),
        printed=papers.printed(desk.folder), facts=sheet_form(desk, "show", studio, **about),
        lists=[_list(desk, studio, found, kind) for kind in _LISTS],
        papers=[form(desk, path, studio, show=found.slug, back=back)
                for path in ("papers.sheet", *_AT_A_TABLE) if not found.is_class],
    )  # fmt: skip


def _list(desk: Workplace, studio: Studio, found: Show, kind: str) -> dict[str, Any]:
    """Return what the page shows of a show's costs or sales: each line to be changed or taken out."""
    about, file = {"show": found.slug}, f"shows/{found.slug}.yaml"
    paths = [f"private.{kind}.{number}" for number in range(len(getattr(found.private, kind)))]
    outs = entries(desk, file, paths, f"/shows/{found.slug}#{kind}")
    lines = sheet_form(desk, "show_lines", studio, kind=kind, **about)
    fields = [line for line in lines["asks"] if line.kind != "hidden"]
    wide = len(fields) // (len(paths) or 1)
    return {
        "kind": kind,
        "title": "What came in for it" if kind == "sales" and found.is_class else _LISTS[kind],
        "more": sheet_form(desk, kind, studio, **about),
        "lines": lines,
        "hidden": [one for one in lines["asks"] if one.kind == "hidden"],
        "rows": [(fields[wide * number : wide * (number + 1)], out) for number, out in enumerate(outs)],
    }  # fmt: skip


def new(request: Request) -> Response:
    """Show the form of a new show."""
    desk = at(request)
    return page(request, "deed.html", screen="money", form=sheet_form(desk, "new_show", desk.read()))


ROUTES = [Route("/shows", shows), Route("/shows/new", new), Route("/shows/{show}", show)]
