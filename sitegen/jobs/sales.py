"""Note what a piece was sold for, or that it came back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from sitegen.desk.typed import read_day
from sitegen.jobs.pen import writes
from sitegen.jobs.pieces import no_piece, status_of
from sitegen.jobs.reading import PIECES, sit
from sitegen.jobs.where import moment_in
from sitegen.sources import StudioFault
from sitegen.sources.sales import write_return, write_sale
from sitegen.studio import money
from sitegen.studio.fields import one_of
from sitegen.studio.piece import Piece, Stream
from sitegen.studio.status import Status
from sitegen.studio.whole import Studio

_ENDS = {Status.SOLD, Status.COMMISSIONED}


@dataclass(frozen=True)
class SaleWish:
    """A sale as asked for on the command line: text, not yet checked; None leaves the usual."""

    price: str | None = None
    on: str | None = None
    stream: str | None = None
    to: str | None = None

    @property
    def said(self) -> bool:
        """Tell whether anything of a sale was said."""
        return self != SaleWish()


def usual(folder: Path, slug: str, today: str | None) -> SaleWish | None:
    """Return what a sale of a piece would most likely say; None where its sale is noted already."""
    studio, piece, _ = _found(folder, slug)
    if piece.private.sold is not None:
        return None
    return _usual(studio, piece, moment_in(studio.settings.time_zone, today).date())


def _usual(studio: Studio, piece: Piece, day: date) -> SaleWish:
    plan = piece.private.plan
    price = plan.price if plan and plan.price is not None else piece.price
    stream = Stream.COMMISSIONS if piece.private.order else Stream.ORIGINALS
    written = money.plain(price, studio.settings.digits) if price is not None else None
    return SaleWish(written, day.isoformat(), str(stream), plan.to if plan else "")


@writes
def sell(folder: Path, slug: str, word: str, wish: SaleWish, today: str | None) -> str:
    """Mark a piece sold and note its sale, in one edit; return what was noted.

    Raises StudioFault for a piece that holds a sale already, or a sale that isn't written as it should be.
    """
    studio, piece, file = _found(folder, slug)
    status, day = status_of(word), moment_in(studio.settings.time_zone, today).date()
    if status not in _ENDS:
        raise StudioFault(f"a sale goes with sold or commissioned, not with '{status}'")
    if (held := piece.private.sold) is not None:
        raise StudioFault(
            f"{slug} was sold on {held.on} for {held.price} already; if it came back, note that first: "
            f"`sitegen piece return {slug} --refund {held.price}`"
        )
    assumed = _usual(studio, piece, day)
    price = _amount(wish.price or assumed.price, studio, slug)
    on = _day(wish.on, day)
    last = piece.private.sales[-1].returned if piece.private.sales else None
    if last is not None and on < last:
        raise StudioFault(f"{slug} came back on {last}; it can't be sold again on {on}, before that")
    stream = _stream(wish.stream or assumed.stream or "")
    to = " ".join(((assumed.to if wish.to is None else wish.to) or "").split())
    words = {"on": on.isoformat(), "price": money.plain(price, studio.settings.digits), "stream": str(stream)}
    write_sale(
        file, file.relative_to(folder).as_posix(), str(status), {**words, **({"to": to} if to else {})}
    )
    return f"{words['price']} {studio.settings.currency} on {on}, {stream}{f', to {to}' if to else ''}"


@writes
def take_back(folder: Path, slug: str, refund: str, on: str | None, word: str, today: str | None) -> str:
    """Note that a piece came back and what was sent back for it; return what was noted.

    Raises StudioFault for a piece that isn't sold, or more sent back than it was sold for.
    """
    studio, piece, file = _found(folder, slug)
    status, held = status_of(word), piece.private.sold
    if held is None:
        raise StudioFault(
            f"{slug} has no sale noted that it could come back from; "
            f"`sitegen piece mark {slug} sold --price 480 --on 2026-05-14` notes one"
        )
    if status in _ENDS:
        raise StudioFault(f"a piece that came back isn't {status}; say what it is now, like available")
    amount, day = _amount(refund, studio, slug), _day(on, moment_in(studio.settings.time_zone, today).date())
    if amount > held.price:
        raise StudioFault(f"{slug} was sold for {held.price}; {amount} is more than that to send back")
    if day < held.on:
        raise StudioFault(f"{slug} was sold on {held.on}; it can't have come back on {day}, before that")
    plain = money.plain(amount, studio.settings.digits)
    back = {"returned": day.isoformat(), "refund": plain}
    write_return(file, file.relative_to(folder).as_posix(), str(status), back)
    return f"it came back on {day}, {plain} {studio.settings.currency} sent back; it is now {status}"


def _found(folder: Path, slug: str) -> tuple[Studio, Piece, Path]:
    studio = sit(folder, None, PIECES).studio
    piece = studio.piece(slug)
    if piece is None:
        raise no_piece(folder, slug, [one.slug for one in studio.pieces])
    return studio, piece, Path(studio.photo_folders[piece.slug]) / "piece.yaml"


def _amount(text: str | None, studio: Studio, slug: str) -> Decimal:
    if text is None:
        raise StudioFault(f"{slug} has no price in its piece.yaml; say what it was sold for with --price 480")
    try:
        return money.read_amount(text, studio.settings.digits)
    except ValueError as fault:
        raise StudioFault(str(fault)) from fault


def _day(text: str | None, today: date) -> date:
    day = read_day(text, "--on") or today
    if day > today:
        raise StudioFault(f"--on {day} lies ahead; note it when that day has come")
    return day


def _stream(text: str) -> Stream:
    try:
        return Stream(one_of(Stream)(text))
    except ValueError as fault:
        raise StudioFault(f"--stream {fault}") from fault
