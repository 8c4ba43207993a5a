"""A time in which commission slots can be asked for, to the minute by the studio's clock."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta, tzinfo
from enum import StrEnum
from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from sitegen.studio.fields import Count, Day, Days, Entry, HeadStart, Moment, Name, Whole, one_of
from sitegen.studio.names import slug
from sitegen.studio.order_lines import Move


class Way(StrEnum):
    """How a round's slots are given out."""

    DRAW = "draw"
    FIRST_COME = "first come"
    WAITING_LIST = "waiting list"


class PublicNumbers(Entry):
    """A future public source of numbers, named before a draw."""

    name: str = Field(examples=["Example Lottery, main numbers drawn on 30 January 2027"])
    """Exact enough that two strangers would read off the same numbers."""
    due: Day = Field(examples=["2027-01-30"])
    """The day its numbers are published."""
    drawn: Count | None = None
    """How many numbers are drawn ..."""
    highest: Whole | None = None
    """... out of 1 to this."""
    numbers: str = ""
    """As published; empty until then."""


class Round(Entry):
    """A time in which commission slots can be asked for. Times are in the studio's zone."""

    name: Name = Field(examples=["Winter 2027"])
    opens: Moment = Field(examples=["2027-01-16 12:00"])
    closes: Moment | None = None
    slots: Count = Field(examples=["5"])
    way: Annotated[Way, BeforeValidator(one_of(Way))] = Way.FIRST_COME
    tiers: tuple[str, ...] = ()
    """Names of the tiers on offer; none named means all."""
    note: str = ""
    head_start: HeadStart = 0
    """Hours by which the waiting list may ask earlier, where it's first come, first served."""
    sources: tuple[PublicNumbers, ...] = ()
    """For a draw: where its randomness will come from, in this order."""
    wait_days: Days = 7
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

    def takes(self, tier: str) -> bool:
        """Tell whether a size can be asked for."""
        return not self.tiers or tier in self.tiers


def span_of(move: Move, zone: tzinfo) -> tuple[datetime, datetime]:
    """Return the first and last moment at which a step may have been taken, in UTC.

    Without a time of day that's the whole day. A time that the clocks show twice is the first of both,
    unless it's written as the second (`02:15B`).
    """
    if move.at is not None:
        at = datetime.combine(move.on, move.at, zone).astimezone(UTC)
        return at, at
    first = datetime.combine(move.on, time.min, zone).astimezone(UTC)
    return first, datetime.combine(move.on, time.max, zone).astimezone(UTC)
