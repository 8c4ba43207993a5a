"""Open a mail and take out what matters, whoever wrote it: one that came back, or one that asks for a piece.

All of it takes time and memory in proportion to the mail's size: how much of it is read, how long a header
field may be and how deeply parts may be nested is bounded here, before the library takes it apart. One that
asks may be pasted out of a mail program's window: what isn't found in it is left open, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
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
_MOST_LINES = 20
MOST_PARTS_IN_PARTS = 60  # a mail forwarded a dozen times has two dozen blocks within blocks

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

    def header_fetch_parse(self, name: str, value: str) -> Any:
        """Read octets that stand bare in a field: RFC 6532 has UTF-8 there, older programs their own set."""
        octets = value.encode("utf-8", "surrogateescape")
        try:
            return octets.decode("utf-8")
        except UnicodeDecodeError:
            return octets.decode("cp1252", "replace")


_BRIEF = _Brief()


def opened(raw: bytes) -> Message:
    """Take a mail apart. Raises ValueError for blocks nested so deeply that nobody meant them."""
    raw = raw[:LARGEST]
    if len(_NESTING.findall(raw)) > MOST_PARTS_IN_PARTS:
        raise ValueError("nested too deeply")
    return BytesParser(policy=_BRIEF).parsebytes(raw)


def told_of(raw: bytes) -> str:
    """Say which mail it is, for the artist to look it up: its sender, subject and day as they stand there."""
    head = re.split(rb"\r?\n\r?\n", raw[: 4 * LONGEST_FIELD], maxsplit=1)[0].decode("utf-8", "replace")
    said = []
    for word, name in (("from", "from"), ("with the subject", "subject"), ("of", "date")):
        found = re.search(rf"(?im)^{name}:[ \t]*([^\r\n]{{1,200}})", head)
        if found and (text := decoded(found[1].strip())):
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
    with suppress(RecursionError, LookupError, ValueError):
        return parseaddr(header(message, "From"))[1]
    return ""


def day_of(message: Message) -> date | None:
    """Return the day a message says it was written on, if it says so."""
    with suppress(ValueError, OverflowError, TypeError, LookupError, AttributeError):
        return parsedate_to_datetime(header(message, "Date")[:100]).date()
    return None


_BEFORE_QUOTED = re.compile(r"^[^\n]{1,200}:[ \t]*\n\n?(?=>)", re.MULTILINE)


def written_lines(message: Message) -> list[str]:
    """Return the first lines that the writer wrote, above what is quoted, or else below it."""
    body = _BEFORE_QUOTED.sub("", body_of(message))
    lines = (own_words(body) or own_words(re.split(r"(?m)^>.*$", body)[-1])).splitlines()
    return [" ".join(line[:LONGEST_LINE].split()) for line in lines[:_MOST_LINES] if line.strip()]


def body_of(message: Message) -> str:
    """Return what a mail says, of its plain text if it has one; of HTML, the text without its marks."""
    parts = [part for part in message.walk() if part.get_content_type() in {"text/plain", "text/html"}]
    part = min(parts, key=lambda part: part.get_content_type() != "text/plain", default=None)
    if part is None:
        return ""
    octets = part.get_payload(decode=True)
    octets = octets[: 4 * LONGEST_OPENING] if isinstance(octets, bytes) else b""
    text = octets.decode("utf-8", "replace")
    with suppress(LookupError, ValueError):
        charset = part.get_content_charset("utf-8")
        if charset.replace("-", "_") not in _NO_CHARSETS:
            text = octets.decode(charset, "replace")
    text = text[:LONGEST_OPENING]
    if part.get_content_type() == "text/html":
        text = unescape(_TAG.sub("", _BREAK.sub("\n", _UNSEEN.sub("", text))))
    return text.replace("\r\n", "\n")


def blocks(message: Message, kinds: Collection[str]) -> list[Message]:
    """Return the groups of fields in a report's machine-readable part."""
    part = next((part for part in message.walk() if part.get_content_type() in kinds), Message())
    return [opened(group) for group in re.split(rb"(?:\r?\n[ \t]*){2,}", _octets(part).strip())]


def returned_headers(message: Message) -> Message:
    """Return the headers of the letter that a report brings back, as far as it does."""
    for part in message.walk():
        if part.get_content_type() in _RETURNED:
            payload: Any = part.get_payload()
            inner = payload[0] if isinstance(payload, list) and payload else None
            return inner if isinstance(inner, Message) and inner.keys() else opened(_octets(part))
    return Message()


# RFC 3464 section 2, RFC 6533 section 4 (letters beyond ASCII), and what some programs call the second.
_RETURNED = {
    "message/rfc822", "text/rfc822-headers", "message/rfc822-headers",
    "message/global", "message/global-headers",
}  # fmt: skip


def _octets(part: Message) -> bytes:
    """Return what a part holds; of one that the library took for messages, the text that they were."""
    payload: Any = part.get_payload()
    if isinstance(payload, list):
        text = b"\n".join(inner.as_bytes() for inner in payload if isinstance(inner, Message))
        coded, part = str(part.get("Content-Transfer-Encoding", "")), Message()
        part["Content-Transfer-Encoding"] = coded
        part.set_payload(text.decode("ascii", "surrogateescape"))
    octets = part.get_payload(decode=True)
    return octets if isinstance(octets, bytes) else str(part.get_payload()).encode("utf-8", "replace")


_FIELDS = {
    "from": "from", "von": "from", "date": "date", "sent": "date", "datum": "date", "gesendet": "date",
    "subject": "subject", "betreff": "subject", "received": "received", "to": "", "an": "", "cc": "",
}  # fmt: skip
_FIELD = re.compile(r"\*?([A-Za-z][A-Za-z0-9-]*):\*?(?:[ \t]+(.*)|)$")
_WITH_NAME = re.compile(r"(?:^|\s)([^<>\n]{0,200}?)\s*<([^<>\s@]+@[^<>\s@]+)>")
# RFC 5321 section 4.5.3.1: at most 64 octets before the @, 255 after it. Without a bound, a long word without
# an @ would take time by the square of its length.
_ADDRESS = re.compile(
    r"(?<![^\s<>()\[\]:;,\"@])[^\s<>()\[\]:;,\"@]{1,64}@[^\s<>()\[\]:;,\"@]{1,250}\.[^\W\d_]{2,}"
)
# Lines of a window that stand above what was written; what lies deeper is what was written.
_WINDOW, _WINDOW_LINE = 8, 300
# So often a mail may have been sent on.
_MOST_SENT_ON = 5
_FORWARDED = re.compile(
    r"^-{3,} ?(?:forwarded message|weitergeleitete nachricht|begin forwarded message).*$|"
    r"^(?:begin forwarded message|anfang der weitergeleiteten nachricht):$",
    re.IGNORECASE | re.MULTILINE,
)
_QUOTED = (
    re.compile(r"^On\b.{6,200}\bwrote:\s*$", re.MULTILINE | re.DOTALL),
    re.compile(r"^Am\b.{6,200}\bschrieb\b.{0,120}:\s*$", re.MULTILINE | re.DOTALL),
    re.compile(r"^-{3,} ?(?:original message|ursprüngliche nachricht).*$", re.IGNORECASE | re.MULTILINE),
    re.compile(r"^_{10,}\s*$", re.MULTILINE),
    re.compile(r"^(?:From|Von): .+\n(?:Sent|Date|Gesendet|Datum): ", re.MULTILINE),
    re.compile(r"^-- $", re.MULTILINE),  # a signature: RFC 3676 section 4.3
)
# What mail programs put before the subject of what is answered or sent on (common practice, no source).
ANSWERED = r"(?:(?:re|fwd?|aw|wg|sv|vs|tr|rif|antw|antwort|odp|res|r|enc|返信|转发|回复|答复)\s*[:：]\s*)"
_REPLY = re.compile(f"^{ANSWERED}+", re.IGNORECASE)


@dataclass(frozen=True)
class Asking:
    """What a mail says of who asks, when and for what."""

    name: str = field(default="", repr=False)
    email: str = field(default="", repr=False)
    subject: str = ""
    text: str = field(default="", repr=False)  # what was written, without what it quotes
    at: datetime | None = None  # when it came in; without a zone, by the clock of whoever saw it
    by_the_post: bool = False  # whether that is the clock of the office that took it in, not the sender's


def read_asking(mail: str) -> Asking:
    """Read a mail, whatever is in it."""
    mail = mail.lstrip("\ufeff")[:LARGEST].replace("\r\n", "\n").replace("\r", "\n")
    for _ in range(_MOST_SENT_ON):
        found, sent_on = _read(mail.strip("\n"))
        if not sent_on:
            break
        mail = sent_on
    return found


def _read(mail: str) -> tuple[Asking, str]:
    """Read a mail; return the one too that it only sends on, if it does."""
    fields, rest = _headed(mail)
    if "from" not in fields:
        return _from_a_window(mail)
    at = _moment(fields.get("received", "").rpartition(";")[2])
    text = rest
    if re.search(r"(?im)^(?:content-type|content-transfer-encoding):", mail[: len(mail) - len(rest)]):
        with suppress(ValueError):
            text = body_of(opened(mail.encode("utf-8", "surrogateescape")))
    sender, sent = _sender(fields["from"]), _moment(fields.get("date", ""))
    return _told(sender, fields.get("subject", ""), text, at or sent, by_the_post=at is not None)


def _told(
    sender: tuple[str, str], subject: str, text: str, at: datetime | None, *, by_the_post: bool = False
) -> tuple[Asking, str]:
    """Put together what was found, with what was only sent on."""
    written = own_words(text)
    sent_on = _FORWARDED.search(text)
    if sent_on is not None and not text[: sent_on.start()].strip(" \n"):
        return Asking(), text[sent_on.end() :]
    return Asking(*sender, _REPLY.sub("", subject.strip()), written, at, by_the_post), ""


def _headed(mail: str) -> tuple[dict[str, str], str]:
    """Return the fields at a mail's head, decoded, the first of each name; and what comes after them."""
    head, _, rest = mail.partition("\n\n")
    lines = re.sub(r"\n[ \t]+", " ", head).split("\n")
    found: dict[str, str] = {}
    for number, line in enumerate(lines):
        shown = _FIELD.match(line)
        if shown is None:
            return (found, "\n".join([*lines[number:], "", rest])) if found else ({}, mail)
        name = _FIELDS.get(shown[1].casefold())
        if name:
            found.setdefault(name, decoded(shown[2] or ""))
    return found, rest


def _sender(text: str) -> tuple[str, str]:
    shown = _WITH_NAME.search(text)
    if shown is not None:
        return shown[1].strip(" \"'*\t"), shown[2]
    with suppress(RecursionError, LookupError, ValueError):
        name, email = parseaddr(text)
        if "@" in email:
            return name, email
    found = _ADDRESS.search(text)
    return ("", found[0]) if found else (text.strip(" \"'"), "")


def _from_a_window(mail: str) -> tuple[Asking, str]:
    """Read what a window shows without names of fields: who, a day, then what was written."""
    lines = mail.split("\n")
    name = email = ""
    at, last = None, -1
    for number, line in enumerate(lines[:_WINDOW]):
        if not email and (shown := _WITH_NAME.search(line[:_WINDOW_LINE])):
            name, email, last = shown[1].strip(" \"'\t"), shown[2], number
        if at is None and len(line) < 80 and (at := _moment(line)) is not None:
            last = number
    if last >= 0 and lines[last + 1 :][:1] and re.match(r"(?i)(?:to|an) \S.{0,80}$", lines[last + 1]):
        last += 1
    if not email and (found := _ADDRESS.search(mail)):
        email = found[0]
    return _told((name, email), "", "\n".join(lines[last + 1 :]), at)


def own_words(text: str) -> str:
    """Return what somebody wrote, without what is quoted in it and without a signature."""
    ends = [found.start() for pattern in _QUOTED if (found := pattern.search(text))]
    kept = text[: min(ends, default=len(text))]
    lines = [line.rstrip() for line in kept.split("\n") if not line.lstrip().startswith(">")]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip()


_MONTHS = "jan feb mar apr may jun jul aug sep oct nov dec"
_GERMAN = {"mär": 3, "mrz": 3, "mai": 5, "okt": 10, "dez": 12}
_MONTH = {word: number for number, word in enumerate(_MONTHS.split(), 1)} | _GERMAN
_WRITTEN = re.compile(r"\b([0-9]{1,2})(?:st|nd|rd|th)?\.? ([^\W\d_]{3,9})\.?,? ([0-9]{4})\b")
_AMERICAN = re.compile(r"\b([^\W\d_]{3,9})\.? ([0-9]{1,2})(?:st|nd|rd|th)?, ([0-9]{4})\b")
_ISO = re.compile(r"\b([0-9]{4})-([0-9]{2})-([0-9]{2})\b")
_DOTTED = re.compile(r"\b([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})\b")
_ORDERS = ((_ISO, (1, 2, 3)), (_DOTTED, (3, 2, 1)), (_WRITTEN, (3, 2, 1)), (_AMERICAN, (3, 1, 2)))
"""How days are written, and which part of each is the year, the month, the day."""
_CLOCK = re.compile(r"\b([0-9]{1,2})[:.]([0-9]{2})(?::[0-9]{2})?(?:\s?([AaPp])\.?[Mm]\b)?")


def _moment(text: str) -> datetime | None:
    """Read when a mail was written; None where it isn't plain, as with 02/03/2027."""
    text = unescape(text.strip())[:200]
    with suppress(ValueError, OverflowError, TypeError, LookupError, AttributeError):
        if re.search(r"[0-9]{4} [0-9]{2}:[0-9]{2}(?::[0-9]{2})? (?:[+-][0-9]{4}|[A-Z]{1,4})\b", text):
            return parsedate_to_datetime(text)
    read = next(((found, order) for pattern, order in _ORDERS if (found := pattern.search(text))), None)
    if read is None:
        return None
    found, order = read
    year, month, day = (found[place] for place in order)
    number = int(month) if month.isdigit() else _MONTH.get(month[:3].casefold(), 0)
    clock = _CLOCK.search(f"{text[: found.start()]} {text[found.end() :]}")
    hour, minute, half = (int(clock[1]), int(clock[2]), (clock[3] or "").casefold()) if clock else (0, 0, "")
    if half:
        hour = hour % 12 + 12 * (half == "p")
    with suppress(ValueError):
        return datetime(int(year), number, int(day), hour, minute)  # noqa: DTZ001 (the clock of whoever saw it)
    return None
