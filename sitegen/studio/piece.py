"""A one-of-a-kind piece as the artist's file tells it, private part included: what it is, and where."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from sitegen.studio import fields, money
from sitegen.studio.fields import Entry
from sitegen.studio.order_lines import AcceptedTerms, PriceSteps, Receipts, Worked
from sitegen.studio.plan import DepositText
from sitegen.studio.settings import SecureAddress
from sitegen.studio.text import quoted


class Status(StrEnum):
    """A piece's standing. The value is the word the artist writes and the collector reads."""

    IN_PROGRESS = "in progress"
    AVAILABLE = "available"
    ON_HOLD = "on hold"
    SOLD = "sold"
    COMMISSIONED = "commissioned"
    NOT_FOR_SALE = "not for sale"

    @property
    def offered(self) -> bool:
        """True for the one status under which a price or a way to buy may be shown."""
        return self is Status.AVAILABLE

    @property
    def availability(self) -> str:
        """Name the member of schema.org's ItemAvailability (release 30.0) that says the same."""
        return AVAILABILITY[self]


# schema.org has no word for "not offered (yet, or ever)"; OutOfStock promises nothing to a buyer.
# A commissioned piece belongs to its client, so it is SoldOut rather than MadeToOrder, which would
# offer to make the same thing again.
AVAILABILITY: dict[Status, str] = {
    Status.IN_PROGRESS: "OutOfStock",
    Status.AVAILABLE: "InStock",
    Status.ON_HOLD: "Reserved",
    Status.SOLD: "SoldOut",
    Status.COMMISSIONED: "SoldOut",
    Status.NOT_FOR_SALE: "OutOfStock",
}


class Stream(StrEnum):
    """Where a piece's money came from."""

    ORIGINALS = "originals"
    COMMISSIONS = "commissions"
    SHOWS = "shows"


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

    share: fields.Percent | None = None
    """Their share of what it's sold for there: `40%`."""
    lowest: fields.Money | None = None
    """The lowest price they may sell it for without asking; without it, the piece's price."""
    pays_in: fields.Days | None = None
    """How many days after a sale they pay you: `30`."""


class Stay(Entry):
    """One time away from home, from the day it went to the day it was back."""

    place: str = Field(default="", examples=["The Long Room"])
    """Its name, as the site tells it."""
    kind: Annotated[StayKind, fields.choice(StayKind)] = Field(default=StayKind.GALLERY, alias="as")
    town: str = ""
    link: fields.WebAddress | None = None
    """The place's own page."""
    since: fields.Day = Field(examples=["2026-11-02"])
    until: fields.Day | None = None
    """The day it's due back."""
    back: fields.Day | None = None
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


def _read_number(text: str) -> str:
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2,4}", text.strip()):
        raise ValueError(f"{quoted(text)} is not a studio number; write year and count, like 2026-07")
    return text.strip()


def _read_was(text: str) -> tuple[str, ...]:
    names = [name.strip() for name in text.split(",") if name.strip()]
    if wrong := next((name for name in names if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)), None):
        raise ValueError(f"'{wrong}' was no address; write the old folder name in a-z, 0-9 and hyphens")
    return tuple(names)


class Photo(Entry):
    """One photograph of a piece."""

    file: str = Field(examples=["front.jpg"])
    """Name of the file beside piece.yaml."""
    alt: str = ""
    """What the picture shows, for someone who can't see it."""
    detail: fields.YesNo = False
    """A detail may be cropped for a card; a whole figure never is."""
    focus: Annotated[tuple[fields.Number, fields.Number] | None, Field(examples=["[0.5, 0.3]"])] = None
    """Centre of interest: share of the width from the left, share of the height from the top, 0 to 1."""

    @model_validator(mode="after")
    def _focus_lies_inside(self) -> Photo:
        if self.focus is not None and max(self.focus) > 1:
            raise ValueError("focus is two shares between 0 and 1, like [0.5, 0.3]: across, then down")
        return self


class Supply(Entry):
    """Something bought for one piece."""

    what: str = Field(examples=["glass eyes, 12 mm"])
    cost: fields.Money = Field(examples=["23.50"])


class Sold(Entry):
    """A sale: never shown in public."""

    on: fields.Day = Field(examples=["2026-05-14"])
    price: fields.Money = Field(examples=["480"])
    stream: Annotated[Stream, fields.choice(Stream)] = Stream.ORIGINALS
    to: str = ""
    at: str = ""
    """The place that sold it, where that wasn't the artist."""
    fee: fields.Money | None = None
    """What that place kept of the price; in the stead of the studio's usual fees."""
    due: fields.Day | None = Field(default=None, examples=["2026-06-13"])
    """The day by which its money is to come, where it didn't come at once; owed until it's `paid`."""
    paid: fields.Day | None = Field(default=None, examples=["2026-06-10"])
    """The day its money came, less what the place kept, where that isn't the day of the sale."""
    returned: fields.Day | None = Field(default=None, examples=["2026-06-02"])
    """The day it came back."""
    refund: fields.Money | None = None
    """What was sent back for it on that day."""

    @model_validator(mode="after")
    def _comes_back_after_it_went(self) -> Sold:
        if self.returned is not None and self.returned < self.on:
            raise ValueError(f"it came back ({self.returned}) before it was sold ({self.on})")
        for said, day in (("is due", self.due), ("came", self.paid)):
            if day is not None and day < self.on:
                raise ValueError(f"its money {said} ({day}) before it was sold ({self.on})")
        if self.refund is not None and self.returned is None:
            raise ValueError(f"a refund of {self.refund} has no day; add a line like `returned: 2026-06-02`")
        if self.fee is not None and self.fee > self.price:
            raise ValueError(f"a fee of {self.fee} is more than it was sold for ({self.price})")
        return self


def _read_sales(written: object) -> object:
    return (written,) if isinstance(written, dict) else written


class BuyerPlan(Entry):
    """Someone pays for a finished piece in parts; it is kept for them until then: never shown in public."""

    to: str = Field(default="", repr=False)
    email: str = Field(default="", repr=False)
    start: fields.Day = Field(alias="from", examples=["2026-11-25"])
    """The day the deposit is due."""
    price: fields.Money | None = None
    """As agreed; without it, the piece's price."""
    deposit: DepositText = ""
    """A percentage or an amount, where it isn't the studio's usual deposit."""
    instalments: fields.Count | None = None
    """How many, where it isn't the number of the price's band."""
    paid: Receipts = ()
    """What came in and went back: `2026-11-25 144; 2026-12-28 168`."""
    terms: AcceptedTerms | None = None
    """The terms the buyer accepted: `{version: 2026-11, on: 2026-11-25}`."""


class PiecePrivate(Entry):
    """What only the artist may know of a piece."""

    hours: dict[fields.Name, fields.Hours] = Field(default_factory=dict)
    """Bench hours by step of the work."""
    worked: Worked = ()
    """The same hours by the week, as they're noted: `2026-11-23 5.5; 2026-11-30 7`."""
    supplies: tuple[Supply, ...] = ()
    sales: Annotated[tuple[Sold, ...], BeforeValidator(_read_sales)] = Field(default=(), alias="sold")
    """One sale, or a list of them for a piece that came back and was sold again."""
    tier: str = ""
    """The commission tier whose hours it tells of, as named in commissions.yaml."""
    order: str = ""
    """Code of the place in the queue that it's made for."""
    plan: BuyerPlan | None = None
    """How its buyer pays for it in parts."""
    priced: fields.Day | None = None
    """The day its asking price was set last, if that isn't the day it was finished."""
    next_prices: PriceSteps = ()
    """What it's to cost from a day on, which `today` reminds of: `2027-02-01 506; 2027-08-01 530`."""

    @model_validator(mode="after")
    def _one_owner_at_a_time(self) -> PiecePrivate:
        for earlier, later in pairwise(self.sales):
            if earlier.returned is None or later.on < earlier.returned:
                raise ValueError(
                    f"sold on {later.on}, but the sale of {earlier.on} says of no return before that; add "
                    f"`returned: {later.on}` and its `refund:` to the earlier sale"
                )
        return self

    @property
    def sold(self) -> Sold | None:
        """The sale that holds; None where it never was sold, or came back."""
        return self.sales[-1] if self.sales and self.sales[-1].returned is None else None


def tall(size: str, height_mm: int | None) -> str | int:
    """Return how tall a piece is: the artist's own words, else millimetres, else nothing."""
    return size or height_mm or ""


class Piece(Entry):
    """One piece of the inventory."""

    slug: str
    title: fields.Name = Field(examples=["The Moth Clerk"])
    status: Annotated[Status, fields.choice(Status)] = Field(examples=["available"])
    number: Annotated[str | None, fields.typed(_read_number)] = None
    """Studio number: year and count, `2026-07`."""
    price: fields.Money | None = None
    """Asking price in the studio's currency."""
    buy_at: SecureAddress | None = None
    """Where this piece is bought; overrules studio.yaml."""
    finished: fields.Day | None = None
    series: str | None = None
    height_mm: fields.Millimetres | None = None
    size: str = ""
    """Free words where one height doesn't say it."""
    base: str = ""
    materials: str = ""
    story: str = ""
    """Markdown."""
    photos: tuple[Photo, ...] = ()
    was: Annotated[tuple[str, ...], fields.typed(_read_was)] = ()
    """Earlier folder names, so that a printed address still leads here: `moth-clerk, old-moth`."""
    away: tuple[Stay, ...] = ()
    """Where it was and is when not at home, in the order of days."""
    private: PiecePrivate = Field(default_factory=PiecePrivate, repr=False)

    @model_validator(mode="after")
    def _in_one_place_at_a_time(self) -> Piece:
        refuse_two_places(self.away, tuple(sale.on for sale in self.private.sales))
        return self

    def stay(self, day: date) -> Stay | None:
        """Return where it is on a day; None at home. Who bought it at a gallery has it from there."""
        last = next((stay for stay in reversed(self.away) if stay.since <= day), None)
        if last is None or (last.back is not None and last.back <= day):
            return None
        sold = any(last.covers(sale.on) and sale.on <= day for sale in self.private.sales)
        return None if sold and last.kind is StayKind.GALLERY else last

    def sold_at(self, day: date) -> Stay | None:
        """Return the place that sells it on a day, if one does."""
        return next((stay for stay in self.away if stay.sells and stay.covers(day)), None)

    def overdue(self, day: date) -> Stay | None:
        """Return where it is though it was due back before a day."""
        stay = self.stay(day)
        return stay if stay is not None and stay.until is not None and stay.until < day else None

    def rests(self, day: date) -> bool:
        """Tell whether it is shown and offered nowhere on a day."""
        stay = self.stay(day)
        return stay is not None and stay.kind is StayKind.RESTING

    @property
    def held_at(self) -> Decimal | None:
        """The price for whoever it's kept for: as agreed on, else the one that is asked."""
        plan = self.private.plan
        return plan.price if plan is not None and plan.price is not None else self.price

    @property
    def hours(self) -> Decimal:
        """All tracked hours."""
        return sum(self.private.hours.values(), Decimal(0))

    @property
    def unpriced_sale(self) -> bool:
        """Whether it's gone and neither a sale nor an order says for how much."""
        gone = self.status is Status.SOLD or (self.status is Status.COMMISSIONED and not self.private.order)
        return gone and self.private.sold is None

    @property
    def newest_first(self) -> tuple[int, int, str, str]:
        """Sort key: unfinished first, then the latest finished, then the latest number, then the slug."""
        day = self.finished or date.max
        count = -int((self.number or "0-0").split("-")[1])
        return (-day.toordinal(), count, self.number or "", self.slug)
