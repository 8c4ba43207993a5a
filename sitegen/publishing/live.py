"""What visitors get, compared with what was built: fetched from the studio's address as any browser would."""

from __future__ import annotations

import http.client
import re
import ssl
import urllib.request
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote, urldefrag, urlsplit

from sitegen.publishing.listing import survey
from sitegen.studio.settings import uri
from sitegen.studio.text import counted, short

# Seconds; and requests at the same time, as a browser makes them (common practice, no source).
PATIENCE, AT_ONCE = 20, 6
# Days before its end at which a certificate should have been renewed (common practice, no source).
NEAR_END = 14
# Nobody's names and addresses (RFC 2606, RFC 6761).
_NOBODY = re.compile(
    r"https?://([^/?#]*\.)?(example(\.(com|net|org))?|test|invalid|localhost)(:|[/?#]|$)", re.IGNORECASE
)
_KINDS = {
    "html": "text/html", "css": "text/css", "jpg": "image/jpeg", "png": "image/png", "webp": "image/webp",
    "avif": "image/avif", "svg": "image/svg+xml",
}  # fmt: skip
_LINKS = re.compile(r'<a [^>]*href="(https?://[^"]+)')
_OFFER = b'"@type":"Offer"'


@dataclass(frozen=True)
class Got:
    """What an address answers."""

    status: int = 0  # 0 where nobody answers
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    why: str = ""


class _Still(urllib.request.HTTPErrorProcessor):
    """Goes nowhere by itself and raises nothing: where an address leads on, or that it's gone, is told."""

    def http_response(self, request: Any, response: Any) -> Any:
        return response

    https_response = http_response


def fetch(address: str, method: str = "GET", most: int = 1 << 20) -> Got:
    """Ask an address for at most so many octets of what lies there; raises nothing."""
    opener = urllib.request.build_opener(_Still, urllib.request.ProxyHandler({}))
    try:
        # A copy that is kept on the way would be compared otherwise.
        asked = urllib.request.Request(  # noqa: S310 (http and https only, as the studio's address is)
            uri(urldefrag(address).url),
            method=method,
            headers={"Cache-Control": "no-cache", "User-Agent": "sitegen"},
        )
        with opener.open(asked, timeout=PATIENCE) as answer:
            return Got(answer.status, answer.read(most), {k.lower(): v for k, v in answer.headers.items()})
    except (OSError, ValueError, http.client.HTTPException) as fault:
        reason = getattr(fault, "reason", fault)
        return Got(why=getattr(reason, "verify_message", "") or short(reason) or "no answer")


def is_nobodys(site: str) -> bool:
    """Tell whether an address is an example that leads nowhere."""
    return bool(_NOBODY.match(site))


def compare(site: str, folder: Path, paths: Iterable[str]) -> Iterator[str]:
    """Yield a sentence for each file of the built site in `folder` that isn't served as it was built."""
    home = fetch(site)
    if home.status != 200 and home.status // 100 != 3:
        yield f"{site} answers {home.status or home.why}; nothing could be compared."
        return
    with ThreadPoolExecutor(AT_ONCE) as crew:
        found = crew.map(partial(_one, site, folder), sorted(paths))
        yield from filter(None, [*found, *_of_the_whole(site, folder, home)])


def _one(site: str, folder: Path, path: str) -> str:
    address = site + quote(path.removesuffix("index.html") if path.endswith("/index.html") else path)
    built, kind = (folder / path).read_bytes(), _KINDS.get(path.rpartition(".")[2], "")
    got = fetch(address, most=len(built) + (1 << 20))
    if got.status != 200:
        return f"{address} answers {got.status or got.why}."
    if got.body != built:
        if _OFFER in got.body and _OFFER not in built:
            return f"{address} still offers a piece that can't be bought any more."
        return f"{address} isn't as it was built."
    if kind and got.headers.get("content-type", "").partition(";")[0].strip().lower() != kind:
        return f"{address} is served as {short(got.headers.get('content-type', 'nothing'))}, not as {kind}."
    return ""


def _of_the_whole(site: str, folder: Path, home: Got) -> Iterator[str]:
    """Yield what holds for all pages: headers, what isn't there, the way from http to https."""
    file = folder / "headers.txt"
    lines = file.read_text("utf-8").splitlines() if file.exists() else []
    asked = (line.partition(": ") for line in lines)
    missing = [name for name, _, value in asked if home.headers.get(name.lower()) != value]
    if missing:
        names = " and ".join(missing)
        yield f"{site} is served without {names} of headers.txt; pages are safe without, safer with them."
    lost = fetch(f"{site}no-such-page-{len(home.body)}/")
    if lost.status != 404:
        yield f"{site} answers {lost.status or lost.why}, not 404, where there is no page."
    if site.startswith("https://") and urlsplit(site).port is None:
        plain = fetch(f"http://{site.removeprefix('https://')}")
        if plain.status and not plain.headers.get("location", "").startswith("https://"):
            yield f"http://{urlsplit(site).hostname} doesn't lead to https; set that at your host."


def dead_links(folder: Path, ours: str) -> Iterator[str]:
    """Yield a sentence for each link to another place that leads nowhere any more."""
    pages: dict[str, str] = {}
    for page in sorted(folder.rglob("*.html")):
        for found in _LINKS.findall(page.read_text("utf-8", "replace")):
            address = unescape(found).partition("#")[0]
            if not address.startswith(ours) and not is_nobodys(address):
                pages.setdefault(address, page.relative_to(folder).as_posix())
    with ThreadPoolExecutor(AT_ONCE) as crew:
        for address, got in zip(pages, crew.map(_asked, pages), strict=True):
            # Others than these may be a host's way with programs, and lead people on well enough.
            if got.status in {0, 404, 410}:
                yield f"{pages[address]}: the link to {short(address)} is dead ({got.status or got.why})."


def _asked(address: str) -> Got:
    got = fetch(address, "HEAD")
    return fetch(address, most=0) if got.status in {404, 405, 501} else got


def _certificate_days(site: str, now: datetime) -> int:
    """Return how many days a site's certificate still holds; enough where there's none to be had."""
    parts = urlsplit(site)
    context = ssl.create_default_context()
    try:
        with closing(http.client.HTTPSConnection(parts.netloc, timeout=PATIENCE, context=context)) as line:
            line.connect()
            end = str((line.sock.getpeercert() or {})["notAfter"])
    except (OSError, http.client.HTTPException, KeyError):
        return NEAR_END
    return (datetime.fromtimestamp(ssl.cert_time_to_seconds(end), UTC) - now.astimezone(UTC)).days


def look(site: str, folder: Path, now: datetime) -> Iterator[str]:
    """Yield what is wrong with the whole site as visitors get it."""
    if site.startswith("https:") and (days := _certificate_days(site, now)) < NEAR_END:
        yield f"The certificate of {site} ends in {counted(days, 'day', 'days')}; have it renewed."
    yield from compare(site, folder, survey(folder, {}))
    yield from dead_links(folder, site)
