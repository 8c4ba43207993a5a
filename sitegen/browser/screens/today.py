"""Today: what is lost if she waits, first."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed
from sitegen.browser.desk import at, page
from sitegen.jobs import clock
from sitegen.jobs import today as jobs

# Where what an errand is about lies on the desk.
_PLACES = {
    "order": "/orders/{}", "round": "/rounds?round={}", "show": "/shows/{}", "letter": "/letters/{}",
    "piece": "/pieces/{}", "people": "/people", "site": "/site", "backup": "/do/backup.make",
    "terms": "/do/terms.keep",
    "books": "/money", "files": "/settings/check",
    "studio": "/settings/part/studio", "pieces": "/pieces/new",
}  # fmt: skip

# Where that is done which isn't done where the thing itself lies.
_DONE_AT = {
    "round": "/letters/write/commissions?round_name={}",
    "invitation": "/letters/write/show?slug={}",
}


def place_of(errand: jobs.Errand) -> str:
    """Return where on the desk an errand is done."""
    place = _DONE_AT.get(errand.kind) or _PLACES[errand.target.kind]
    return place.format(quote(errand.target.name))


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
        },
    ),
    "backup.make": Deed("Make a backup", "Make it", "", back="/", undo=False),
}


def today(request: Request) -> Response:
    """Show the day, one thing a line."""
    desk = at(request)
    found = jobs.errands(desk.folder, desk.today)
    errands = [(one, place_of(one)) for one in found.errands]
    return page(
        request,
        "today.html",
        screen="today",
        day=found.day,
        errands=errands,
        clock=clock.running(desk.folder),
    )


ROUTES = [Route("/", today)]
