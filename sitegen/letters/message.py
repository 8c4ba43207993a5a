"""Pour one letter into many messages: what's common is encoded once, what's personal for each.

The standard library's `email` builds and flattens a tree for every message; a list of ten thousand
wants a mould instead. Every message is RFC 5322 with a multipart/alternative body, plainest first
(RFC 2046 section 5.1.4), in quoted-printable.
"""

from __future__ import annotations

import binascii
import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from sitegen.letters import headers
from sitegen.studio.public import PublicStudio
from sitegen.voice.calendar import Event, calendar


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


@dataclass(frozen=True, slots=True)
class _Slot:
    marked: bool
    field: str


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


class Mould:
    """One letter, ready to be poured for anyone."""

    def __init__(self, common: bytes, text: str, marked: str, parts: Sequence[MailPart] = ()) -> None:
        """Prepare what is the same for all; `common` are the header fields."""
        self._common = common
        shown = [_binary(part) for part in parts if part.content_id]
        attached = [_binary(part) for part in parts if not part.content_id]
        rich = _multipart("related", _leaf("html", marked), *shown)
        body = _multipart("alternative", _leaf("plain", text), rich)
        self._body = _joined(_multipart("mixed", body, *attached))

    def pour(self, addressee: Addressee) -> bytes:
        """Make one whole message, with CRLF line ends."""
        values = {False: addressee.words, True: addressee.marked}
        body = [
            piece if isinstance(piece, bytes) else quoted_printable(values[piece.marked][piece.field])
            for piece in self._body
        ]
        return b"".join([_own_fields(addressee), self._common, *body])


def _own_fields(addressee: Addressee) -> bytes:
    """Write whom it's to and how to leave (RFC 2369 section 3.2; on the web RFC 8058 section 3.1)."""
    ways = [f"<{way}>" for way in (addressee.one_click, addressee.way_out) if way]
    lines = [
        headers.mailbox("To", addressee.name, addressee.address),
        headers.structured("Message-ID", f"<{addressee.message_id}>"),
        headers.structured("List-Unsubscribe", ", ".join(ways)),
        "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n" if addressee.one_click else "",
    ]
    return "".join(lines).encode("ascii")


def quoted_printable(text: str) -> bytes:
    """Encode text as RFC 2045 section 6.7 wants it, with CRLF line ends."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    # Given CRLF, the standard function still writes soft breaks as a bare LF in a text of one line.
    return binascii.b2a_qp(lines.encode("utf-8"), istext=True).replace(b"\n", b"\r\n")


_Body = list[bytes | _Slot]


def _leaf(kind: str, rendered: str) -> _Body:
    """Cut a rendered part at its marks; a soft line break joins what stands in one line."""
    head = f"Content-Type: text/{kind}; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
    pieces: _Body = [head.encode("ascii")]
    cuts = _MARK.split(rendered)
    for place, cut in enumerate(cuts):
        if place % 2:
            before, after = cuts[place - 1], cuts[place + 1]
            if before and not before.endswith("\n"):
                pieces.append(b"=\r\n")
            pieces.append(_Slot(kind == "html", cut))
            if not after.startswith("\n"):
                pieces.append(b"=\r\n")
        else:
            pieces.append(quoted_printable(cut))
    return pieces


def _binary(part: MailPart) -> _Body:
    standing = "inline" if part.content_id else "attachment"
    lines = [
        headers.structured("Content-Type", part.mime),
        headers.structured("Content-Disposition", f'{standing}; filename="{part.name}"'),
        "Content-Transfer-Encoding: base64\r\n",
    ]
    if part.content_id:
        lines.append(headers.structured("Content-ID", f"<{part.content_id}>"))
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
        digest.update(piece if isinstance(piece, bytes) else piece.field.encode("ascii"))
    boundary = f"=_{digest.hexdigest()[:24]}"
    head = headers.structured("Content-Type", f'multipart/{kind}; boundary="{boundary}"')
    whole: _Body = [head.encode("ascii") + b"\r\n"]
    for part in parts:
        whole += [f"--{boundary}\r\n".encode("ascii"), *part, b"\r\n"]
    return [*whole, f"--{boundary}--\r\n".encode("ascii")]


def _joined(body: _Body) -> _Body:
    """Join neighbouring bytes, so that pouring has few pieces to handle."""
    joined: _Body = []
    for piece in body:
        if isinstance(piece, bytes) and joined and isinstance(joined[-1], bytes):
            joined[-1] += piece
        else:
            joined.append(piece)
    return joined


# RFC 5546, section 3.2.1: the sender tells of an entry and asks for no answer.
_METHOD = "PUBLISH"


def dates(file: str, events: Sequence[Event], card: PublicStudio) -> MailPart:
    """Return entries as an attachment."""
    kind = f'text/calendar; charset=utf-8; method={_METHOD}; name="{file}"'
    return MailPart(kind, file, calendar(events, card, _METHOD))
