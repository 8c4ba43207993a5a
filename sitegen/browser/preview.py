"""The site as it will be, at an address of this machine; the last good one while a file is at fault."""

from __future__ import annotations

import html
import mimetypes
import re
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from sitegen.browser.guard import is_this_machine
from sitegen.jobs.compiling import TRIALS
from sitegen.jobs.preview import Preview
from sitegen.jobs.where import settle

for _kind, _ending in (("image/avif", ".avif"), ("image/webp", ".webp"), ("text/calendar", ".ics")):
    mimetypes.add_type(_kind, _ending)
# Where the site as another theme would show it is looked at, and a page that is being written.
_TRIAL, _NOW = "/-/in/", "/-/now/"


def preview_of(showing: Preview, trials: Mapping[str, bytes] = MappingProxyType({})) -> ASGIApp:
    """Make the application that shows a site; `trials` are pages as they would be, by their path.

    Another site's page can't read it under a name of its own.
    """

    def file(request: Request) -> Response:
        path = unquote(request.url.path)
        now = path.removeprefix(_NOW)
        if now != path and now in trials:
            return HTMLResponse(trials[now])
        return _page(showing, showing.folder / "out" / "site", now) if now != path else _file(showing, path)

    version = Route("/-/version", lambda _: PlainTextResponse(str(showing.version)))
    again = Route("/-/again.js", lambda _: FileResponse(Path(__file__).parent / "static" / "again.js"))
    shown = Starlette(routes=[version, again, Route("/{path:path}", file)])

    async def guarded(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not is_this_machine(Request(scope).headers.get("host", "")):
            refused = PlainTextResponse("This preview answers to 127.0.0.1 only.", 403)
            await refused(scope, receive, send)
        else:
            await shown(scope, receive, send)

    return guarded


def _file(showing: Preview, path: str) -> Response:
    out = showing.folder / "out"
    if trial := re.fullmatch(rf"{_TRIAL}([A-Za-z0-9_-]+)/(.*)", path):
        return _page(showing, out / TRIALS / trial[1] / "site", trial[2])
    if not path.startswith(showing.base):
        return RedirectResponse(showing.base, 302)
    settle(showing.folder)
    return _page(showing, out / "site", path.removeprefix(showing.base))


def _page(showing: Preview, root: Path, path: str) -> Response:
    root = root.resolve()
    found = _found(root, path)
    shown, status = (found, 200) if found else (root / "404.html", 404)
    fresh = {"cache-control": "no-store"}
    if shown.suffix != ".html":
        return FileResponse(shown, status, headers=fresh)
    try:
        page = shown.read_bytes()
    except OSError:
        page = _EMPTY
    return HTMLResponse(_with_complaint(page, showing), status, headers=fresh)


def _with_complaint(page: bytes, showing: Preview) -> bytes:
    """Add the complaint and the reloading to a page as shown; the page on disk has neither."""
    try:
        text = page.decode("utf-8")
    except UnicodeDecodeError:
        return page  # somebody else's page; it's shown as it is
    text = re.sub(r"<meta[^>]+Content-Security-Policy[^>]*>", "", text, flags=re.IGNORECASE)
    script = f'<script src="/-/again.js" data-version="{showing.version}"></script>'
    if showing.complaint:
        box = _BOX.replace("…", html.escape(showing.complaint))
        text = re.sub(r"(<body[^>]*>)", lambda body: body[1] + box, text, count=1)
    return text.replace("</body>", script + "</body>", 1).encode()


def _found(root: Path, path: str) -> Path | None:
    """Return the file that an address means; None for none, however odd the address is."""
    try:
        file = (root / path).resolve()
        file = file / "index.html" if file.is_dir() else file
        return file if file.is_relative_to(root) and file.is_file() else None
    except (OSError, ValueError, RuntimeError):  # too long, a zero in it, links in a circle
        return None


_EMPTY = (
    b"<!doctype html><html lang='en'><title>Preview</title><body>"
    b"<p>The site isn't built yet; it appears here once it is.</p></body></html>"
)
_BOX = (
    '<div role="alert" style="position:sticky;top:0;z-index:9;padding:1em;background:#fff4d6;color:#2a1a00;'
    'border-bottom:3px solid #a33;font:16px/1.5 sans-serif;white-space:pre-wrap">'
    "<strong>The last change has not been built. What you see is the last good site.</strong>\n…</div>"
)
