"""Make the public view of a studio: the one door from what is private to what anyone may see.

What the starter left to fill in is taken out: nobody is shown words that the artist hasn't made her own. A
text that still holds a `<place to fill in>` counts as not written. A piece, show, tier or round without a
name of its own isn't shown at all, nor is a page with a gap in it.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any, TypeVar

from sitegen.studio import public, terms
from sitegen.studio.commission import Round
from sitegen.studio.fields import Entry, is_placeholder
from sitegen.studio.offers import free_slots
from sitegen.studio.order_steps import UNDER_WAY, waiting_people
from sitegen.studio.piece import Piece, Status
from sitegen.studio.plan import PartKind, make, months_after
from sitegen.studio.public import FrontOfHouse, RoundState
from sitegen.studio.settings import SLUG, Settings
from sitegen.studio.show import Attendance, Show
from sitegen.studio.terms import linked_within
from sitegen.studio.text import slug
from sitegen.studio.whole import Page, Studio
from sitegen.studio.workload import lead_time

Block = TypeVar("Block", bound=Entry)

# A letter is refused while one of them has a gap, and the site does without; so they stay as they are.
ASKED_FOR = frozenset({"studio", "maker", "contact", "postal_address", "how_to_ask"})


def finished(studio: Studio) -> Studio:
    """Return the studio without what is still to fill in."""
    book, asked_for = studio.commissions, {name: getattr(studio.settings, name) for name in ASKED_FOR}
    tiers = tuple(written(tier) for tier in book.tiers if not is_placeholder(tier.name))
    rounds = tuple(written(held) for held in book.rounds if not is_placeholder(held.name))
    return replace(
        studio,
        settings=written(studio.settings).model_copy(update=asked_for),
        pieces=tuple(written(piece) for piece in studio.pieces if not is_placeholder(piece.title)),
        commissions=book.model_copy(update={"tiers": tiers, "rounds": rounds}),
        shows=tuple(written(show) for show in studio.shows if not is_placeholder(show.name)),
        pages=tuple(page for page in studio.pages if not gaps(page)),
    )


def gaps(page: Page) -> bool:
    """Tell whether a page still has a place to fill in."""
    return is_placeholder(page.title) or is_placeholder(page.text)


def written(entry: Block) -> Block:
    """Return a block without its texts that still hold a place to fill in."""
    # Most of a thousand pieces' values are no text at all.
    texts = ((name, value) for name, value in vars(entry).items() if isinstance(value, str | Entry | tuple))
    changes = {name: kept for name, value in texts if (kept := _kept(value)) is not value}
    return entry.model_copy(update=changes) if changes else entry


def _kept(value: Any) -> Any:
    if isinstance(value, str):
        return "" if is_placeholder(value) else value
    if isinstance(value, Entry):
        return written(value)
    if isinstance(value, tuple):
        found = tuple(kept for part in value if (kept := _kept(part)) != "" or part == "")
        return value if found == value else found
    return value


Shown = TypeVar("Shown")


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
    today, book = here.date(), studio.commissions
    series = {
        series.name: _public(public.PublicSeries, series, slug=slug(series.name) or "series")
        for series in settings.series
    }
    examples = [_plan_example(tier.from_price, settings) for tier in book.tiers]
    tiers = tuple(
        _public(public.PublicTier, tier, example=example)
        for tier, example in zip(book.tiers, examples, strict=True)
    )
    rounds = sorted(book.rounds, key=lambda held: held.opens)
    moving = [order for order in book.queue if order.step in UNDER_WAY]
    places = (public.PublicPlace(one.tier, one.step) for one in moving)
    current = terms.current(studio)
    front = FrontOfHouse(
        moment=here,
        plan_start=months_after(today.replace(day=1), 1),
        card=_public(public.PublicStudio, settings, zone=settings.time_zone),
        series=tuple(series.values()),
        pieces=tuple(
            _piece(piece, series, settings.buy_at, today)
            for piece in sorted(studio.pieces, key=lambda piece: piece.newest_first)
        ),
        tiers=tiers,
        rounds=tuple(_round(held, tiers, here, free_slots(book, held)) for held in rounds),
        queue=tuple(places),
        waiting=waiting_people(book),
        shows=tuple(_show(show, today) for show in sorted(studio.shows, key=lambda show: show.first_day)),
        pages=terms.filled(studio),
        pending=pending,
        terms=tuple(
            _public(public.PublicTerms, kept, text=linked_within(kept.text, one), in_force=one == current)
            for one in reversed(terms.versions(studio))
            for kept in terms.of_version(studio, one)
        ),
    )
    coming = next((held for held in rounds if front.round and held.name == front.round.name), None)
    left = front.round.left if front.round else 1
    return replace(front, lead_time=lead_time(studio, today, coming, left))


def _public(kind: type[Shown], entry: object, **own: Any) -> Shown:
    """Make a public value: what isn't given is what the entry says under the same name, and nothing more."""
    names = kind.__match_args__  # type: ignore[attr-defined]  # a dataclass's fields
    said = {name: getattr(entry, name) for name in names if name not in own}
    return kind(**{name: text.strip() if type(text) is str else text for name, text in said.items()}, **own)


def _piece(
    piece: Piece, series: Mapping[str, public.PublicSeries], pattern: str | None, day: date
) -> public.PublicPiece:
    stay = piece.stay(day)
    until = stay.until if stay is not None and stay.until is not None and stay.until >= day else None
    away = _public(public.PublicStay, stay, until=until) if stay is not None else None
    put_by = piece.rests(day) and piece.status in {Status.AVAILABLE, Status.ON_HOLD}
    status = Status.NOT_FOR_SALE if put_by else piece.status
    place = piece.buy_at or (pattern.replace(SLUG, piece.slug) if pattern else None)
    elsewhere = away is not None and away.sells
    return _public(
        public.PublicPiece,
        piece,
        status=status,
        away=away,
        price=piece.price if status.offered else None,
        buy_at=place if status.offered and not elsewhere else None,
        series=series.get(piece.series) if piece.series else None,
        photos=tuple(
            _public(public.PublicPhoto, photo, focus=photo.focus and tuple(map(float, photo.focus)))
            for photo in piece.photos
        ),
    )


def _show(show: Show, today: date) -> public.PublicShow:
    coming = show.ends >= today
    fee = show.fee if coming and show.attendance is Attendance.OPEN else None
    return _public(public.PublicShow, show, last_day=show.ends, coming=coming, fee=fee)


def _plan_example(price: Decimal, settings: Settings) -> public.PlanExample | None:
    if settings.payment_plan is None:
        return None
    usual, digits = settings.payment_plan, settings.digits
    try:
        # Amounts don't depend on the start, so any day does.
        plan = make(price, date(2001, 1, 1), digits, usual)
    except ValueError:
        return None  # a price of nothing, above all bands, too small to split
    shares = tuple(part.amount for part in plan.parts if part.kind is PartKind.INSTALMENT)
    return public.PlanExample(plan.deposit, shares) if shares else None


def _round(one: Round, tiers: tuple[public.PublicTier, ...], here: datetime, left: int) -> public.PublicRound:
    own = tuple(tier for tier in tiers if one.takes(tier.name))
    closes = one.closes and one.closes.replace(tzinfo=here.tzinfo)
    one = one.model_copy(update={"opens": one.opens.replace(tzinfo=here.tzinfo), "closes": closes})
    state = RoundState.CLOSED if one.is_over(here) else RoundState.OPEN
    state = RoundState.COMING if here < one.taken_from() else state
    return _public(public.PublicRound, one, left=left, tiers=own, state=state)
