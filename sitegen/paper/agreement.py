"""The agreement on one commission or one payment plan: who, what, when each part is due, on which terms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from sitegen.paper.content import Content, written
from sitegen.paper.press import Printer, one_line
from sitegen.studio.fault import Fault
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.whole import KeptTerms
from sitegen.voice.prose import Block, Kind, blocks
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Voice


class AgreementKind(StrEnum):
    """What is agreed on."""

    COMMISSION = "commission"
    PAYMENT_PLAN = "payment plan"


@dataclass(frozen=True, slots=True)
class AgreedPayment:
    """One part of the price."""

    number: int
    """Which instalment; 0 for the deposit."""
    due: date
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Deal:
    """Everything on one agreement. It names the client, so the paper is for that client alone."""

    matter: AgreementKind
    code: str
    """The commission's place or the piece's number, as W27-1."""
    work: str
    """What is made or sold: a tier's name or a piece's title."""
    price: Decimal
    payments: tuple[AgreedPayment, ...]
    """In any order; they sum to price and charge."""
    terms: tuple[KeptTerms, ...]
    """Texts of one version; none where there are no terms."""
    accepted_on: date | None = None
    """The day they were accepted."""
    client: str = field(default="", repr=False)
    """Empty leaves a line to write on, as do the next two."""
    client_address: str = field(default="", repr=False)
    ready_by: date | None = None
    """The day the work is promised for; None says nothing of it."""
    facts: tuple[tuple[str, str | int], ...] = ()
    """Further facts by their words' name, like ("height", 320); a number is millimetres."""
    charge: Decimal = Decimal(0)
    """What paying later costs on top of the price."""
    own_plan: bool = False
    """True where the payments aren't those that the terms speak of."""


def agreement(front: FrontOfHouse, deal: Deal, theme: ThemeFiles, *, paper: str) -> bytes:
    """Make the agreement as a PDF with a schedule of payments and lines for both signatures.

    Raises Fault if the payments don't sum to what is owed, if there are none, or a theme is faulty.
    """
    owed, paid = deal.price + deal.charge, sum(payment.amount for payment in deal.payments)
    if not deal.payments:
        raise Fault(f"the agreement {deal.code} has no payment; it needs at least one, with its day")
    if paid != owed:
        raise Fault(
            f"the payments of the agreement {deal.code} sum to {paid}, but {owed} is owed; "
            "make the plan again"
        )
    press, card = Printer(front, theme, paper), front.card
    voice = press.voice
    day, money = voice.tongue.day, voice.tongue.exact_money
    content: Content = {
        "maker": card.maker,
        "contact": card.contact,
        "postal_address": one_line(card.postal_address),
        "matter": str(deal.matter),
        "code": deal.code,
        "work": deal.work,
        "client": deal.client,
        "client_address": deal.client_address,
        "ready_by": day(deal.ready_by) if deal.ready_by else None,
        "facts": [_fact(*fact, deal, voice) for fact in deal.facts],
        "price": _price(deal, voice),
        "total": money(owed),
        "payments": [_payment(payment, voice) for payment in sorted(deal.payments, key=lambda one: one.due)],
        "own_plan": _own_plan(deal, voice),
        "terms": [block for kept in deal.terms for block in _blocks(kept, voice)],
        "terms_title": _terms_title(deal, voice),
        "from": written(f"what is agreed in {deal.code}", "work", "client", "client_address"),
    }
    content = press.content("agreement fact", content, client=deal.client, code=deal.code)
    return press.set("agreement", content)


def _fact(name: str, value: str | int, deal: Deal, voice: Voice) -> list[str]:
    say = voice.words.plain
    if isinstance(value, int):
        length = voice.tongue.length(value)
        # What isn't made yet comes out about as tall.
        value = say("paper.deal.about", length=length) if deal.matter is AgreementKind.COMMISSION else length
    return [say(f"paper.fact.{name}"), voice.typographic(value)]


def _price(deal: Deal, voice: Voice) -> str:
    price = voice.tongue.priced(deal.price, exact=True)
    if not deal.charge:
        return price
    charge = voice.tongue.exact_money(deal.charge)
    return voice.words.plain("paper.deal.charged", price=price, charge=charge)


def _own_plan(deal: Deal, voice: Voice) -> str | None:
    """Say which plan holds, where the terms that are printed speak of another."""
    if not deal.own_plan:
        return None
    deposit = sum((one.amount for one in deal.payments if not one.number), Decimal(0))
    count = sum(one.number > 0 for one in deal.payments)
    return voice.words.plain("paper.own_plan", deposit=voice.tongue.exact_money(deposit), count=count)


def _blocks(kept: KeptTerms, voice: Voice) -> Iterator[Content]:
    """Yield a kept text in blocks that a template can set, its title first."""
    title = Block(Kind.HEADING, voice.typographic(kept.title))
    for block in (title, *blocks(kept.text, voice.quotes)):
        if block.kind is not Kind.RULE:
            yield {"kind": str(block.kind), "text": block.text, "mark": block.mark.removeprefix("-")}


def _terms_title(deal: Deal, voice: Voice) -> str:
    say, version = voice.words.plain, deal.terms[0].version if deal.terms else ""
    if deal.accepted_on is None:
        return say("paper.deal.terms", version=version)
    return say("paper.deal.terms_accepted", version=version, day=voice.tongue.day(deal.accepted_on))


def _payment(payment: AgreedPayment, voice: Voice) -> Content:
    key = f"paper.part.{payment.number or 'deposit'}"
    key = key if voice.words.has(key) else "paper.part.more"
    what = voice.words.plain(key, number=payment.number)
    due, amount = voice.tongue.day(payment.due), voice.tongue.exact_money(payment.amount)
    return {"what": what, "due": due, "amount": amount}
