"""Move orders: read the studio, ask the desk what an order becomes, write only that order's lines."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal, InvalidOperation
from pathlib import Path

from sitegen.desk import find, order_book, order_ends, order_money, order_offers, orders
from sitegen.desk.fault import DeskFault, told
from sitegen.desk.order_change import Changed
from sitegen.desk.order_offers import Passing
from sitegen.jobs.desk import ORDERS, read_day, read_studio
from sitegen.jobs.draws import order_of
from sitegen.jobs.pen import writes
from sitegen.jobs.place import moment_in
from sitegen.sources.orders import add_hours, write_orders
from sitegen.studio import money
from sitegen.studio.addresses import deliverable
from sitegen.studio.commission import Client, Receipt, Round, Way
from sitegen.studio.counting import bare
from sitegen.studio.fields import one_of
from sitegen.studio.order_lines import Step, read_time
from sitegen.studio.order_steps import When
from sitegen.studio.payments import CalledOffBy
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_of


@dataclass(frozen=True)
class Desk:
    """A studio as it's read for one command."""

    folder: Path
    studio: Studio
    moment: datetime
    to_the_minute: bool = True
    """False where a day is pretended without a time."""

    @property
    def today(self) -> date:
        """The day it is in the studio's zone."""
        return self.moment.date()

    def day(self, text: str | None) -> date:
        """Read the day of `--on`; without it, today. Raises DeskFault for a day to come."""
        return self.when(text).day

    def when(self, text: str | None) -> When:
        """Read the day of `--on`, with its time if there's one. Raises DeskFault for a day to come."""
        if text is None:
            return When(self.today)
        found = re.fullmatch(r"(\S+?)(?:[ T]([0-9]{1,2}:[0-9]{2}B?))?", text.strip())
        try:
            day = date.fromisoformat(found[1]) if found else None
        except ValueError:
            day = None
        if found is None or day is None:
            raise DeskFault(f"--on '{text}' is no day; write it like 2027-01-31, or '2027-01-31 12:04'")
        with told(f"--on '{text}'"):
            at = read_time(found[2], day, self.studio.settings.time_zone) if found[2] else None
        if day > self.today:
            raise DeskFault(f"--on {day} lies ahead; today is {self.today}")
        if self.to_the_minute and self._ahead(day, at):
            raise DeskFault(f"--on {text} lies ahead; it is {self.moment:%H:%M} now")
        return When(day, at)

    def now(self) -> When:
        """Return the present day, with the time of day unless only a day is pretended."""
        at = self.moment.timetz().replace(second=0, microsecond=0, tzinfo=None)
        return When(self.today, at if self.to_the_minute else None)

    def _ahead(self, day: date, at: time | None) -> bool:
        return at is not None and datetime.combine(day, at, self.moment.tzinfo).timestamp() > (
            self.moment.timestamp()
        )

    def amount(self, text: str) -> Decimal:
        """Read an amount in the studio's currency. Raises DeskFault."""
        with told():
            return money.read_amount(text, self.studio.settings.digits)

    def write(self, changed: Changed) -> Changed:
        """Write what changed into commissions.yaml."""
        write_orders(self.folder, self.studio.commissions, changed.book, self.studio.settings.digits)
        return changed

    def drawn(self, one: Round) -> tuple[str, ...] | None:
        """Return the order of a round's draw; None if it wasn't drawn."""
        return order_of(self.folder, one) if one.way is Way.DRAW else None


def desk_of(folder: Path, today: str | None) -> Desk:
    """Read the studio for one command."""
    studio = read_studio(folder, ORDERS | {"pages"})
    to_the_minute = today is None or ":" in today
    return Desk(folder, studio, moment_in(studio.settings.time_zone, today), to_the_minute)


def book(folder: Path, today: str | None, *, everything: bool = False) -> order_book.OrderBook:
    """List the orders under way, or all of them."""
    desk = desk_of(folder, today)
    live = order_offers.rounds_of_interest(desk.studio)
    rounds = [order_offers.line_up(desk.studio, one, desk.drawn(one)) for one in live]
    return order_book.order_book(desk.studio, desk.today, rounds, everything=everything)


def show(folder: Path, today: str | None, code: str) -> order_book.OrderSheet:
    """Show one order."""
    desk = desk_of(folder, today)
    return order_book.order_sheet(desk.studio, code, desk.today)


@dataclass(frozen=True)
class Asking:
    """A request as typed."""

    tier: str
    name: str = ""
    email: str = ""
    price: str | None = None
    notes: str = ""
    round: str | None = None
    code: str | None = None
    on: str | None = None


@writes
def add(folder: Path, today: str | None, asking: Asking) -> Changed:
    """Put a request into the queue; one of a first-come round carries its time of day."""
    desk = desk_of(folder, today)
    if asking.email.strip():
        with told(f"--email '{asking.email.strip()}'"):
            deliverable(asking.email)
    client = Client(
        name=_one_line(asking.name),
        email=asking.email.strip(),
        price=desk.amount(asking.price) if asking.price else None,
        notes=_one_line(asking.notes),
    )
    when = desk.when(asking.on) if asking.on is not None else desk.now()
    wish = orders.Request(_one_line(asking.tier), client, asking.round, _code(asking.code))
    return desk.write(orders.add(desk.studio, wish, when))


def _code(text: str | None) -> str | None:
    if text is not None and not re.fullmatch(r"[^\W_](?:[\w.-]*[^\W_])?", text):
        raise DeskFault(f"--code '{text}' is no code; write letters, digits and hyphens, like W27-1")
    return text


def _one_line(text: str) -> str:
    return " ".join(text.split())


@writes
def move(
    folder: Path, today: str | None, code: str, step: str, on: str | None = None, price: str | None = None
) -> Changed:
    """Take one step forward."""
    desk = desk_of(folder, today)
    with told():
        taken = Step(one_of(Step)(re.sub(r"[-_]+", " ", step)))
    asked = desk.amount(price) if price else None
    return desk.write(orders.move(desk.studio, code, taken, desk.when(on), asked))


@writes
def take_back(folder: Path, today: str | None, code: str) -> Changed:
    """Take the latest step back."""
    desk = desk_of(folder, today)
    return desk.write(orders.take_back(desk.studio, code))


@writes
def promise(folder: Path, today: str | None, code: str, day: str) -> Changed:
    """Note the day a piece is promised for."""
    desk = desk_of(folder, today)
    promised = read_day(day, "the promised day")
    if promised is None or promised < desk.today:
        raise DeskFault(f"{day} has gone by; today is {desk.today}")
    return desk.write(orders.promise(desk.studio, code, promised))


@writes
def pay(
    folder: Path, today: str | None, code: str, amount: str, on: str | None = None, *, again: bool = False
) -> Changed:
    """Note money that came in."""
    desk = desk_of(folder, today)
    receipt = Receipt(on=desk.day(on), amount=desk.amount(amount))
    return desk.write(order_money.pay(desk.studio, code, receipt, desk.today, again=again))


@writes
def refund(folder: Path, today: str | None, code: str, amount: str, on: str | None = None) -> Changed:
    """Note money that was sent back."""
    desk = desk_of(folder, today)
    receipt = Receipt(on=desk.day(on), amount=desk.amount(amount))
    return desk.write(order_money.refund(desk.studio, code, receipt, desk.today))


@writes
def hours(folder: Path, today: str | None, code: str, step: str, spent: str) -> Changed:
    """Add bench hours: to the order's piece if there is one, else to the order."""
    desk = desk_of(folder, today)
    added, named = _hours(spent), _one_line(step)
    order = orders.worked_on(desk.studio, code)
    pieces = desk.studio.made_for(order.code)
    if not pieces:
        return desk.write(orders.note_hours(desk.studio, code, named, added))
    made = pieces[0]
    shown = f"pieces/{desk.studio.photo_folders[made.slug].name}/piece.yaml"
    total = made.private.hours.get(named, Decimal(0)) + added
    add_hours(folder / shown, shown, named, total)
    in_all = hours_of(desk.studio, order) + added
    said = f"{shown}: {named} {bare(total)} h; {order.code} has {bare(in_all)} h in all."
    return Changed(order, desk.studio.commissions, (said,))


def _hours(text: str) -> Decimal:
    try:
        spent = Decimal(text.strip().removesuffix("h"))
    except InvalidOperation:
        spent = Decimal(0)
    if not spent.is_finite() or not 0 < spent < 1000:
        raise DeskFault(f"'{text}' is no number of hours; write it like 3.5")
    return spent


@writes
def decline(folder: Path, today: str | None, code: str, why: str, on: str | None = None) -> Changed:
    """Decline a request, or take an offer back, with a reason."""
    desk = desk_of(folder, today)
    return desk.write(order_ends.decline(desk.studio, code, _reason(why), desk.day(on)))


@dataclass(frozen=True)
class Cancelling:
    """An early end as typed."""

    by: str
    why: str = ""
    work: str | None = None
    on: str | None = None


@writes
def cancel(
    folder: Path, today: str | None, code: str, wish: Cancelling, agree: Callable[[Changed], bool]
) -> Changed | None:
    """End an order early and settle its money; None if the artist doesn't agree to what is shown."""
    desk = desk_of(folder, today)
    by = CalledOffBy(wish.by)
    why = _reason(wish.why) if by is CalledOffBy.MAKER else _one_line(wish.why)
    work = _share(wish.work) if wish.work is not None else None
    changed = order_ends.cancel(desk.studio, code, order_ends.Ending(by, desk.day(wish.on), why, work))
    return desk.write(changed) if agree(changed) else None


def _reason(text: str) -> str:
    why = _one_line(text)
    if not why:
        raise DeskFault("say why, as --why 'The piece would need a kiln, which I don't have.'")
    return why


def _share(text: str) -> Decimal:
    """Read `40%` or `0.4` as a share from 0 to 1. Raises DeskFault."""
    bare = text.strip()
    try:
        share = Decimal(bare.removesuffix("%")) / (100 if bare.endswith("%") else 1)
    except InvalidOperation:
        share = Decimal(-1)
    if not share.is_finite() or not 0 <= share <= 1:
        raise DeskFault(f"--work '{text}' is no share of the work; write it like 40%")
    return share


@writes
def offer(
    folder: Path, today: str | None, name: str, count: int | None, agree: Callable[[Passing], bool]
) -> Passing | None:
    """Offer a round's free slots to the next in line; None if the artist doesn't agree to what is shown."""
    desk = desk_of(folder, today)
    one = find.round_named(desk.studio, name)
    made = order_offers.offer_round(desk.studio, one.name, desk.drawn(one), count, desk.moment)
    return _passed(desk, made, agree)


@writes
def lapsed(folder: Path, today: str | None, agree: Callable[[Passing], bool]) -> Passing | None:
    """Pass on the offers that nobody answered in time; None if the artist doesn't agree to what is shown."""
    desk = desk_of(folder, today)
    drawn = {
        one.name: codes for one in desk.studio.commissions.rounds if (codes := desk.drawn(one)) is not None
    }
    return _passed(desk, order_offers.lapsed(desk.studio, drawn, desk.today), agree)


def _passed(desk: Desk, made: Passing, agree: Callable[[Passing], bool]) -> Passing | None:
    if not made.changes:
        return made
    if not agree(made):
        return None
    write_orders(desk.folder, desk.studio.commissions, made.book, desk.studio.settings.digits)
    return made
