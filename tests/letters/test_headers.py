"""Header fields: short lines, nothing injected, every word read back as typed."""

from __future__ import annotations

import re
import unicodedata
from email import message_from_bytes, policy
from email.header import decode_header, make_header
from email.utils import parseaddr

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sitegen.letters import message as headers
from sitegen.studio.settings import mailto

TEXT = st.text(st.characters(codec="utf-8"), max_size=150)


def read_back(field: str) -> str:
    """Read one header field with the standard library's parser."""
    message = message_from_bytes(field.encode("ascii") + b"\r\nbody", policy=policy.default)
    assert len(message.items()) == 1
    assert message.get_content() == "body" if hasattr(message, "get_content") else True
    ((_, value),) = message.items()
    assert not value.defects
    return str(value)


def name_in(field: str) -> str:
    """Read the name before an address.

    The older parser: the newer one of Python 3.11 puts a blank between encoded-words in a name, against
    RFC 2047 section 6.2.
    """
    phrase = (
        field.removeprefix("To:").strip().removesuffix("ada@example.com").removesuffix("<ada@example.com>")
    )
    if "=?" in phrase:
        return str(make_header(decode_header(phrase.strip())))
    return parseaddr(f"{phrase}<ada@example.com>")[0]


def lines_are_short(field: str) -> bool:
    """78 characters; 76 where an encoded-word stands; an encoded-word at most 75."""
    assert field.endswith("\r\n")
    lines = field[:-2].split("\r\n")
    assert all(line.strip() for line in lines)
    assert all(len(word) <= 75 for word in re.findall(r"=\?[^ ]*\?=", field))
    return all(len(line) <= (76 if "=?" in line else 78) for line in lines)


@given(TEXT)
@example("a" * 69)
@example("a" * 70)
def test_any_subject_comes_back_in_short_lines(text: str) -> None:
    """Whatever is typed is one field, within the limits, and reads as its cleaned self."""
    field = headers.field("Subject", text)

    assert lines_are_short(field)
    assert read_back(field) == headers.clean(text)


@given(TEXT)
def test_any_name_comes_back_beside_its_address(text: str) -> None:
    """Whatever the name, there is one mailbox and it's the right one."""
    field = headers.mailbox("To", text, "ada@example.com")

    message = message_from_bytes(field.encode("ascii") + b"\r\n", policy=policy.default)
    (mailbox,) = message["To"].addresses
    assert mailbox.addr_spec == "ada@example.com"
    assert name_in(field) == headers.clean(text)[: headers.LONGEST_NAME].strip()
    assert lines_are_short(field)


@given(TEXT)
def test_cleaning_takes_out_what_no_line_may_hold(text: str) -> None:
    """No control, format, private-use or surrogate character is left but the two joiners; NFC throughout."""
    cleaned = headers.clean(text)

    assert cleaned == unicodedata.normalize("NFC", cleaned)
    assert headers.clean(cleaned) == cleaned
    kinds = {unicodedata.category(c) for c in cleaned if c not in "\u200c\u200d"}
    assert not kinds & {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


@pytest.mark.parametrize("name", ["می\u200cخواهم", "👩\u200d🚀 Ada"])
def test_joiners_within_a_word_stay(name: str) -> None:
    """Persian writes with U+200C (RFC 5892 appendix A.1), emoji join with U+200D (UTS 51 section 2.3)."""
    assert headers.clean(name) == name


def test_a_line_is_filled_up_to_its_last_character() -> None:
    """78 characters stand on one line, the 79th begins another (RFC 5322 section 2.1.1); nothing is encoded."""
    assert headers.field("Subject", f"two {'w' * 65}") == f"Subject: two {'w' * 65}\r\n"
    assert headers.field("Subject", f"two {'w' * 66}") == f"Subject: two\r\n {'w' * 66}\r\n"
    assert headers.field("Subject", "w" * 69) == f"Subject: {'w' * 69}\r\n"


def test_a_very_long_address_still_has_a_field_of_its_own() -> None:
    """254 characters can't be folded; the line stays within the hard limit of 998."""
    address = f"{'a' * 64}@{'b' * 63}.{'c' * 63}.{'d' * 61}"

    field = headers.mailbox("To", "Ada", address)

    assert field == f"To: Ada\r\n <{address}>\r\n"


@pytest.mark.parametrize(
    ("subject", "link"),
    [
        ("leave abcdefgh", "mailto:hello@studio.example?subject=leave%20abcdefgh"),
        ("Commission: A & B?", "mailto:hello@studio.example?subject=Commission%3A%20A%20%26%20B%3F"),
    ],
)
def test_a_mailto_link_quotes_its_subject(subject: str, link: str) -> None:
    """RFC 6068 section 2: what has a meaning in a link is percent-encoded."""
    assert mailto("hello@studio.example", subject) == link
