"""Today: what is lost if she waits, first."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed
from sitegen.browser.desk import at, handed_out, page, tongue_of
from sitegen.browser.forms import HIDDEN, Own, asks_of, wish_from
from sitegen.jobs import clock
from sitegen.jobs import today as jobs
from sitegen.jobs import weeks as week_jobs
from sitegen.jobs.weeks import WeekPlan, WeekWish
from sitegen.studio.fault import Fault

# Where what an errand is about lies on the desk.
_PLACES = {
    "order": "/orders/{}", "round": "/rounds?round={}", "show": "/shows/{}", "class": "/shows/{}",
    "letter": "/letters/{}", "piece": "/pieces/{}", "people": "/people", "site": "/site",
    "web": "/do/publish.publish",
    "backup": "/do/backup.make", "terms": "/do/terms.keep",
    "books": "/money", "files": "/settings/check",
    "studio": "/settings/part/studio", "checklist": "/settings/part/checklist", "pieces": "/pieces/new",
}  # fmt: skip

# Where that is done which isn't done where the thing itself lies.
_DONE_AT = {
    "round": "/letters/write/commissions?round_name={}",
    "invitation": "/letters/write/{kind}?slug={}",
}


def place_of(errand: jobs.Errand) -> str:
    """Return where on the desk an errand is done."""
    place = _DONE_AT.get(errand.kind) or _PLACES[errand.target.kind]
    return place.format(quote(errand.target.name), kind=errand.target.kind)


DEEDS = {
    "undo.undo": Deed(
        "Take a change back",
        "Take the latest change back",
        "",
        back="/",
        undo=False,
        own=lambda *_: {
            "listed": {"label": "Only show what can be taken back", "help": "The latest first."},
            "again": {"label": "Put back what was taken back last", "help": ""},
            "number": HIDDEN,
        },
    ),
    "backup.make": Deed("Make a backup", "Make it", "", back="/", undo=False),
}


def today(request: Request) -> Response:
    """Show the day, one thing a line."""
    desk = at(request)
    found = jobs.errands(desk.folder, desk.today)
    errands = [(errand, place_of(errand)) for errand in found.errands]
    return page(
        request,
        "today.html",
        screen="today",
        day=found.day,
        errands=errands,
        clock=clock.running(desk.folder),
    )


def weeks(request: Request) -> Response:
    """Show the coming weeks, what slips when a day is lost, and both orders of work."""
    desk = at(request)
    tongue, plan, fault = tongue_of(desk.read()), None, ""
    for left in ((), ("lost", "days"), ("lost", "days", "weeks")):  # what was typed wrong isn't counted
        try:
            plan = _plan(request, left)
            break
        except Fault as wrong:
            fault = fault or str(wrong)
    own: Own = {
        "lost": {"label": "Lost from", "kind": "day", "help": ""},
        "days": {"label": "How many days", "help": ""},
    }
    asks = [one.filled(request.query_params.get(one.name, one.value)) for one in asks_of(WeekWish, own)]
    return page(
        request, "weeks.html", 422 if fault else 200, screen="today", plan=plan, fault=fault, tongue=tongue,
        asks=[ask for ask in asks if ask.name in own],
    )  # fmt: skip


def _plan(request: Request, left: Sequence[str] = ()) -> WeekPlan:
    desk, asked = at(request), request.query_params
    values = {name: asked.get(name, "") for name in ("weeks", "lost", "days") if name not in left}
    found: WeekPlan = week_jobs.week(desk.folder, wish_from(WeekWish, values), desk.today)
    return found


def calendar(request: Request) -> Response:
    """Hand out the weeks for her own calendar (RFC 5545)."""
    desk = at(request)
    return handed_out(week_jobs.calendar_of(desk.folder, _plan(request), desk.today), "week.ics")


ROUTES = [Route("/", today), Route("/weeks", weeks), Route("/weeks/week.ics", calendar)]
