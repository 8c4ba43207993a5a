"""Commissions: tiers, rounds, the queue and the waiting list."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated

from pydantic import BeforeValidator, Field

from sitegen.studio.client import Client
from sitegen.studio.fields import Day, Days, Entry, Hours, Millimetres, Money, Name, one_of
from sitegen.studio.order_lines import Move, Receipt, Step, moves_of_file
from sitegen.studio.round import PublicNumbers, Round, Way
from sitegen.studio.term_versions import AcceptedTerms

__all__ = [
    "AcceptedTerms",
    "BenchOrder",
    "Client",
    "Commissions",
    "Move",
    "Order",
    "PublicNumbers",
    "Receipt",
    "Round",
    "Step",
    "Tier",
    "Waiting",
    "Way",
]


class BenchOrder(StrEnum):
    """In which order accepted pieces come to the bench."""

    AS_BOOKED = "as booked"
    BY_PROMISED_DAY = "by promised day"


class GuessedHours(Entry):
    """What a piece takes in hours: hardly ever below `low`, usually `usual`, hardly ever above `high`."""

    low: Hours = Field(examples=["14"])
    usual: Hours = Field(examples=["20"])
    high: Hours = Field(examples=["32"])


class TierPrivate(Entry):
    """What only the artist may know of a tier."""

    hours: GuessedHours | None = None
    """A guess, for as long as there are few records."""


class Tier(Entry):
    """A kind of commission with its lowest price."""

    name: Name = Field(examples=["Small figure"])
    from_price: Money = Field(examples=["420"])
    height_mm: Millimetres | None = None
    includes: str = ""
    private: TierPrivate = Field(default_factory=TierPrivate, repr=False)


# The client has said yes to an offer, and the terms hold.
AGREED = frozenset({Step.ACCEPTED, Step.ON_THE_BENCH, Step.FINISHED, Step.PAID, Step.SHIPPED})


class Order(Entry):
    """One order in the queue."""

    code: Name = Field(examples=["W27-1"])
    tier: str = Field(examples=["Small figure"])
    step: Annotated[Step, BeforeValidator(one_of(Step))] = Field(examples=["on the bench"])
    since: Day | None = None
    """The day of the latest step."""
    moves: Annotated[tuple[Move, ...], BeforeValidator(moves_of_file)] = ()
    """What moved when: `2026-08-30 request; 2026-09-06 offered`."""
    round: str = ""
    """The round it was asked for in; without it, the round in whose time the request came, to the minute."""
    terms: AcceptedTerms | None = None
    """The terms the client accepted: `{version: 2026-11, on: 2026-11-25}`."""
    private: Client = Field(default_factory=Client, repr=False)

    @property
    def first(self) -> Move | None:
        """The first step on record, which is the request where that was written down."""
        if self.moves:
            return self.moves[0]
        return Move(on=self.since, step=self.step) if self.since else None

    @property
    def agreed(self) -> bool:
        """True once it was accepted, for good: a client stands behind it and terms hold."""
        return self.step in AGREED

    def day_of(self, step: Step) -> date | None:
        """Return the latest day on which it came to a step; None if that isn't on record."""
        days = [move.on for move in self.moves if move.step == step]
        return days[-1] if days else (self.since if self.step is step else None)


class Waiting(Entry):
    """Someone who waits for the next round."""

    since: Day = Field(examples=["2026-08-02"])
    tier: str = ""
    private: Client = Field(default_factory=Client, repr=False)


class Commissions(Entry):
    """The whole of commissions.yaml."""

    tiers: tuple[Tier, ...] = ()
    rounds: tuple[Round, ...] = ()
    queue: tuple[Order, ...] = ()
    waiting: tuple[Waiting, ...] = ()
    offer_days: Days = 14
    """How many days an offer stands before the next in line gets it."""
    bench_order: Annotated[BenchOrder | None, BeforeValidator(one_of(BenchOrder))] = None
    """`as booked` or `by promised day`; without it, whichever keeps more promises."""
