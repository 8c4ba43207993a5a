"""Show the built site at a local address and build again whenever a file changes.

A bad file shows its complaints in the terminal and on top of every page; the last good site stays.
"""

from __future__ import annotations

import html
import http.server
import re
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import unquote, urlsplit

from sitegen.jobs.build import build
from sitegen.jobs.report import report
from sitegen.jobs.unchanged import stamps
from sitegen.jobs.where import settle
from sitegen.sources import read
from sitegen.studio.fault import Fault
from sitegen.studio.wish import ask, wish

# How long between two looks at the files, in seconds: short enough to feel at once.
PAUSE = 0.4
_PAGE_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".xml": "application/xml; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".ics": "text/calendar; charset=utf-8",
    ".jpg": "image/jpeg",
    ".png": "image/png",
    ".webp": "image/webp",
    ".avif": "image/avif",
    ".svg": "image/svg+xml",
    ".ico": "image/x-icon",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
}


@dataclass
class Preview:
    """What the preview shows at present."""

    folder: Path
    say: Callable[[str], None]
    """Prints a line in the terminal."""
    complaint: str = ""
    version: int = 0
    """Counts builds, so that an open page knows when to load again."""
    seen: tuple[tuple[str, int, int], ...] = ()
    base: str = "/"
    today: str | None = None
    stopped: threading.Event = field(default_factory=threading.Event)

    def build(self) -> None:
        """Build once; keep the last good site and remember the complaint when the files are at fault."""
        self.seen = fingerprint(self.folder)
        try:
            done = build(self.folder, self.today)
        except (Fault, OSError) as fault:
            self.complaint = str(fault)
            self.say(f"{self.complaint}\nThe last good site stays.")
        except Exception as fault:  # noqa: BLE001 (the last resort: the preview goes on)
            self.complaint = report(fault)
            self.say(f"{self.complaint}\nThe last good site stays.")
        else:
            self.complaint = ""
            self.say(f"Built: {len(done.written)} files written, {done.unchanged} unchanged.")
        self.version += 1

    def watch(self) -> None:
        """Build again whenever the files differ from the last look, until stopped."""
        while not self.stopped.wait(PAUSE):
            if fingerprint(self.folder) != self.seen:
                self.build()


def base_of(folder: Path) -> str:
    """Return the path at which the site will live, so that the preview shows it at the same one.

    A studio that can't be read is shown at the root until it can.
    """
    studio = read(folder).studio
    return urlsplit(studio.settings.address).path if studio else "/"


def fingerprint(folder: Path) -> tuple[tuple[str, int, int], ...]:
    """Return name, size and time of every file a build reads."""
    found = stamps(folder, skipped=frozenset({"out", "sent"}))
    return tuple(sorted((path, stat.st_size, stat.st_mtime_ns) for path, stat in found))


def serve(showing: Preview, port: int) -> http.server.ThreadingHTTPServer:
    """Return a server of the site on the loopback address only; port 0 takes a free one."""
    handler = type("Handler", (_Handler,), {"showing": showing})
    return _Server(("127.0.0.1", port), handler)


class _Server(http.server.ThreadingHTTPServer):
    """Answers; a browser that hangs up in the middle is no matter for the terminal."""

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing: what a file is at fault for is said elsewhere."""


class _Handler(http.server.BaseHTTPRequestHandler):
    showing: Preview

    def do_GET(self) -> None:
        path = unquote(urlsplit(self.path).path)
        if not re.fullmatch(r"(127\.0\.0\.1|localhost)(:[0-9]+)?", self.headers.get("Host", "")):
            # Another site's page must not read the preview under a name of its own.
            self._send(403, "text/plain", b"This preview answers to 127.0.0.1 only.")
        elif path == "/-/version":
            self._send(200, "text/plain", str(self.showing.version).encode())
        elif path == "/-/again.js":
            self._send(200, "text/javascript", _AGAIN)
        elif not path.startswith(self.showing.base):
            self.send_response(302)
            self.send_header("Location", self.showing.base)
            self.end_headers()
        else:
            self._file(path.removeprefix(self.showing.base))

    def _file(self, path: str) -> None:
        settle(self.showing.folder)
        root = (self.showing.folder / "out" / "site").resolve()
        found = _found(root, path)
        file, status = (found, 200) if found else (root / "404.html", 404)
        try:
            content = file.read_bytes()
        except OSError:
            content = _EMPTY
        kind = _PAGE_TYPES.get(file.suffix, "application/octet-stream")
        self._send(status, kind, self._with_complaint(content) if file.suffix == ".html" else content)

    def _with_complaint(self, page: bytes) -> bytes:
        """Add the complaint and the reloading to a page as shown; the page on disk has neither."""
        try:
            text = page.decode("utf-8")
        except UnicodeDecodeError:
            return page  # somebody else's page; it's shown as it is
        text = re.sub(r"<meta[^>]+Content-Security-Policy[^>]*>", "", text, flags=re.IGNORECASE)
        script = f'<script src="/-/again.js" data-version="{self.showing.version}"></script>'
        if self.showing.complaint:
            told = html.escape(self.showing.complaint)
            box = _BOX.replace("…", told)
            text = re.sub(r"(<body[^>]*>)", lambda body: body[1] + box, text, count=1)
        return text.replace("</body>", script + "</body>", 1).encode()

    def _send(self, status: int, kind: str, content: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 (the library's own name)
        """Say nothing: the terminal is for complaints."""


def _found(root: Path, path: str) -> Path | None:
    """Return the file that an address means; None for none, however odd the address is."""
    try:
        file = (root / path).resolve()
        file = file / "index.html" if file.is_dir() else file
        return file if file.is_relative_to(root) and file.is_file() else None
    except (OSError, ValueError, RuntimeError):  # too long, a zero in it, links in a circle
        return None


_EMPTY = (
    b"<!doctype html><html lang='en'><title>Preview</title><body><p>Nothing is built yet.</p></body></html>"
)
_BOX = (
    '<div role="alert" style="position:sticky;top:0;z-index:9;padding:1em;background:#fff4d6;color:#2a1a00;'
    'border-bottom:3px solid #a33;font:16px/1.5 sans-serif;white-space:pre-wrap">'
    "<strong>The last change has not been built. What you see is the last good site.</strong>\n…</div>"
)
_AGAIN = b"""
const shown = document.currentScript.dataset.version;
setInterval(async () => {
  try {
    const now = await (await fetch("/-/version")).text();
    if (now !== shown) location.reload();
  } catch { /* the preview has been stopped */ }
}, 700);
"""


@wish
class PreviewWish:
    """Where to show the site."""

    port: int = ask("0 takes a free one.", default=8017, least=0, most=65535)


def preview(
    folder: Path,
    wish: PreviewWish,
    today: str | None,
    say: Callable[[str], None],
    ready: Callable[[str], None],
) -> None:
    """Build, show and watch until interrupted. `say` prints a line, `ready` is told the local address.

    Raises StudioFault (or OSError) only when there's nothing at all to show.
    """
    showing = Preview(folder, say, base=base_of(folder), today=today)
    showing.build()
    server = serve(showing, wish.port)
    watcher = threading.Thread(target=showing.watch, daemon=True)
    watcher.start()
    ready(f"http://127.0.0.1:{server.server_address[1]}{showing.base}")
    try:
        server.serve_forever(poll_interval=0.2)
    finally:
        showing.stopped.set()
        server.server_close()
