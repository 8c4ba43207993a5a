"""What is offered to a client, and what was agreed on: the same facts, before and after the yes."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sitegen.desk import find
from sitegen.desk.order_money import standing_of
from sitegen.desk.plan import plan_of
from sitegen.jobs.letters import WritingDesk
from sitegen.letters import ClientLetter, Due, LetterClient, Matter
from sitegen.site.addresses import terms as address_of_terms
from sitegen.studio import terms
from sitegen.studio.commission import Order
from sitegen.studio.fault import Fault
from sitegen.studio.fields import is_placeholder
from sitegen.studio.offers import last_day
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.payments import PlanState, Standing
from sitegen.studio.plan import PartKind, Plan
from sitegen.studio.whole import Studio


def client_of(order: Order) -> LetterClient:
    """Return who a letter is for."""
    return LetterClient(order.code, order.tier, order.private.name, order.private.email)


def dues_of(standing: PlanState) -> tuple[Due, ...]:
    """Return the parts of a plan as they stand."""
    return tuple(Due(part.part.due, part.part.amount, str(part.standing)) for part in standing.parts)


def postage_of(order: Order) -> tuple[dict[str, Decimal], frozenset[str]]:
    """Return what sending costs, and whether it comes on top of the price."""
    postage = order.private.postage
    if postage is None:
        return {}, frozenset()
    if not postage.extra:
        return {}, frozenset({"postage_included"})
    return {"postage": postage.extra}, frozenset({"postage_extra"})


def ways_to_pay(studio: Studio) -> dict[str, str]:
    """Return how a client can pay, in the artist's words; nothing while there's still a place to fill in."""
    written = studio.settings.how_to_pay
    return {"how_to_pay": "" if is_placeholder(written) else " ".join(written.split())}


def offer(desk: WritingDesk, order: Order, note: str) -> ClientLetter:
    """Say everything that the terms promise an offer says.

    Where no day is written for the payments they count from the last day for an answer: the latest that
    they can begin. Raises Fault with all that is lacking, and once the offer has run out.
    """
    last, today = last_day(desk.studio.commissions, order), desk.front.moment.date()
    if last is None:
        raise Fault(f"commissions.yaml: {order.code} doesn't say when it was offered; write `since:`")
    if last < today:
        raise Fault(
            f"{order.code}: the offer stood until {last}, which has gone by; `sitegen order lapsed` "
            "passes the place on, and a later `since:` lets the offer stand longer"
        )
    _complete(order)
    promised = order.private.promised_now
    if promised is not None and promised <= last:
        raise Fault(
            f"{order.code} is promised for {promised}, and the offer can be answered until {last}; name a "
            f"later day with `sitegen order promise {order.code} DATE`"
        )
    plan = plan_of(desk.studio, order, last)
    parts = tuple(Due(part.due, part.amount, str(Standing.TO_COME)) for part in plan.parts)
    sums, holds = _sums(order, plan)
    floats = frozenset() if order.private.plan_from else frozenset({"plan_floats"})
    version = terms.current(desk.studio)
    return ClientLetter(
        Matter.OFFER, client_of(order), {"until": last, **_promised(order)}, sums,
        {**_facts(desk, order), **_terms(desk, version)}, holds | floats, parts, note,
        () if version else _unkept(desk), _lengths(desk, order),
    )  # fmt: skip


def _complete(order: Order) -> None:
    """Raise Fault with all that an offer lacks, and where to write it."""
    client = order.private
    wanted = (
        (client.price, "the price (`price: 440` in its `private:`)"),
        (client.postage, "the postage (`postage: 24` there if it comes on top, or `postage: included`)"),
        (_brief(order) or None, "what you'll make (`brief: A hare in mourning, stoneware and linen.`)"),
        (client.promised_now, f"the day promised (`sitegen order promise {order.code} 2027-06-30`)"),
    )
    lacking = [what for there, what in wanted if there is None]
    if lacking:
        raise Fault(
            f"commissions.yaml: the offer {order.code} isn't complete, so there's no letter yet. It lacks "
            + "; ".join(lacking)
        )


def confirmation(desk: WritingDesk, order: Order, note: str) -> ClientLetter:
    """Say what was agreed on: what, price, plan with its days, month, terms, how to pay.

    Raises Fault of an order that nobody has said yes to, or that has ended.
    """
    if order.step not in UNDER_WAY:
        raise Fault(f"{order.code} is {order.step}; an accepted order is what can be confirmed")
    standing = standing_of(desk.studio, order, desk.front.moment.date())
    plan = plan_of(desk.studio, order)
    parts = dues_of(standing)
    sums, holds = _sums(order, plan)
    days = _promised(order)
    accepted = order.terms
    if accepted is not None:
        days["terms_on"] = accepted.on
    if standing.paid > 0:
        sums["paid"] = standing.paid
        holds |= {"paid"}
    texts = {**_facts(desk, order), **_terms(desk, accepted.version if accepted else None)}
    return ClientLetter(
        Matter.CONFIRMATION, client_of(order), days, sums, texts, holds, parts, note,
        tuple(_lacking(desk, order)), _lengths(desk, order),
    )  # fmt: skip


def _lacking(desk: WritingDesk, order: Order) -> list[str]:
    """Say what a confirmation leaves out, and where to write it."""
    client, code = order.private, order.code
    said = []
    if not ways_to_pay(desk.studio)["how_to_pay"]:
        said.append(
            "It doesn't say how to pay: write `how_to_pay:` in studio.yaml, for letters about orders only."
        )
    if order.terms is None:
        said.append(
            f"It names no terms: write `terms: {{version: …, on: …}}` under {code} in commissions.yaml "
            "(`sitegen terms keep` keeps a version)."
        )
    if client.promised_now is None:
        said.append(f"It names no month: `sitegen order promise {code} DATE` notes the day agreed on.")
    if client.postage is None:
        said.append(f"It says nothing of postage: write `postage: 24` or `postage: included` under {code}.")
    if not _brief(order):
        said.append(f"It doesn't say what you will make: write `brief:` under {code}.")
    return said


def _sums(order: Order, plan: Plan) -> tuple[dict[str, Decimal], frozenset[str]]:
    extra, holds = postage_of(order)
    sums = {"price": plan.total, **extra}
    if plan.parts[0].kind is PartKind.DEPOSIT and len(plan.parts) > 1:
        sums["deposit"] = plan.parts[0].amount
    return sums, holds


def _promised(order: Order) -> dict[str, date]:
    promised = order.private.promised_now
    return {"promised": promised} if promised else {}


def _facts(desk: WritingDesk, order: Order) -> dict[str, str]:
    tier = find.tier(desk.studio, order.tier)
    return {"includes": tier.includes, "brief": _brief(order), **ways_to_pay(desk.studio)}


def _brief(order: Order) -> str:
    """Return what is made, in the artist's words; nothing while there's still a place to fill in."""
    brief = order.private.brief.strip()
    return "" if is_placeholder(brief) else brief


def _lengths(desk: WritingDesk, order: Order) -> dict[str, int]:
    height = find.tier(desk.studio, order.tier).height_mm
    return {"height": height} if height else {}


def _terms(desk: WritingDesk, version: str | None) -> dict[str, str]:
    if version is None:
        return {}
    path = address_of_terms("commission-terms", version).removesuffix("index.html")
    return {"terms": version, "terms_address": f"{desk.front.card.address}{path}"}


def _unkept(desk: WritingDesk) -> tuple[str, ...]:
    if not any(page.name in terms.PAGES for page in desk.studio.pages):
        return ()
    return ("It names no version of your terms, as they aren't kept as they are now: `sitegen terms keep`.",)
