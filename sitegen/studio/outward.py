"""Addresses on other hosts that the artist sends people to: a shop, a form's receiver."""

import re
from typing import Annotated
from urllib.parse import urlsplit

from sitegen.studio.fields import typed
from sitegen.studio.text import quoted

# Letters, digits, dots and hyphens: a content policy names a host in ASCII (CSP 3, host-part).
_HOST = re.compile(r"[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")
# What an address may hold as it is (RFC 3986, section 2), braces for the piece's place apart.
_ADDRESS = re.compile(r"https://[A-Za-z0-9._~:/?#\[\]@!$&'()*+,;=%-]+")
SLUG = "{slug}"
"""Stands for the name of the piece's folder."""


def _read_secure(text: str) -> str:
    address = text.strip()
    if not _ADDRESS.fullmatch(address) or not _sound(address):
        raise ValueError(
            f"{quoted(text)} is not a safe web address; write it whole and with https, like https://forms.example/a1"
        )
    return address


def _read_pattern(text: str) -> str:
    if re.search(r"[{}]", text.replace(SLUG, "")):
        raise ValueError(
            f"{quoted(text)} has a place that nothing fills; only {SLUG} (the piece's folder) is filled in"
        )
    _read_secure(text.replace(SLUG, "piece"))
    return text.strip()


def _sound(address: str) -> bool:
    try:
        parts = urlsplit(address)
        port = parts.port
    except ValueError:
        return False
    whole = parts.hostname is not None and _HOST.fullmatch(parts.hostname) is not None
    return whole and "@" not in parts.netloc and port != 0


def origin(address: str) -> str:
    """Return scheme, host and port of an address, as a content policy names it."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc.lower()}"


def host(address: str) -> str:
    """Return the host of an address, to be named to people."""
    return urlsplit(address).hostname or ""


SecureAddress = Annotated[str, typed(_read_secure)]
"""An https address."""
BuyPattern = Annotated[str, typed(_read_pattern)]
"""An https address in which {slug} stands for a piece."""
