"""A show with a table: where, when, and (privately) what it cost and brought in."""

from __future__ import annotations

from datetime import date

from pydantic import Field, model_validator

from sitegen.studio.fields import Day, Entry, Money, Name, WebAddress
from sitegen.studio.piece import Supply


class ShowSale(Entry):
    """One thing sold at the table."""

    what: str = Field(examples=["moth-usher"])
    """A piece's folder name, or words."""
    price: Money = Field(examples=["480"])


class ShowPrivate(Entry):
    """What only the artist may know of a show."""

    costs: tuple[Supply, ...] = ()
    sales: tuple[ShowSale, ...] = ()


class Show(Entry):
    """One show, past or coming."""

    slug: str
    name: Name = Field(examples=["Harbour Doll Fair"])
    venue: str = ""
    address: str = ""
    first_day: Day = Field(alias="from", examples=["2027-02-27"])
    last_day: Day | None = Field(default=None, alias="to")
    hours: str = ""
    table: str = ""
    link: WebAddress | None = None
    about: str = ""
    private: ShowPrivate = Field(default_factory=ShowPrivate, repr=False)

    @model_validator(mode="after")
    def _ends_after_it_starts(self) -> Show:
        if self.last_day is not None and self.last_day < self.first_day:
            raise ValueError(f"the show ends ({self.last_day}) before it starts ({self.first_day})")
        return self

    @property
    def ends(self) -> date:
        """The last day, which is the first for a show of one day."""
        return self.last_day or self.first_day
