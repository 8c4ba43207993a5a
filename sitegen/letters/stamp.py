"""Date a message when it goes out: one made last week must not arrive as last week's."""

from __future__ import annotations

import re
from datetime import datetime
from email.utils import format_datetime, parsedate_to_datetime

_DATE = re.compile(rb"^Date: ([^\r\n]*)", re.MULTILINE)


def stamped(message: bytes, now: datetime) -> bytes:
    """Return a message with `now` in its Date field (RFC 5322 section 3.6.1), by the studio's clock."""
    head, gap, body = message.partition(b"\r\n\r\n")
    found = _DATE.search(head)
    if found is None:
        return message
    there = now.astimezone(parsedate_to_datetime(found[1].decode("ascii")).tzinfo)
    dated = b"Date: " + format_datetime(there).encode("ascii")
    return head[: found.start()] + dated + head[found.end() :] + gap + body
