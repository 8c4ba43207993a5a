"""When two entries are one person's, and which day holds."""

from __future__ import annotations

from datetime import date

import pytest

from sitegen.studio.commission import Client, same_person


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (("Ana", "ana@mail.example"), ("Anna", "ANA@Mail.example "), True),
        (("Ana", "ana@mail.example"), ("Ana", "ana@post.example"), False),
        (("Ana", "ana@mail.example"), (" ana ", ""), True),
        (("Ana  Å", " "), ("ana å", "ana@mail.example"), True),
        (("Ana", ""), ("Ben", ""), False),
        (("", ""), ("", ""), False),
        (("", "ana@mail.example"), ("", ""), False),
        (("", "ana@mail.example"), ("", "ana@mail.example"), True),
    ],
)
def test_a_person_is_known_by_address_and_else_by_name(
    one: tuple[str, str], other: tuple[str, str], same: bool
) -> None:
    """Two people may share a name; nobody without both is anybody."""
    entries = [Client(name=name, email=email) for name, email in (one, other)]

    assert same_person(*entries) is same
    assert same_person(*reversed(entries)) is same


def test_the_newest_day_that_was_named_holds() -> None:
    first, second, third = date(2027, 1, 1), date(2027, 2, 1), date(2027, 3, 1)

    assert Client().promised_now is None
    assert Client(promised=first).promised_now == first
    assert Client(promised=first, new_days=(second, third)).promised_now == third
