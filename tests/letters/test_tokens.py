"""Tokens by which people leave."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from sitegen.letters.folder import make_token, who
from tests.letters.studio import ADA, PEOPLE, SECRET


def test_a_token_leads_back_to_its_owner_in_any_case() -> None:
    """Mail programs may change the case of a subject."""
    token = make_token(SECRET, "ada@example.com")

    assert who(token, SECRET, PEOPLE) == "ada@example.com"
    assert who(token.upper() + " ", SECRET, PEOPLE) == "ada@example.com"


def test_the_same_mailbox_has_the_same_token() -> None:
    """A row in other capitals is the same person."""
    assert who(make_token(SECRET, "ada@example.com"), SECRET, [replace(ADA, email="ADA@EXAMPLE.COM")])


def test_another_secret_makes_other_tokens() -> None:
    """Who hasn't the secret can't make anyone leave."""
    assert who(make_token(b"another key", "ada@example.com"), SECRET, PEOPLE) is None


@given(st.text(max_size=40))
def test_made_up_tokens_belong_to_nobody(token: str) -> None:
    """Any text at all is taken, and means nothing."""
    assert who(token, SECRET, PEOPLE) is None
