"""The calendar file that travels with a letter."""

from __future__ import annotations

from collections.abc import Sequence

from sitegen.letters.message import MailPart
from sitegen.studio.public import PublicStudio
from sitegen.voice.calendar import Event, calendar

# RFC 5546, section 3.2.1: the sender tells of an entry and asks for no answer.
_METHOD = "PUBLISH"


def dates(file: str, events: Sequence[Event], card: PublicStudio) -> MailPart:
    """Return entries as an attachment."""
    kind = f'text/calendar; charset=utf-8; method={_METHOD}; name="{file}"'
    return MailPart(kind, file, calendar(events, card, _METHOD))
