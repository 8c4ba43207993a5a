"""Serve the desk on this machine alone, and open it in the browser."""

from __future__ import annotations

import contextlib
import signal
import socket
from collections.abc import Callable

from starlette.types import ASGIApp

from sitegen.browser import uploads
from sitegen.browser.app import app_for
from sitegen.browser.desk import Workplace
from sitegen.browser.preview import preview_of
from sitegen.browser.serving import listen, served, server_of
from sitegen.jobs.preview import Preview, note_desk
from sitegen.jobs.reading import kept_reading


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
    uploads.sweep(desk.folder)
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
