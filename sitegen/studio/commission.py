"""Commissions: who asks, tiers, rounds, the queue and the waiting list."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta, tzinfo
from decimal import Decimal
from enum import StrEnum
from typing import Annotated

from pydantic import Field, model_validator

from sitegen.studio import fields
from sitegen.studio.draw import Source
from sitegen.studio.fields import Entry
from sitegen.studio.order_lines import (
    AcceptedTerms,
    DaysTold,
    Move,
    Moves,
    PostageLine,
    PriceSteps,
    Receipts,
    Step,
    Worked,
)
from sitegen.studio.person import address_key
from sitegen.studio.plan import CalledOffBy, DepositText
from sitegen.studio.text import slug


class Client(Entry):
    """Who ordered or waits: never shown in public."""

    name: str = ""
    email: str = ""
    price: fields.Money | None = None
    postage: PostageLine = None
    """To this client's address: an amount on top of the price, or `included`."""
    brief: str = ""
    """What is made, in words that the client reads in the offer: subject, materials."""
    notes: str = ""
    promised: fields.Day | None = None
    """The day the piece was promised for when the order was agreed on."""
    new_days: DaysTold = ()
    """New days named since, in that order; the last one holds."""
    deposit: DepositText = ""
    """A percentage or an amount, where it isn't the studio's usual deposit."""
    instalments: fields.Count | None = None
    """How many, where it isn't the number of the price's band."""
    plan_from: fields.Day | None = None
    """The day the deposit is due; without it, the day the offer was accepted."""
    paid: Receipts = ()
    """What came in and went back: `2026-09-16 282; 2026-10-16 219.34; 2026-11-02 -120`."""
    hours: dict[fields.Name, fields.Hours] = Field(default_factory=dict)
    """Bench hours by step of the work, for as long as the piece has no folder of its own."""
    worked: Worked = ()
    """The same hours by the week, as they're noted: `2026-11-23 5.5; 2026-11-30 7`."""
    why: str = ""
    """Why it ended, in the artist's words."""
    called_off_by: Annotated[CalledOffBy | None, fields.choice(CalledOffBy)] = None
    """`client` or `maker`, of an order that was called off."""
    kept: fields.Money | None = None
    """Of an order that was called off: what the studio keeps of the money paid."""
    claimed: fields.Money | None = None
    """Of an order that was called off: what is still asked for, beyond what was paid."""

    @property
    def promised_now(self) -> date | None:
        """The day that is promised as things stand: the newest, else the first."""
        return self.new_days[-1] if self.new_days else self.promised


def count_people(clients: Iterable[Client], known: Iterable[Client] = ()) -> int:
    """Count people: those known already, and of the others each once."""
    found = list(known)
    for client in clients:
        if not any(same_person(client, asker) for asker in found):
            found.append(client)
    return len(found)


def same_person(asker: Client, other: Client) -> bool:
    """Tell whether two entries are one person's: by mail address, or by name where one has no address."""
    if asker.email.strip() and other.email.strip():
        return address_key(asker.email) == address_key(other.email)
    name, other_name = (" ".join(client.name.split()).casefold() for client in (asker, other))
    return bool(name) and name == other_name


class Way(StrEnum):
    """How a round's slots are given out."""

    DRAW = "draw"
    FIRST_COME = "first come"
    WAITING_LIST = "waiting list"


class PublicNumbers(Source):
    """A future public source of numbers, named before a draw."""

    name: str = Field(examples=["Example Lottery, main numbers drawn on 30 January 2027"])
    due: fields.Day = Field(examples=["2027-01-30"])


class Round(Entry):
    """A time in which commission slots can be asked for. Times are in the studio's zone."""

    name: fields.Name = Field(examples=["Winter 2027"])
    opens: fields.Moment = Field(examples=["2027-01-16 12:00"])
    closes: fields.Moment | None = None
    slots: fields.Count = Field(examples=["5"])
    way: Annotated[Way, fields.choice(Way)] = Way.FIRST_COME
    tiers: tuple[str, ...] = ()
    """Names of the tiers on offer; none named means all."""
    note: str = ""
    head_start: fields.HeadStart = 0
    """Hours by which the waiting list may ask earlier, where it's first come, first served."""
    sources: tuple[PublicNumbers, ...] = ()
    """For a draw: where its randomness will come from, in this order."""
    wait_days: fields.Days = 7
    """For a draw: a source so many days late counts as the number 0."""

    @property
    def slug(self) -> str:
        """The round's name as it stands in addresses and folder names."""
        return slug(self.name) or "round"

    @model_validator(mode="after")
    def _closes_after_it_opens(self) -> Round:
        if self.closes is not None and self.closes <= self.opens:
            raise ValueError(f"the round closes ({self.closes:%Y-%m-%d %H:%M}) before it opens")
        return self

    @property
    def zone(self) -> tzinfo:
        """The studio's zone, as it was given when the round was read; UTC where none was."""
        return self.opens.tzinfo or UTC

    def taken_from(self, *, early: bool = False) -> datetime:
        """Return when requests are taken from, in UTC; earlier for those who have the head start.

        In UTC, since an hour less on the wall isn't an hour less when the clocks change in between.
        """
        opens = self.opens.replace(tzinfo=self.zone).astimezone(UTC)
        hours = self.head_start if early and self.way is Way.FIRST_COME else 0
        return opens - timedelta(hours=hours)

    @property
    def closed_at(self) -> datetime | None:
        """The first moment at which requests aren't taken any more, in UTC; None where it stays open."""
        return self.closes.replace(tzinfo=self.zone).astimezone(UTC) if self.closes else None

    def is_over(self, moment: datetime) -> bool:
        """Tell whether requests aren't taken any more."""
        return self.closed_at is not None and moment >= self.closed_at

    def takes(self, tier: str) -> bool:
        """Tell whether a size can be asked for."""
        return not self.tiers or tier in self.tiers


class BenchOrder(StrEnum):
    """In which order accepted pieces come to the bench."""

    AS_BOOKED = "as booked"
    BY_PROMISED_DAY = "by promised day"


class GuessedHours(Entry):
    """What a piece takes in hours: hardly ever below `low`, usually `usual`, hardly ever above `high`."""

    low: fields.Hours = Field(examples=["14"])
    usual: fields.Hours = Field(examples=["20"])
    high: fields.Hours = Field(examples=["32"])

    @model_validator(mode="after")
    def _in_order(self) -> GuessedHours:
        if not self.low <= self.usual <= self.high or not self.high:
            said = f"{self.low}, {self.usual}, {self.high}"
            raise ValueError(f"hours of {said} aren't in order; write low, usual, high")
        return self


class TierPrivate(Entry):
    """What only the artist may know of a tier."""

    hours: GuessedHours | None = None
    """A guess, for as long as there are few records."""
    priced: fields.Day | None = None
    """The day its price was set last."""
    next_prices: PriceSteps = ()
    """What it's to cost from a day on, which `today` reminds of: `2027-02-01 440`."""


class Tier(Entry):
    """A kind of commission with its lowest price."""

    name: fields.Name = Field(examples=["Small figure"])
    from_price: fields.Money = Field(examples=["420"])
    height_mm: fields.Millimetres | None = None
    includes: str = ""
    private: TierPrivate = Field(default_factory=TierPrivate, repr=False)


# The client has said yes to an offer, and the terms hold.
AGREED = frozenset({Step.ACCEPTED, Step.ON_THE_BENCH, Step.FINISHED, Step.PAID, Step.SHIPPED})


class Order(Entry):
    """One order in the queue."""

    code: fields.Name = Field(examples=["W27-1"])
    tier: str = Field(examples=["Small figure"])
    step: Annotated[Step, fields.choice(Step)] = Field(examples=["on the bench"])
    since: fields.Day | None = None
    """The day of the latest step."""
    moves: Moves = ()
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

    @property
    def paid(self) -> Decimal:
        """What came in for it, less what went back."""
        return sum((receipt.amount for receipt in self.private.paid), Decimal(0))

    @property
    def hours(self) -> Decimal:
        """Hours noted on the order itself."""
        return sum(self.private.hours.values(), Decimal(0))

    @property
    def finished_on(self) -> date | None:
        """The day it was finished, else that on which it was sent off; None if neither is on record."""
        return self.day_of(Step.FINISHED) or self.day_of(Step.SHIPPED)

    def was_at(self, step: Step) -> bool:
        """Tell whether a step is on record, the present one or an earlier one."""
        return any(move.step is step for move in self.moves)

    def day_of(self, step: Step) -> date | None:
        """Return the latest day on which it came to a step; None if that isn't on record."""
        days = [move.on for move in self.moves if move.step == step]
        return days[-1] if days else (self.since if self.step is step else None)


class Waiting(Entry):
    """Someone who waits for the next round."""

    since: fields.Day = Field(examples=["2026-08-02"])
    tier: str = ""
    private: Client = Field(default_factory=Client, repr=False)


class Commissions(Entry):
    """The whole of commissions.yaml."""

    tiers: tuple[Tier, ...] = ()
    rounds: tuple[Round, ...] = ()
    queue: tuple[Order, ...] = ()
    waiting: tuple[Waiting, ...] = ()
    offer_days: fields.Days = 14
    """How many days an offer stands before the next in line gets it."""
    bench_order: Annotated[BenchOrder | None, fields.choice(BenchOrder)] = None
    """`as booked` or `by promised day`; without it, whichever keeps more promises."""
