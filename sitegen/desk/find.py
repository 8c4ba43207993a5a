"""Find what was named on the command line, or say what is nearest."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import TypeVar

from sitegen.studio import fields, money
from sitegen.studio.asked import Fault, told
from sitegen.studio.commission import Order, Round, Tier
from sitegen.studio.fields import did_you_mean, no_such, read_time
from sitegen.studio.order_steps import When
from sitegen.studio.piece import Piece
from sitegen.studio.whole import Studio


def one_line(text: str) -> str:
    """Return a text with single spaces between its words."""
    return " ".join(text.split())


def read_day(text: str | None, option: str) -> date | None:
    """Read a day as the files' days are read; None for none. Raises Fault."""
    with told(option):
        return None if text is None else fields.read_day(text)


def share_in(text: str) -> Decimal | None:
    """Read `40%` or `0.4` as a share from 0 to 1; None for anything else."""
    bare = text.strip()
    try:
        share = Decimal(bare.removesuffix("%")) / (100 if bare.endswith("%") else 1)
    except InvalidOperation:
        return None
    return share if share.is_finite() and 0 <= share <= 1 else None


def read_spent(text: str) -> Decimal:
    """Read hours at the bench. Raises Fault."""
    with told():
        spent = fields.read_hours(text.strip().removesuffix("h"))
    if not 0 < spent < 1000:
        raise Fault(f"'{text}' is no number of hours; write it like 3.5")
    return spent


@dataclass(frozen=True)
class Sitting:
    """A studio as it's read for one job, and the moment of it."""

    studio: Studio
    moment: datetime
    to_the_minute: bool = True  # False where a day is pretended without a time

    @property
    def today(self) -> date:
        return self.moment.date()

    def amount(self, text: str) -> Decimal:
        """Read an amount in the studio's currency. Raises Fault."""
        with told():
            return money.read_amount(text, self.studio.settings.digits)

    def when(self, text: str | None, option: str = "--on") -> When:
        """Read the day of an option, with its time if there's one; without it, today.

        Raises Fault for a day to come.
        """
        if text is None:
            return When(self.today)
        found = re.fullmatch(r"([-0-9]+)(?:[ T]([0-9]{1,2}:[0-9]{2}B?))?", text.strip())
        if found is None:
            raise Fault(f"{option} '{text}' is no day; write it like 2027-01-31, or '2027-01-31 12:04'")
        with told(f"{option} '{text}'"):
            day = fields.read_day(found[1])
            at = read_time(found[2], day, self.studio.settings.time_zone) if found[2] else None
        if day > self.today:
            raise Fault(f"{option} {day} lies ahead; today is {self.today}")
        moment = datetime.combine(day, at, self.moment.tzinfo) if at is not None else self.moment
        if self.to_the_minute and moment.timestamp() > self.moment.timestamp():
            raise Fault(f"{option} {text} lies ahead; it is {self.moment:%H:%M} now")
        return When(day, at)

    def now(self) -> When:
        """Return the present day, with the time of day unless only a day is pretended."""
        at = self.moment.timetz().replace(second=0, microsecond=0, tzinfo=None)
        return When(self.today, at if self.to_the_minute else None)


_Named = TypeVar("_Named", Order, Round, Tier)


def piece(studio: Studio, slug: str) -> Piece:
    """Find a piece. Raises Fault."""
    if (found := studio.piece(slug)) is None:
        raise Fault(no_such("piece", slug, (there.slug for there in studio.pieces)))
    return found


def order(studio: Studio, code: str) -> Order:
    """Find an order by its code, capitals or not. Raises Fault."""
    queue = studio.commissions.queue
    codes = [queued.code for queued in queue]
    return _one(queue, codes, code, f"order '{code}' in the queue", "the queue is empty")


def order_or_piece(studio: Studio, name: str) -> Order | Piece:
    """Find an order by its code, or a piece by its folder. Raises Fault."""
    queue = {queued.code.casefold(): queued for queued in studio.commissions.queue}
    if (found := queue.get(name.casefold()) or studio.piece(name)) is None:
        codes = (queued.code for queued in queue.values())
        raise Fault(no_such("order or piece", name, [*codes, *(there.slug for there in studio.pieces)]))
    return found


def round_named(studio: Studio, name: str) -> Round:
    """Find a round by its name or its name in addresses. Raises Fault."""
    rounds = studio.commissions.rounds
    slugged = next((held for held in rounds if held.slug == name.casefold()), None)
    names = [held.name for held in rounds]
    return slugged or _one(rounds, names, name, f"round '{name}'", "write it under `rounds:`")


def tier(studio: Studio, name: str) -> Tier:
    """Find a tier by its name. Raises Fault."""
    tiers = studio.commissions.tiers
    return _one(tiers, [tier_.name for tier_ in tiers], name, f"tier '{name}'", "write it under `tiers:`")


def _one(things: Sequence[_Named], names: list[str], wanted: str, what: str, none: str) -> _Named:
    for thing, name in zip(things, names, strict=True):
        if name.casefold() == wanted.casefold():
            return thing
    there = f"; there are {', '.join(names)}" if names else f"; {none}"
    raise Fault(f"commissions.yaml: there is no {what}{did_you_mean(wanted, names) or there}")
