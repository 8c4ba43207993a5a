"""What the artist is told to check."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sitegen.letters.cautions import NOT_ADVICE, business_days_after, cautions, kept
from sitegen.studio.mailing import choose
from sitegen.studio.person import Consent, Interest
from tests.letters.studio import ADA, PEOPLE

TODAY = date(2027, 1, 9)


def said(subject: str, text: str, *people: object) -> str:
    chosen = choose(people or PEOPLE, Interest.COMMISSIONS, TODAY)  # type: ignore[arg-type]
    return "\n".join(cautions(subject, text, chosen, "hello@studio.example", TODAY))


def test_a_subject_that_promises_more_than_the_letter() -> None:
    """Numbers and telling words of the subject must stand in the letter (15 U.S.C. 7704(a)(2) in spirit)."""
    assert "The subject says 12, discount, but the letter doesn't." in said(
        "12 places, discount", "Five places."
    )
    assert "The subject says" not in said("Five Places", "five places")


def test_consent_without_evidence_is_counted_and_pointed_at() -> None:
    """GDPR Art. 7(1): the sender must be able to show it."""
    assert "1 person has no evidence noted" in said("", "")
    assert "The first: line 4 of people.csv." in said("", "")


def test_buyers_are_counted() -> None:
    """Directive 2002/58/EC Art. 13(2)."""
    buyer = replace(ADA, consent=Consent.PURCHASE)

    assert "1 person has only a purchase as consent" in said("", "", buyer)
    assert "purchase" not in said("", "", ADA)


def test_it_says_until_when_and_that_it_is_no_advice() -> None:
    """60 days of Canada's rule from 2027-01-09."""
    assert "until 2027-03-10 at least" in said("", "")
    assert (
        "gets no letter 10 business days later (US, Canada): for a request made today that is 2027-01-22"
        in said("", "")
    )
    assert "Subject and letter say the same" in said("", "")
    assert "not legal advice" in NOT_ADVICE


@given(st.dates(date(2020, 1, 1), date(2035, 1, 1)), st.integers(0, 60))
def test_business_days_are_those_of_another_count(day: date, count: int) -> None:
    """NumPy's busday_offset, Monday to Friday; a request made at a weekend counts from the Friday before."""
    other = np.busday_offset(day, count, roll="backward").astype(object) if count else day

    assert business_days_after(day, count) == other


def test_what_the_letter_keeps_by_itself_is_listed() -> None:
    """Beside what only the artist can check."""
    listed = "\n".join(kept(choose(PEOPLE, Interest.COMMISSIONS, TODAY), "hello@studio.example"))

    assert "your own name and hello@studio.example" in listed
    assert "postal address" in listed
    assert "All 3 recipients have a row that says how they agreed" in listed
    alone = kept(choose([ADA], Interest.COMMISSIONS, TODAY), "hello@studio.example")
    assert "The one recipient has a row that says how they agreed" in "\n".join(alone)


def test_words_that_promise_nothing_are_not_asked_about() -> None:
    """As `and others`, and words of up to four letters; each missing word is asked about once."""
    assert "The subject says" not in said("The Owl and others, with another", "The Owl")
    assert "The subject says moths, but" in said("Moths fly: moths", "Nothing")
