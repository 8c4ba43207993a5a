"""A server for an application, on this machine unless told otherwise."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterator

import uvicorn
from starlette.types import ASGIApp

from sitegen.studio.asked import Fault


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
