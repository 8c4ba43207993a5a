"""Pour one letter into many messages: what's common is encoded once, what's personal for each.

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
from itertools import chain

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
    address: str
    """In ASCII."""
    message_id: str
    way_out: str
    """The mailto link by which this person leaves."""
    one_click: str
    """The web address by which they do, if there is one (RFC 8058)."""
    words: Mapping[str, str]
    """Personal words of the text part, by field."""
    marked: Mapping[str, str]
    """The same as safe HTML."""


@dataclass(frozen=True, slots=True)
class MailPart:
    """One more part of the message, the same for everyone."""

    mime: str
    name: str
    content: bytes
    content_id: str | None = None
    """Set for a picture that the letter shows; None for an attachment."""


# Personal fields stand in a rendered letter between two characters that Unicode keeps for private use.
# Someone who typed such a mark would only see their own reader's greeting there.
MOMENTS = ("own_early", "own_opens", "own_closes")
FIELDS = ("greeting", "because", "way_out", "confirm", *MOMENTS)
OPENING, CLOSING = "\ue000", "\ue001"
_MARK = re.compile(f"{OPENING}({'|'.join(FIELDS)}){CLOSING}")


def slot(field: str) -> str:
    """Return the mark that a personal field leaves in a rendered letter."""
    return f"{OPENING}{field}{CLOSING}"


def fill(rendered: str, values: Mapping[str, str]) -> str:
    """Put values in the place of the marks: for the sample that the artist looks at."""
    return _MARK.sub(lambda mark: values[mark[1]], rendered)


_Body = list[bytes | tuple[str, str]]
"""Encoded text, and between it personal fields: of the `plain` or the `html` part, and which."""


class Mould:
    """One letter, ready to be poured for anyone."""

    def __init__(self, common: bytes, text: str, marked: str, parts: Sequence[MailPart] = ()) -> None:
        """Prepare what is the same for all; `common` are the header fields."""
        self._common = common
        shown = [_binary(part) for part in parts if part.content_id]
        attached = [_binary(part) for part in parts if not part.content_id]
        rich = _multipart("related", _leaf("html", marked), *shown)
        body = _multipart("alternative", _leaf("plain", text), rich)
        self._body: _Body = []
        for piece in _multipart("mixed", body, *attached):  # neighbouring bytes are joined
            if isinstance(piece, bytes) and self._body and isinstance(last := self._body[-1], bytes):
                self._body[-1] = last + piece
            else:
                self._body.append(piece)

    def pour(self, addressee: Addressee) -> bytes:
        """Make one whole message, with CRLF line ends."""
        values = {"plain": addressee.words, "html": addressee.marked}
        body = [
            piece if isinstance(piece, bytes) else quoted_printable(values[piece[0]][piece[1]])
            for piece in self._body
        ]
        return b"".join([_own_fields(addressee), self._common, *body])


def _own_fields(addressee: Addressee) -> bytes:
    """Write whom it's to and how to leave (RFC 2369 section 3.2; on the web RFC 8058 section 3.1)."""
    ways = [f"<{way}>" for way in (addressee.one_click, addressee.way_out) if way]
    lines = [
        mailbox("To", addressee.name, addressee.address),
        structured("Message-ID", f"<{addressee.message_id}>"),
        structured("List-Unsubscribe", ", ".join(ways)),
        "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n" if addressee.one_click else "",
    ]
    return "".join(lines).encode("ascii")


def quoted_printable(text: str) -> bytes:
    """Encode text as RFC 2045 section 6.7 wants it, with CRLF line ends."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    # Given CRLF, the standard function still writes soft breaks as a bare LF in a text of one line.
    return binascii.b2a_qp(lines.encode("utf-8"), istext=True).replace(b"\n", b"\r\n")


def _leaf(kind: str, rendered: str) -> _Body:
    """Cut a rendered part at its marks; a soft line break joins what stands in one line."""
    head = f"Content-Type: text/{kind}; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
    pieces: _Body = [head.encode("ascii")]
    cuts = _MARK.split(rendered)
    for place, cut in enumerate(cuts):
        if place % 2 == 0:
            pieces.append(quoted_printable(cut))
            continue
        before, after = cuts[place - 1], cuts[place + 1]
        soft = b"=\r\n" if before and not before.endswith("\n") else b""
        pieces += [soft, (kind, cut), b"" if after.startswith("\n") else b"=\r\n"]
    return pieces


def _binary(part: MailPart) -> _Body:
    standing = "inline" if part.content_id else "attachment"
    lines = [
        structured("Content-Type", part.mime),
        structured("Content-Disposition", f'{standing}; filename="{part.name}"'),
        "Content-Transfer-Encoding: base64\r\n",
        structured("Content-ID", f"<{part.content_id}>") if part.content_id else "",
    ]
    coded = binascii.b2a_base64(part.content, newline=False)
    rows = [coded[at : at + 76] for at in range(0, len(coded), 76)]  # RFC 2045 section 6.8
    return ["".join(lines).encode("ascii") + b"\r\n" + b"\r\n".join(rows)]


def _multipart(kind: str, *parts: _Body) -> _Body:
    """Put a frame around more than one part. The boundary comes from the content: same letter, same bytes.

    `=_` can't occur in quoted-printable (RFC 2045 section 6.7), nor `_` in base64.
    """
    if len(parts) == 1:
        return parts[0]
    digest = hashlib.sha256(kind.encode("ascii"))
    for piece in chain.from_iterable(parts):
        digest.update(piece if isinstance(piece, bytes) else piece[1].encode("ascii"))
    boundary = f"=_{digest.hexdigest()[:24]}"
    head = structured("Content-Type", f'multipart/{kind}; boundary="{boundary}"')
    framed = ([f"--{boundary}\r\n".encode(), *part, b"\r\n"] for part in parts)
    return [f"{head}\r\n".encode(), *chain.from_iterable(framed), f"--{boundary}--\r\n".encode()]


# RFC 5546, section 3.2.1: the sender tells of an entry and asks for no answer.
_METHOD = "PUBLISH"


def dates(file: str, events: Sequence[Event], card: PublicStudio) -> MailPart:
    """Return entries as an attachment."""
    kind = f'text/calendar; charset=utf-8; method={_METHOD}; name="{file}"'
    return MailPart(kind, file, calendar(events, card, _METHOD))
