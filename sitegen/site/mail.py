"""Mail links that people and screen readers can use and simple address gatherers can't."""

from __future__ import annotations

from urllib.parse import quote

from markupsafe import Markup, escape

# Characters that an address may hold and that a mailto link may carry as they are (RFC 6068, section 2).
_SAFE_IN_ADDRESS = "@!$*+-._~"


def veiled(text: str) -> Markup:
    """Write every character as a numeric reference: the same text to a browser, not to a plain search."""
    return Markup("".join(_reference(place, character) for place, character in enumerate(text)))  # noqa: S704


def _reference(place: int, character: str) -> str:
    return f"&#x{ord(character):x};" if place % 3 else f"&#{ord(character)};"


def mailto(address: str, subject: str = "", body: str = "") -> str:
    """Return a mailto address with its subject and body filled in (RFC 6068; lines end in CRLF)."""
    fields = {"subject": subject, "body": body.replace("\n", "\r\n")}
    query = "&".join(f"{name}={quote(value, safe='')}" for name, value in fields.items() if value)
    return f"mailto:{quote(address, safe=_SAFE_IN_ADDRESS)}" + (f"?{query}" if query else "")


def mail_link(address: str, words: str | Markup | None = None, subject: str = "", body: str = "") -> Markup:
    """Return a link that opens a letter; its text is `words`, or the address itself.

    Without an address the words stand alone.
    """
    if not address:
        return escape(words or "")
    start, _, query = mailto(address, subject, body).partition("?")
    rest = escape("?" + query) if query else Markup("")
    text = veiled(address) if words is None else escape(words)
    return Markup('<a class="mail" href="{}{}">{}</a>').format(veiled(start), rest, text)
