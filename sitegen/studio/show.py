"""A show with a table, or a class: where, when, and (privately) what it cost and brought in."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Annotated

from pydantic import Field, model_validator

from sitegen.studio.fields import Count, Day, Entry, Hours, Money, Name, WebAddress, choice, typed
from sitegen.studio.person import Interest
from sitegen.studio.piece import Stream, Supply
from sitegen.studio.settings import OtherStream


class ShowKind(StrEnum):
    """What it is that people come to."""

    SHOW = "show"
    CLASS = "class"

    @property
    def interest(self) -> Interest:
        """Who is told of it."""
        return Interest.CLASSES if self is ShowKind.CLASS else Interest.SHOWS

    @property
    def stream(self) -> str:
        """Where its money comes from."""
        return str(OtherStream.CLASSES if self is ShowKind.CLASS else Stream.SHOWS)


class Attendance(StrEnum):
    """Whether people can still come."""

    OPEN = "open"
    FULL = "full"
    CANCELLED = "cancelled"


def _read_pieces(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name.strip() for name in text.split(",") if name.strip()))


class ShowCost(Supply):
    """One thing that a show or class costs; the books count it on the day it's paid."""

    on: Day | None = Field(default=None, examples=["2026-10-05"])
    """The day it's paid, where that isn't the show's first."""


class ShowSale(Entry):
    """One thing sold at the table."""

    what: str = Field(examples=["moth-usher"])
    """A piece's folder name, or words: `six places`."""
    price: Money = Field(examples=["480"])


class ShowPrivate(Entry):
    """What only the artist may know of a show or class."""

    hours: Hours = Decimal(0)
    """What a class or a show took: preparation, the way, behind the table."""
    costs: tuple[ShowCost, ...] = ()
    sales: tuple[ShowSale, ...] = ()


class Show(Entry):
    """One show or class, past or coming."""

    slug: str
    name: Name = Field(examples=["Harbour Doll Fair"])
    kind: Annotated[ShowKind, choice(ShowKind)] = ShowKind.SHOW
    """`show`, or `class` for one without a table."""
    venue: str = ""
    address: str = ""
    first_day: Day = Field(alias="from", examples=["2027-02-27"])
    last_day: Day | None = Field(default=None, alias="to")
    hours: str = ""
    table: str = ""
    places: Count | None = None
    """How many can take part in a class."""
    fee: Money | None = None
    """What a class costs, in the studio's currency."""
    includes: str = ""
    """What the fee includes: clay and eyes, lunch."""
    attendance: Annotated[Attendance, choice(Attendance)] = Attendance.OPEN
    """`open`, `full` once no place is left, or `cancelled`."""
    bring: Annotated[tuple[str, ...], typed(_read_pieces)] = ()
    """The pieces that go to the table, by their folders: `moth-usher, star-darner`. No page shows it."""
    link: WebAddress | None = None
    about: str = ""
    private: ShowPrivate = Field(default_factory=ShowPrivate, repr=False)

    @model_validator(mode="after")
    def _ends_after_it_starts(self) -> Show:
        if self.last_day is not None and self.last_day < self.first_day:
            raise ValueError(f"the show ends ({self.last_day}) before it starts ({self.first_day})")
        return self

    @model_validator(mode="after")
    def _has_what_its_kind_has(self) -> Show:
        of_class = {"places": self.places, "fee": self.fee, "includes": self.includes}
        wrong = [name for name, value in of_class.items() if value not in {None, ""}]
        if self.kind is ShowKind.SHOW and wrong:
            raise ValueError(f"`{wrong[0]}` is what a class has; add `kind: class`, or take it out")
        if self.kind is ShowKind.CLASS and self.table:
            raise ValueError("a class has no table; take `table` out, or `kind: class`")
        return self

    def meets(self, other: Show) -> bool:
        """Tell whether both are on at least one same day, and are held."""
        held = Attendance.CANCELLED not in {self.attendance, other.attendance}
        return held and self.first_day <= other.ends and other.first_day <= self.ends

    @property
    def spent(self) -> tuple[tuple[date, Decimal, str], ...]:
        """What each of its costs was or is to be paid on, how much, and what for."""
        return tuple((cost.on or self.first_day, cost.cost, cost.what) for cost in self.private.costs)

    @property
    def is_class(self) -> bool:
        """True for a class."""
        return self.kind is ShowKind.CLASS

    @property
    def ends(self) -> date:
        """The last day, which is the first for a show of one day."""
        return self.last_day or self.first_day

    def runs(self, day: date) -> bool:
        """Tell whether a day is one of its days."""
        return self.first_day <= day <= self.ends
