"""Serve the desk on this machine alone, and open it in the browser."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Callable, Iterator

import uvicorn
from starlette.types import ASGIApp

from sitegen.browser.app import app_for
from sitegen.browser.desk import Workplace
from sitegen.browser.preview import preview_of
from sitegen.jobs.preview import Preview, note_desk
from sitegen.jobs.reading import kept_reading
from sitegen.studio.fault import Fault


def listen(port: int, host: str = "127.0.0.1") -> socket.socket:
    """Return a listening socket; port 0 takes a free one. Raises Fault if the port is taken."""
    try:
        return socket.create_server((host, port))
    except OSError as fault:
        raise Fault(
            f"port {port} is taken ({fault.strerror}); give another one with --port, or 0 for any"
        ) from None


def server_of(app: ASGIApp) -> uvicorn.Server:
    """Return a server that says nothing by itself and lets long answers end."""
    config = uvicorn.Config(
        app, log_config=None, access_log=False, server_header=False, date_header=False, lifespan="off",
        timeout_graceful_shutdown=3, ws="none",
    )  # fmt: skip
    return uvicorn.Server(config)


def serve_preview(showing: Preview, port: int, ready: Callable[[str], None]) -> None:
    """Show a site until stopped; `ready` is told its address."""
    with listen(port) as door:
        ready(f"http://127.0.0.1:{door.getsockname()[1]}{showing.base}")
        _until_stopped(preview_of(showing), door)


def serve_desk(showing: Preview, port: int, ready: Callable[[str], None]) -> None:
    """Serve the desk until stopped, the site beside it.

    `ready` is told the opening address, which lets a browser in.
    """
    desk = Workplace(showing.folder, showing.today)
    with kept_reading(), listen(port) as door, served(preview_of(showing, desk.trials)) as beside:
        desk.preview = f"{beside}{showing.base}"
        address = f"http://127.0.0.1:{door.getsockname()[1]}/in/{desk.key}"
        note_desk(desk.folder, address)
        ready(address)
        _until_stopped(app_for(desk), door)


def _until_stopped(app: ASGIApp, door: socket.socket) -> None:
    with contextlib.suppress(KeyboardInterrupt):  # the library passes it on once it has ended well
        server_of(app).run(sockets=[door])


@contextlib.contextmanager
def served(app: ASGIApp, port: int = 0, host: str = "127.0.0.1") -> Iterator[str]:
    """Serve beside other work for as long as it lasts; gives the address."""
    with listen(port, host) as door:
        server = server_of(app)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
        thread.start()
        try:
            yield f"http://{host}:{door.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(10)
