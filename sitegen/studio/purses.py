"""Where every coin is: income, in advance, to go back, or still to come. One reading for all who ask.

A purse holds the money of one order, of one piece, or of both where the piece was made for the order. The
rules, so that nothing is counted twice and nothing is lost:
- What came in before anything is sold is in advance, up to the price; what is above it is to go back.
- A piece's sale is income in full on its day. What of it hasn't come is still to come; what came too much
  is to go back. A sale with no money noted was paid on its day, unless it holds and has a plan, or says
  when its money is due or came (`due`, `paid`): of that a place has kept its part as it was sold.
- A return takes its refund out of the income of the day it went back; the sale stays in its own year.
- An order that was sent off and that no sold piece stands for is income as its money comes, from that day
  on, up to its price. One that was called off, up to what is kept and asked for.
- Money sent back after the sale that wasn't paid too much is income taken back on that day.
So on any day: received = income + in advance + to go back - still to come.

A piece belongs to an order by `order:`, or, where nothing says so, by its buyer's name and price: one piece
to one order. A piece that came back and was sold again has a purse for each sale. Hours and supplies go with
a piece's first sale, and an order's own hours with the order, so that they count once.
"""

import re
from collections import defaultdict, deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from sitegen.studio.commission import Order
from sitegen.studio.money import NOTHING, total
from sitegen.studio.order_lines import Receipt, Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import Piece, Sold, Stream
from sitegen.studio.settings import OtherStream
from sitegen.studio.show import Show, ShowSale
from sitegen.studio.whole import Studio

_FOLDER = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


class IncomeKind(StrEnum):
    """What a line of income is."""

    SALE = "sale"
    KEPT = "kept"  # of what was paid for an order that was called off
    REFUND = "refund"  # taken back: its amount is below zero


@dataclass(frozen=True)
class Income:
    """One line of income, on the day it counts."""

    on: date
    kind: IncomeKind
    stream: str
    what: str
    amount: Decimal = field(repr=False)
    hours: Decimal | None = None  # hours of work that this line carries; None where none can be noted
    supplies: Decimal = field(default=NOTHING, repr=False)
    show: str = ""
    fee: Decimal | None = field(default=None, repr=False)
    """What the place that sold it kept, in the stead of the usual share."""

    @property
    def charged(self) -> bool:
        """Whether selling takes its share; what it took isn't given back with a refund."""
        return self.kind is not IncomeKind.REFUND and self.stream in set(Stream)

    def after_fees(self, percent: Decimal) -> Fraction:
        """Return what is left of it; `percent` is the usual share."""
        fees = Fraction(self.amount) * Fraction(percent) / 100 if self.fee is None else Fraction(self.fee)
        return Fraction(self.amount) - (fees if self.charged else 0)


@dataclass(frozen=True)
class Balance:
    """Where the money of a purse is on a day, beside its income."""

    advance: Decimal = field(default=NOTHING, repr=False)
    back: Decimal = field(default=NOTHING, repr=False)  # to go back
    open: Decimal = field(default=NOTHING, repr=False)  # income that hasn't come yet


@dataclass(frozen=True)
class Purse:
    """The money of one order or piece, or of both together."""

    name: str
    receipts: tuple[Receipt, ...] = field(repr=False)
    income: tuple[Income, ...] = field(repr=False)
    settled: date | None  # from this day on nothing of it is in advance
    price: Decimal | None = field(default=None, repr=False)
    asked: Decimal | None = field(default=None, repr=False)
    """What it has to bring once it's settled; None where all that comes is right."""
    due: date | None = None  # the day by which what is missing is to come

    def received(self, day: date) -> Decimal:
        """Return what came in by the end of a day, less what went back."""
        return total(receipt.amount for receipt in self.receipts if receipt.on <= day)

    def earned(self, day: date) -> Decimal:
        """Return its income by the end of a day."""
        return total(income.amount for income in self.income if income.on <= day)

    def balance(self, day: date) -> Balance:
        """Say where the rest of its money is at the end of a day."""
        held = self.received(day) - self.earned(day)
        if held < 0:
            return Balance(open=-held)
        if self.is_settled(day):
            return Balance(back=held)
        advance = held if self.price is None else min(held, self.price)
        return Balance(advance=advance, back=held - advance)

    def is_settled(self, day: date) -> bool:
        """Tell whether it was sold, sent off or called off by a day."""
        return self.settled is not None and self.settled <= day

    def still_to_pay(self, day: date) -> Decimal:
        """Return what is missing once it's settled."""
        if self.asked is None or not self.is_settled(day):
            return NOTHING
        return max(
            self.asked - total(toward.amount for toward in self.towards() if toward.on <= day), NOTHING
        )

    def rest(self, day: date) -> Decimal:
        """Return what is missing once it's settled; below zero for what is to go back."""
        return self.still_to_pay(day) - self.balance(day).back

    def towards(self) -> tuple[Receipt, ...]:
        """Return the money that counts towards what is asked for.

        What was sent back once it was settled and wasn't too much is a gift, and isn't asked for again.
        """
        if self.asked is None or self.settled is None:
            return self.receipts
        found, came = [], NOTHING
        for receipt in sorted(self.receipts, key=lambda receipt: (receipt.on, -receipt.amount)):
            gift = receipt.amount < 0 and receipt.on >= self.settled
            amount = max(receipt.amount, min(self.asked - came, NOTHING)) if gift else receipt.amount
            found.append(Receipt(on=receipt.on, amount=amount))
            came += amount
        return tuple(found)


@dataclass
class Tables:
    """Every show's lines, sorted by what they stand for."""

    shows: tuple[Show, ...]
    pieces: dict[str, tuple[Show, ShowSale]] = field(default_factory=dict)
    """The first line that names a piece, by the piece's slug."""
    others: list[tuple[Show, ShowSale]] = field(default_factory=list)  # lines that name no piece
    lost: list[tuple[Show, ShowSale, Piece]] = field(default_factory=list)
    """Lines with a title, or a folder's name that no piece has now, and the piece that must be meant."""

    def show_of(self, piece: Piece, sold: Sold) -> str:
        """Return the slug of the show where a piece was sold, as a line or the day says; empty for none."""
        if piece.slug in self.pieces:
            show, _ = self.pieces[piece.slug]
            if sale_at(piece, show) in {None, sold}:
                return show.slug
        if sold.stream is not Stream.SHOWS:
            return ""
        return next((show.slug for show in self.shows if not show.is_class and show.runs(sold.on)), "")


def sale_at(piece: Piece, show: Show) -> Sold | None:
    """Return the sale that a show's line stands for: the one on its days, else the first, if any."""
    sales = piece.private.sales
    return next((sale for sale in (*(sale for sale in sales if show.runs(sale.on)), *sales)), None)


def tables(studio: Studio) -> Tables:
    """Sort the lines of every show."""
    by_name = {name: piece for piece in studio.pieces for name in piece.was}
    by_name |= {piece.slug: piece for piece in studio.pieces}
    found, left = Tables(studio.shows), []
    for show in studio.shows:
        for line in show.private.sales:
            piece = by_name.get(line.what)
            if piece is None:
                left.append((show, line))
            else:
                found.pieces.setdefault(piece.slug, (show, line))
    for show, line in left:
        meant = _meant(studio, found, show, line)
        if meant is None:
            found.others.append((show, line))
        else:
            found.pieces[meant.slug] = (show, line)
            found.lost.append((show, line, meant))
    return found


def _meant(studio: Studio, found: Tables, show: Show, line: ShowSale) -> Piece | None:
    """Find the piece behind a title or a folder's name that is gone: sold there at that price, in no line."""
    for piece in studio.pieces:
        sold, called = sale_at(piece, show), line.what.casefold() == piece.title.casefold()
        if sold is None or piece.slug in found.pieces or not (called or is_folder(line.what)):
            continue
        if sold.stream is Stream.SHOWS and show.runs(sold.on) and sold.price == line.price:
            return piece
    return None


def is_folder(what: str) -> bool:
    """Tell whether a line might name a folder."""
    return _FOLDER.fullmatch(what) is not None


def purses(studio: Studio) -> tuple[Purse, ...]:
    """Return every purse of the studio: orders first, then pieces, shows and other takings."""
    table, made = tables(studio), pieces_of_orders(studio)
    found = [_of_order(table, order, made.get(order.code, ())) for order in studio.commissions.queue]
    with_orders = {piece.slug for pieces in made.values() for piece in pieces}
    for piece in studio.pieces:
        found += _of_piece(table, piece, 1 if piece.slug in with_orders else 0)
    taught = {show.slug: show.private.hours for show, _ in table.others if show.is_class}
    for show, sale in table.others:
        hours = taught.pop(show.slug, None)  # a class's hours count once
        found.append(_at_once(show.first_day, show.kind.stream, sale.what, sale.price, hours, show.slug))
    for taking in studio.settings.private.takings:
        hours = taking.hours if taking.hours or taking.stream is OtherStream.CLASSES else None
        found.append(_at_once(taking.on, str(taking.stream), taking.what, taking.amount, hours))
    return tuple(found)


def purse_of(studio: Studio, order: Order) -> Purse:
    """Return the purse of one order, as it stands or as it's to be."""
    made = () if order.step in ENDED else pieces_of_orders(studio).get(order.code, ())
    return _of_order(tables(studio), order, made)


def pieces_of_orders(studio: Studio) -> dict[str, tuple[Piece, ...]]:
    """Return the pieces that each order's money pays for, by the order's code."""
    queue = studio.commissions.queue
    named: dict[str, list[Piece]] = defaultdict(list)
    alike: dict[tuple[str, Decimal | None], deque[Piece]] = defaultdict(deque)
    for piece in studio.pieces:
        if piece.private.order:
            named[piece.private.order].append(piece)
        elif piece.private.sales:
            sold = piece.private.sales[0]
            alike[sold.to, sold.price].append(piece)
    found = {order.code: tuple(named.get(order.code, ())) for order in queue if order.step not in ENDED}
    for order in queue:
        buyers = alike.get((order.private.name, order.private.price))
        if order.step is Step.SHIPPED and not found[order.code] and order.private.name and buyers:
            found[order.code] = (buyers.popleft(),)
    return found


def _of_order(table: Tables, order: Order, made: Sequence[Piece]) -> Purse:
    client, stream = order.private, str(Stream.COMMISSIONS)
    receipts = (*client.paid, *(receipt for piece in made for receipt in turn_of(piece, 0)))
    if sold := [piece for piece in made if piece.private.sales]:
        lines = [line for piece in sold for line in _lines(table, piece, piece.private.sales[0])]
        return _of_sales(order.code, lines, receipts, order.hours)
    settled = order.day_of(order.step)
    if settled is not None and order.step is Step.SHIPPED:
        price, what = client.price, f"{order.code}, {order.tier}"
        hours = order.hours + total(piece.hours for piece in made)
        supplies = total(supplies_of(piece) for piece in made)
        line = Income(settled, IncomeKind.SALE, stream, what, NOTHING, hours, supplies)
        if not receipts and price:
            receipts = (Receipt(on=settled, amount=price),)
        return Purse(order.code, receipts, _as_it_comes(line, receipts, price), settled, price, price)
    if settled is not None and order.step is Step.CALLED_OFF:
        line = Income(
            settled, IncomeKind.KEPT, stream, f"{order.code}, called off", NOTHING, order.hours or None
        )
        limit = None if client.kept is None else client.kept + (client.claimed or NOTHING)
        income = _as_it_comes(line, receipts, limit)
        return Purse(order.code, receipts, income, settled, client.price, limit if client.claimed else None)
    return Purse(order.code, receipts, (), None, client.price)


def _as_it_comes(line: Income, receipts: Sequence[Receipt], limit: Decimal | None) -> tuple[Income, ...]:
    """Turn money into income from a line's day on, up to a limit: a line for each day that changes it.

    Hours and supplies go with the first.
    """
    counted, found = NOTHING, list[Income]()
    for day in sorted({line.on, *(receipt.on for receipt in receipts if receipt.on > line.on)}):
        came = total(receipt.amount for receipt in receipts if receipt.on <= day)
        now = came if limit is None else min(came, limit)
        if now != counted:
            kind = line.kind if now > counted else IncomeKind.REFUND
            found.append(replace(line, on=day, amount=now - counted, kind=kind))
            line = replace(line, hours=None, supplies=NOTHING)
        counted = now
    return tuple(found)


def _of_piece(table: Tables, piece: Piece, skip: int) -> list[Purse]:
    """Return a purse for each sale of a piece and for the money of the next, save the first `skip`."""
    sales, plan = piece.private.sales, piece.private.plan
    if not sales and piece.slug in table.pieces and not skip:
        show, line = table.pieces[piece.slug]
        sales = (Sold(on=show.first_day, price=line.price, stream=Stream.SHOWS),)
    in_parts = _turn(piece, plan.start) if plan else None
    found = [
        _of_sales(
            piece.slug, _lines(table, piece, sale, first=not number),
            turn_of(piece, number) or _from_the_place(sale),
            at_once=number != in_parts or sale.returned is not None, due=sale.due,
        )
        for number, sale in enumerate(sales)
        if number >= skip
    ]  # fmt: skip
    to_come = turn_of(piece, len(sales)) if len(sales) >= skip else ()
    if to_come:
        found.append(Purse(piece.slug, to_come, (), None, piece.held_at))
    return found


def _from_the_place(sale: Sold) -> tuple[Receipt, ...]:
    """Return the money of a sale that didn't come at once: what was kept of it, and the rest on its day.

    If it came back before, nothing is owed from that day on.
    """
    if sale.due is None and sale.paid is None:
        return ()
    kept, came = sale.fee or NOTHING, sale.paid or sale.returned
    rest = (Receipt(on=came, amount=sale.price - kept),) if came is not None else ()
    return (Receipt(on=sale.on, amount=kept), *rest)


def _lines(table: Tables, piece: Piece, sold: Sold, *, first: bool = True) -> list[Income]:
    """Return the income of a sale, and what was taken out of it with its return."""
    stream = str(sold.stream)
    hours, supplies = (piece.hours, supplies_of(piece)) if first else (None, NOTHING)
    where = table.show_of(piece, sold)
    sale = Income(sold.on, IncomeKind.SALE, stream, piece.title, sold.price, hours, supplies, where, sold.fee)
    if not sold.refund or sold.returned is None:
        return [sale]
    what = f"{piece.title}, returned"
    return [sale, Income(sold.returned, IncomeKind.REFUND, stream, what, -sold.refund)]


def _of_sales(
    name: str,
    income: Sequence[Income],
    receipts: Sequence[Receipt],
    early: Decimal = NOTHING,
    *,
    at_once: bool = True,
    due: date | None = None,
) -> Purse:
    """Return the purse of what was sold; `early` are hours noted on its order.

    `at_once`: if no money is noted, it was paid on its day; so it was if it came back.
    """
    lines = sorted((income for income in income if income.kind is IncomeKind.SALE), key=lambda came: came.on)
    if early:
        lines[0] = replace(lines[0], hours=(lines[0].hours or NOTHING) + early)
    asked = total(line.amount for line in lines)
    returns = [income for income in income if income.kind is IncomeKind.REFUND]
    noted = list(receipts)
    for back in returns:
        if (same := Receipt(on=back.on, amount=back.amount)) in noted:
            noted.remove(same)  # one coin, noted with the order and with the piece
    beyond = _taken_back(lines[-1], noted, asked)
    if at_once and not noted:
        noted = [Receipt(on=income.on, amount=income.amount) for income in lines]
    noted += [Receipt(on=income.on, amount=income.amount) for income in returns]
    return Purse(name, tuple(noted), (*lines, *returns, *beyond), lines[-1].on, asked, asked, due)


def _taken_back(line: Income, receipts: Sequence[Receipt], asked: Decimal) -> tuple[Income, ...]:
    """Return the income taken back by money that was sent back after a sale, beyond what was too much.

    `line` says what it's called and when it was sold; `asked` is what it was sold for.
    """
    found, due = [], asked
    back = replace(line, kind=IncomeKind.REFUND, hours=None, supplies=NOTHING, show="", fee=None)
    for day in sorted({receipt.on for receipt in receipts if receipt.on >= line.on}):
        went = -total(receipt.amount for receipt in receipts if receipt.on == day and receipt.amount < 0)
        before = total(receipt.amount for receipt in receipts if receipt.on < day)
        before += total(receipt.amount for receipt in receipts if receipt.on == day and receipt.amount > 0)
        over = max(before - due, NOTHING)
        if went > over:
            due -= went - over
            found.append(replace(back, on=day, amount=over - went))
    return tuple(found)


def _at_once(
    on: date, stream: str, what: str, amount: Decimal, hours: Decimal | None, show: str = ""
) -> Purse:
    """Return the purse of what was paid as it was sold."""
    line = Income(on, IncomeKind.SALE, stream, what, amount, hours, show=show)
    return Purse(what, (Receipt(on=on, amount=amount),), (line,), on, amount, amount)


def supplies_of(piece: Piece) -> Decimal:
    """Return what a piece's supplies cost."""
    return total(supply.cost for supply in piece.private.supplies)


def turn_of(piece: Piece, number: int) -> tuple[Receipt, ...]:
    """Return the money of a piece's plan that belongs to one of its sales, from 0, or to the next to come."""
    paid = piece.private.plan.paid if piece.private.plan else ()
    return tuple(receipt for receipt in paid if _turn(piece, receipt.on, comes=receipt.amount > 0) == number)


def _turn(piece: Piece, on: date, *, comes: bool = True) -> int:
    """Say which sale money or a plan belongs to: a returned piece starts anew on the day it came back."""
    ends = [sale.returned for sale in piece.private.sales if sale.returned is not None]
    return sum(end < on or (end == on and comes) for end in ends)
