"""Answer the artist: read the studio, ask the desk. Nothing is written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sitegen.desk import plan as plans
from sitegen.desk import slots as capacity
from sitegen.desk.fault import DeskFault, told
from sitegen.desk.terms import plan_terms
from sitegen.jobs.where import PlaceFault, find_studio, moment_in
from sitegen.sources import read as read_files
from sitegen.sources.folder import EVERYTHING
from sitegen.studio import money
from sitegen.studio.plan import PlanTerms, Weekend
from sitegen.studio.whole import Studio

if TYPE_CHECKING:
    from sitegen.desk.worth import PieceWorth, Quote

# What the answers rest on beside studio.yaml.
PIECES = frozenset({"pieces"})
ORDERS = PIECES | {"commissions"}
BOOKS = ORDERS | {"shows"}


def worth(folder: Path, slug: str, today: str | None) -> PieceWorth:
    """Say what a piece is worth."""
    from sitegen.desk.worth import piece_worth  # no other answer needs it

    studio = read_studio(folder, BOOKS)
    return piece_worth(studio, slug, today_of(studio, today))


def quote(folder: Path, wish: Quote, today: str | None) -> PieceWorth:
    """Say what a piece would be worth that isn't begun."""
    from sitegen.desk import worth as desk  # no other answer needs it

    studio = read_studio(folder, BOOKS)
    return desk.quote(studio, wish, today_of(studio, today))


@dataclass(frozen=True)
class PlanWish:
    """A plan as asked for on the command line: text, not yet checked."""

    deposit: str | None = None
    instalments: int | None = None
    start: str | None = None
    charge: str | None = None
    weekend: str | None = None
    currency: str | None = None

    def read(self, today: date) -> plans.Wish:
        """Check the texts. Raises DeskFault."""
        return plans.Wish(
            start=read_day(self.start, "--start") or today,
            deposit=self.deposit,
            instalments=self.instalments,
            charge=self.charge,
            weekend=Weekend(self.weekend) if self.weekend else None,
        )


def plan(folder: Path | None, today: str | None, what: str, wish: PlanWish) -> plans.PlanAnswer:
    """Lay out a plan for a price, a piece or a place in the queue."""
    if not looks_like_a_price(what):
        return _plan_of(read_studio(find_studio(folder), ORDERS), today, what, wish)
    studio = _studio_if_needed(folder, wish)
    if studio is None:
        currency, terms, day = wish.currency or "", PlanTerms(), datetime.now(UTC).date()
    else:
        currency, terms = wish.currency or studio.settings.currency, plan_terms(studio.settings)
        day = today_of(studio, today)
    with told():
        price = money.read_amount(what, money.minor_digits(currency))
    return plans.for_price(price, currency, terms, wish.read(day))


def _studio_if_needed(folder: Path | None, wish: PlanWish) -> Studio | None:
    """Read the studio; None where there's none and the currency was given."""
    try:
        return read_studio(find_studio(folder), frozenset())
    except PlaceFault as fault:
        if wish.currency and folder is None:
            return None
        raise PlaceFault(
            f"{fault}. Without a studio, name the currency too, as in `sitegen plan 480 --currency EUR`"
        ) from fault


def _plan_of(studio: Studio, today: str | None, what: str, wish: PlanWish) -> plans.PlanAnswer:
    codes = {one.code.casefold() for one in studio.commissions.queue}
    day = today_of(studio, today)
    if wish.currency and wish.currency != studio.settings.currency:
        raise DeskFault(f"--currency goes with a price; {what} is priced in {studio.settings.currency}")
    if what.casefold() in codes and studio.piece(what) is None:
        if wish != PlanWish(currency=wish.currency):
            raise DeskFault(
                f"{what} is a commission whose plan is agreed on; to change it, write deposit, instalments "
                "or plan_from into its `private:` in commissions.yaml"
            )
        return plans.for_place(studio, what, day)
    piece = studio.piece(what)
    if piece is not None and piece.private.plan is not None and wish == PlanWish(currency=wish.currency):
        return plans.for_buyer(studio, piece, day)
    return plans.for_piece(studio, what, wish.read(day))


def looks_like_a_price(what: str) -> bool:
    """Tell a price, well written or not, from a piece's or a place's name."""
    return (
        re.fullmatch(r"[^A-Za-z]*[0-9][^A-Za-z]*", what) is not None
        or re.fullmatch(r"[A-Z]{3}\s*[0-9.,]+|[0-9.,]+\s*[A-Z]{3}", what) is not None
    )


def today_of(studio: Studio, pretended: str | None) -> date:
    """Return the day it is in the studio's zone."""
    return moment_in(studio.settings.time_zone, pretended).date()


def read_day(text: str | None, option: str) -> date | None:
    """Read a day given on the command line; None for none. Raises DeskFault."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise DeskFault(f"{option} '{text}' is no date; write it like 2027-01-31") from None


@dataclass(frozen=True)
class SlotsWish:
    """A window as asked for on the command line: text, not yet checked."""

    first_day: str | None = None
    last_day: str | None = None
    confidence: str = "0.8"
    tier: str | None = None

    def read(self, today: date) -> capacity.Asking:
        """Check the texts. Raises DeskFault."""
        return capacity.Asking(
            today=today,
            first_day=read_day(self.first_day, "--from"),
            last_day=read_day(self.last_day, "--to"),
            confidence=read_share(self.confidence),
            tier=self.tier,
        )


def slots(folder: Path, today: str | None, wish: SlotsWish) -> capacity.SlotsAnswer:
    """Say how many commission slots can open."""
    studio = read_studio(folder, BOOKS)
    return capacity.slots(studio, wish.read(today_of(studio, today)))


def read_share(text: str) -> float:
    """Read `0.8` or `80%` as a share between 0 and 1. Raises DeskFault."""
    bare = text.strip()
    try:
        share = float(bare.removesuffix("%")) / 100 if bare.endswith("%") else float(bare)
    except ValueError:
        share = 0.0
    if not 0 < share < 1:
        raise DeskFault(f"'{text}' is no share between 0 and 1; write it like 0.8 or 80%")
    return share


def read_studio(folder: Path, only: frozenset[str] = EVERYTHING) -> Studio:
    """Read what an answer needs, with what a build remembers of the pieces.

    Raises StudioFault with every error found there.
    """
    out = folder / "out"
    return read_files(folder, memory=out / ".reading.json" if out.is_dir() else None, only=only).sound()
