"""The guide: its pages, beside every screen and on their own."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed
from sitegen.browser.desk import page
from sitegen.jobs import guide as jobs

DEEDS: dict[str, Deed] = {}


def guide(request: Request) -> Response:
    """List the pages of the guide."""
    return page(request, "guide.html", screen="guide", pages=jobs.pages(), shown=None)


def topic(request: Request) -> Response:
    """Show one page of the guide."""
    shown = jobs.page(request.path_params["topic"])
    return page(request, "guide.html", screen="guide", pages=jobs.pages(), shown=shown)


ROUTES = [Route("/guide", guide), Route("/guide/{topic}", topic)]
