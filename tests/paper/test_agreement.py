"""The agreement on a commission or a payment plan."""

from __future__ import annotations

import dataclasses
import re
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from sitegen.paper.agreement import agreement
from sitegen.paper.press import Printer
from sitegen.studio.plan import Part, PartKind, Plan
from sitegen.studio.terms import Agreed
from sitegen.studio.whole import KeptTerms
from sitegen.voice.theme_files import ThemeFiles
from tests.paper.makers import CASE, SENTINEL, front
from tests.paper.reading import everything, flowing, reader, texts
from tests.themes import ALL


def terms(text: str) -> KeptTerms:
    return KeptTerms("commission-terms", "2027-01", "Handwork", text)


def plan(price: str = "1000.01", charge: str = "0") -> Plan:
    """Lay out a deposit and three instalments, a month apart."""
    parts = zip(
        (PartKind.DEPOSIT, *[PartKind.INSTALMENT] * 3),
        (date(2027, 1, 31), date(2027, 2, 28), date(2027, 3, 31), date(2027, 4, 30)),
        ("200.00", "266.67", "266.67", "266.67"),
        strict=True,
    )
    paid = tuple(Part(kind, due, due, Decimal(amount)) for kind, due, amount in parts)
    return Plan(Decimal(price), Decimal(charge), 2, 7, paid, ())


AGREED = Agreed(
    code="W27-1",
    work="Small figure, a beekeeper in mourning",
    commission=True,
    plan=plan(),
    terms=(
        terms("## Scope\n\nOne figure, by hand.\n\n- One *sketch*.\n- One [photograph](https://a.example)."),
    ),
    client="Ottilie Brandt",
    ready_by=date(2027, 6, 30),
    facts=(("height", "25 cm"),),
)


def make(paper: str = "a4", settings: dict[str, Any] | None = None, **changes: Any) -> bytes:
    return agreement(Printer(front(**(settings or {})), CASE, paper), dataclasses.replace(AGREED, **changes))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_says_who_what_and_when(paper: str) -> None:
    """Both sides, the work, the schedule in order of its days, the terms and two places to sign."""
    words = flowing(make(paper))

    for part in ("Commission agreement", "W27-1", "Ines Corvane, Saltglass Studio", "Ottilie Brandt",
                 "beekeeper in mourning", "Height 25 cm", "Ready by 30 June 2027"):  # fmt: skip
        assert part in words
    assert re.search(
        r"1 deposit 31 January 2027 €200\.00 2 first instalment 28 February 2027 €266\.67 3 second instalment "
        r"31 March 2027 €266\.67 4 third instalment 30 April 2027 €266\.67 Together €1,000\.01",
        words,
    )
    assert "terms, version 2027-01" in words.lower()
    assert "One figure, by hand." in words
    assert "The maker, Ines Corvane Date" in words
    assert "The client, Ottilie Brandt Date" in words


def test_missing_client_is_a_line_to_write_on() -> None:
    """An agreement can be printed before the client's name is known."""
    words = flowing(make(client="", ready_by=None))

    assert "The client Date" in words
    assert "Ready by" not in words


def test_charge_is_told_and_counted() -> None:
    """What paying later costs stands beside the price and in the sum."""
    words = flowing(make(plan=plan("980.01", "20.00"), commission=False))

    assert "€980.01, and a charge of €20.00 for paying later" in words
    assert "Together €1,000.01" in words
    assert "Payment agreement" in words


def test_long_terms_run_on_and_every_page_is_counted() -> None:
    """Ten pages of terms keep the code and the count on each, and the signatures on the last."""
    pages = texts(make(terms=(*AGREED.terms, terms(("Word " * 60 + "\n\n") * 80))))

    assert len(pages) > 5
    for number, page in enumerate(pages, start=1):
        assert "Agreement W27-1" in page
        assert f"Page {number} of {len(pages)}" in page
    assert "The client, Ottilie Brandt" in pages[-1]


def test_markup_stays_text_and_only_this_client_is_named() -> None:
    """Typst in any word is printed letter for letter; nothing private of the studio gets in."""
    odd = "#panic(x) *a* $2$ [b] \\ <c> @d // e"
    guarded = re.sub(r"([#*\[\]\\])", r"\\\1", odd)
    pdf = make(
        client=odd, work=odd, facts=(("materials", odd),), terms=(terms(f"- {guarded}"),), code="W[27]#1"
    )

    assert flowing(pdf).count(odd) == 5
    assert "Agreement W[27]#1" in flowing(pdf)
    assert SENTINEL.encode() not in everything(pdf)


def test_client_is_not_in_the_file_s_metadata_nor_in_a_printed_deal() -> None:
    """The file's title names the agreement, not the person; neither does the agreement's repr."""
    title = (reader(make()).metadata or {}).items()

    assert "Ottilie" not in str(list(title))
    assert "Ottilie" not in repr(AGREED)


def test_same_agreement_same_bytes() -> None:
    """Printing twice makes the same file."""
    assert make() == make()


@pytest.mark.parametrize("theme", ALL, ids=lambda one: one.name)
def test_a_numbered_list_of_the_terms_keeps_its_numbers(theme: ThemeFiles) -> None:
    """Whoever says "by number 4" finds it, as on the site."""
    kept = terms("3. Three things.\n4. Four things.\n\n    Still four.\n\nThen\n\n- an item\n")
    words = flowing(agreement(Printer(front(), theme, "a4"), dataclasses.replace(AGREED, terms=(kept,))))

    assert "3. Three things. 4. Four things." in words
    assert re.search(r"[•‣–-] an item", words)


@pytest.mark.parametrize("clauses", [2, 12])
@pytest.mark.parametrize("theme", ALL, ids=lambda one: one.name)
def test_names_are_signed_below_words(theme: ThemeFiles, clauses: int) -> None:
    """A page with nothing but signatures could lie below any words: the last clause stands on it."""
    kept = terms("\n\n".join(f"Clause {count} is kept." for count in range(1, clauses + 1)))
    pages = texts(agreement(Printer(front(), theme, "letter"), dataclasses.replace(AGREED, terms=(kept,))))

    assert "Ottilie Brandt" in pages[-1]
    assert f"Clause {clauses} is kept." in pages[-1]
