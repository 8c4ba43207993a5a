"""The desk as an application, served on this machine alone: its screens, its files, its word on a fault."""

from __future__ import annotations

import contextlib
import signal
import socket
from collections.abc import Callable
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from sitegen.browser import phone  # noqa: F401 (puts its pages at their addresses)
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import sweep
from sitegen.browser.frame import HERE, ROUTES, Shown, Visit, page, screen
from sitegen.browser.guard import Guard, TooMuch, still
from sitegen.browser.preview import preview_of
from sitegen.browser.screens import letters, money, orders, people, pieces, rounds, settings, shows, today  # noqa: F401 (as each of these)
from sitegen.browser.serving import listen, served, server_of
from sitegen.jobs.preview import Preview, note_desk
from sitegen.jobs.reading import kept_reading
from sitegen.jobs.report import refused, report
from sitegen.studio.asked import Fault


def app_for(desk: Workplace) -> Guard:
    """Make the application of one desk, with its guard before it."""
    made = Starlette(
        routes=[*ROUTES, Mount("/static", StaticFiles(directory=HERE / "static"))],
        exception_handlers={Fault: _wrong, OSError: _wrong, HTTPException: _wrong, Exception: _wrong},
    )
    made.state.desk = desk
    return Guard(made, desk.key, desk.frames)


# What a browser may show of what was made, each kind as what it is.
_SHOWN = {".pdf": "application/pdf", ".txt": "text/plain; charset=utf-8", ".csv": "text/csv; charset=utf-8",
          ".eml": "message/rfc822", ".html": "text/html; charset=utf-8", ".png": "image/png",
          ".jpg": "image/jpeg", ".webp": "image/webp", ".zip": "application/zip"}  # fmt: skip


@screen("/out/{path:path}")
def _made(desk: Workplace, asked: Visit) -> Shown:
    out = (desk.folder / "out").resolve()
    try:
        file = (out / asked["path"]).resolve()
        inside = file.is_relative_to(out) and file.is_file() and file.suffix in _SHOWN
    except (OSError, ValueError):
        inside = False
    if not inside or any(part.startswith(".") for part in Path(asked["path"]).parts):
        raise Fault("there is no such file among what was made")
    # A letter's page is shown as a picture of itself: nothing in it may run or ask.
    headers = {"content-security-policy": still()} if file.suffix == ".html" else None
    return FileResponse(file, media_type=_SHOWN[file.suffix], headers=headers)


def _wrong(request: Request, fault: Exception) -> Response:
    status, said = 422, str(fault)
    if isinstance(fault, TooMuch):
        status = 413
    elif isinstance(fault, OSError):  # a name too long, a full disk, a file that mustn't be read
        said = refused(fault)
    elif isinstance(fault, HTTPException):
        status, said = fault.status_code, "This couldn't be read; nothing was changed."
        if status == 404:
            said = (
                "There is no such page on the desk. What you look for is behind one of the words at the top."
            )
    elif not isinstance(fault, Fault):
        status, said = 500, report(fault)
    return page(request, "fault", status, lines=said.split("\n"))


def serve_preview(showing: Preview, port: int, ready: Callable[[str], None]) -> None:
    """Show a site until stopped; `ready` is told its address."""
    with listen(port) as door:
        ready(f"http://127.0.0.1:{door.getsockname()[1]}{showing.base}")
        _until_stopped(preview_of(showing), door)


def serve_desk(
    showing: Preview, port: int, ready: Callable[[str], None], tell: Callable[[str], None]
) -> None:
    """Serve the desk until stopped, the site beside it; what goes out then stops between two letters.

    `ready` is told the opening address, which lets a browser in; `tell` what is said at the end.
    """
    desk = Workplace(showing.folder, showing.today)
    sweep(desk.folder)
    with kept_reading(), listen(port) as door, served(preview_of(showing, desk.trials)) as beside:
        desk.preview = f"{beside}{showing.base}"
        address = f"http://127.0.0.1:{door.getsockname()[1]}/in/{desk.key}"
        note_desk(desk.folder, address)
        ready(address)
        _until_stopped(app_for(desk), door)
        with contextlib.suppress(KeyboardInterrupt):  # asked twice: the record names who is in doubt
            desk.outbox.close(tell)


def _until_stopped(app: ASGIApp, door: socket.socket) -> None:
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with contextlib.suppress(KeyboardInterrupt):  # the library passes it on once it has ended well
        server_of(app).run(sockets=[door])
