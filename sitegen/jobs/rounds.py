"""How each round stands: when it opens, who is in line, how far its draw is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sitegen.desk import find, order_offers
from sitegen.desk.find import Sitting
from sitegen.jobs import draws
from sitegen.jobs.reading import ORDERS, sit
from sitegen.studio.commission import Round, Way
from sitegen.studio.offers import free_slots


@dataclass(frozen=True)
class RoundStands:
    """One round as it stands."""

    number: int
    """Its place under `rounds:`, from 0."""
    round: Round
    stands: str
    line: str
    """How many slots are free, and who is next."""
    free: int
    begun: bool
    closed: bool
    draw: draws.DrawStands | None


def rounds(folder: Path, today: str | None) -> list[RoundStands]:
    """Say how each round stands, the latest first."""
    desk = sit(folder, today, ORDERS)
    held = enumerate(desk.studio.commissions.rounds)
    found = [_stands(folder, desk, number, one) for number, one in held]
    return sorted(found, key=lambda one: one.round.opens, reverse=True)


def one_round(folder: Path, name: str, today: str | None) -> RoundStands:
    """Say how one round stands. Raises Fault if there's none of that name."""
    desk = sit(folder, today, ORDERS)
    named = find.round_named(desk.studio, name)
    return _stands(folder, desk, desk.studio.commissions.rounds.index(named), named)


def _stands(folder: Path, desk: Sitting, number: int, one: Round) -> RoundStands:
    studio, moment = desk.studio, desk.moment
    draw = draws.stands(folder, studio, one) if one.way is Way.DRAW else None
    drawn = draws.order_of(folder, one) if draw is not None else None
    free = free_slots(studio.commissions, one)
    closed = one.closed_at is not None and moment >= one.closed_at
    return RoundStands(
        number, one, order_offers.stands(one, moment), order_offers.line_up(studio, one, drawn), free,
        moment >= one.taken_from() or one.way is Way.WAITING_LIST, closed, draw,
    )  # fmt: skip
