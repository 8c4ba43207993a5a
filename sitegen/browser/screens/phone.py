"""Open and shut the door for a phone."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, check_mark
from sitegen.browser.desk import at, page
from sitegen.browser.forms import texts
from sitegen.browser.phone import Phone

DEEDS: dict[str, Deed] = {}


def phone_of(request: Request) -> Phone:
    """Return the desk's door for a phone."""
    state = request.app.state
    if not hasattr(state, "phone"):
        state.phone = Phone(at(request))
    found: Phone = state.phone
    return found


def phone(request: Request) -> Response:
    """Show whether it is open, and where."""
    return page(request, "phone_door.html", screen="phone", phone=phone_of(request))


async def turn(request: Request) -> Response:
    """Open it or shut it."""
    async with request.form() as given:
        check_mark(at(request), texts(given))
        wanted = given.get("open") == "yes"
    door = phone_of(request)
    await run_in_threadpool(door.open if wanted else door.shut)
    return RedirectResponse("/phone", 303)


ROUTES = [Route("/phone", phone), Route("/phone", turn, methods=["POST"])]
