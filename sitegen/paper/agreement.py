"""The agreement on one commission or one payment plan: who, what, when each part is due, on which terms."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from babel import Locale

from sitegen.paper import words
from sitegen.paper.fault import PaperFault
from sitegen.paper.press import Content, paper_name, press
from sitegen.paper.terms import Block
from sitegen.studio import wording
from sitegen.studio.public import FrontOfHouse, PublicStudio
from sitegen.voice.theme_files import ThemeFiles


class Matter(StrEnum):
    """What is agreed on."""

    COMMISSION = "commission"
    PAYMENT_PLAN = "payment plan"


@dataclass(frozen=True, slots=True)
class Payment:
    """One part of the price."""

    what: str
    """In words, like deposit or second instalment."""
    due: date
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Deal:
    """Everything on one agreement. It names the client, so the paper is for that client alone."""

    matter: Matter
    code: str
    """The commission's place or the piece's number, as W27-1."""
    work: str
    """What is made or sold: a tier's name or a piece's title."""
    price: Decimal
    payments: tuple[Payment, ...]
    """In any order; they sum to price and charge."""
    terms: tuple[Block, ...]
    terms_version: str
    """Which terms these are, like "version 3 of 4 January 2027"."""
    client: str = field(default="", repr=False)
    """Empty leaves a line to write on, as do the next two."""
    client_address: str = field(default="", repr=False)
    ready_by: date | None = None
    """The day the work is promised for; None says nothing of it."""
    facts: tuple[tuple[str, str], ...] = ()
    """Further facts as label and text, like ("Height", "32 cm")."""
    charge: Decimal = Decimal(0)
    """What paying later costs on top of the price."""
    own_plan: str | None = None
    """A sentence under the payments, where they aren't those that the terms speak of."""


def agreement(front: FrontOfHouse, deal: Deal, theme: ThemeFiles, *, paper: str) -> bytes:
    """Make the agreement as a PDF with a schedule of payments and lines for both signatures.

    Raises PaperFault if the payments don't sum to what is owed, if there are none, or a theme is faulty.
    """
    _check(deal)
    return press(theme, "agreement", _content(front.card, deal, paper_name(paper)))


def _check(deal: Deal) -> None:
    if not deal.payments:
        raise PaperFault(f"the agreement {deal.code} has no payment; it needs at least one, with its day")
    paid = sum((one.amount for one in deal.payments), Decimal(0))
    if paid != deal.price + deal.charge:
        raise PaperFault(
            f"the payments of the agreement {deal.code} sum to {paid}, but {deal.price + deal.charge} is "
            "owed; make the plan again"
        )


def _content(card: PublicStudio, deal: Deal, paper: str) -> Content:
    locale = words.locale_of(card.language)
    return {
        **words.tongue(card.language),
        "paper": paper,
        "studio": card.studio,
        "maker": card.maker,
        "contact": card.contact,
        "postal_address": ", ".join(line.strip(" ,") for line in card.postal_address.splitlines()),
        "matter": str(deal.matter),
        "code": deal.code,
        "work": deal.work,
        "client": deal.client,
        "client_address": deal.client_address,
        "ready_by": words.day(deal.ready_by, locale) if deal.ready_by else None,
        "facts": [list(fact) for fact in deal.facts],
        "price": _money(deal.price, card, locale),
        "charge": _money(deal.charge, card, locale) if deal.charge else None,
        "total": _money(deal.price + deal.charge, card, locale),
        "payments": [_payment(one, card, locale) for one in sorted(deal.payments, key=lambda one: one.due)],
        "own_plan": deal.own_plan,
        "terms": [{"kind": str(block.kind), "text": block.text} for block in deal.terms],
        "terms_version": deal.terms_version,
    }


def _payment(payment: Payment, card: PublicStudio, locale: Locale) -> Content:
    return {
        "what": payment.what,
        "due": words.day(payment.due, locale),
        "amount": _money(payment.amount, card, locale),
    }


def _money(amount: Decimal, card: PublicStudio, locale: Locale) -> str:
    return wording.exact_price(amount, card.currency, card.digits, locale)
