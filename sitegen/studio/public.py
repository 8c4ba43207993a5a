"""Front of house: the only view of the studio that a page, a letter or a sheet may hold.

Nothing private can be reached from here. A price exists only while its piece is available, so a
template cannot offer what is gone.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from zoneinfo import ZoneInfo

from sitegen.studio.commission import Way
from sitegen.studio.order_lines import Step
from sitegen.studio.piece import Status, StayKind
from sitegen.studio.plan import PaymentPlan
from sitegen.studio.settings import SalesTax
from sitegen.studio.show import Attendance, ShowKind
from sitegen.studio.text import slug as spelled
from sitegen.studio.whole import KeptTerms, Page


class RoundState(StrEnum):
    """Whether a round can be asked for at a given moment."""

    COMING = "coming"
    OPEN = "open"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class PublicStudio:
    """The studio's card."""

    studio: str
    maker: str
    tagline: str
    address: str  # the site's address, ending in a slash
    contact: str
    postal_address: str
    currency: str  # ISO 4217
    digits: int  # digits after the point in that currency
    zone: ZoneInfo
    language: str
    theme: str
    accent: str | None
    theme_options: Mapping[str, str]
    paper: str
    consent: str
    privacy_note: str
    sign_up: str | None  # where the mailing-list form posts to
    shipping: str
    care: str
    how_to_ask: str
    declined: tuple[str, ...]
    payment_plan: PaymentPlan | None
    sales_tax: SalesTax | None  # what prices contain


@dataclass(frozen=True, slots=True)
class PublicSeries:
    """A series, its paragraph at the door, and its address."""

    slug: str
    name: str
    about: str


@dataclass(frozen=True, slots=True)
class PublicPhoto:
    """One photograph. `file` is a bare name beside the piece's file."""

    file: str
    alt: str
    detail: bool
    focus: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class PublicStay:
    """Where a piece is when it isn't at home: what a visitor needs to find it, and nothing agreed on."""

    kind: StayKind
    place: str
    town: str
    link: str | None
    until: date | None  # None too once that day is over
    sells: bool  # True where it's bought there, not from the artist


@dataclass(frozen=True, slots=True)
class PublicPiece:
    """A piece as anyone may see it."""

    slug: str
    title: str
    number: str | None
    status: Status
    price: Decimal | None  # None unless the piece is available
    buy_at: str | None  # where it is bought on another host; None unless the piece is available
    finished: date | None
    series: PublicSeries | None
    height_mm: int | None
    size: str
    base: str
    materials: str
    story: str
    photos: tuple[PublicPhoto, ...]
    was: tuple[str, ...] = ()  # names that its address had earlier
    away: PublicStay | None = None  # None at home

    @property
    def offered(self) -> bool:
        """True while the piece can be bought."""
        return self.status.offered

    @property
    def bought_there(self) -> bool:
        """True while it can be bought from the place where it is, and from nobody else."""
        return self.offered and self.away is not None and self.away.sells

    @property
    def rests(self) -> bool:
        """True while it hangs nowhere: its page stays for whoever has its address."""
        return self.away is not None and self.away.kind is StayKind.RESTING

    @property
    def year(self) -> int | None:
        """Year in which the piece was finished."""
        return self.finished.year if self.finished else None


@dataclass(frozen=True, slots=True)
class PlanExample:
    """What the studio's usual payment plan makes of a price."""

    deposit: Decimal  # 0 where the plan has none
    instalments: tuple[Decimal, ...]  # monthly, in their order; they and the deposit sum to the price

    @property
    def even(self) -> bool:
        """True if all instalments are the same to the last coin."""
        return len(set(self.instalments)) == 1


@dataclass(frozen=True, slots=True)
class PublicTier:
    """A kind of commission."""

    name: str
    from_price: Decimal
    height_mm: int | None
    includes: str
    example: PlanExample | None
    """How its lowest price would be paid; None where there is no plan, or none for that price."""


@dataclass(frozen=True, slots=True)
class PublicRound:
    """A round of commissions, its times carrying the studio's zone."""

    slug: str
    name: str
    opens: datetime
    closes: datetime | None
    slots: int
    left: int  # slots that nobody holds yet: offered ones count as held while the offer stands
    way: Way
    tiers: tuple[PublicTier, ...]
    note: str
    state: RoundState  # as of the moment the view was made


@dataclass(frozen=True, slots=True)
class PublicPlace:
    """A place in the queue: no name, no code that a client could be known by."""

    tier: str
    step: Step


@dataclass(frozen=True, slots=True)
class PublicShow:
    """A show with a table, or a class."""

    slug: str
    name: str
    kind: ShowKind
    venue: str
    address: str
    first_day: date
    last_day: date
    hours: str
    table: str
    link: str | None
    about: str
    places: int | None
    fee: Decimal | None  # None unless there is a place to be had
    includes: str
    attendance: Attendance
    coming: bool  # True until the evening of the last day

    @property
    def is_class(self) -> bool:
        """True for a class."""
        return self.kind is ShowKind.CLASS

    @property
    def place(self) -> tuple[str, ...]:
        """The lines of where it is: the venue, unless the address names it, then the address."""
        lines = tuple(line.strip(" ,") for line in self.address.splitlines() if line.strip(" ,"))
        return lines if self.venue in self.address else (self.venue, *lines)

    @property
    def open(self) -> bool:
        """True while people can still come, or sign up."""
        return self.coming and self.attendance is Attendance.OPEN

    @property
    def cancelled(self) -> bool:
        """True if it doesn't take place."""
        return self.attendance is Attendance.CANCELLED


@dataclass(frozen=True, slots=True)
class PublicTerms(KeptTerms):
    """A version of a page of terms, as it was kept; links between the terms stay within the version."""

    in_force: bool  # True for the newest, while neither text nor numbers have changed since


@dataclass(frozen=True, slots=True)
class LeadTime:
    """When a commission that is accepted now, or in the round to come, would be finished."""

    shortest: int
    """Months from acceptance for the first one, as can be promised with four chances in five; at least 1."""
    longest: int
    """The same for the last place of the round; as `shortest` where there's only one place to speak of."""
    earliest: date
    """First day of the month that lies `shortest` months after the acceptance, or after the round's close."""
    latest: date  # the same for `longest`, so that months and dates say one thing


@dataclass(frozen=True, slots=True)
class FrontOfHouse:
    """Everything public, as of one moment."""

    moment: datetime
    plan_start: date  # the day that examples of payment plans start on: the first of the next month
    card: PublicStudio
    series: tuple[PublicSeries, ...]
    pieces: tuple[PublicPiece, ...]  # newest first; pieces under way before all
    tiers: tuple[PublicTier, ...]
    rounds: tuple[PublicRound, ...]  # in order of opening
    queue: tuple[PublicPlace, ...]  # what is on its way, in order; finished business left out
    waiting: int  # how many wait for the next round
    shows: tuple[PublicShow, ...]  # in order of their first day
    pages: tuple[Page, ...]  # the terms with their numbers filled in
    pending: frozenset[str] = frozenset()
    """Names of pages that aren't shown yet, as they have a place to fill in."""
    terms: tuple[PublicTerms, ...] = ()  # every kept version of the terms, newest first
    lead_time: LeadTime | None = None
    """When a commission of the round to speak of, or one more, would be finished: whole months, no hours."""

    @property
    def round(self) -> PublicRound | None:
        """The round to speak of: the open one, else the next to open."""
        live = [held for held in self.rounds if held.state is not RoundState.CLOSED]
        return min(live, key=lambda held: (held.state is not RoundState.OPEN, held.opens), default=None)

    def piece(self, slug: str) -> PublicPiece | None:
        """Find a piece by its slug."""
        return next((piece for piece in self.pieces if piece.slug == slug), None)

    def show(self, slug: str) -> PublicShow | None:
        """Find a show or class by its slug."""
        return next((show for show in self.shows if show.slug == slug), None)

    def round_called(self, slug: str) -> PublicRound | None:
        """Find a round by its slug."""
        return next((held for held in self.rounds if held.slug == slug), None)

    def page(self, name: str) -> Page | None:
        """Find one of the artist's pages."""
        return next((page for page in self.pages if page.name == name), None)


def sheet_code(show: PublicShow, among: Iterable[PublicShow] = ()) -> str:
    """Make the code of a show's sheets: initials and year, `HDF27` for the Harbour Doll Fair of 2027.

    With the page and row it is the evidence of a person's consent: "sheet HDF27-2 row 31". Of several shows
    `among` these whose code would be the same, the later ones get a letter: `HDF27B`.
    """
    code = _initials(show)
    same = sorted((one for one in among if _initials(one) == code), key=lambda one: (one.first_day, one.slug))
    place = next((place for place, fair in enumerate(same) if fair.slug == show.slug), 0)
    return code + (chr(ord("A") + place) if place else "")


def _initials(show: PublicShow) -> str:
    year = f"{show.first_day.year % 100:02d}"
    name = spelled(show.name) or spelled(show.slug) or "show"
    initials = [word[0] for word in name.split("-") if not word.isdigit()]
    short = initials if len(initials) > 1 else list(re.sub(r"[^a-z]", "", name)[:3])
    return "".join(short[:4]).upper() + year
