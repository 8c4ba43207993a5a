"""The desk as an application: its screens, its deeds, its files, and what it says when something is wrong."""

from __future__ import annotations

from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from sitegen.browser import deeds, sheets
from sitegen.browser.deeds import DEEDS
from sitegen.browser.desk import HERE, Workplace, at, page
from sitegen.browser.guard import Guard, TooMuch, still
from sitegen.browser.screens import (
    guide,
    letters,
    money,
    orders,
    people,
    phone,
    pieces,
    prices,
    rounds,
    settings,
    shows,
    site,
    today,
)  # fmt: skip
from sitegen.browser.sheets import SHEETS
from sitegen.jobs.report import refused, report
from sitegen.studio.fault import Fault

SCREENS = (today, pieces, orders, rounds, letters, people, site, settings, phone, guide, money, prices, shows)


def app_for(desk: Workplace) -> Guard:
    """Make the application of one desk, with its guard before it."""
    for screen in SCREENS:
        DEEDS.update(screen.DEEDS)
        SHEETS.update(getattr(screen, "SHEETS", {}))
    made = Starlette(
        routes=[
            *(route for screen in SCREENS for route in screen.ROUTES),
            Route("/do/{job}", deeds.show, methods=["GET"]),
            Route("/do/{job}", deeds.do, methods=["POST"]),
            Route("/sheet/{sheet}", sheets.change, methods=["POST"]),
            Route("/out/{path:path}", _made),
            Mount("/static", StaticFiles(directory=HERE / "static")),
        ],
        exception_handlers={
            Fault: _at_fault,
            OSError: _refused,
            HTTPException: _not_so,
            Exception: _unforeseen,
        },
    )
    made.state.desk = desk
    return Guard(made, desk.key, desk.frames)


# What a browser may show of what was made, each kind as what it is.
_SHOWN = {".pdf": "application/pdf", ".txt": "text/plain; charset=utf-8", ".csv": "text/csv; charset=utf-8",
          ".eml": "message/rfc822", ".html": "text/html; charset=utf-8", ".png": "image/png",
          ".jpg": "image/jpeg", ".webp": "image/webp", ".zip": "application/zip"}  # fmt: skip


def _made(request: Request) -> Response:
    """Hand out what was made below out/, so that it can be looked at or printed."""
    out = (at(request).folder / "out").resolve()
    try:
        file = (out / request.path_params["path"]).resolve()
        inside = file.is_relative_to(out) and file.is_file() and file.suffix in _SHOWN
    except (OSError, ValueError):
        inside = False
    if not inside or any(part.startswith(".") for part in Path(request.path_params["path"]).parts):
        raise Fault("there is no such file among what was made")
    # A letter's page is shown as a picture of itself: nothing in it may run or ask.
    asked = {"content-security-policy": still()}
    return FileResponse(
        file, media_type=_SHOWN[file.suffix], headers=asked if file.suffix == ".html" else None
    )


def _at_fault(request: Request, fault: Exception) -> Response:
    status = 413 if isinstance(fault, TooMuch) else 422
    return page(request, "fault.html", status, screen="", lines=str(fault).split("\n"))


def _refused(request: Request, fault: Exception) -> Response:
    """Say what the system refuses: a name too long, a full disk, a file that mustn't be read."""
    lines = [refused(fault)] if isinstance(fault, OSError) else []
    return page(request, "fault.html", 422, screen="", lines=lines)


def _not_so(request: Request, fault: Exception) -> Response:
    """Say what the library refuses: an address without a page, a form that is cut."""
    status = fault.status_code if isinstance(fault, HTTPException) else 400
    said = (
        "There is no such page on the desk. What you look for is behind one of the words at the top."
        if status == 404
        else "This couldn't be read; nothing was changed."
    )
    return page(request, "fault.html", status, screen="", lines=[said])


def _unforeseen(request: Request, fault: Exception) -> Response:
    return page(request, "fault.html", 500, screen="", lines=[report(fault)])
