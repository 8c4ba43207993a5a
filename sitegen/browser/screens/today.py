"""Today: what is lost if she waits, first."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed
from sitegen.browser.desk import page

DEEDS = {
    "undo.undo": Deed("Take a change back", "Take the latest change back", "", back="/", undo=False),
    "backup.make": Deed("Make a backup", "Make it", "", back="/", undo=False),
}


def today(request: Request) -> Response:
    """Show the day."""
    return page(request, "today.html", screen="today")


ROUTES = [Route("/", today)]
