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
from urllib.parse import urlsplit

import segno
from markupsafe import Markup
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from sitegen.browser import uploads
from sitegen.browser.deeds import Assent, attempt, check_mark
from sitegen.browser.desk import HERE, Workplace, at, page
from sitegen.browser.fields import steps_of
from sitegen.browser.forms import texts
from sitegen.browser.guard import MOST_OF_WORDS, Guard, comes_from_here, is_known, let_in
from sitegen.browser.serving import served
from sitegen.jobs import clock
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Piece, Status

# Wrong codes until the door is shut.
_TRIES = 5
_DEEDS = {"hours": "clock.note_hours", "start": "clock.start", "stop": "clock.stop"}
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
        here = own_address()
        served_at = self._open.enter_context(served(self._app(inside), host=here))
        self.address = served_at

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
            routes=[
                Route("/", _home),
                Route("/code", self._let_in, methods=["POST"]),
                Route("/piece/{slug}", _piece),
                Route("/piece/{slug}/photos", _photos, methods=["POST"]),
                Route("/piece/{slug}/{deed}", _deed, methods=["POST"]),
                Mount("/static", StaticFiles(directory=HERE / "static")),
            ],
            exception_handlers={Fault: _at_fault, HTTPException: _at_fault},
        )
        made.state.desk = inside
        return PhoneGuard(made, inside.key)

    async def _let_in(self, request: Request) -> Response:
        async with request.form() as given:
            typed = str(given.get("code", "")).strip()
        self.tries += 1
        if self.tries > _TRIES:
            raise Fault("too many wrong codes; open it anew on the desk, which gives another code")
        if not hmac.compare_digest(typed.encode(), self.code.encode()):
            raise Fault("this isn't the code that the desk shows")
        self.tries = 0
        return let_in(request, self.key)


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


def _home(request: Request) -> Response:
    desk = at(request)
    known = is_known(request, desk.key)
    pieces = (
        [piece for standing in _FIRST for piece in desk.read().pieces if piece.status is standing]
        if known
        else []
    )
    return page(request, "phone.html", known=known, pieces=pieces, piece=None, fault="", steps=(), clock=None)


def _piece(request: Request, fault: str = "") -> Response:
    desk = at(request)
    studio = desk.read()
    return page(
        request, "phone.html", 422 if fault else 200, known=True, pieces=(), piece=_named(request),
        fault=fault, steps=steps_of(studio), clock=clock.running(desk.folder),
    )  # fmt: skip


def _named(request: Request) -> Piece:
    found = at(request).read().piece(request.path_params["slug"])
    if found is None or found.status not in _FIRST:
        raise Fault("there is no such piece")
    return found


async def _photos(request: Request) -> Response:
    desk, slug = at(request), _named(request).slug
    async with request.form(max_files=30, max_part_size=MOST_OF_WORDS) as given:
        values = texts(given)
        check_mark(desk, values)
        if not any(isinstance(one, UploadFile) and one.filename for one in given.getlist("photos")):
            return await run_in_threadpool(_piece, request, "choose a photo first")
        token, files = await uploads.keep(desk.folder, given, "photos")
    try:
        return await run_in_threadpool(
            _done, request, "edits.add_photos", {**values, "slug": slug, "photos": files}
        )
    finally:
        uploads.let_go(desk.folder, token)


async def _deed(request: Request) -> Response:
    job, slug = _DEEDS.get(request.path_params["deed"]), _named(request).slug
    if job is None:
        raise Fault("there is no such thing to do here")
    async with request.form() as given:
        values = texts(given)
    return await run_in_threadpool(_done, request, job, {**values, "slug": slug, "what": slug})


def _done(request: Request, job: str, values: dict[str, object]) -> Response:
    desk, slug = at(request), request.path_params["slug"]
    try:
        answer = attempt(desk, job, values, Assent(""))
    except Fault as fault:
        return _piece(request, str(fault))
    word = desk.speak(answer) if answer is not None else ""
    return RedirectResponse(f"/piece/{slug}?said={word}", 303)


def _at_fault(request: Request, fault: Exception) -> Response:
    said = str(fault) if isinstance(fault, Fault) else "There is no such page."
    return page(
        request, "phone.html", 422, known=None, pieces=(), piece=None, fault=said, steps=(), clock=None
    )
