"""Who and where the studio is: studio.yaml."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, model_validator

from sitegen.studio import money
from sitegen.studio.fields import (
    Colour,
    Day,
    Entry,
    Money,
    Number,
    Percent,
    WebAddress,
    Whole,
    Zone,
    not_one_of,
)


def _read_currency(text: Any) -> Any:
    if isinstance(text, str):
        money.minor_digits(text.strip())
        return text.strip()
    return text


def _read_paper(text: Any) -> Any:
    papers = ["a4", "letter"]
    if isinstance(text, str) and text.strip().lower() not in papers:
        raise ValueError(not_one_of(text, papers))
    return text.strip().lower() if isinstance(text, str) else text


def _read_deposit(text: Any, info: Any) -> Any:
    if isinstance(text, str) and not text.strip().endswith("%"):
        digits = (info.context or {}).get("digits", 2)
        money.read_amount(text, digits)
    return text.strip() if isinstance(text, str) else text


class Series(Entry):
    """A room of the gallery, with a paragraph at the door."""

    name: str = Field(examples=["Night Market"])
    about: str = ""


class Band(Entry):
    """How many instalments a price gets."""

    instalments: Whole = Field(examples=["3"])
    up_to: Money | None = None
    """Highest price of this band; the last band may leave it out."""


class PaymentPlan(Entry):
    """The studio's usual payment plan: public, since collectors are told of it."""

    deposit: Annotated[str, BeforeValidator(_read_deposit)] = Field(examples=["30%"])
    """A percentage, or an amount."""
    bands: tuple[Band, ...] = ()


class DaysAway(Entry):
    """Days without bench work: rest counts as much as shows."""

    first_day: Day = Field(alias="from", examples=["2026-12-20"])
    last_day: Day = Field(alias="to", examples=["2027-01-03"])
    why: str = ""

    @model_validator(mode="after")
    def _ends_after_it_starts(self) -> DaysAway:
        if self.last_day < self.first_day:
            raise ValueError(f"these days away end ({self.last_day}) before they start ({self.first_day})")
        return self


class Desk(Entry):
    """The artist's own numbers: never shown in public."""

    rate: Money | None = None
    """What an hour at the bench must earn."""
    overhead: Money | None = None
    """What the studio costs in a month, whether or not anything sells."""
    fees: Percent = Decimal(0)
    """Share of the price that selling costs."""
    weekly_hours: Number | None = None
    """Bench hours in a usual week."""
    days_away: tuple[DaysAway, ...] = ()


class Settings(Entry):
    """The whole of studio.yaml."""

    studio: str = Field(examples=["Saltglass Studio"])
    maker: str = Field(examples=["Ada Example"])
    tagline: str = ""
    site: WebAddress = Field(examples=["https://studio.example/"])
    contact: str = Field(examples=["hello@studio.example"])
    postal_address: str = ""
    currency: Annotated[str, BeforeValidator(_read_currency)] = Field(examples=["EUR"])
    time_zone: Zone = Field(examples=["Europe/Dublin"])
    language: str = "en"
    theme: str = "case"
    accent: Colour | None = None
    paper: Annotated[str, BeforeValidator(_read_paper)] = "a4"
    consent: str = ""
    payment_plan: PaymentPlan | None = None
    series: tuple[Series, ...] = ()
    shipping: str = ""
    care: str = ""
    how_to_ask: str = ""
    declined: tuple[str, ...] = ()
    private: Desk = Field(default_factory=Desk, repr=False)

    @property
    def digits(self) -> int:
        """Digits after the point in the studio's currency (ISO 4217)."""
        return money.minor_digits(self.currency)

    @property
    def address(self) -> str:
        """The site's address, ending in one slash."""
        return self.site.rstrip("/") + "/"
