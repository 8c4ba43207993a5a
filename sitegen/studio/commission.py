"""Commissions: tiers, rounds, the queue and the waiting list."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from sitegen.studio.fields import Day, Entry, Moment, Money, Whole, one_of
from sitegen.studio.names import slug


class Way(StrEnum):
    """How a round's slots are given out."""

    DRAW = "draw"
    FIRST_COME = "first come"
    WAITING_LIST = "waiting list"


class Step(StrEnum):
    """Where a commission stands, from first letter to parcel."""

    REQUEST = "request"
    WAITING = "waiting"
    OFFERED = "offered"
    ACCEPTED = "accepted"
    ON_THE_BENCH = "on the bench"
    FINISHED = "finished"
    PAID = "paid"
    SHIPPED = "shipped"
    DECLINED = "declined"


class Tier(Entry):
    """A kind of commission with its lowest price."""

    name: str = Field(examples=["Small figure"])
    from_price: Money = Field(examples=["420"])
    height_mm: Whole | None = None
    includes: str = ""


class Round(Entry):
    """A time in which commission slots can be asked for. Times are in the studio's zone."""

    name: str = Field(examples=["Winter 2027"])
    opens: Moment = Field(examples=["2027-01-16 12:00"])
    closes: Moment | None = None
    slots: Whole = Field(examples=["5"])
    way: Annotated[Way, BeforeValidator(one_of(Way))] = Way.FIRST_COME
    tiers: tuple[str, ...] = ()
    """Names of the tiers on offer; none named means all."""
    note: str = ""

    @property
    def slug(self) -> str:
        """The round's name as it stands in addresses and folder names."""
        return slug(self.name) or "round"

    @model_validator(mode="after")
    def _closes_after_it_opens(self) -> Round:
        if self.closes is not None and self.closes <= self.opens:
            raise ValueError(f"the round closes ({self.closes:%Y-%m-%d %H:%M}) before it opens")
        return self


class Client(Entry):
    """Who ordered or waits: never shown in public."""

    name: str = ""
    email: str = ""
    price: Money | None = None
    notes: str = ""


class Place(Entry):
    """One place in the queue."""

    code: str = Field(examples=["W27-1"])
    tier: str = Field(examples=["Small figure"])
    step: Annotated[Step, BeforeValidator(one_of(Step))] = Field(examples=["on the bench"])
    since: Day | None = None
    private: Client = Field(default_factory=Client, repr=False)


class Waiting(Entry):
    """Someone who waits for the next round."""

    since: Day = Field(examples=["2026-08-02"])
    tier: str = ""
    private: Client = Field(default_factory=Client, repr=False)


class Commissions(Entry):
    """The whole of commissions.yaml."""

    tiers: tuple[Tier, ...] = ()
    rounds: tuple[Round, ...] = ()
    queue: tuple[Place, ...] = ()
    waiting: tuple[Waiting, ...] = ()
