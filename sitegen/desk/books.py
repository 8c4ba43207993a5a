"""The books: what came in by stream, what an hour earned, what is owed, what each show brought in.

The rules, so that nothing is counted twice and nothing is lost:
- A sale counts in the year of its day. A piece's `private: sold:` is the sale; a show's line that names the
  piece only says where it was sold. A show's line that names no sold piece is a sale of its own, on the
  show's first day.
- Money paid towards a commission, or in parts for a piece, isn't income until its piece says that it was
  sold; until then it's money in advance, shown apart. A piece belongs to a commission by `order:`. A
  commission that was sent off and that no sold piece stands for counts itself, on the day it was sent,
  with what was paid for it.
- Of a commission that was called off, what is kept is income on that day; the rest is to go back.
- Supplies count with the piece they went into, in the year it was sold; a show's costs in the year it began.
- Overhead counts month by month, this year's up to the present month.
- Selling takes its share (`fees`) of every sale of a piece or at a show.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import order_sales, plan, words
from sitegen.desk.fault import DeskFault
from sitegen.studio import money
from sitegen.studio.commission import Place, Step
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.order_sums import kept_of, paid_of
from sitegen.studio.payments import state
from sitegen.studio.piece import Piece, Stream
from sitegen.studio.settings import OtherStream, Settings
from sitegen.studio.show import Show
from sitegen.studio.whole import Studio

CAUTION = (
    "These are your own notes added up, before tax; no tax advice and no accounts. Show them to a licensed "
    "professional."
)
_NOTHING = Decimal(0)


@dataclass(frozen=True)
class Sale:
    """One sale."""

    on: date
    stream: str
    what: str
    price: Decimal = field(repr=False)
    hours: Decimal = _NOTHING
    supplies: Decimal = field(default=_NOTHING, repr=False)
    charged: bool = True
    """Whether selling took its share."""


@dataclass(frozen=True)
class Owed:
    """What is still to come for one commission."""

    code: str
    paid: Decimal = field(repr=False)
    balance: Decimal = field(repr=False)
    now: Decimal = field(repr=False)
    """Of the balance, what was due by today."""
    late: bool


@dataclass(frozen=True)
class ShowResult:
    """What one show cost and brought in."""

    name: str
    sales: Decimal = field(repr=False)
    costs: Decimal = field(repr=False)

    @property
    def left(self) -> Decimal:
        """Sales less costs, supplies and hours not counted."""
        return self.sales - self.costs


@dataclass(frozen=True)
class Books:
    """A year's books."""

    year: int
    settings: Settings
    sales: tuple[Sale, ...]
    shows: tuple[ShowResult, ...]
    owed: tuple[Owed, ...]
    advance: Decimal = field(repr=False)
    """Paid in the year towards commissions that aren't sold yet, less what went back."""
    to_return: Decimal = field(repr=False)
    """To go back by today: of what was called off, and what was paid too much."""
    months: int
    """How many months of overhead count."""
    cautions: tuple[str, ...]

    @property
    def income(self) -> dict[str, Decimal]:
        """Income by stream, every stream named."""
        streams = [*Stream, *OtherStream]
        return {
            str(stream): _sum(sale.price for sale in self.sales if sale.stream == str(stream))
            for stream in streams
        }

    @property
    def total(self) -> Decimal:
        """All income."""
        return _sum(sale.price for sale in self.sales)

    @property
    def costs(self) -> dict[str, Decimal]:
        """Costs by kind."""
        charged = _sum(sale.price for sale in self.sales if sale.charged)
        return {
            "fees": money.share(charged, self.settings.private.fees, self.settings.digits),
            "supplies": _sum(sale.supplies for sale in self.sales),
            "shows": _sum(show.costs for show in self.shows),
            "overhead": (self.settings.private.overhead or _NOTHING) * self.months,
        }

    @property
    def left(self) -> Decimal:
        """Income less costs."""
        return self.total - _sum(self.costs.values())

    @property
    def hours(self) -> Decimal:
        """Tracked hours of what was sold."""
        return _sum(sale.hours for sale in self.sales)

    @property
    def hourly(self) -> Decimal | None:
        """What an hour earned; None without hours."""
        return money.round_half_up(self.left / self.hours, self.settings.digits) if self.hours else None

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines: money as strings."""
        return {
            "year": self.year,
            "currency": self.settings.currency,
            "income": {stream: self._plain(amount) for stream, amount in self.income.items()},
            "total": self._plain(self.total),
            "costs": {kind: self._plain(amount) for kind, amount in self.costs.items()},
            "left": self._plain(self.left),
            "hours": f"{self.hours.normalize():f}",
            "hourly": None if self.hourly is None else self._plain(self.hourly),
            "in_advance": self._plain(self.advance),
            "to_return": self._plain(self.to_return),
            "owed": [
                {"code": one.code, "paid": self._plain(one.paid), "balance": self._plain(one.balance),
                 "due_now": self._plain(one.now), "late": one.late}
                for one in self.owed
            ],
            "shows": [
                {"name": one.name, "sales": self._plain(one.sales), "costs": self._plain(one.costs),
                 "left": self._plain(one.left)}
                for one in self.shows
            ],
        }  # fmt: skip

    def lines(self) -> list[str]:
        """Write the books for a person."""
        income = [(stream, self._money(amount)) for stream, amount in self.income.items() if amount]
        costs = [(kind, self._money(-amount)) for kind, amount in self.costs.items() if amount]
        rows = [*income, ("income", self._money(self.total)), *costs, ("left", self._money(self.left))]
        if self.hourly is not None:
            rows.append((f"an hour ({self.hours.normalize():f} h sold)", self._money(self.hourly)))
        return [
            f"The books of {self.year}",
            "",
            *words.table(rows, right=(1,)),
            "",
            *self._show_lines(),
            *self._owed_lines(),
            *(f"Look: {caution}" for caution in self.cautions),
            CAUTION,
        ]

    def _show_lines(self) -> list[str]:
        if not self.shows:
            return []
        rows = [("Shows", "sold", "cost", "left, before the hours and supplies of what was sold")]
        rows += [
            (one.name, self._money(one.sales), self._money(one.costs), self._money(one.left))
            for one in self.shows
        ]
        return [*words.table(rows), ""]

    def _owed_lines(self) -> list[str]:
        apart = {
            "Paid in advance for work not yet sold": self.advance,
            "To go back (called off, or paid too much)": self.to_return,
        }
        lines = [f"{what}: {self._money(amount)}" for what, amount in apart.items() if amount]
        rows = [("Still to come", "paid", "to pay", "due by today", "")]
        rows += [
            (
                one.code,
                self._money(one.paid),
                self._money(one.balance),
                self._money(one.now),
                "late" if one.late else "",
            )
            for one in self.owed
        ]
        return [*lines, *(words.table(rows) if self.owed else []), *([""] if lines or self.owed else [])]

    def _money(self, amount: Decimal) -> str:
        return words.amount(amount, self.settings)

    def _plain(self, amount: Decimal) -> str:
        return money.plain(amount, self.settings.digits)


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, _NOTHING)


def books(studio: Studio, year: int, today: date) -> Books:
    """Add up a year. Raises DeskFault for a year that hasn't begun."""
    if year > today.year:
        raise DeskFault(f"{year} hasn't begun; the books of {today.year} are the latest")
    sales = [
        one
        for one in (*_piece_sales(studio), *_order_sales(studio), *_table_sales(studio), *_takings(studio))
        if one.on.year == year
    ]
    return Books(
        year=year,
        settings=studio.settings,
        sales=tuple(sorted(sales, key=lambda one: (one.on, one.stream, one.what))),
        shows=tuple(_show_result(studio, show) for show in studio.shows if show.first_day.year == year),
        owed=tuple(_owed(studio, today)),
        advance=order_sales.in_advance(studio, year) + _advance_for_pieces(studio, year),
        to_return=order_sales.to_return(studio),
        months=today.month if year == today.year else 12,
        cautions=tuple(_cautions(studio)),
    )


def _piece_sales(studio: Studio) -> list[Sale]:
    return [
        Sale(sold.on, str(sold.stream), piece.title, sold.price, piece.hours, _supplies(piece))
        for piece in studio.pieces
        if (sold := piece.private.sold) is not None
    ]


def _order_sales(studio: Studio) -> list[Sale]:
    return [
        Sale(one.on, str(Stream.COMMISSIONS), one.what, one.amount, one.hours)
        for one in order_sales.order_sales(studio)
    ]


def _supplies(piece: Piece) -> Decimal:
    return _sum(one.cost for one in piece.private.supplies)


def _table_sales(studio: Studio) -> list[Sale]:
    """Return what was sold at a show's table and isn't a piece that says so itself."""
    found = []
    counted: set[str] = set()
    for show in studio.shows:
        for line in show.private.sales:
            piece = studio.piece(line.what)
            if piece is None:
                found.append(Sale(show.first_day, str(Stream.SHOWS), line.what, line.price))
            elif piece.private.sold is None and piece.slug not in counted:
                counted.add(piece.slug)
                hours, supplies = piece.hours, _supplies(piece)
                found.append(
                    Sale(show.first_day, str(Stream.SHOWS), piece.title, line.price, hours, supplies)
                )
    return found


def _takings(studio: Studio) -> list[Sale]:
    return [
        Sale(one.on, str(one.stream), one.what, one.amount, one.hours, charged=False)
        for one in studio.settings.private.takings
    ]


def _show_result(studio: Studio, show: Show) -> ShowResult:
    """Add up a show: its own lines, and pieces sold on its days that no line names."""
    named = {line.what for line in show.private.sales}
    unnamed = [
        sold.price
        for piece in studio.pieces
        if (sold := piece.private.sold) is not None
        and sold.stream is Stream.SHOWS
        and piece.slug not in named
        and show.first_day <= sold.on <= show.ends
    ]
    return ShowResult(
        show.name,
        _sum([*(line.price for line in show.private.sales), *unnamed]),
        _sum(one.cost for one in show.private.costs),
    )


def _owed(studio: Studio, today: date) -> list[Owed]:
    """Say what is still to come from each commission under way, and what is asked for of those called off."""
    found = [_owed_for(studio, place, today) for place in studio.commissions.queue]
    return [*(one for one in found if one is not None), *_owed_for_pieces(studio, today)]


def _owed_for(studio: Studio, place: Place, today: date) -> Owed | None:
    if place.step is Step.CALLED_OFF and place.private.claimed:
        paid = paid_of(place)
        balance = kept_of(place) + place.private.claimed - paid
        return Owed(place.code, paid, balance, balance, late=False) if balance > 0 else None
    if place.step not in UNDER_WAY or place.private.price is None or plan.plan_start(place) is None:
        return None
    standing = state(plan.plan_of(studio, place), plan.receipts(place), today)
    if place.step is Step.PAID and standing.may_ship:
        return None
    return Owed(place.code, standing.paid, standing.balance, standing.owed_now, standing.is_late)


def _owed_for_pieces(studio: Studio, today: date) -> list[Owed]:
    """Say what is still to come for finished pieces that are paid for in parts."""
    answers = [
        (piece.slug, plan.for_buyer(studio, piece, today).standing)
        for piece in studio.pieces
        if piece.private.plan is not None and piece.private.sold is None
    ]
    return [
        Owed(slug, standing.paid, standing.balance, standing.owed_now, standing.is_late)
        for slug, standing in answers
        if standing is not None
    ]


def _advance_for_pieces(studio: Studio, year: int) -> Decimal:
    plans = [piece.private.plan for piece in studio.pieces if piece.private.sold is None]
    return _sum(one.amount for agreed in plans if agreed for one in agreed.paid if one.on.year == year)


def _cautions(studio: Studio) -> list[str]:
    """Name what the files say twice in different ways, or leave out."""
    found = []
    for show in studio.shows:
        named = [line.what for line in show.private.sales]
        for line in show.private.sales:
            piece = studio.piece(line.what)
            sold = piece.private.sold if piece else None
            if sold is not None and sold.price != line.price:
                found.append(
                    f"shows/{show.slug}.yaml says that {line.what} brought {line.price}, its piece.yaml says "
                    f"{sold.price}; the piece's is counted."
                )
            if piece is not None and named.count(line.what) > 1:
                found.append(f"shows/{show.slug}.yaml sells {line.what} twice; it exists once.")
    found += [
        _unsold(place) for place in studio.commissions.queue if order_sales.counts_itself(studio, place)
    ]
    return list(dict.fromkeys(found))


def _unsold(place: Place) -> str:
    return (
        f"{place.code} is {place.step}, but no piece says that it was sold for it, so the order itself is "
        f"counted, without supplies; write `order: {place.code}` and `sold:` into the piece's `private:`."
    )
