"""Add up a year: what came in by stream, what it cost, what is owed, what each show brought in.

What counts when is ruled in `sitegen.studio.purses`. Beside it:
- Supplies count with the piece they went into, in the year it was first sold; a show's costs, and
  other expenses, on the day they're paid.
- Overhead counts month by month, this year's up to the present month.
- Selling takes its share (`fees`) of every sale of a piece or at a show; a refund doesn't bring it back. What
  a gallery sold bears what the gallery kept instead (`fee`).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from sitegen.desk import plan, words
from sitegen.desk.books_lines import Books
from sitegen.desk.order_money import SETTLED, unsold
from sitegen.desk.plan import standing_of
from sitegen.desk.year import BooksRow, Rates, RowKind, row_of
from sitegen.studio import money
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Order
from sitegen.studio.money import NOTHING, total
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.piece import Piece
from sitegen.studio.plan import PlanState, Standing
from sitegen.studio.purses import Income, Purse, Tables, is_folder, pieces_of_orders, purses, sale_at, tables
from sitegen.studio.wage import made_in, planned_hours, shares, without_hours, worked_hours
from sitegen.studio.whole import Studio

# So many pieces are named one by one; a longer list hides what else is worth a look.
_NAMED = 20


def books(studio: Studio, year: int, today: date) -> Books:
    """Add up a year, with what is worth a look. Raises Fault for a year that hasn't begun."""
    return replace(year_of(studio, purses(studio), year, today), cautions=tuple(cautions(studio)))


def year_of(studio: Studio, found: Sequence[Purse], year: int, today: date) -> Books:
    """Add up a year from the studio's purses. Raises Fault for a year that hasn't begun."""
    if year > today.year:
        raise Fault(f"{year} hasn't begun; the books of {today.year} are the latest")
    start, last = date(year, 1, 1), date(year, 12, 31)
    end = min(today, last)
    income = [came for purse in found for came in purse.income if came.on.year == year and came.on <= end]
    settings, desk = studio.settings, studio.settings.private
    rates = Rates(settings.currency, settings.digits, desk.fees, desk.overhead, end.month, desk.rate)
    made = made_in(studio, start, end)
    rows = [
        *_income_rows(studio, income),
        *_fee_rows(income, rates),
        *_cost_rows(studio, rates, end),
        *_balance_rows(studio, found, start, end),
        *(BooksRow(end, RowKind.NO_HOURS, what=hour) for hour in without_hours(income)),
        *(BooksRow(end, RowKind.UNNOTED, what=made.what) for made in made if not made.hours),
        BooksRow(end, RowKind.PLANNED, hours=planned_hours(desk, start, last, end.month)),
        BooksRow(end, RowKind.WORKED, hours=worked_hours(studio, made, start, end)),
    ]
    return Books(year, rates, tuple(sorted(rows)))


def _income_rows(studio: Studio, income: Sequence[Income]) -> Iterator[BooksRow]:
    names = {show.slug: show.name for show in studio.shows}
    for came in income:
        yield row_of(
            came.on, came.kind, came.amount, stream=came.stream, what=came.what,
            hours=came.hours or NOTHING, show=names.get(came.show, ""),
        )  # fmt: skip
        if came.supplies:
            yield row_of(came.on, RowKind.SUPPLIES, -came.supplies, stream=came.stream, what=came.what)


def _fee_rows(income: Sequence[Income], rates: Rates) -> Iterator[BooksRow]:
    """Take the fees of the year's sales once, and lay them on each sale to the coin."""
    charged = [income for income in income if income.charged and income.fee is None]
    weights = [income.amount for income in charged]
    fees = money.share(total(weights), rates.fees, rates.digits)
    usual = zip(charged, shares(fees, weights, rates.digits), strict=True)
    agreed = ((income, income.fee) for income in income if income.charged and income.fee is not None)
    for came, fee in (*usual, *agreed):
        if fee:
            yield row_of(came.on, RowKind.FEES, -fee, stream=came.stream, what=came.what)


def _cost_rows(studio: Studio, rates: Rates, end: date) -> Iterator[BooksRow]:
    start = date(end.year, 1, 1)
    for show in studio.shows:
        if not show.spent and show.first_day.year == end.year:
            yield row_of(show.first_day, RowKind.SHOW_COST, NOTHING, what="none noted", show=show.name)
        for on, cost, what in show.spent:
            if start <= on <= end:
                named, stream = f"{show.name}: {what}", show.kind.stream
                yield row_of(on, RowKind.SHOW_COST, -cost, stream=stream, what=named, show=show.name)
    if overhead := (rates.overhead or NOTHING) * rates.months:
        yield row_of(end, RowKind.OVERHEAD, -overhead, what=f"{rates.months} months")
    for expense in studio.settings.private.expenses:
        if start <= expense.on <= end:
            yield row_of(expense.on, RowKind.EXPENSE, -expense.amount, what=expense.what)


def _balance_rows(studio: Studio, found: Sequence[Purse], start: date, end: date) -> Iterator[BooksRow]:
    """Say where each purse's money stood as the year began, what moved, where it stands, what is owed."""
    eve = start - timedelta(days=1)
    for purse in found:
        before, after = purse.balance(eve), purse.balance(end)
        yield from _standing(start, purse.name, {
            RowKind.ADVANCE_BEFORE: before.advance, RowKind.BACK_BEFORE: before.back,
            RowKind.OPEN_BEFORE: -before.open,
        })  # fmt: skip
        for receipt in purse.receipts:
            if receipt.amount and start <= receipt.on <= end:
                yield row_of(receipt.on, RowKind.RECEIVED, receipt.amount, what=purse.name)
        yield from _standing(end, purse.name, {
            RowKind.ADVANCE: after.advance, RowKind.BACK: after.back, RowKind.OPEN: -after.open,
        })  # fmt: skip
        if missing := purse.still_to_pay(end):
            how = stands(purse, end)
            yield from _standing(end, purse.name, {
                RowKind.TO_COME: missing, RowKind.PAID: purse.received(end),
                RowKind.DUE: missing * (how is not Standing.TO_COME),
                RowKind.LATE: missing * (how is Standing.LATE),
            })  # fmt: skip
    for name, standing in standings(studio, found, end):
        yield from _standing(end, name, {
            RowKind.TO_COME: standing.balance, RowKind.PAID: standing.paid,
            RowKind.DUE: standing.owed_now, RowKind.LATE: standing.late_now,
        })  # fmt: skip


def stands(purse: Purse, day: date) -> Standing:
    """Say how the open money of what was sold stands; where no day was agreed on, it's due."""
    if purse.due is None or purse.due == day:
        return Standing.DUE
    return Standing.TO_COME if day < purse.due else Standing.LATE


def _standing(on: date, what: str, amounts: dict[RowKind, Decimal]) -> Iterator[BooksRow]:
    for kind, amount in amounts.items():
        if amount:
            yield row_of(on, kind, amount, what=what)


def standings(
    studio: Studio, found: Sequence[Purse], day: date, begun: date | None = None
) -> Iterator[tuple[str, PlanState]]:
    """Say how each plan stands on a day that isn't paid in full; those that begin by `begun`, or that day."""
    unsettled = {purse.name for purse in found if not purse.is_settled(day)}
    plans: list[tuple[str, PlanState | None]] = [
        (one.code, standing_of(studio, one, day))
        for one in studio.commissions.queue
        if one.code in unsettled and one.step in UNDER_WAY | SETTLED and plan.is_planned(one, begun or day)
    ]
    plans += [(piece.slug, standing_of_buyer(studio, piece, day, begun)) for piece in studio.pieces]
    for name, standing in plans:
        if standing is not None and standing.balance > 0:
            yield name, standing


def standing_of_buyer(studio: Studio, piece: Piece, day: date, begun: date | None = None) -> PlanState | None:
    """Say how the plan of a piece's buyer stands, unless it was sold by that day."""
    agreed, sold = piece.private.plan, piece.private.sold
    if agreed is None or agreed.start > (begun or day) or (sold is not None and sold.on <= day):
        return None
    since = max((sale.returned for sale in piece.private.sales if sale.returned), default=date.min)
    if agreed.start < since <= day:
        return None  # the plan was that of the buyer who sent it back
    return plan.for_buyer(studio, piece, agreed, day).standing


Made = Mapping[str, tuple[Piece, ...]]
"""The pieces of each order, by its code."""


def cautions(studio: Studio) -> list[str]:
    """Name what is worth a look, each once."""
    table, made = tables(studio), pieces_of_orders(studio)
    without = _unpriced(studio, table, made)
    unpriced = [
        f"pieces/{piece.slug}/piece.yaml says {piece.status}, but not for how much, so nothing is counted; "
        f"`sitegen piece mark {piece.slug} {piece.status} --price {piece.price or 480} --on DATE` writes "
        "the sale."
        for piece in without[:_NAMED]
    ]
    if more := len(without[_NAMED:]):
        unpriced.append(f"So it is with {more} more; `sitegen check` names each with its line.")
    return list(dict.fromkeys([*_of_shows(studio, table), *_of_orders(studio, made), *unpriced]))


def _of_shows(studio: Studio, table: Tables) -> Iterator[str]:
    said = studio.settings.said
    for show in studio.shows:
        named = [line.what for line in show.private.sales]
        for line in show.private.sales:
            piece = studio.piece(line.what)
            sold = sale_at(piece, show) if piece else None
            if sold is not None and sold.price != line.price:
                yield (
                    f"shows/{show.slug}.yaml says that {line.what} brought {said(line.price)}, its "
                    f"piece.yaml says {said(sold.price)}; the piece's is counted."
                )
            if piece is not None and named.count(line.what) > 1:
                yield f"shows/{show.slug}.yaml sells {line.what} twice; it exists once."
    for show, line, piece in table.lost:
        was = f"Write `was: {line.what}` into pieces/{piece.slug}/piece.yaml."
        cure = was if is_folder(line.what) else f"Write `what: {piece.slug}` there."
        yield (
            f"shows/{show.slug}.yaml names {line.what}, which is no piece now; it's taken for {piece.slug}, "
            f"sold there at that price. {cure}"
        )


def _of_orders(studio: Studio, made: Made) -> Iterator[str]:
    said = studio.settings.said
    for order in studio.commissions.queue:
        price = order.private.price
        sold = [piece for piece in made.get(order.code, ()) if piece.private.sales]
        brought = total(piece.private.sales[0].price for piece in sold)
        if _unsold(order, made):
            yield unsold(order, made[order.code])
        elif sold and price is not None and price != brought:
            names = words.listed([f"pieces/{piece.slug}/piece.yaml" for piece in sold])
            yield (
                f"commissions.yaml says that {order.code} costs {said(price)}, by {names} it was sold for "
                f"{said(brought)}; that is counted."
            )


def unnoted_sales(studio: Studio) -> tuple[list[Piece], list[Order]]:
    """Return the pieces that are gone for an unknown price, and the orders sent off without a piece sold."""
    made = pieces_of_orders(studio)
    unsold_orders = [order for order in studio.commissions.queue if _unsold(order, made)]
    return _unpriced(studio, tables(studio), made), unsold_orders


def _unpriced(studio: Studio, table: Tables, made: Made) -> list[Piece]:
    """Find sold pieces that nothing says the price of: they bring nothing into the books."""
    sent = [order for order in studio.commissions.queue if order.step is Step.SHIPPED]
    elsewhere = {*table.pieces, *(piece.slug for order in sent for piece in made.get(order.code, ()))}
    return [piece for piece in studio.pieces if piece.slug not in elsewhere and piece.unpriced_sale]


def _unsold(order: Order, made: Made) -> bool:
    """Tell whether an order was sent off for money and no piece says that it was sold for it."""
    money = order.private.paid or order.private.price
    sold = any(piece.private.sales for piece in made.get(order.code, ()))
    return bool(order.step is Step.SHIPPED and money and not sold)
