"""What is still to come on a day: of orders under way, of pieces paid for in parts, of unpaid sales."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from sitegen.desk import plan
from sitegen.desk.order_money import standing_of
from sitegen.desk.year import Owed
from sitegen.studio.coins import Purse
from sitegen.studio.commission import Order, Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.payments import PlanState
from sitegen.studio.piece import Piece
from sitegen.studio.whole import Studio

_AGREED = UNDER_WAY | {Step.SHIPPED, Step.CALLED_OFF}


def owed(studio: Studio, found: Sequence[Purse], day: date) -> Iterator[Owed]:
    """Say what is still to come as of a day."""
    for purse in found:
        missing = purse.still_to_pay(day)
        if missing:
            yield Owed(purse.name, purse.received(day), missing, missing, late=False)
    unsettled = {purse.name for purse in found if not purse.is_settled(day)}
    for order in studio.commissions.queue:
        if order.code in unsettled and (standing := _of_order(studio, order, day)):
            yield _owed(order.code, standing)
    for piece in studio.pieces:
        if piece.private.plan is not None and (standing := _of_piece(studio, piece, day)):
            yield _owed(piece.slug, standing)


def _owed(name: str, standing: PlanState) -> Owed:
    return Owed(name, standing.paid, standing.balance, standing.owed_now, standing.is_late)


def _of_order(studio: Studio, order: Order, day: date) -> PlanState | None:
    start = plan.plan_start(order)
    if order.step not in _AGREED or order.private.price is None or start is None or start > day:
        return None
    standing = standing_of(studio, order, day)
    return standing if standing.balance > 0 else None


def _of_piece(studio: Studio, piece: Piece, day: date) -> PlanState | None:
    """Say how the plan of a piece's buyer stands, unless it was sold by that day."""
    agreed, sold = piece.private.plan, piece.private.sold
    if agreed is None or agreed.start > day or (sold is not None and sold.on <= day):
        return None
    since = max((one.returned for one in piece.private.sales if one.returned), default=date.min)
    if agreed.start < since <= day:
        return None  # the plan was that of the buyer who sent it back
    standing = plan.for_buyer(studio, piece, day).standing
    return standing if standing and standing.balance > 0 else None
