"""Gather what one agreement says: a commission's, or that of a finished piece paid for in parts."""

from dataclasses import dataclass, field, replace
from datetime import date

from sitegen.desk import find, plan
from sitegen.desk.find import read_day
from sitegen.studio import terms
from sitegen.studio.commission import Order
from sitegen.studio.fault import Fault
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import Piece, tall
from sitegen.studio.plan import Plan
from sitegen.studio.term_versions import AcceptedTerms
from sitegen.studio.terms import differs
from sitegen.studio.whole import KeptTerms, Studio
from sitegen.studio.wish import ask, wish

Fact = tuple[str, str | int]
"""What is agreed on beside the price, by its name (height, materials …); a number is millimetres."""


@dataclass(frozen=True)
class Agreed:
    """One agreement, with one client's details and nobody else's."""

    code: str
    work: str
    commission: bool  # False for a finished piece
    plan: Plan
    terms: tuple[KeptTerms, ...]
    accepted: AcceptedTerms | None  # None while nobody has accepted; the terms are then those in force
    client: str = field(default="", repr=False)
    ready_by: date | None = None
    facts: tuple[Fact, ...] = ()
    own_plan: bool = False  # True where deposit or instalments aren't those of the terms


@wish
class AgreementWish:
    """Whose agreement, and what its file doesn't say yet."""

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
    return replace(made, own_plan=differs(studio, made.plan, made.terms, terms.current(studio)))


def _of_order(studio: Studio, order: Order, wish: AgreementWish, start: date) -> Agreed:
    if order.step in ENDED and order.step is not Step.CALLED_OFF:
        raise Fault(f"{order.code} is {order.step.said}; there is nothing to agree on")
    tier = find.tier(studio, order.tier)
    return Agreed(
        code=order.code,
        work=order.tier,
        commission=True,
        plan=plan.plan_of(studio, order, start),
        terms=_terms(studio, order.terms, commission=True),
        accepted=order.terms,
        client=order.private.name if wish.client is None else wish.client,
        ready_by=order.private.promised_now,
        facts=_told(height=tier.height_mm or "", includes=tier.includes.strip(), round=order.round),
    )


def _of_piece(studio: Studio, piece: Piece, wish: AgreementWish, start: date) -> Agreed:
    own = piece.private.plan
    if own is None and not piece.status.offered:
        raise Fault(f"{piece.title} is {piece.status} and nobody pays for it in parts")
    accepted = own.terms if own else None
    planned = (
        plan.plan_of_buyer(studio, piece, own)
        if own
        else plan.for_piece(studio, plan.PlanWish(what=piece.slug), start).plan
    )
    return Agreed(
        code=piece.number or piece.slug,
        work=piece.title,
        commission=False,
        plan=planned,
        terms=_terms(studio, accepted, commission=False),
        accepted=accepted,
        client=wish.client if wish.client is not None else own.to if own else "",
        facts=_told(
            year=str(piece.finished.year) if piece.finished else "",
            materials=piece.materials,
            base=piece.base,
            height=tall(piece.size, piece.height_mm),
        ),
    )


def _terms(studio: Studio, accepted: AcceptedTerms | None, *, commission: bool) -> tuple[KeptTerms, ...]:
    """Choose the version that was accepted, else the one in force; a piece has the payment's terms only."""
    version = accepted.version if accepted else terms.current(studio)
    if version is None:
        raise Fault(
            "the terms as they are now aren't kept; `sitegen terms keep` keeps them, so that both sides can "
            "look up later what was agreed on"
        )
    kept = terms.of_version(studio, version)
    return kept if commission else tuple(one for one in kept if one.name == "payment-terms")


def _told(**facts: str | int) -> tuple[Fact, ...]:
    return tuple((name, value) for name, value in facts.items() if value)
