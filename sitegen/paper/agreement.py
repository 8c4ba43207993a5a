"""The agreement on one commission or one payment plan: who, what, when each part is due, on which terms."""

from __future__ import annotations

from collections.abc import Iterator

from sitegen.paper.press import Content, Printer, one_line, written
from sitegen.studio.plan import PartKind, Plan
from sitegen.studio.terms import Agreed
from sitegen.studio.whole import KeptTerms
from sitegen.voice.prose import Block, Kind, blocks
from sitegen.voice.voice import Voice


def agreement(press: Printer, agreed: Agreed) -> bytes:
    """Make the agreement as a PDF with a schedule of payments and lines for both signatures.

    It names the client, so it is for that client alone; what isn't known yet is a line to write on.
    Raises Fault for a faulty theme.
    """
    card, voice = press.front.card, press.voice
    say, day, money, plan = voice.words.plain, voice.tongue.day, voice.tongue.exact_money, agreed.plan
    price = voice.tongue.priced(plan.price, exact=True)
    if plan.charge:
        price = say("paper.deal.charged", price=price, charge=money(plan.charge))
    own_plan = None
    if agreed.own_plan:  # the terms that are printed speak of another
        count = sum(part.kind is PartKind.INSTALMENT for part in plan.parts)
        own_plan = say("paper.own_plan", deposit=money(plan.deposit), count=count)
    title, told = "paper.deal.terms", {"version": agreed.terms[0].version if agreed.terms else ""}
    if agreed.accepted is not None:
        title, told = "paper.deal.terms_accepted", told | {"day": day(agreed.accepted.on)}
    content: Content = {
        "maker": card.maker,
        "contact": card.contact,
        "postal_address": one_line(card.postal_address),
        "matter": "commission" if agreed.commission else "payment plan",
        "code": agreed.code,
        "work": agreed.work,
        "client": agreed.client,
        "ready_by": day(agreed.ready_by) if agreed.ready_by else None,
        "facts": [_fact(*fact, agreed, voice) for fact in agreed.facts],
        "price": price,
        "total": money(plan.total),
        "payments": list(_payments(plan, voice)),
        "own_plan": own_plan,
        "terms": [block for kept in agreed.terms for block in _blocks(kept, voice)],
        "terms_title": say(title, **told),
        "from": written(f"what is agreed in {agreed.code}", "work", "client"),
    }
    content = press.content("agreement fact", content, client=agreed.client, code=agreed.code)
    return press.set("agreement", content)


def _fact(name: str, value: str | int, agreed: Agreed, voice: Voice) -> list[str]:
    say = voice.words.plain
    if isinstance(value, int):
        length = voice.tongue.length(value)
        # What isn't made yet comes out about as tall.
        value = say("paper.deal.about", length=length) if agreed.commission else length
    return [say(f"paper.fact.{name}"), voice.typographic(value)]


def _blocks(kept: KeptTerms, voice: Voice) -> Iterator[Content]:
    """Yield a kept text in blocks that a template can set, its title first."""
    title = Block(Kind.HEADING, voice.typographic(kept.title))
    for block in (title, *blocks(kept.text, voice.quotes)):
        if block.kind is not Kind.RULE:
            yield {"kind": str(block.kind), "text": block.text, "mark": block.mark.removeprefix("-")}


def _payments(plan: Plan, voice: Voice) -> Iterator[Content]:
    """Yield what is paid when, the deposit and then the instalments by their number."""
    number = 0
    for part in plan.parts:
        number += part.kind is PartKind.INSTALMENT
        key = f"paper.part.{'deposit' if part.kind is PartKind.DEPOSIT else number}"
        what = voice.words.plain(key if key in voice.words.sentences else "paper.part.more", number=number)
        due, amount = voice.tongue.day(part.due), voice.tongue.exact_money(part.amount)
        yield {"what": what, "due": due, "amount": amount}
