"""Pour one letter into messages: the frame and what it carries are made once, what is read for each.

The standard library's `email` builds and flattens a tree for every message; a list of ten thousand
wants a mould instead. Every message is RFC 5322 with a multipart/alternative body, plainest first
(RFC 2046 section 5.1.4), in quoted-printable. Nothing a person typed can start a header field of its own;
lines stay within 78 characters where the words allow it (RFC 5322 section 2.1.1), text beyond ASCII goes
into encoded-words of at most 75 characters on lines of at most 76 (RFC 2047 section 2).
"""

from __future__ import annotations

import binascii
import hashlib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from email.charset import BASE64, Charset
from email.header import Header
from email.utils import quote as escaped

from sitegen.studio.public import PublicStudio
from sitegen.voice.calendar import Event, calendar

LINE, ENCODED_LINE = 78, 76
# Longer than any name on a doorbell; a pasted page must not become a header.
LONGEST_NAME = 120

_ATOMS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~ -]+")
# Joiners that Persian, Hindi and family emoji need; other format characters can turn text around.
_JOINERS = {"\u200c", "\u200d"}
_DROPPED = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
_UTF8 = Charset("utf-8")
_UTF8.header_encoding = BASE64


def clean(text: str) -> str:
    """Return a text as one line of NFC without control, format, private or broken characters."""
    composed = unicodedata.normalize("NFC", text)
    if composed.isascii() and composed.isprintable():
        return " ".join(composed.split())
    kept = (c if c in _JOINERS or unicodedata.category(c) not in _DROPPED else " " for c in composed)
    return " ".join("".join(kept).split())


def field(name: str, text: str) -> str:
    """Write a field of plain words, such as Subject, folded and encoded as it needs."""
    words = clean(text)
    longest = max(map(len, words.split()), default=0)
    fits = words.isascii() and "=?" not in words and len(f"{name}: ") + longest <= LINE
    return _fold(name, words.split() if fits else _encoded_words(name, words))


def mailbox(name: str, person: str, address: str) -> str:
    """Write a field with one mailbox: a person's name, if any, and an ASCII address."""
    words = clean(person)[:LONGEST_NAME].strip()
    if not words:
        return f"{name}: {address}\r\n"
    if not words.isascii() or "=?" in words:
        parts = _encoded_words(name, words)
    else:
        parts = [words if _ATOMS.fullmatch(words) else f'"{escaped(words)}"']
    return _fold(name, [*parts, f"<{address}>"])


def structured(name: str, text: str) -> str:
    """Write a field whose ASCII words must stay as they are, on a new line where they're long."""
    return _fold(name, text.split())


def _fold(name: str, words: list[str]) -> str:
    lines, line = [], f"{name}:"
    for word in words:
        limit = ENCODED_LINE if "=?" in word or "=?" in line else LINE
        if len(line) + 1 + len(word) > limit:
            lines.append(line)
            line = ""
        line += f" {word}"
    return "\r\n".join([*lines, line]) + "\r\n"


def _encoded_words(name: str, words: str) -> list[str]:
    """Split into base64 encoded-words; the first leaves room for the field's name."""
    return Header(words, _UTF8, maxlinelen=ENCODED_LINE, header_name=name).encode().split()


@dataclass(frozen=True, slots=True)
class Addressee:
    """What one message has of its own."""

    name: str
    address: str  # in ASCII
    words: Mapping[str, str]  # personal words of the text part, by field
    marked: Mapping[str, str]  # the same as safe HTML
    message_id: str = ""
    way_out: str = ""  # the mailto link by which this person leaves a list
    one_click: str = ""  # the web address by which they do, if there is one (RFC 8058)


@dataclass(frozen=True, slots=True)
class MailPart:
    """One more part of the message, the same for everyone."""

    mime: str
    name: str
    content: bytes
    content_id: str | None = None  # set for a picture that the letter shows; None for an attachment


# Personal fields stand in a rendered letter between two characters that Unicode keeps for private use.
# Someone who typed such a mark would only see their own reader's greeting there.
MOMENTS = ("own_early", "own_opens", "own_closes")
FIELDS = ("greeting", "because", "way_out", "confirm", *MOMENTS)
OPENING, CLOSING = "\ue000", "\ue001"
_MARK = re.compile(f"{OPENING}({'|'.join(FIELDS)}){CLOSING}")


def slot(field: str) -> str:
    """Return the mark that a personal field leaves in a rendered letter."""
    return f"{OPENING}{field}{CLOSING}"


def _fill(parts: Sequence[str], values: Mapping[str, str]) -> str:
    """Put the values between the parts of a text split at its marks: every second one names a field."""
    return "".join([values[part] if at % 2 else part for at, part in enumerate(parts)])


# Where the text and the HTML of each message go; no byte of a header, of base64 or of a boundary.
_OPEN = b"\0"


class Mould:
    """One letter, ready to be poured for anyone."""

    def __init__(self, common: bytes, text: str, marked: str, parts: Sequence[MailPart] = ()) -> None:
        """Prepare what is the same for all; `common` are the header fields.

        The boundary comes from the content: same letter, same bytes. `=_` can't occur in quoted-printable
        (RFC 2045 section 6.7), nor `_` in base64.
        """
        self.parts, self._common = parts, common
        self._text, self._marked = _MARK.split(text), _MARK.split(marked)
        digest = hashlib.sha256((text + marked).encode("utf-8")).hexdigest()[:24]

        def framed(kind: str, *inside: bytes) -> bytes:
            if len(inside) == 1:
                return inside[0]
            boundary = f"=_{kind}_{digest}"
            head = structured("Content-Type", f'multipart/{kind}; boundary="{boundary}"')
            rows = (f"--{boundary}\r\n".encode() + part + b"\r\n" for part in inside)
            return b"".join([f"{head}\r\n".encode(), *rows, f"--{boundary}--\r\n".encode()])

        rich = framed("related", _leaf("html"), *(_binary(part) for part in parts if part.content_id))
        attached = (_binary(part) for part in parts if not part.content_id)
        self._frame = framed("mixed", framed("alternative", _leaf("plain"), rich), *attached).split(_OPEN)

    def read_by(self, addressee: Addressee) -> tuple[str, str]:
        """Return text and HTML as someone reads them."""
        return _fill(self._text, addressee.words), _fill(self._marked, addressee.marked)

    def pour(self, addressee: Addressee) -> bytes:
        """Make one whole message, with CRLF line ends.

        It says how to leave (RFC 2369 section 3.2; on the web RFC 8058 section 3.1), unless it's no letter of
        the list.
        """
        ways = ", ".join(f"<{way}>" for way in (addressee.one_click, addressee.way_out) if way)
        own = [
            mailbox("To", addressee.name, addressee.address),
            structured("Message-ID", f"<{addressee.message_id}>"),
            structured("List-Unsubscribe", ways) if ways else "",
            "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n" if addressee.one_click else "",
        ]
        before, between, after = self._frame
        text, marked = map(quoted_printable, self.read_by(addressee))
        return b"".join(["".join(own).encode("ascii"), self._common, before, text, between, marked, after])


def quoted_printable(text: str) -> bytes:
    """Encode text as RFC 2045 section 6.7 wants it, with CRLF line ends."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    # Given CRLF, the standard function still writes soft breaks as a bare LF in a text of one line.
    return binascii.b2a_qp(lines.encode("utf-8"), istext=True).replace(b"\n", b"\r\n")


def _leaf(kind: str) -> bytes:
    head = f"Content-Type: text/{kind}; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
    return head.encode("ascii") + _OPEN


def _binary(part: MailPart) -> bytes:
    standing = "inline" if part.content_id else "attachment"
    lines = [
        structured("Content-Type", part.mime),
        structured("Content-Disposition", f'{standing}; filename="{part.name}"'),
        "Content-Transfer-Encoding: base64\r\n",
        structured("Content-ID", f"<{part.content_id}>") if part.content_id else "",
    ]
    coded = binascii.b2a_base64(part.content, newline=False)
    rows = [coded[at : at + 76] for at in range(0, len(coded), 76)]  # RFC 2045 section 6.8
    return "".join(lines).encode("ascii") + b"\r\n" + b"\r\n".join(rows)


def dates(file: str, events: Sequence[Event], card: PublicStudio) -> MailPart:
    """Return entries as an attachment that tells of them and asks for no answer (RFC 5546 section 3.2.1)."""
    kind = f'text/calendar; charset=utf-8; method=PUBLISH; name="{file}"'
    return MailPart(kind, file, calendar(events, card, "PUBLISH"))
