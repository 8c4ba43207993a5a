"""Letters held to published figures: dates of the law, encoded-words, lines of RFC 5322."""

from __future__ import annotations

from datetime import date
from email.header import decode_header, make_header

import numpy as np
import pytest

from sitegen.letters import message as headers
from sitegen.letters.cautions import business_days_after
from sitegen.letters.message import quoted_printable


@pytest.mark.parametrize(
    ("day", "latest"),
    [("2025-03-03", "2025-03-17"), ("2025-03-07", "2025-03-21"), ("2025-03-08", "2025-03-21"), ("2025-11-20", "2025-12-04")],
)  # fmt: skip
def test_ten_business_days(day: str, latest: str) -> None:
    """The time to honour a request (15 U.S.C. 7704(a)(4)(A)); dates counted by NumPy's business-day calendar."""
    numpy_says = np.busday_offset(np.busday_offset(day, 0, roll="backward"), 10)

    assert business_days_after(date.fromisoformat(day), 10).isoformat() == latest == str(numpy_says)


# RFC 2047 section 8's names, encoded by us as UTF-8 and decoded by the standard library.
@pytest.mark.parametrize(
    "text", ["Keld Jørn Simonsen", "André Pirard", "Patrik Fältström", "ℵ " * 60, "東京 " * 40]
)
def test_encoded_words_decode_elsewhere(text: str) -> None:
    """Each is at most 75 characters, on a line of at most 76 (RFC 2047 section 2)."""
    field = headers.field("Subject", text)

    assert str(make_header(decode_header(field.removeprefix("Subject:").strip()))) == headers.clean(text)
    assert max(map(len, field.split("\r\n"))) <= 76


# RFC 2045 section 6.7: its own example, whose soft break may fall elsewhere.
def test_quoted_printable_of_the_standards_example() -> None:
    """ "Now's the time for all folk to come to the aid of their country.", in lines of at most 76."""
    import quopri  # noqa: PLC0415

    line = "Now's the time for all folk to come to the aid of their country. " * 2

    encoded = quoted_printable(line)

    assert max(map(len, encoded.split(b"\r\n"))) <= 76
    assert quopri.decodestring(encoded).decode() == line
