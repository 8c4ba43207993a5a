"""Open one mail that came back and take out what matters; its writer may be anyone.

All of it takes time and memory in proportion to the mail's size: how much of it is read, how long a header
field may be and how deeply parts may be nested is bounded here, before the library takes it apart.
"""

from __future__ import annotations

import re
from datetime import date
from email import policy
from email.errors import HeaderParseError
from email.header import decode_header, make_header
from email.message import Message
from email.parser import BytesParser
from email.utils import parseaddr, parsedate_to_datetime
from html import unescape
from typing import Any

from sitegen.studio.text import short

# Bytes. A leave request is short, and a report brings back little more than the headers of a letter: the rest
# of a large message, its photographs, stays where it is.
LARGEST = 262_144
# RFC 5322 section 2.1.1: a line has at most 998 characters; a field that matters here has few lines.
LONGEST_FIELD = 4_000
# An address with its name, or a subject: what lies beyond was not written for a person.
LONGEST_HEADER = 1_000
# Characters of a text in which its first line is looked for.
LONGEST_OPENING = 20_000
LONGEST_LINE = 500
MOST_PARTS_IN_PARTS = 60
"""A mail forwarded a dozen times has two dozen blocks within blocks."""

_NESTING = re.compile(rb"content-type[ \t]*:\s*(?:multipart|message)/", re.IGNORECASE)
_TAG = re.compile(r"<[^<>]*>")
_UNSEEN = re.compile(r"<(style|script|head)\b[^<>]*>.*?(?:</\1\s*>|\Z)", re.IGNORECASE | re.DOTALL)
_BREAK = re.compile(r"<(?:br|/p|/div)[^<>]*>", re.IGNORECASE)
# Python has codecs that no mail names: some raise at every text, some take time by the square of its length.
_NO_CHARSETS = frozenset({"idna", "punycode", "undefined", "unicode_escape", "raw_unicode_escape"})


class _Brief(policy.Compat32):
    """The older, forgiving policy; of a header field only as much is read as could matter."""

    def header_source_parse(self, sourcelines: list[str]) -> tuple[str, str]:
        kept, room = [], LONGEST_FIELD
        for line in sourcelines:
            kept.append(line[:room])
            room -= len(line)
            if room <= 0:
                break
        return super().header_source_parse(kept)


_BRIEF = _Brief()


def opened(raw: bytes) -> Message:
    """Take a mail apart. Raises ValueError for blocks nested so deeply that nobody meant them."""
    raw = raw[:LARGEST]
    if len(_NESTING.findall(raw)) > MOST_PARTS_IN_PARTS:
        raise ValueError("nested too deeply")
    return BytesParser(policy=_BRIEF).parsebytes(raw)


def told_of(raw: bytes) -> str:
    """Say which mail it is, for the artist to look it up: its sender, subject and day as they stand there."""
    head = re.split(rb"\r?\n\r?\n", raw[:LONGEST_FIELD], maxsplit=1)[0]
    said = []
    for word, name in (("from", b"from"), ("with the subject", b"subject"), ("of", b"date")):
        found = re.search(rb"(?im)^" + name + rb":[ \t]*([^\r\n]{1,200})", head)
        if found and (text := found[1].decode("utf-8", "replace").strip()):
            said.append(f"{word} {short(text, 60)}")
    return ", ".join(said) or "without a sender"


def header(message: Message, name: str) -> str:
    """Return a header as its reader sees it."""
    return decoded(str(message.get(name, "")))


def decoded(raw: str) -> str:
    """Decode a field's text (RFC 2047); the older parser bears what the newer one breaks at."""
    raw = raw[:LONGEST_HEADER]
    try:
        return " ".join(str(make_header(decode_header(raw))).split())
    except (HeaderParseError, LookupError, ValueError, AssertionError):
        return " ".join(raw.split())


def sender_of(message: Message) -> str:
    """Return the address a mail says it's from; empty if none can be made out."""
    try:
        return parseaddr(header(message, "From"))[1]
    except (RecursionError, LookupError, ValueError):
        return ""


def day_of(message: Message) -> date | None:
    """Return the day a message says it was written on, if it says so."""
    try:
        return parsedate_to_datetime(header(message, "Date")[:100]).date()
    except (ValueError, OverflowError, TypeError, LookupError, AttributeError):
        return None


def first_line(message: Message) -> str:
    """Return the first line that the writer wrote, which isn't quoted from our letter."""
    line = next((line for line in body_of(message).splitlines() if line.strip()), "")
    return " ".join(line[:LONGEST_LINE].split())


def body_of(message: Message) -> str:
    """Return what a mail says, of its plain text if it has one; of HTML, the text without its marks."""
    parts = [part for part in message.walk() if part.get_content_type() in {"text/plain", "text/html"}]
    part = min(parts, key=lambda one: one.get_content_type() != "text/plain", default=None)
    if part is None:
        return ""
    text = _text_of(part)[:LONGEST_OPENING]
    if part.get_content_type() == "text/html":
        text = unescape(_TAG.sub("", _BREAK.sub("\n", _UNSEEN.sub("", text))))
    return text.replace("\r\n", "\n")


def _text_of(part: Message) -> str:
    octets = part.get_payload(decode=True)
    if not isinstance(octets, bytes):
        return ""
    octets = octets[: 4 * LONGEST_OPENING]
    try:
        charset = part.get_content_charset("utf-8")
        if charset.replace("-", "_") in _NO_CHARSETS:
            raise LookupError(charset)
        return octets.decode(charset, "replace")
    except (LookupError, ValueError):
        return octets.decode("utf-8", "replace")


def blocks(message: Message, kind: str) -> list[Message]:
    """Return the groups of fields in a report's machine-readable part."""
    for part in message.walk():
        if part.get_content_type() != kind:
            continue
        payload = part.get_payload()
        if isinstance(payload, list):
            return [block for block in payload if isinstance(block, Message)]
        return [opened(_octets(part).lstrip())]
    return []


def returned_headers(message: Message) -> Message:
    """Return the headers of the letter that a report brings back, as far as it does."""
    for part in message.walk():
        payload: Any = part.get_payload()
        if part.get_content_type() == "message/rfc822" and isinstance(payload, list) and payload:
            return payload[0] if isinstance(payload[0], Message) else Message()
        if part.get_content_type() in {"text/rfc822-headers", "message/rfc822-headers"}:
            return opened(_octets(part))
    return Message()


def _octets(part: Message) -> bytes:
    octets = part.get_payload(decode=True)
    return octets if isinstance(octets, bytes) else str(part.get_payload()).encode("utf-8", "replace")
