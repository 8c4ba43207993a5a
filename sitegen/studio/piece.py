"""A one-of-a-kind piece, as the artist's file tells it: private part included."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from sitegen.studio.fields import Count, Day, Entry, Hours, Millimetres, Money, Name, Number, YesNo, one_of
from sitegen.studio.foreign import quoted
from sitegen.studio.order_lines import Receipt, read_receipts
from sitegen.studio.outward import SecureAddress
from sitegen.studio.payment_fields import DepositText
from sitegen.studio.status import Status
from sitegen.studio.term_versions import AcceptedTerms


class Stream(StrEnum):
    """Where a piece's money came from."""

    ORIGINALS = "originals"
    COMMISSIONS = "commissions"
    SHOWS = "shows"


def _read_number(text: object) -> object:
    if isinstance(text, str) and not re.fullmatch(r"[0-9]{4}-[0-9]{2,4}", text.strip()):
        raise ValueError(f"{quoted(text)} is not a studio number; write year and count, like 2026-07")
    return text.strip() if isinstance(text, str) else text


class Photo(Entry):
    """One photograph of a piece."""

    file: str = Field(examples=["front.jpg"])
    """Name of the file beside piece.yaml."""
    alt: str = ""
    """What the picture shows, for someone who can't see it."""
    detail: YesNo = False
    """A detail may be cropped for a card; a whole figure never is."""
    focus: Annotated[tuple[Number, Number] | None, Field(examples=["[0.5, 0.3]"])] = None
    """Centre of interest: share of the width from the left, share of the height from the top, 0 to 1."""

    @model_validator(mode="after")
    def _focus_lies_inside(self) -> Photo:
        if self.focus is not None and max(self.focus) > 1:
            raise ValueError("focus is two shares between 0 and 1, like [0.5, 0.3]: across, then down")
        return self


class Supply(Entry):
    """Something bought for one piece."""

    what: str = Field(examples=["glass eyes, 12 mm"])
    cost: Money = Field(examples=["23.50"])


class Sold(Entry):
    """A sale: never shown in public."""

    on: Day = Field(examples=["2026-05-14"])
    price: Money = Field(examples=["480"])
    stream: Annotated[Stream, BeforeValidator(one_of(Stream))] = Stream.ORIGINALS
    to: str = ""


class BuyerPlan(Entry):
    """Someone pays for a finished piece in parts; it is kept for them until then: never shown in public."""

    to: str = Field(default="", repr=False)
    email: str = Field(default="", repr=False)
    start: Day = Field(alias="from", examples=["2026-11-25"])
    """The day the deposit is due."""
    price: Money | None = None
    """As agreed; without it, the piece's price."""
    deposit: DepositText = ""
    """A percentage or an amount, where it isn't the studio's usual deposit."""
    instalments: Count | None = None
    """How many, where it isn't the number of the price's band."""
    paid: Annotated[tuple[Receipt, ...], BeforeValidator(read_receipts)] = ()
    """What came in and went back: `2026-11-25 144; 2026-12-28 168`."""
    terms: AcceptedTerms | None = None
    """The terms the buyer accepted: `{version: 2026-11, on: 2026-11-25}`."""


class PiecePrivate(Entry):
    """What only the artist may know of a piece."""

    hours: dict[Name, Hours] = Field(default_factory=dict)
    """Bench hours by step of the work."""
    supplies: tuple[Supply, ...] = ()
    sold: Sold | None = None
    tier: str = ""
    """The commission tier whose hours it tells of, as named in commissions.yaml."""
    order: str = ""
    """Code of the place in the queue that it's made for."""
    plan: BuyerPlan | None = None
    """How its buyer pays for it in parts."""


class Piece(Entry):
    """One piece of the inventory."""

    slug: str
    title: Name = Field(examples=["The Moth Clerk"])
    status: Annotated[Status, BeforeValidator(one_of(Status))] = Field(examples=["available"])
    number: Annotated[str | None, BeforeValidator(_read_number)] = None
    """Studio number: year and count, `2026-07`."""
    price: Money | None = None
    """Asking price in the studio's currency."""
    buy_at: SecureAddress | None = None
    """Where this piece is bought; overrules studio.yaml."""
    finished: Day | None = None
    series: str | None = None
    height_mm: Millimetres | None = None
    size: str = ""
    """Free words where one height doesn't say it."""
    base: str = ""
    materials: str = ""
    story: str = ""
    """Markdown."""
    photos: tuple[Photo, ...] = ()
    private: PiecePrivate = Field(default_factory=PiecePrivate, repr=False)

    @property
    def hours(self) -> Decimal:
        """All tracked hours."""
        return sum(self.private.hours.values(), Decimal(0))

    @property
    def newest_first(self) -> tuple[int, int, str, str]:
        """Sort key: unfinished first, then the latest finished, then the latest number, then the slug."""
        day = self.finished or date.max
        count = -int((self.number or "0-0").split("-")[1])
        return (-day.toordinal(), count, self.number or "", self.slug)
