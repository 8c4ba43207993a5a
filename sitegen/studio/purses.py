"""Sort all money of a studio into purses: which order and which piece belong together, and what each sold.

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

from sitegen.studio.coins import NOTHING, Income, IncomeKind, Purse, as_it_comes, taken_back, total
from sitegen.studio.commission import Order
from sitegen.studio.order_lines import Receipt, Step
from sitegen.studio.order_steps import ENDED
from sitegen.studio.piece import Piece, Sold, Stream
from sitegen.studio.settings import OtherStream
from sitegen.studio.show import Show, ShowSale
from sitegen.studio.whole import Studio

_FOLDER = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


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
        shows = (one for one in self.shows if not one.is_class)
        return next((one.slug for one in shows if one.first_day <= sold.on <= one.ends), "")


def sale_at(piece: Piece, show: Show) -> Sold | None:
    """Return the sale that a show's line stands for: the one on its days, else the first, if any."""
    sales = piece.private.sales
    return next(
        (sale for sale in sales if show.first_day <= sale.on <= show.ends), sales[0] if sales else None
    )


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
    """Find the piece behind a title or a folder's name that is gone: sold there, and named by no line."""
    for piece in studio.pieces:
        called = is_folder(line.what) or line.what.casefold() == piece.title.casefold()
        if called and piece.slug not in found.pieces and _sold_there(piece, show, line):
            return piece
    return None


def is_folder(what: str) -> bool:
    """Tell whether a line might name a folder."""
    return _FOLDER.fullmatch(what) is not None


def _sold_there(piece: Piece, show: Show, line: ShowSale) -> bool:
    """Tell whether it was sold at the show, at the line's price."""
    sold = sale_at(piece, show)
    if sold is None or sold.stream is not Stream.SHOWS:
        return False
    return show.first_day <= sold.on <= show.ends and sold.price == line.price


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
        line = Income(
            show.first_day, IncomeKind.SALE, show.kind.stream, sale.what, sale.price, hours, show=show.slug
        )
        found.append(_at_once(line))
    for taking in studio.settings.private.takings:
        hours = taking.hours if taking.hours or taking.stream is OtherStream.CLASSES else None
        line = Income(taking.on, IncomeKind.SALE, str(taking.stream), taking.what, taking.amount, hours)
        found.append(_at_once(line))
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


@dataclass(frozen=True)
class _Parting:
    """One sale of a piece."""

    piece: Piece
    sold: Sold
    first: bool


def _of_order(table: Tables, order: Order, made: Sequence[Piece]) -> Purse:
    receipts = (*order.private.paid, *(one for piece in made for one in turn_of(piece, 0)))
    sold = [_Parting(one, one.private.sales[0], first=True) for one in made if one.private.sales]
    if sold:
        return _of_sales(table, order.code, sold, receipts, order.hours)
    settled = order.day_of(order.step)
    if settled is not None and order.step is Step.SHIPPED:
        return _of_shipped(order, made, receipts, settled)
    if settled is not None and order.step is Step.CALLED_OFF:
        return _of_called_off(order, receipts, settled)
    return Purse(order.code, receipts, (), None, order.private.price)


def _of_shipped(order: Order, made: Sequence[Piece], receipts: tuple[Receipt, ...], settled: date) -> Purse:
    price, what = order.private.price, f"{order.code}, {order.tier}"
    hours = order.hours + total(piece.hours for piece in made)
    supplies = total(supplies_of(piece) for piece in made)
    line = Income(settled, IncomeKind.SALE, str(Stream.COMMISSIONS), what, NOTHING, hours, supplies)
    if not receipts and price:
        receipts = (Receipt(on=settled, amount=price),)
    income = as_it_comes(line, receipts, settled, price)
    return Purse(order.code, receipts, income, settled, price, price)


def _of_called_off(order: Order, receipts: tuple[Receipt, ...], settled: date) -> Purse:
    client, hours = order.private, order.hours or None
    what = f"{order.code}, called off"
    line = Income(settled, IncomeKind.KEPT, str(Stream.COMMISSIONS), what, NOTHING, hours)
    limit = None if client.kept is None else client.kept + (client.claimed or NOTHING)
    income = as_it_comes(line, receipts, settled, limit)
    return Purse(order.code, receipts, income, settled, client.price, limit if client.claimed else None)


def _of_piece(table: Tables, piece: Piece, skip: int) -> list[Purse]:
    """Return a purse for each sale of a piece and for the money of the next, save the first `skip`."""
    sales, plan = piece.private.sales, piece.private.plan
    if not sales and piece.slug in table.pieces and not skip:
        show, line = table.pieces[piece.slug]
        sales = (Sold(on=show.first_day, price=line.price, stream=Stream.SHOWS),)
    in_parts = _turn(piece, plan.start) if plan else None
    found = [
        _of_sales(
            table,
            piece.slug,
            [_Parting(piece, one, first=not number)],
            turn_of(piece, number),
            at_once=number != in_parts or one.returned is not None,
        )
        for number, one in enumerate(sales)
        if number >= skip
    ]
    to_come = turn_of(piece, len(sales)) if len(sales) >= skip else ()
    if to_come:
        price = plan.price if plan and plan.price is not None else piece.price
        found.append(Purse(piece.slug, to_come, (), None, price))
    return found


def _of_sales(
    table: Tables,
    name: str,
    sold: Sequence[_Parting],
    receipts: Sequence[Receipt],
    early: Decimal = NOTHING,
    *,
    at_once: bool = True,
) -> Purse:
    """Return the purse of what was sold; `early` are hours noted on its order.

    `at_once`: if no money is noted, it was paid on its day; so it was if it came back.
    """
    sold = sorted(sold, key=lambda one: one.sold.on)
    lines = [_sale(table, one) for one in sold]
    if early:
        lines[0] = replace(lines[0], hours=(lines[0].hours or NOTHING) + early)
    asked = total(line.amount for line in lines)
    returns = [_refund(one) for one in sold if one.sold.refund]
    noted = list(receipts)
    for back in returns:
        if (same := Receipt(on=back.on, amount=back.amount)) in noted:
            noted.remove(same)  # one coin, noted with the order and with the piece
    beyond = taken_back(lines[-1], noted, asked)
    if at_once and not noted:
        noted = [Receipt(on=one.on, amount=one.amount) for one in lines]
    noted += [Receipt(on=one.on, amount=one.amount) for one in returns]
    return Purse(name, tuple(noted), (*lines, *returns, *beyond), lines[-1].on, asked, asked)


def _sale(table: Tables, one: _Parting) -> Income:
    piece, sold = one.piece, one.sold
    return Income(
        on=sold.on,
        kind=IncomeKind.SALE,
        stream=str(sold.stream),
        what=piece.title,
        amount=sold.price,
        hours=piece.hours if one.first else None,
        supplies=supplies_of(piece) if one.first else NOTHING,
        show=table.show_of(piece, sold),
        fee=sold.fee,
    )


def _refund(one: _Parting) -> Income:
    on, amount = one.sold.returned or one.sold.on, -(one.sold.refund or NOTHING)  # it has both: `Sold`
    return Income(on, IncomeKind.REFUND, str(one.sold.stream), f"{one.piece.title}, returned", amount)


def _at_once(line: Income) -> Purse:
    """Return the purse of what was paid as it was sold."""
    paid = Receipt(on=line.on, amount=line.amount)
    return Purse(line.what, (paid,), (line,), line.on, line.amount, line.amount)


def supplies_of(piece: Piece) -> Decimal:
    """Return what a piece's supplies cost."""
    return total(supply.cost for supply in piece.private.supplies)


def turn_of(piece: Piece, number: int) -> tuple[Receipt, ...]:
    """Return the money of a piece's plan that belongs to one of its sales, from 0, or to the next to come."""
    paid = piece.private.plan.paid if piece.private.plan else ()
    return tuple(one for one in paid if _turn(piece, one.on, comes=one.amount > 0) == number)


def _turn(piece: Piece, on: date, *, comes: bool = True) -> int:
    """Say which sale money or a plan belongs to: a returned piece starts anew on the day it came back."""
    ends = [sale.returned for sale in piece.private.sales if sale.returned is not None]
    return sum(end < on or (end == on and comes) for end in ends)
