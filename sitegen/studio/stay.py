"""Where a piece is when it isn't at home: at a gallery, in an exhibition, on loan; or resting."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Annotated

from pydantic import Field, model_validator

from sitegen.studio import money
from sitegen.studio.fields import Day, Entry, Money, Percent, WebAddress, choice


class StayKind(StrEnum):
    """As what a piece is away."""

    GALLERY = "gallery"
    """Given on commission, to be sold there."""
    EXHIBITION = "exhibition"
    LOAN = "loan"
    RESTING = "resting"
    """At home, shown and offered nowhere, kept in the books."""


class StayPrivate(Entry):
    """What was agreed on with a place; never shown in public."""

    share: Percent | None = None
    """Their share of what it's sold for there: `40%`."""
    lowest: Money | None = None
    """The lowest price they may sell it for without asking; without it, the piece's price."""


class Stay(Entry):
    """One time away from home, from the day it went to the day it was back."""

    place: str = Field(default="", examples=["The Long Room"])
    """Its name, as the site tells it."""
    kind: Annotated[StayKind, choice(StayKind)] = Field(default=StayKind.GALLERY, alias="as")
    town: str = ""
    link: WebAddress | None = None
    """The place's own page."""
    since: Day = Field(examples=["2026-11-02"])
    until: Day | None = None
    """The day it's due back."""
    back: Day | None = None
    """The day it was back."""
    private: StayPrivate = Field(default_factory=StayPrivate, repr=False)

    @model_validator(mode="after")
    def _goes_before_it_comes(self) -> Stay:
        if self.kind is not StayKind.RESTING and not self.place.strip():
            cure = "add a line like `place: The Long Room`, or `as: resting`"
            raise ValueError(f"nothing says where it is; {cure}")
        for word, day in (("until", self.until), ("back", self.back)):
            if day is not None and day < self.since:
                raise ValueError(f"{word} ({day}) lies before since ({self.since}); look at both days again")
        return self

    @property
    def sells(self) -> bool:
        """True where it's bought from the place, not from the artist."""
        return self.kind is StayKind.GALLERY or self.private.share is not None

    @property
    def overdue(self) -> str:
        """Say that the day it was due back is over."""
        if self.kind is StayKind.RESTING:
            return f"it was to rest until {self.until}"
        return f"it was due back from {self.place} on {self.until}"

    def covers(self, day: date) -> bool:
        """Tell whether it was away on a day; on the day it's back it may still have been sold there."""
        return self.since <= day and (self.back is None or day <= self.back)

    def fee(self, price: Decimal, digits: int) -> Decimal | None:
        """Return the place's share of a price, to the coin; None where nothing was agreed on."""
        return None if self.private.share is None else money.share(price, self.private.share, digits)


def refuse_two_places(stays: tuple[Stay, ...], sold: tuple[date, ...]) -> None:
    """Raise ValueError for a piece that is at two places at once; a gallery's time ends with its sale."""
    for earlier, later in pairwise(stays):
        ends = [day for day in sold if earlier.kind is StayKind.GALLERY and earlier.covers(day)]
        over = earlier.back or min(ends, default=None)
        if over is None or later.since < over:
            out = f"out since {earlier.since} too ({earlier.place or 'resting'})"
            cure = f"add `back: {later.since}` to the earlier one"
            raise ValueError(
                f"away since {later.since}, but {out}, and nothing says when it was back; {cure}"
            )
