"""The date a message bears is the day it's posted."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from sitegen.letters.posting import stamped

NOW = datetime(2027, 1, 16, 11, 30, 5, 123456, tzinfo=UTC)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        # RFC 5322 section 3.3: date-time, with the offset of the studio's clock.
        ("Date: Sat, 09 Jan 2027 09:30:00 +0100", "Date: Sat, 16 Jan 2027 12:30:05 +0100"),
        ("Date: Sat, 09 Jan 2027 09:30:00 -0800", "Date: Sat, 16 Jan 2027 03:30:05 -0800"),
    ],
)
def test_the_date_is_that_of_posting(before: str, after: str) -> None:
    """In the studio's offset; what a body says of a date stays."""
    message = "To: a@b.example\r\n{}\r\nSubject: x\r\n\r\nDate: never\r\n"

    assert stamped(message.format(before).encode(), NOW) == message.format(after).encode()


def test_a_message_without_a_date_stays_as_it_is() -> None:
    """Nothing is made up."""
    assert stamped(b"To: a@b.example\r\n\r\nDate: x\r\n", NOW) == b"To: a@b.example\r\n\r\nDate: x\r\n"
