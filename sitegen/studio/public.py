"""Front of house: the only view of the studio that a page, a letter or a sheet may hold.

Nothing private can be reached from here. A price exists only while its piece is available, so a
template cannot offer what is gone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from zoneinfo import ZoneInfo

from sitegen.studio import terms
from sitegen.studio.commission import Commissions, Order, Round, Step, Tier, Way
from sitegen.studio.lead_time import LeadTime, lead_time
from sitegen.studio.names import slug
from sitegen.studio.offers import free_slots
from sitegen.studio.order_steps import UNDER_WAY, waiting_people
from sitegen.studio.outward import SLUG
from sitegen.studio.payment_terms import plan_terms
from sitegen.studio.piece import Photo, Piece
from sitegen.studio.plan import Kind, make, months_after
from sitegen.studio.settings import PaymentPlan, Series, Settings
from sitegen.studio.show import Show
from sitegen.studio.status import Status
from sitegen.studio.unfilled import finished, gaps
from sitegen.studio.whole import Page, Studio


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
    address: str
    """The site's address, ending in a slash."""
    contact: str
    postal_address: str
    currency: str
    """ISO 4217."""
    digits: int
    """Digits after the point in that currency."""
    zone: ZoneInfo
    language: str
    theme: str
    accent: str | None
    theme_options: Mapping[str, str]
    paper: str
    consent: str
    privacy_note: str
    sign_up: str | None
    """Where the mailing-list form posts to."""
    shipping: str
    care: str
    how_to_ask: str
    declined: tuple[str, ...]
    payment_plan: PaymentPlan | None


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
class PublicPiece:
    """A piece as anyone may see it."""

    slug: str
    title: str
    number: str | None
    status: Status
    price: Decimal | None
    """None unless the piece is available."""
    buy_at: str | None
    """Where it is bought on another host; None unless the piece is available."""
    finished: date | None
    series: PublicSeries | None
    height_mm: int | None
    size: str
    base: str
    materials: str
    story: str
    photos: tuple[PublicPhoto, ...]
    was: tuple[str, ...] = ()
    """Names that its address had earlier."""

    @property
    def offered(self) -> bool:
        """True while the piece can be bought."""
        return self.status.offered

    @property
    def year(self) -> int | None:
        """Year in which the piece was finished."""
        return self.finished.year if self.finished else None


@dataclass(frozen=True, slots=True)
class PlanExample:
    """What the studio's usual payment plan makes of a price."""

    deposit: Decimal
    """0 where the plan has none."""
    instalments: tuple[Decimal, ...]
    """Monthly, in their order; they and the deposit sum to the price."""

    @property
    def even(self) -> bool:
        """True if all instalments are the same to the last coin."""
        return len(set(self.instalments)) == 1


@dataclass(frozen=True, slots=True)
class PublicTier:
    """A kind of commission, with an address for it."""

    slug: str
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
    left: int
    """Slots that nobody holds yet: offered ones count as held while the offer stands."""
    way: Way
    tiers: tuple[PublicTier, ...]
    note: str
    state: RoundState
    """As of the moment the view was made."""


@dataclass(frozen=True, slots=True)
class PublicPlace:
    """A place in the queue: no name, no code that a client could be known by."""

    place: int
    tier: str
    step: Step


@dataclass(frozen=True, slots=True)
class PublicShow:
    """A show with a table."""

    slug: str
    name: str
    venue: str
    address: str
    first_day: date
    last_day: date
    hours: str
    table: str
    link: str | None
    about: str
    coming: bool
    """True until the evening of the last day."""


@dataclass(frozen=True, slots=True)
class PublicTerms:
    """A version of a page of terms, as it was kept."""

    name: str
    """commission-terms or payment-terms."""
    version: str
    title: str
    text: str
    """Markdown; links between the terms stay within the version."""
    in_force: bool
    """True for the newest, while neither text nor numbers have changed since."""


@dataclass(frozen=True, slots=True)
class FrontOfHouse:
    """Everything public, as of one moment."""

    moment: datetime
    plan_start: date
    """The day that examples of payment plans start on: the first of the next month."""
    card: PublicStudio
    series: tuple[PublicSeries, ...]
    pieces: tuple[PublicPiece, ...]
    """Newest first; pieces under way before all."""
    tiers: tuple[PublicTier, ...]
    rounds: tuple[PublicRound, ...]
    """In order of opening."""
    queue: tuple[PublicPlace, ...]
    """What is on its way, in order; finished business left out."""
    waiting: int
    """How many wait for the next round."""
    shows: tuple[PublicShow, ...]
    """In order of their first day."""
    pages: tuple[Page, ...]
    """The terms with their numbers filled in."""
    pending: frozenset[str] = frozenset()
    """Names of pages that aren't shown yet, as they have a place to fill in."""
    terms: tuple[PublicTerms, ...] = ()
    """Every kept version of the terms, newest first."""
    lead_time: LeadTime | None = None
    """When a commission of the round to speak of, or one more, would be finished: whole months, no hours."""

    @property
    def round(self) -> PublicRound | None:
        """The round to speak of: the open one, else the next to open."""
        live = [one for one in self.rounds if one.state is not RoundState.CLOSED]
        return min(live, key=lambda one: (one.state is not RoundState.OPEN, one.opens), default=None)

    def page(self, name: str) -> Page | None:
        """Find one of the artist's pages."""
        return next((page for page in self.pages if page.name == name), None)

    def terms_of(self, name: str) -> tuple[PublicTerms, ...]:
        """Return the kept versions of one page of terms, newest first."""
        return tuple(kept for kept in self.terms if kept.name == name)


def front_of_house(studio: Studio, moment: datetime) -> FrontOfHouse:
    """Build the public view as of `moment` (which must carry a zone).

    Raises ValueError if the moment has no zone, since "open" would then mean nothing.
    """
    if moment.tzinfo is None:
        raise ValueError("the moment needs a time zone")
    pending = frozenset(page.name for page in studio.pages if gaps(page))
    studio = finished(studio)
    settings = studio.settings
    here = moment.astimezone(settings.time_zone)
    series = tuple(_series(one) for one in settings.series)
    by_name = {one.name: one for one in series}
    tiers = tuple(_tier(one, settings) for one in studio.commissions.tiers)
    rounds = sorted(studio.commissions.rounds, key=lambda one: one.opens)
    front = FrontOfHouse(
        moment=here,
        plan_start=months_after(here.date().replace(day=1), 1),
        card=_card(settings),
        series=series,
        pieces=tuple(
            _piece(one, by_name, settings.buy_at)
            for one in sorted(studio.pieces, key=lambda one: one.newest_first)
        ),
        tiers=tiers,
        rounds=tuple(_round(one, tiers, here, free_slots(studio.commissions, one)) for one in rounds),
        queue=_queue(studio.commissions),
        waiting=waiting_people(studio.commissions),
        shows=tuple(_show(one, here.date()) for one in sorted(studio.shows, key=lambda one: one.first_day)),
        pages=terms.filled(studio),
        pending=pending,
        terms=_terms(studio),
    )
    return replace(front, lead_time=_lead_time(studio, front))


def _lead_time(studio: Studio, front: FrontOfHouse) -> LeadTime | None:
    spoken_of = front.round
    if spoken_of is None:
        return lead_time(studio, front.moment.date(), None, 1)
    written = next(one for one in studio.commissions.rounds if one.name == spoken_of.name)
    return lead_time(studio, front.moment.date(), written, spoken_of.left)


def _terms(studio: Studio) -> tuple[PublicTerms, ...]:
    current = terms.current(studio)
    return tuple(
        PublicTerms(
            name=kept.name,
            version=version,
            title=kept.title,
            text=terms.linked_within(kept.text, version),
            in_force=version == current,
        )
        for version in reversed(terms.versions(studio))
        for kept in terms.of_version(studio, version)
    )


def _card(settings: Settings) -> PublicStudio:
    return PublicStudio(
        studio=settings.studio,
        maker=settings.maker,
        tagline=settings.tagline,
        address=settings.address,
        contact=settings.contact,
        postal_address=settings.postal_address.strip(),
        currency=settings.currency,
        digits=settings.digits,
        zone=settings.time_zone,
        language=settings.language,
        theme=settings.theme,
        accent=settings.accent,
        theme_options=settings.theme_options,
        paper=settings.paper,
        consent=settings.consent.strip(),
        privacy_note=settings.privacy_note.strip(),
        sign_up=settings.sign_up,
        shipping=settings.shipping.strip(),
        care=settings.care.strip(),
        how_to_ask=settings.how_to_ask.strip(),
        declined=settings.declined,
        payment_plan=settings.payment_plan,
    )


def _series(series: Series) -> PublicSeries:
    return PublicSeries(slug=slug(series.name) or "series", name=series.name, about=series.about.strip())


def _photo(photo: Photo) -> PublicPhoto:
    focus = (float(photo.focus[0]), float(photo.focus[1])) if photo.focus else None
    return PublicPhoto(file=photo.file, alt=photo.alt.strip(), detail=photo.detail, focus=focus)


def _piece(piece: Piece, series: dict[str, PublicSeries], pattern: str | None) -> PublicPiece:
    order = piece.buy_at or (pattern.replace(SLUG, piece.slug) if pattern else None)
    return PublicPiece(
        slug=piece.slug,
        title=piece.title,
        number=piece.number,
        status=piece.status,
        price=piece.price if piece.status.offered else None,
        buy_at=order if piece.status.offered else None,
        finished=piece.finished,
        series=series.get(piece.series) if piece.series else None,
        height_mm=piece.height_mm,
        size=piece.size,
        base=piece.base,
        materials=piece.materials,
        story=piece.story.strip(),
        photos=tuple(_photo(photo) for photo in piece.photos),
        was=piece.was,
    )


def _tier(tier: Tier, settings: Settings) -> PublicTier:
    return PublicTier(
        slug=slug(tier.name) or "tier",
        name=tier.name,
        from_price=tier.from_price,
        height_mm=tier.height_mm,
        includes=tier.includes.strip(),
        example=_plan_example(tier.from_price, settings),
    )


def _plan_example(price: Decimal, settings: Settings) -> PlanExample | None:
    if settings.payment_plan is None:
        return None
    try:
        terms_of_payment = plan_terms(settings.payment_plan, settings.digits)
        # Amounts don't depend on the start, so any day does.
        plan = make(price, date(2001, 1, 1), settings.digits, terms_of_payment)
    except ValueError:
        return None  # a price of nothing, above all bands, or too small to split
    shares = tuple(part.amount for part in plan.parts if part.kind is Kind.INSTALMENT)
    return PlanExample(plan.deposit, shares)


def _round(one: Round, tiers: tuple[PublicTier, ...], here: datetime, left: int) -> PublicRound:
    opens = one.opens.replace(tzinfo=here.tzinfo)
    closes = one.closes.replace(tzinfo=here.tzinfo) if one.closes else None
    return PublicRound(
        slug=one.slug,
        name=one.name,
        opens=opens,
        closes=closes,
        slots=one.slots,
        left=left,
        way=one.way,
        tiers=tuple(tier for tier in tiers if not one.tiers or tier.name in one.tiers),
        note=one.note.strip(),
        state=_state(opens, closes, here),
    )


def _state(opens: datetime, closes: datetime | None, here: datetime) -> RoundState:
    # Compared in UTC: two times of one zone would be compared as wall clocks, wrong by an hour in autumn.
    if here.timestamp() < opens.timestamp():
        return RoundState.COMING
    if closes is not None and here.timestamp() >= closes.timestamp():
        return RoundState.CLOSED
    return RoundState.OPEN


def _queue(commissions: Commissions) -> tuple[PublicPlace, ...]:
    moving: list[Order] = [order for order in commissions.queue if order.step in UNDER_WAY]
    return tuple(PublicPlace(place=n, tier=one.tier, step=one.step) for n, one in enumerate(moving, start=1))


def _show(show: Show, today: date) -> PublicShow:
    return PublicShow(
        slug=show.slug,
        name=show.name,
        venue=show.venue,
        address=show.address.strip(),
        first_day=show.first_day,
        last_day=show.ends,
        hours=show.hours,
        table=show.table,
        link=show.link,
        about=show.about.strip(),
        coming=show.ends >= today,
    )
