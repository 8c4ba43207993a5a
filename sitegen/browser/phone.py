"""A phone in the same network may bring photos and note hours, once it has the code, and sees nothing else.

What it sends isn't encrypted, so this is opened from the desk only, for as long as it's needed, and says so.
"""

from __future__ import annotations

import contextlib
import hmac
import ipaddress
import secrets
import socket
from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import partial
from typing import Any
from urllib.parse import urlsplit

import segno
from markupsafe import Markup
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from sitegen.browser.deeds import attempt
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import let_go
from sitegen.browser.frame import HERE, Shown, Visit, led_on, page, screen
from sitegen.browser.guard import Guard, comes_from_here, is_known, let_in
from sitegen.browser.serving import served
from sitegen.browser.sheets import steps_of
from sitegen.jobs import diary
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Status

# Wrong codes until the door is shut.
_TRIES = 5
_DEEDS = {
    "hours": "diary.note_hours",
    "start": "diary.start",
    "stop": "diary.stop",
    "photos": "edits.add_photos",
}
# Pieces that a phone is held to, those on the bench first.
_FIRST = (Status.IN_PROGRESS, Status.AVAILABLE, Status.ON_HOLD)


@dataclass(frozen=True)
class PhoneGuard(Guard):
    """Lets in who has the session's cookie; to all others only the page that asks for the code."""

    def _refused(self, request: Request) -> Response | None:
        try:
            host = ipaddress.ip_address(urlsplit(f"//{request.headers.get('host', '')}").hostname or "")
        except ValueError:
            host = None
        if host is None or not host.is_private:  # a name could point anywhere tomorrow; a number can't
            return PlainTextResponse("Use the address of numbers that the desk shows.", 403)
        if request.method == "POST" and not comes_from_here(request):
            return PlainTextResponse("This didn't come from the phone's own page.", 403)
        path = request.scope["path"]
        asking = path in {"/", "/code"} or path.startswith("/static/")
        return None if asking or is_known(request, self.key) else RedirectResponse("/", 303)


@dataclass
class Phone:
    """The door for a phone: shut, or open at an address."""

    desk: Workplace
    key: str = ""
    code: str = ""
    tries: int = 0
    address: str = ""
    _open: ExitStack = field(default_factory=ExitStack)

    def open(self) -> None:
        """Open it, with a new code."""
        self.shut()
        self.key, self.code, self.tries = secrets.token_urlsafe(32), f"{secrets.randbelow(10**6):06}", 0
        inside = Workplace(self.desk.folder, self.desk.today, key=self.key)
        self.address = self._open.enter_context(served(self._app(inside), host=own_address()))

    def shut(self) -> None:
        """Shut it; whoever was let in is out."""
        self._open.close()
        self.address = self.code = self.key = ""

    def picture(self) -> Markup:
        """Draw the address as a code for the phone's camera (ISO/IEC 18004); dark on light at night too."""
        drawn = segno.make(self.address, micro=False).svg_inline(scale=5, dark="#000", light="#fff")
        return Markup(drawn)  # noqa: S704 (drawn here, of a number)

    def _app(self, inside: Workplace) -> PhoneGuard:
        made = Starlette(
            routes=[*_PAGES, Mount("/static", StaticFiles(directory=HERE / "static"))],
            exception_handlers={Fault: _at_fault, HTTPException: _at_fault},
        )
        made.state.desk, made.state.phone = inside, self
        return PhoneGuard(made, inside.key)

    def try_code(self, typed: str) -> None:
        """Raise Fault unless it's the code that is shown; too many wrong ones, and none is right."""
        self.tries += 1
        if self.tries > _TRIES:
            raise Fault("too many wrong codes; open it anew on the desk, which gives another code")
        if not hmac.compare_digest(typed.encode(), self.code.encode()):
            raise Fault("this isn't the code that the desk shows")
        self.tries = 0


def own_address() -> str:
    """Return this machine's number in its network, without asking anybody. Raises Fault where it has none."""
    with (
        contextlib.closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as asked,
        contextlib.suppress(OSError),
    ):
        # A reserved address (RFC 5737); a datagram socket sends nothing by that.
        asked.connect(("192.0.2.1", 9))
        found = str(asked.getsockname()[0])
        if ipaddress.ip_address(found).is_private:
            return found
    raise Fault("this machine is in no network of your own just now, so a phone can't reach it")


_PAGES: list[Route] = []
_NOTHING: dict[str, Any] = {"known": True, "pieces": (), "piece": None}


_screen = partial(screen, template="phone", routes=_PAGES)


async def _code(request: Request) -> Response:
    """Let in who has the code; the form of a stranger has no mark yet."""
    phone: Phone = request.app.state.phone
    async with request.form() as given:
        phone.try_code(str(given.get("code", "")).strip())
    return let_in(request, phone.key)


def _home(request: Request) -> Response:
    desk: Workplace = request.app.state.desk
    known = is_known(request, desk.key)
    shown = desk.read().pieces if known else ()
    pieces = [piece for standing in _FIRST for piece in shown if piece.status is standing]
    return page(request, "phone", **{**_NOTHING, "known": known, "pieces": pieces})


_PAGES += [Route("/", _home), Route("/code", _code, methods=["POST"])]


@_screen("/piece/{slug}")
def _piece(desk: Workplace, asked: Visit) -> dict[str, Any]:
    studio = desk.read()
    found = studio.piece(asked["slug"])
    if found is None or found.status not in _FIRST:
        raise Fault("there is no such piece")
    steps, running = steps_of(studio), diary.running(desk.folder)
    return {**_NOTHING, "piece": found, "steps": steps, "clock": running}


@_screen("/piece/{slug}/{deed}", sent=True, files="photos")
def _deed(desk: Workplace, asked: Visit) -> Shown:
    job, again = _DEEDS.get(asked["deed"]), _piece(desk, asked)
    try:
        if job is None:
            raise Fault("there is no such thing to do here")
        answer = attempt(desk, job, {**asked, "what": asked["slug"], "photos": asked.files})
    except Fault as fault:
        return {**again, "fault": str(fault)}
    finally:
        let_go(desk.folder, asked["kept"])
    return led_on(f"/piece/{asked['slug']}", desk.speak(answer))


def _at_fault(request: Request, fault: Exception) -> Response:
    said = str(fault) if isinstance(fault, Fault) else "There is no such page."
    return page(request, "phone", 422, **{**_NOTHING, "known": None, "fault": said})


# The door of each desk that is open, by its key.
_DOORS: dict[str, Phone] = {}


@screen("/phone", "phone_door")
def _door(desk: Workplace, _: Visit) -> Shown:
    return {"phone": _DOORS.setdefault(desk.key, Phone(desk))}


@screen("/phone", sent=True)
def _turn(desk: Workplace, asked: Visit) -> Shown:
    door = _DOORS.setdefault(desk.key, Phone(desk))
    (door.open if asked.get("open") == "yes" else door.shut)()
    return RedirectResponse("/phone", 303)
