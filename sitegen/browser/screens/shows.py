"""Shows and classes: what each brought, what is printed for the next; one with its facts, costs, sales."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from sitegen.browser.deeds import KNOWN, Values, form
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import HIDDEN, Ask, Own, said_of
from sitegen.browser.frame import Shown, Visit, screen
from sitegen.browser.screens.money import latest_first
from sitegen.browser.sheets import asks, entries, put_sheet, sheet_form
from sitegen.jobs import answers, papers
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Status
from sitegen.studio.show import Show
from sitegen.studio.whole import Studio

_KIND = "shows/*.yaml"
_GONE = "there is no such show on the desk; it may have been renamed"
_MOST_TICKS = 100
_SIZES = (("", "as your settings say"), ("a4", "A4"), ("letter", "Letter"))
_FORMS = (
    ("portrait", "a list, upright"), ("landscape", "a list, wide"), ("cards", "cards to cut, one name each")
)  # fmt: skip


def _named(studio: Studio, values: Values) -> Show:
    found = studio.show(values.get("show", ""))
    if found is None:
        raise Fault(_GONE)
    return found


def _at_show(studio: Studio, values: Values, none: str = "the next to come") -> dict[str, Any]:
    """Ask for a show, where the page doesn't say it."""
    shows = tuple((show.slug, show.name) for show in reversed(studio.shows))
    chosen = HIDDEN if values.get("show") else {"kind": "pick", "choices": (("", none), *shows)}
    return {"show": chosen}


def _by_title(studio: Studio, named: Collection[str]) -> dict[str, Any]:
    """Offer the pieces that can be sold, the latest first, and those that are named already."""
    free = [piece for piece in studio.pieces if piece.status is Status.AVAILABLE and piece.slug not in named]
    shown = [piece for piece in studio.pieces if piece.slug in named] + latest_first(free)
    few = f"The latest {_MOST_TICKS} stand here." if len(shown) > _MOST_TICKS else ""
    choices = tuple((piece.slug, piece.title) for piece in shown[:_MOST_TICKS])
    return {"kind": "ticks", "label": "Pieces", "choices": choices, "help": few}


def _cards(studio: Studio, values: Values) -> Own:
    pieces = _by_title(studio, values.get("slugs", "").split())
    told = f"None ticked: each that is available. {pieces['help']} Only what is available shows a price."
    return {"slugs": {**pieces, "help": told}}


KNOWN |= {
    "papers": lambda *_: {"paper": {"choices": _SIZES}, "form": {"choices": _FORMS}},
    "papers.price_list": lambda studio, values: _at_show(studio, values, "no show: all at the studio"),
    "papers.packing_list": _at_show, "papers.sheet": _at_show, "papers.cards": _cards,
    "papers.certificate": lambda _, values: {"slug": HIDDEN if values.get("slug") else {"needed": True}},
}  # fmt: skip
_AT_A_TABLE = ("papers.sheet", "papers.cards", "papers.price_list", "papers.packing_list")


def _file(desk: Workplace, values: Values) -> str:
    file = f"shows/{values.get('show', '')}.yaml"
    if not (desk.folder / file).is_file():
        raise Fault(_GONE)
    return file


def _facts(studio: Studio, values: Values) -> Sequence[Ask]:
    named = _named(studio, values).bring if values.get("show") else ()
    pieces = _by_title(studio, named)
    found = asks(_KIND, own=said_of("sheet show", {"bring": {**pieces, "label": "What you bring"}}))
    return [replace(ask, help=pieces["help"] if ask.name == "bring" else "") for ask in found]


def _lines(studio: Studio, values: Values) -> Sequence[Ask]:
    kind = values.get("kind", "")
    if kind not in _LISTS:
        raise Fault("there is no such list of a show")
    count = len(getattr(_named(studio, values).private, kind))
    return [field for number in range(count) for field in _line(kind, number)]


def _line(kind: str, number: int | None = None) -> list[Ask]:
    """Ask for one line, or a new one."""
    entry, of = ("", "") if number is None else (f"private.{kind}.{number}.", f" of line {number + 1}")
    found = asks(_KIND, f"private.{kind}.*.", entry)
    return [replace(ask, help="", label=f"{ask.label}{of}") for ask in found]


_LISTS = {"costs": "What it cost", "sales": "What was sold at the table"}
put_sheet("show", file=_file, asks=_facts)
put_sheet("show_lines", file=_file, asks=_lines)
put_sheet("costs", file=_file, asks=lambda *_: _line("costs"), into=lambda _: "private.costs")
put_sheet("sales", file=_file, asks=lambda *_: _line("sales"), into=lambda _: "private.sales")
put_sheet("new_show", file="", asks=_facts)


@screen("/shows", "shows")
def _shows(desk: Workplace, _: Visit) -> Shown:
    found = answers.shows(desk.folder, answers.ShowsWish(), desk.today)
    return {
        "months": found.months, "day": found.day,
        "coming": [fair for fair in reversed(found.shows) if fair.show.ends >= found.day],
        "past": [fair for fair in found.shows if fair.show.ends < found.day],
        "printed": papers.printed(desk.folder),
    }  # fmt: skip


@screen("/shows/new")
def _new(desk: Workplace, _: Visit) -> Shown:
    return {"form": sheet_form(desk, "new_show")}


@screen("/shows/{show}", "show")
def _one(desk: Workplace, asked: Visit) -> Shown:
    studio = desk.read()
    found = _named(studio, asked)
    told = answers.shows(desk.folder, answers.ShowsWish(), desk.today)
    papered, about = () if found.is_class else _AT_A_TABLE, {"back": f"/shows/{found.slug}"}
    return {
        "months": told.months, "show": found, "day": told.day,
        "brought": next(fair for fair in told.shows if fair.show.slug == found.slug),
        "printed": papers.printed(desk.folder), "facts": sheet_form(desk, "show", show=found.slug),
        "lists": [_list(desk, studio, found, kind) for kind in _LISTS],
        "papers": [form(desk, path, show=found.slug, **about) for path in papered],
    }  # fmt: skip


def _list(desk: Workplace, studio: Studio, found: Show, kind: str) -> dict[str, Any]:
    """Return what the page shows of a show's costs or sales: each line to be changed or taken out."""
    about, file = {"show": found.slug}, f"shows/{found.slug}.yaml"
    paths = [f"private.{kind}.{number}" for number in range(len(getattr(found.private, kind)))]
    outs = entries(desk, file, paths, f"/shows/{found.slug}#{kind}")
    lines = sheet_form(desk, "show_lines", kind=kind, **about)
    fields = [line for line in lines["asks"] if line.kind != "hidden"]
    wide = len(fields) // (len(paths) or 1)
    return {
        "kind": kind, "more": sheet_form(desk, kind, **about), "lines": lines,
        "title": "What came in for it" if kind == "sales" and found.is_class else _LISTS[kind],
        "hidden": [line for line in lines["asks"] if line.kind == "hidden"],
        "rows": [(fields[wide * number : wide * (number + 1)], out) for number, out in enumerate(outs)],
    }  # fmt: skip
