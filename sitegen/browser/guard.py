"""Who may ask the desk for anything: the browser that was opened for it, here, from the desk's own pages."""

from __future__ import annotations

import hmac
from contextlib import nullcontext
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sitegen.jobs.reading import one_look
from sitegen.studio.asked import Fault

# Bytes of a request: photos and mailboxes are large, words aren't.
MOST_WITH_PHOTOS, MOST_OF_WORDS = 400_000_000, 4_000_000
# Bytes that are let go by before a connection is simply cut.
_PATIENCE = 4_000_000_000
_SAFE = frozenset({"GET", "HEAD"})
ENTRANCE = "/in/"
# Bytes of a part of an address: as many as a file's name may have on most systems (from memory).
_LONGEST_PART = 255


class TooMuch(Fault):
    """A request brings more than it may."""


@dataclass(frozen=True)
class Guard:
    """Stands before the whole desk: every request passes it, every answer carries what it adds.

    A page elsewhere can make a browser ask for things here. So the name asked for must be this machine's
    (a foreign name that points here is none), the cookie of this session must come along, which browsers
    send from our own pages only (SameSite=Strict, RFC 6265bis), and what changes something must say that it
    comes from here (Origin, RFC 6454).
    """

    app: ASGIApp
    key: str
    """The secret of the session, in the opening address and then in the cookie."""
    frames: str = ""
    """What may be shown inside a page: the preview of the site."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or let it through."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        if (refused := self._refused(request)) is not None:
            await refused(scope, receive, self._with_policy(send, request))
            return
        path = request.scope["path"]
        most = MOST_WITH_PHOTOS if "/photos" in path or path == "/people/replies" else MOST_OF_WORDS
        with one_look() if request.method in _SAFE else nullcontext():
            await self.app(scope, bounded(request.headers, receive, most), self._with_policy(send, request))

    def _refused(self, request: Request) -> Response | None:
        path = request.scope["path"]
        enters, key = path.startswith(ENTRANCE), path.removeprefix(ENTRANCE).encode("utf-8", "replace")
        has_key = request.method == "GET" and hmac.compare_digest(key, self.key.encode())
        longest = max(map(len, path.encode("utf-8", "replace").split(b"/")))
        rules = (
            (is_this_machine(request.headers.get("host", "")), 403,
             "The desk answers on this machine only, at 127.0.0.1."),
            (request.method in _SAFE or comes_from_here(request), 403,
             "This didn't come from a page of the desk; nothing was changed."),
            (has_key or not enters, 403, "This isn't the address of the desk that is open now."),
            (enters or is_known(request, self.key), 403,
             "This window doesn't belong to the desk that is open now. Start the desk again and use the "
             "window that it opens."),
            (longest <= _LONGEST_PART, 404, "There is no such page on the desk."),
        )  # fmt: skip
        refusal = next((PlainTextResponse(said, status) for holds, status, said in rules if not holds), None)
        return refusal or (let_in(request, self.key) if enters else None)

    def _with_policy(self, send: Send, request: Request) -> Send:
        """Say in every answer what its page may do: nothing but show itself and ask this desk."""

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.setdefault("content-security-policy", policy(self.frames))
                headers["x-content-type-options"] = "nosniff"
                headers["referrer-policy"] = "same-origin"  # with none at all, forms would have no Origin
                headers["cross-origin-opener-policy"] = "same-origin"
                headers["cross-origin-resource-policy"] = "same-origin"
                if not request.scope["path"].startswith("/static/"):
                    headers["cache-control"] = "no-store"
            await send(message)

        return sent


def _cookie_of(request: Request) -> str:
    """Name the cookie: another port is another desk, and cookies don't know ports."""
    return f"desk-{request.url.port or 80}"


def is_known(request: Request, key: str) -> bool:
    """Tell whether a request brings the session's cookie."""
    return hmac.compare_digest(request.cookies.get(_cookie_of(request), ""), key)


def let_in(request: Request, key: str) -> Response:
    """Give a browser the session's cookie, and lead it to the first page."""
    inside = RedirectResponse("/", 303)
    inside.set_cookie(_cookie_of(request), key, httponly=True, samesite="strict", path="/")
    return inside


def still(pictures: str = "") -> str:
    """Return the policy of what is only looked at: it may neither run, nor send, nor ask elsewhere.

    It stays of this desk, since a foreign page wouldn't be shown its own pictures.
    """
    return (
        "sandbox allow-same-origin; default-src 'none'; style-src 'unsafe-inline'; "
        f"img-src data: {pictures} 'self'"
    )


def policy(frames: str) -> str:
    """Return the content security policy (CSP level 3) of a page of the desk."""
    return (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' blob: data:; "
        f"connect-src 'self'; frame-src 'self' {frames}; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'self'"
    )


def is_this_machine(host: str) -> bool:
    """Tell whether a request was made to this machine under a name of its own."""
    try:
        return urlsplit(f"//{host}").hostname in {"127.0.0.1", "localhost", "::1"}
    except ValueError:
        return False


def comes_from_here(request: Request) -> bool:
    """Tell whether what changes something was sent by a page of this desk."""
    origin = request.headers.get("origin")
    if origin is None:
        return request.headers.get("sec-fetch-site") == "same-origin"
    return origin == f"http://{request.headers.get('host', '')}"


async def _let_go_by(message: Message, receive: Receive) -> None:
    """Take what is still sent and keep nothing of it: a browser reads no answer before it has sent all."""
    gone = 0
    while message.get("more_body") and gone < _PATIENCE:
        message = await receive()
        gone += len(message.get("body", b""))


def bounded(headers: Headers, receive: Receive, most: int) -> Receive:
    """Let so many bytes of a request in. Raises TooMuch, at once where the request says its length."""
    said = headers.get("content-length", "0")
    left = most if said.isdigit() and int(said) <= most else -1

    async def received() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            await _let_go_by(message, receive)
            raise TooMuch(f"that is more than {most // 1_000_000} MB at once; bring in fewer files at a time")
        return message

    return received
