"""Picking people by plain words."""

from __future__ import annotations

from datetime import date

import pytest

from sitegen.studio.person import Consent, Interest, Left, Person, Why, picker

ALL = {
    "ada": Person("ada", "Ada", frozenset({Interest.COMMISSIONS}), None, Consent.WEB),
    "ben": Person("ben", "", frozenset({Interest.SHOWS, Interest.NEW_PIECES}), None, Consent.PURCHASE),
    "cy": Person("cy", "Cy", frozenset({Interest.COMMISSIONS}), None, Consent.PURCHASE),
    "dot": Person("dot", "Dot", frozenset(), None, Consent.NOT_CONFIRMED),
    "eve": Person(
        "eve", "Eve", frozenset({Interest.SHOWS}), None, None, "", Left(date(2026, 1, 1), Why.BOUNCED)
    ),
}


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("commissions", "ada cy"),
        ("commissions and not buyer", "ada"),
        ("shows or commissions and buyer", "ben cy eve"),
        ("(shows or commissions) and buyer", "ben cy"),
        ("new  pieces", "ben"),
        ("not confirmed", "dot"),
        ("not confirmed by mail and not not confirmed", "ada ben cy eve"),
        ("not not confirmed and not left", "ada ben cy"),
        ("left", "eve"),
        ("bounced or nameless", "ben eve"),
        ("no consent", "eve"),
        ("everyone", "ada ben cy dot eve"),
        ("NOT Everyone", ""),
    ],
)
def test_words_pick_people(words: str, names: str) -> None:
    """`not` binds closest, then `and`, then `or`."""
    test = picker(words)

    assert " ".join(person.email for person in ALL.values() if test(person)) == names


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("comissions", "'comissions' is not one of .*; did you mean 'commissions'?"),
        ("shows and", "a word is missing"),
        ("(shows", "a bracket isn't closed"),
        ("shows )", r"'\)' is too much"),
        ("", "a word is missing"),
    ],
)
def test_what_cant_be_understood_is_said(words: str, sentence: str) -> None:
    """With the words there are."""
    with pytest.raises(ValueError, match=sentence):
        picker(words)
