"""Rounds and slots: how many can open, each round as it stands, its draw, and who waits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, Values, form
from sitegen.browser.desk import Workplace, at, page
from sitegen.browser.fields import asks
from sitegen.browser.forms import HIDDEN, Ask, Own, asks_of, picks
from sitegen.browser.sheets import FileForm, entries, sheet_form
from sitegen.browser.strip import strip
from sitegen.jobs import answers
from sitegen.jobs import draws as jobs
from sitegen.jobs.answers import SlotsWish
from sitegen.jobs.reading import sit
from sitegen.studio.commission import Waiting, Way
from sitegen.studio.fault import Fault
from sitegen.studio.whole import Studio

_FILE = "commissions.yaml"
_WAYS = (
    "First come: who asked first is served first, to the minute. Draw: all who asked are drawn from, so that "
    "it makes no difference when they wrote; anyone can check it afterwards. Waiting list: the oldest on it "
    "come first."
)
_SOURCES = (
    "A draw rests on numbers that nobody knows yet and everybody can read later, as a lottery's. Name three "
    "or so, each exact enough that two strangers would read off the same numbers."
)


def _file(_: Workplace, __: Values) -> str:
    return _FILE


def _number(values: Values) -> str:
    if not values.get("number", "").isdecimal():
        raise Fault("there is no such round")
    return values["number"]


def _fields(studio: Studio, values: Values) -> Sequence[Ask]:
    entry = f"rounds.{_number(values)}." if "number" in values else ""
    tiers = picks(tier.name for tier in studio.commissions.tiers)
    own: Own = {
        "way": {"label": "How its slots are given"},
        "tiers": {"kind": "ticks", "choices": tiers, "help": "None of them means all."},
        "note": {"help": "A sentence that stands beside it on the site."},
        "head_start": {"label": "Hours of head start"},
        "wait_days": {"label": "Days to wait for a source"},
    }
    found = asks(_FILE, "rounds.*.", entry)
    return [replace(one, **own.get(one.name.removeprefix(entry), {})) for one in found]


_WHO = ("since", "tier", "private.name", "private.email", "private.notes")


def _waits(studio: Studio, values: Values) -> Sequence[Ask]:
    """Ask for somebody who waits: one more, or one of the list by their place in the file."""
    entry = f"waiting.{_number(values)}." if "number" in values else ""
    sizes = picks((tier.name for tier in studio.commissions.tiers), empty="not said")
    own: Own = {
        "since": {"label": "Waits since", "help": "Who has waited longest comes first."},
        "tier": {"kind": "pick", "label": "For", "choices": sizes, "help": ""},
        "private.name": {"label": "Name"},
        "private.email": {"label": "Address"},
        "private.notes": {"label": "What they have in mind"},
    }
    found = {ask.name.removeprefix(entry): ask for ask in asks(_FILE, "waiting.*.", entry)}
    return [replace(found[name], **own[name]) for name in _WHO]


def _source(_: Studio, __: Values) -> Sequence[Ask]:
    own: Own = {
        "due": {"label": "Published on", "help": ""},
        "drawn": {"label": "For a lottery: how many numbers are drawn", "help": ""},
        "highest": {"label": "and up to which", "help": "Such as 6 numbers out of 1 to 49."},
    }
    return [
        replace(ask, **own.get(ask.name, {}))
        for ask in asks(_FILE, "rounds.*.sources.*.", leave=("numbers",))
    ]


SHEETS = {
    "round": FileForm(
        "Set up a round", "Set it up", "rounds", _file, _fields, "/rounds", into=lambda _: "rounds",
        told=_WAYS,
    ),
    "round_as_it_is": FileForm("The round", "Save it", "rounds", _file, _fields, "/rounds/{slug}"),
    "waits": FileForm(
        "Put someone on the waiting list", "Put them on it", "rounds", _file, _waits, "/rounds#waiting",
        into=lambda _: "waiting",
    ),
    "waits_as_it_is": FileForm("Who waits", "Save it", "rounds", _file, _waits, "/rounds#waiting"),
    "source": FileForm(
        "Name a source of numbers", "Name it", "rounds", _file, _source, "/rounds/{slug}", told=_SOURCES,
        into=lambda values: f"rounds.{_number(values)}.sources",
    ),
}  # fmt: skip


def _offer(_: Studio, __: Values) -> Own:
    return {"round": HIDDEN, "slots": {"help": "All that are free, if you leave it empty."}}


def _draw(_: Studio, __: Values) -> Own:
    rest = dict.fromkeys(("round_name", "listed", "slots"), HIDDEN)
    page_too = {"label": "Also a page of the site", "help": "Its text, for the next time the site is built."}
    lines = {"label": "The numbers", "help": "As published: a line for each source, in their order."}
    return {**rest, "sources": lines, "page": page_too}


DEEDS = {
    "orders.offer": Deed(
        "Offer its free slots", "Show who would get them", "rounds", own=_offer, sure="Offer them",
        back="/rounds/{slug}", told="To the next in line, as the round says. Then each gets a letter.",
    ),
    "draws.draw": Deed(
        "The draw", "Make the draw", "rounds", own=_draw, back="/rounds/{slug}", undo=False,
    ),
}  # fmt: skip


def rounds(request: Request) -> Response:
    """Show how many slots can open and what moves that, the rounds, and who waits."""
    desk, asked = at(request), request.query_params
    if named := asked.get("round"):
        slug = jobs.one_round(desk.folder, named, desk.today).round.slug
        return RedirectResponse(f"/rounds/{quote(slug)}", 303)
    sitting = sit(desk.folder, desk.today)
    names = ("first_day", "last_day", "confidence", "tier")
    typed = {name: asked[name].strip() for name in names if asked.get(name, "").strip()}
    wish = replace(SlotsWish(), **typed)  # type: ignore[arg-type]
    found, fault = None, ""
    try:
        found = answers.slots(desk.folder, wish, desk.today)
    except Fault as wrong:
        fault = str(wrong)
    book = sitting.studio.commissions
    return page(
        request, "rounds.html", screen="rounds", found=found, strip=strip(found) if found else None,
        fault=fault, asks=_question(sitting.studio, wish), rounds=jobs.rounds(desk.folder, desk.today),
        waiting=_in_line(desk, book.waiting), today=sitting.today,
        waits=sheet_form(desk, "waits", sitting.studio),
    )  # fmt: skip


def _in_line(desk: Workplace, waiting: Sequence[Waiting]) -> list[tuple[int, Waiting, dict[str, str]]]:
    """Return who waits, the longest first: their place in the file, and what takes them off the list."""
    outs = entries(desk, _FILE, (f"waiting.{number}" for number in range(len(waiting))), "/rounds")
    found = [(number, one, out) for number, (one, out) in enumerate(zip(waiting, outs, strict=True))]
    return sorted(found, key=lambda each: each[1].since)


def waits(request: Request) -> Response:
    """Show one who waits, to be put right."""
    desk, number = at(request), str(request.path_params["number"])
    shown = sheet_form(desk, "waits_as_it_is", desk.read(), number=number)
    return page(request, "deed.html", screen="rounds", form=shown)


def _question(studio: Studio, wish: SlotsWish) -> list[Ask]:
    sure = (("0.5", "50 %, an even chance"), ("0.8", "80 %"), ("0.9", "90 %"))
    own: dict[str, dict[str, Any]] = {
        "first_day": {"label": "From", "kind": "day"},
        "last_day": {"label": "Finished by", "kind": "day"},
        "confidence": {"label": "How sure", "kind": "pick", "choices": sure},
        "tier": {
            "label": "For", "kind": "pick",
            "choices": picks((t.name for t in studio.commissions.tiers), empty="what is asked for most"),
        },
    }  # fmt: skip
    shown = asks_of(SlotsWish, {name: {**one, "help": ""} for name, one in own.items()})
    return [one.filled(getattr(wish, one.name) or "") for one in shown]


def new(request: Request) -> Response:
    """Show the form of a new round."""
    desk = at(request)
    return page(request, "deed.html", screen="rounds", form=sheet_form(desk, "round", desk.read()))


def one(request: Request) -> Response:
    """Show one round: how it stands, its slots, its draw and the texts to publish."""
    desk, slug = at(request), request.path_params["slug"]
    found = jobs.one_round(desk.folder, slug, desk.today)
    studio, name, back = desk.read(), found.round.name, f"/rounds/{quote(found.round.slug)}"
    about = {"slug": found.round.slug, "number": str(found.number)}
    draws, offers = found.round.way is Way.DRAW, found.free and found.begun
    return page(
        request, "round.html", screen="rounds", found=found, round=found.round, mark=desk.mark, back=back,
        facts=sheet_form(desk, "round_as_it_is", studio, **about),
        source=sheet_form(desk, "source", studio, **about) if draws and not found.draw else None,
        sources=_named(desk, found),
        offer=form(desk, "orders.offer", studio, round=name, back=back) if offers else None,
        today=sit(desk.folder, desk.today).today,
    )  # fmt: skip


def _named(desk: Workplace, found: jobs.RoundStands) -> list[tuple[Any, dict[str, str]]]:
    """Return a round's sources of numbers, each with what takes it off again."""
    paths = (f"rounds.{found.number}.sources.{place}" for place in range(len(found.round.sources)))
    outs = entries(desk, _FILE, paths, f"/rounds/{quote(found.round.slug)}")
    return list(zip(found.round.sources, outs, strict=True))


ROUTES = [
    Route("/rounds", rounds),
    Route("/rounds/new", new),
    Route("/rounds/waiting/{number:int}", waits),
    Route("/rounds/{slug}", one),
]
