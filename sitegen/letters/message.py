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
from datetime import datetime
from email.utils import format_datetime

from sitegen.letters import headers
from sitegen.studio.public import PublicStudio
from sitegen.voice.calendar import Event, calendar


@dataclass(frozen=True, slots=True)
class Envelope:
    """What all messages of one letter share at the top."""

    sender: str
    """Display name."""
    contact: str
    """Address of From and Reply-To, in ASCII."""
    subject: str
    date: datetime
    list_name: str
    list_id: str
    """Host-like name (RFC 2919)."""
    ident: str
    """The letter's own name, which starts every Message-ID."""


@dataclass(frozen=True, slots=True)
class Addressee:
    """What one message has of its own."""

    name: str
    address: str
    """In ASCII."""
    message_name: str
    """What tells this message's Message-ID from the others'."""
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
FIELDS = ("greeting", "because", "way_out", *MOMENTS)
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

    def __init__(self, envelope: Envelope, text: str, marked: str, parts: Sequence[MailPart] = ()) -> None:
        self.envelope = envelope
        self._common = _common_fields(envelope)
        shown = [part for part in parts if part.content_id]
        attached = [part for part in parts if not part.content_id]
        body = _alternative(_leaf("plain", text, marked=False), _with_pictures(marked, shown))
        self._body = _joined(_with_attachments(body, attached))

    def pour(self, addressee: Addressee) -> bytes:
        """Make one whole message, with CRLF line ends."""
        values = {False: addressee.words, True: addressee.marked}
        body = [
            piece if isinstance(piece, bytes) else quoted_printable(values[piece.marked][piece.field])
            for piece in self._body
        ]
        return b"".join([self._own_fields(addressee), self._common, *body])

    def _own_fields(self, addressee: Addressee) -> bytes:
        _, _, domain = self.envelope.contact.rpartition("@")
        lines = [
            headers.mailbox("To", addressee.name, addressee.address),
            headers.structured("Message-ID", f"<{self.envelope.ident}.{addressee.message_name}@{domain}>"),
            *_way_out(addressee),
        ]
        return "".join(lines).encode("ascii")


def _way_out(addressee: Addressee) -> list[str]:
    """Write how to leave: RFC 2369 section 3.2, and RFC 8058 section 3.1 where a web address takes it."""
    if not addressee.one_click:
        return [headers.structured("List-Unsubscribe", f"<{addressee.way_out}>")]
    both = f"<{addressee.one_click}>, <{addressee.way_out}>"
    return [
        headers.structured("List-Unsubscribe", both),
        "List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n",
    ]


def quoted_printable(text: str) -> bytes:
    """Encode text as RFC 2045 section 6.7 wants it, with CRLF line ends."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    # Given CRLF, the standard function still writes soft breaks as a bare LF in a text of one line.
    return binascii.b2a_qp(lines.encode("utf-8"), istext=True).replace(b"\n", b"\r\n")


def _common_fields(envelope: Envelope) -> bytes:
    lines = [
        headers.mailbox("From", envelope.sender, envelope.contact),
        headers.mailbox("Reply-To", "", envelope.contact),
        headers.field("Subject", envelope.subject),
        headers.structured("Date", format_datetime(envelope.date)),
        headers.mailbox("List-Id", envelope.list_name, envelope.list_id),
        "MIME-Version: 1.0\r\n",
    ]
    return "".join(lines).encode("ascii")


_Body = list[bytes | _Slot]


def _leaf(kind: str, rendered: str, *, marked: bool) -> _Body:
    head = f"Content-Type: text/{kind}; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n"
    return [head.encode("ascii"), *_pieces(rendered, marked=marked)]


def _pieces(rendered: str, *, marked: bool) -> _Body:
    """Cut a rendered part at its marks; a soft line break joins what stands in one line."""
    pieces: _Body = []
    cuts = _MARK.split(rendered)
    for place, cut in enumerate(cuts):
        if place % 2:
            before, after = cuts[place - 1], cuts[place + 1]
            own: _Body = [_Slot(marked, cut)]
            if before and not before.endswith("\n"):
                own.insert(0, b"=\r\n")
            if not after.startswith("\n"):
                own.append(b"=\r\n")
            pieces += own
        else:
            pieces.append(quoted_printable(cut))
    return pieces


def _alternative(plain: _Body, rich: _Body) -> _Body:
    return _multipart("alternative", [plain, rich])


def _with_pictures(marked: str, shown: Sequence[MailPart]) -> _Body:
    letter = _leaf("html", marked, marked=True)
    return _multipart("related", [letter, *map(_binary, shown)]) if shown else letter


def _with_attachments(body: _Body, attached: Sequence[MailPart]) -> _Body:
    return _multipart("mixed", [body, *map(_binary, attached)]) if attached else body


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


def _multipart(kind: str, parts: Sequence[_Body]) -> _Body:
    boundary = _boundary(kind, parts)
    head = headers.structured("Content-Type", f'multipart/{kind}; boundary="{boundary}"')
    whole: _Body = [head.encode("ascii") + b"\r\n"]
    for part in parts:
        whole += [f"--{boundary}\r\n".encode("ascii"), *part, b"\r\n"]
    return [*whole, f"--{boundary}--\r\n".encode("ascii")]


def _boundary(kind: str, parts: Sequence[_Body]) -> str:
    """Derive the boundary from the content: same letter, same bytes.

    `=_` can't occur in quoted-printable (RFC 2045 section 6.7), nor `_` in base64.
    """
    digest = hashlib.sha256(kind.encode("ascii"))
    for part in parts:
        for piece in part:
            digest.update(piece if isinstance(piece, bytes) else piece.field.encode("ascii"))
    return f"=_{digest.hexdigest()[:24]}"


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
