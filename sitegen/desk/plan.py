"""Lay out a payment plan, or say how a client's stands; and gather what an agreement on it says."""

import re
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import count, repeat
from typing import Any

from sitegen.desk import find, words
from sitegen.desk.find import read_day
from sitegen.studio import money
from sitegen.studio import plan as plans
from sitegen.studio import terms as written
from sitegen.studio.asked import Fault, ask, told, wish
from sitegen.studio.commission import Order
from sitegen.studio.order_lines import AcceptedTerms, Receipt, Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import BuyerPlan, Piece, tall
from sitegen.studio.purses import purse_of
from sitegen.studio.terms import Agreed, Fact, differs
from sitegen.studio.text import counted
from sitegen.studio.whole import KeptTerms, Studio


@wish
class PlanWish:
    what: str = ask(word=True, like="PRICE|SLUG|CODE")
    deposit: str | None = ask(
        "A percentage (20%) or an amount; without it, as studio.yaml says.", default=None
    )
    instalments: int | None = ask(
        "Instalments besides the deposit; without it, by the price's band.",
        default=None, name="parts", least=0, most=60,
    )  # fmt: skip
    start: str | None = ask("The day the deposit is due; without it, today.", default=None, like="DATE")
    charge: str | None = ask("An amount taken for paying later.", default=None)
    weekend: str | None = ask(
        "What a due date on one does.", default=None, choices=tuple(map(str, plans.Weekend))
    )
    currency: str | None = ask("ISO 4217 letters; without it, the studio's.", default=None, like="CODE")

    @property
    def is_for_a_price(self) -> bool:
        """Tell a price, well written or not, from a piece's or an order's name."""
        price = r"[^A-Za-z]*[0-9][^A-Za-z]*|[A-Z]{3}\s*[0-9.,]+|[0-9.,]+\s*[A-Z]{3}"
        return re.fullmatch(price, self.what) is not None

    @property
    def is_usual(self) -> bool:
        """Tell whether everything is left to the terms."""
        return self == PlanWish(what=self.what, currency=self.currency)


@dataclass(frozen=True)
class PlanAnswer(words.InCurrency):
    """A plan with its currency, and how it stands if it's a client's."""

    title: str
    plan: plans.Plan
    standing: plans.PlanState | None = None
    sent: bool = False  # True of a piece that is with the client already

    def as_answer(self) -> dict[str, Any]:
        answer = self.facts(self, "currency price:plan.price")
        if self.standing is None:
            return answer | {"parts": [self.facts(part, "kind due amount") for part in self.plan.parts]}
        names = "kind:part.kind due:part.due amount:part.amount paid standing"
        parts = [self.facts(part, names) for part in self.standing.parts]
        return answer | {"parts": parts} | self.facts(self.standing, "paid balance")

    def lines(self) -> list[str]:
        return [self.title, "", *self.table(), "", *self.explained()]

    def explained(self) -> list[str]:
        """Say in sentences what the parts come to."""
        moved = [part for part in self.plan.parts if part.due != part.anchor]
        mondays = [f"{part.due} is the Monday after {part.anchor}." for part in moved]
        return [*mondays, *self._standing_lines(), *(f"Caution: {warning}" for warning in self.plan.warnings)]

    def table(self) -> list[str]:
        total = ("", "", "in all", self.total(), "")
        return words.table([*self.rows(), total])

    def total(self) -> str:
        return self.said(self.plan.total)

    def rows(self) -> list[tuple[str, str, str, str, str]]:
        """Return each part: its day, what it is, its number, its amount, how it stands."""
        parts, number, counts = self.plan.parts, count(1), plans.PartKind.INSTALMENT
        stands = map(self._stand, self.standing.parts) if self.standing else repeat("", len(parts))
        return [
            (str(part.due), str(part.kind), str(next(number)) if part.kind is counts else "",
             self.said(part.amount), stand)
            for part, stand in zip(parts, stands, strict=True)
        ]  # fmt: skip

    def _stand(self, there: plans.PartState) -> str:
        late, part = there.standing is plans.Standing.LATE, there.part
        stand = f"late by {counted(there.late_days, 'day', 'days')}" if late else str(there.standing)
        if 0 < there.paid < part.amount:
            stand += f", {self.plain(there.paid)} of it paid"
        return stand

    def _standing_lines(self) -> list[str]:
        if self.standing is None:
            return ["The piece leaves when everything is paid."]
        standing = self.standing
        lines = [f"Paid {self.said(standing.paid)}, still to pay {self.said(standing.balance)}."]
        if standing.balance < 0:
            lines = [f"Paid {self.said(standing.paid)}; {self.said(-standing.balance)} goes back."]
        if owed := standing.owed_now:
            grace, late = counted(self.plan.grace_days, "day", "days"), standing.late_now
            how = f"{self.said(late)} of it is late," if 0 < late < owed else "late," if late else "late"
            lines.append(f"Due by today and not there: {self.said(owed)} ({how} after {grace} of grace).")
        stays = "It may be sent." if standing.may_ship else "It stays until everything is paid."
        return lines if self.sent else [*lines, stays]


def plan(studio: Studio | None, wish: PlanWish, today: date) -> PlanAnswer:
    """Lay out a plan for a price or a piece, or say how that of an order or a buyer stands.

    Without a studio only a price in a named currency has one. Raises Fault where there can be none.
    """
    if wish.is_for_a_price or studio is None:
        currency = wish.currency or (studio.settings.currency if studio else "")
        with told():
            price = money.read_amount(wish.what, money.minor_digits(currency))
        return _for_price(
            price, currency, studio.settings.paying if studio else plans.USUAL_TERMS, wish, today
        )
    if wish.currency and wish.currency != studio.settings.currency:
        raise Fault(f"--currency goes with a price; {wish.what} is priced in {studio.settings.currency}")
    found = find.order_or_piece(studio, wish.what)
    if isinstance(found, Order):
        if not wish.is_usual:
            raise Fault(
                f"{wish.what} is a commission whose plan is agreed on; to change it, write deposit, "
                "instalments or plan_from into its `private:` in commissions.yaml"
            )
        return for_order(studio, wish.what, today)
    if found.private.plan is not None and wish.is_usual:
        return for_buyer(studio, found, found.private.plan, today)
    return for_piece(studio, wish, today)


def _for_price(
    price: Decimal, currency: str, terms: plans.PaymentPlan, wish: PlanWish, today: date, title: str = ""
) -> PlanAnswer:
    digits = money.minor_digits(currency)
    start = read_day(wish.start, "--start") or today
    terms = terms.with_deposit(wish.deposit)
    if wish.weekend:
        terms = terms.model_copy(update={"weekend": plans.Weekend(wish.weekend)})
    with told():
        charge = money.read_amount(wish.charge, digits) if wish.charge else Decimal(0)
        if wish.deposit and (deposit := plans.deposit_on(wish.deposit, price, digits)) > price:
            raise ValueError(f"the deposit of {deposit} is more than the price of {price}")
        plan = plans.make(price, start, digits, terms, wish.instalments, charge)
    price_written = money.in_currency(price, currency, digits)
    return PlanAnswer(currency, digits, title or f"Payment plan for {price_written}", plan)


def for_piece(studio: Studio, wish: PlanWish, today: date) -> PlanAnswer:
    """Lay out a plan for a piece at its asking price. Raises Fault if it has none."""
    piece, settings = find.piece(studio, wish.what), studio.settings
    if piece.price is None:
        raise Fault(f"pieces/{piece.slug}/piece.yaml has no price; write one, like `price: 480`")
    title = f"Payment plan for {piece.title}"
    return _for_price(piece.price, settings.currency, settings.paying, wish, today, title)


def for_order(studio: Studio, code: str, today: date) -> PlanAnswer:
    """Say how a client's plan stands. Raises Fault if nothing was agreed yet."""
    order = find.order(studio, code)
    if order.step is Step.CALLED_OFF:
        raise Fault(
            f"{order.code} was called off, so its plan has ended; `sitegen order show {order.code}` says "
            "what is kept and what goes back"
        )
    return _stands(studio, f"{order.code}, {order.tier}", standing_of(studio, order, today), order.step)


def for_buyer(studio: Studio, piece: Piece, agreed: BuyerPlan, today: date) -> PlanAnswer:
    """Say how the plan of a finished piece's buyer stands. Raises Fault without a price."""
    return _stands(studio, piece.title, plans.state(plan_of_buyer(studio, piece, agreed), agreed.paid, today))


def _stands(studio: Studio, what: str, standing: plans.PlanState, step: Step | None = None) -> PlanAnswer:
    own, title = studio.settings, f"{what}: how the plan stands"
    return PlanAnswer(own.currency, own.digits, title, standing.plan, standing, step is Step.SHIPPED)


def standing_of(studio: Studio, order: Order, day: date) -> plans.PlanState:
    """Say how an order's plan stands on a day. Raises Fault if none is agreed."""
    return plans.state(plan_of(studio, order), receipts(studio, order), day)


def plan_of_buyer(studio: Studio, piece: Piece, agreed: BuyerPlan) -> plans.Plan:
    """Return the plan on which a finished piece is paid for. Raises Fault without a price."""
    where, price = f"pieces/{piece.slug}/piece.yaml", piece.held_at
    if price is None:
        raise Fault(f"{where} has no price; write `price: 480` into its `plan:`")
    terms = studio.settings.paying.with_deposit(agreed.deposit or None)
    with told(where):
        return plans.make(price, agreed.start, studio.settings.digits, terms, agreed.instalments)


def plan_of(studio: Studio, order: Order, start: date | None = None) -> plans.Plan:
    """Return the plan agreed on for an order, from `start` if none was accepted yet.

    Raises Fault if it isn't settled.
    """
    client, settings = order.private, studio.settings
    if client.price is None:
        raise Fault(f"commissions.yaml: {order.code} has no price; write `price: 440` in its `private:`")
    start = plan_start(order) or start
    if start is None:
        raise Fault(
            f"commissions.yaml: {order.code} doesn't say when it was accepted; write `plan_from: 2027-03-15` "
            "in its `private:`, or `2027-03-15 accepted` among its `moves:`"
        )
    terms = settings.paying.with_deposit(client.deposit or None)
    with told(f"commissions.yaml, {order.code}"):
        return plans.make(client.price, start, settings.digits, terms, client.instalments)


def plan_start(order: Order) -> date | None:
    """Return the day the deposit is due: as written, else of acceptance, else of a later step."""
    accepted = order.day_of(Step.ACCEPTED)
    later = {Step.ON_THE_BENCH, Step.FINISHED, Step.PAID, Step.SHIPPED}
    return order.private.plan_from or accepted or (order.since if order.step in later else None)


def is_planned(order: Order, by: date = date.max) -> bool:
    """Tell whether an order says enough for a plan: a price, and a day, up to the one given, to begin on."""
    start = plan_start(order)
    return order.private.price is not None and start is not None and start <= by


def receipts(studio: Studio, order: Order) -> tuple[Receipt, ...]:
    """Return what came in and went back for an order; once it was sent, what counts towards its price."""
    return purse_of(studio, order).towards() if order.step is Step.SHIPPED else order.private.paid


@wish
class AgreementWish:
    what: str = ask(word=True, like="CODE|PIECE")
    paper: str | None = ask("Without it: as studio.yaml says.", default=None, choices=("a4", "letter"))
    start: str | None = ask(
        "Day the deposit is due, where none was accepted yet (today).", default=None, like="DATE"
    )
    client: str | None = ask("Who signs, where the file doesn't say it.", default=None, like="NAME")


def agreed(studio: Studio, wish: AgreementWish, today: date) -> Agreed:
    """Gather an agreement by an order's code or a piece's name. Raises Fault."""
    found, start = find.order_or_piece(studio, wish.what), read_day(wish.start, "--start") or today
    if isinstance(found, Piece):
        made = _of_piece(studio, found, wish, start)
    else:
        made = _of_order(studio, found, wish, start)
    return replace(made, own_plan=differs(studio, made.plan, made.terms, written.current(studio)))


def _of_order(studio: Studio, order: Order, wish: AgreementWish, start: date) -> Agreed:
    if order.step in ENDED and order.step is not Step.CALLED_OFF:
        raise Fault(f"{order.code} is {order.step.said}; there is nothing to agree on")
    tier = find.tier(studio, order.tier)
    return Agreed(
        code=order.code, work=order.tier, commission=True, plan=plan_of(studio, order, start),
        terms=_kept(studio, order.terms, commission=True), accepted=order.terms,
        client=order.private.name if wish.client is None else wish.client,
        ready_by=order.private.promised_now,
        facts=_told(height=tier.height_mm or "", includes=tier.includes.strip(), round=order.round),
    )  # fmt: skip


def _of_piece(studio: Studio, piece: Piece, wish: AgreementWish, start: date) -> Agreed:
    own = piece.private.plan
    if own is None and not piece.status.offered:
        raise Fault(f"{piece.title} is {piece.status} and nobody pays for it in parts")
    accepted = own.terms if own else None
    planned = (
        plan_of_buyer(studio, piece, own) if own else for_piece(studio, PlanWish(what=piece.slug), start).plan
    )
    year = str(piece.finished.year) if piece.finished else ""
    height = tall(piece.size, piece.height_mm)
    return Agreed(
        code=piece.number or piece.slug, work=piece.title, commission=False, plan=planned,
        terms=_kept(studio, accepted, commission=False), accepted=accepted,
        client=wish.client if wish.client is not None else own.to if own else "",
        facts=_told(year=year, materials=piece.materials, base=piece.base, height=height),
    )  # fmt: skip


def _kept(studio: Studio, accepted: AcceptedTerms | None, *, commission: bool) -> tuple[KeptTerms, ...]:
    """Choose the version that was accepted, else the one in force; a piece has the payment's terms only."""
    version = accepted.version if accepted else written.current(studio)
    if version is None:
        raise Fault(
            "the terms as they are now aren't kept; `sitegen terms keep` keeps them, so that both sides can "
            "look up later what was agreed on"
        )
    kept = written.of_version(studio, version)
    return kept if commission else tuple(page for page in kept if page.name == "payment-terms")


def _told(**facts: str | int) -> tuple[Fact, ...]:
    return tuple((name, value) for name, value in facts.items() if value)
