"""A year's books as one value: whatever is told of a year is added up from its rows."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from typing import Any

from sitegen.desk import words
from sitegen.studio.money import NOTHING, total
from sitegen.studio.piece import Stream
from sitegen.studio.purses import Balance, IncomeKind
from sitegen.studio.settings import OtherStream
from sitegen.studio.wage import round_fraction


class RowKind(StrEnum):
    """What a row is, beside the kinds of income."""

    FEES = "fees"
    SUPPLIES = "supplies"
    SHOW_COST = "show cost"
    OVERHEAD = "overhead"
    EXPENSE = "expense"
    RECEIVED = "received"  # money that came in or went back, whenever it counts as income
    ADVANCE_BEFORE = "advance at start"
    ADVANCE = "advance at end"
    BACK_BEFORE = "to go back at start"
    BACK = "to go back at end"
    OPEN_BEFORE = "sold and unpaid at start"
    OPEN = "sold and unpaid at end"
    TO_COME = "still to come"
    PAID = "paid of it so far"
    DUE = "of it due"
    LATE = "of it late"
    NO_HOURS = "sold, no hours noted"  # though somebody made it
    UNNOTED = "made, no hours noted"
    PLANNED = "hours planned"  # bench hours that the weeks of the year have room for, up to the books' day
    WORKED = "hours worked"  # hours noted for what was made in it, and for classes


INCOME = frozenset(map(str, IncomeKind))
COSTS = {
    "fees": RowKind.FEES,
    "supplies": RowKind.SUPPLIES,
    "shows": RowKind.SHOW_COST,
    "overhead": RowKind.OVERHEAD,
    "expenses": RowKind.EXPENSE,
}
# What no single sale carries.
RUNNING = ("shows", "overhead", "expenses")


@dataclass(frozen=True, order=True)
class BooksRow:
    """One row: of income, of costs, or of where money stands."""

    on: date
    kind: str
    stream: str = ""
    what: str = ""
    came: Decimal = field(default=NOTHING, repr=False)
    went: Decimal = field(default=NOTHING, repr=False)
    hours: Decimal = NOTHING
    show: str = ""

    @property
    def amount(self) -> Decimal:
        return self.came - self.went


@dataclass(frozen=True)
class ThingSold:
    """What one thing sold, or one kind of cost that belongs to none, brought in or took."""

    what: str
    amount: Decimal = field(repr=False)
    hours: Decimal = NOTHING
    sold: bool = True  # False for what no single sale carries


@dataclass(frozen=True)
class Owed:
    """What is still to come for one order or piece."""

    code: str
    paid: Decimal = field(repr=False)
    balance: Decimal = field(repr=False)
    now: Decimal = field(repr=False)  # of the balance, what was due by the books' day
    late: Decimal = field(repr=False)  # of what was due, what was past its days of grace


def an_hour(left: Decimal, hours: Decimal, untold: object, digits: int) -> Decimal | None:
    """Say what an hour earned, a half rounded up; None without hours, or where some aren't noted."""
    return None if not hours or untold else round_fraction(Fraction(left) / Fraction(hours), digits)


@dataclass(frozen=True)
class Result:
    """What one stream or one show brought in and took, without a share of what no single one carries."""

    name: str
    sales: Decimal = field(repr=False)
    costs: Decimal = field(repr=False)  # of shows
    taken: Decimal = field(default=NOTHING, repr=False)  # fees of its sales, and supplies of what was sold
    hours: Decimal = NOTHING  # in what was sold
    untold: bool = False  # something sold has no hours noted
    digits: int = 2

    @property
    def left(self) -> Decimal:
        """Sales less shows' costs."""
        return self.sales - self.costs

    @property
    def spent(self) -> Decimal:
        return self.costs + self.taken

    @property
    def earned(self) -> Decimal:
        """Sales less all that it took."""
        return self.left - self.taken

    @property
    def hourly(self) -> Decimal | None:
        return an_hour(self.earned, self.hours, self.untold, self.digits)


@dataclass(frozen=True)
class Rates(words.InCurrency):
    """The artist's own numbers that a year is added up with."""

    fees: Decimal = field(repr=False)  # per cent
    overhead: Decimal | None = field(repr=False)  # a month
    months: int  # how many months of overhead count
    rate: Decimal | None = field(default=None, repr=False)  # what an hour has to earn


def _sum(*kinds: str) -> cached_property[Decimal]:
    return cached_property(lambda year: year.sum_of(*kinds))


def _hours(*kinds: str) -> cached_property[Decimal]:
    return cached_property(lambda year: total(row.hours for row in year.rows if row.kind in kinds))


def _named(kind: str) -> cached_property[tuple[str, ...]]:
    """Find what the rows of a kind tell of, each once."""
    return cached_property(lambda year: tuple({row.what: None for row in year.rows if row.kind == kind}))


@dataclass(frozen=True)
class Year:
    year: int
    rates: Rates
    rows: tuple[BooksRow, ...] = field(repr=False)
    cautions: tuple[str, ...] = ()
    closed: date | None = None  # the day the year was closed
    why: bool = True  # whether to say what it rests on
    asides: tuple[str, ...] = ()

    def sum_of(self, *kinds: str, **having: str) -> Decimal:
        """Add up the rows of some kinds, what went out below zero; `having` picks a stream or the like."""
        return total(
            row.amount
            for row in self.rows
            if row.kind in kinds and all(getattr(row, name) == value for name, value in having.items())
        )

    total = _sum(*INCOME)  # all income
    received = _sum(RowKind.RECEIVED)  # what came in during the year, less what went back
    hours = _hours(*INCOME)  # noted for what was sold
    planned = _hours(RowKind.PLANNED)
    worked = _hours(RowKind.WORKED)
    no_hours = _named(RowKind.NO_HOURS)  # what was sold in it and has none noted
    unnoted = _named(RowKind.UNNOTED)  # what was made in it and has none noted

    @cached_property
    def owed(self) -> tuple[Owed, ...]:
        """What is still to come, by order and piece."""
        kinds = (RowKind.PAID, RowKind.TO_COME, RowKind.DUE, RowKind.LATE)
        amounts: dict[tuple[str, str], list[Decimal]] = defaultdict(list)
        for row in self.rows:
            amounts[row.what, row.kind].append(row.amount)
        named = dict.fromkeys(row.what for row in self.rows if row.kind == RowKind.TO_COME)
        return tuple(Owed(name, *(total(amounts[name, kind]) for kind in kinds)) for name in named)

    @cached_property
    def income(self) -> dict[str, Decimal]:
        """Income by stream, every stream named."""
        return {str(stream): self.sum_of(*INCOME, stream=str(stream)) for stream in (*Stream, *OtherStream)}

    @cached_property
    def costs(self) -> dict[str, Decimal]:
        return {name: -self.sum_of(kind) for name, kind in COSTS.items()}

    @cached_property
    def left(self) -> Decimal:
        """Income less costs."""
        return self.total - total(self.costs.values())

    @property
    def hourly(self) -> Decimal | None:
        """What an hour earned of what was sold."""
        return an_hour(self.left, self.hours, self.no_hours, self.rates.digits)

    @property
    def running(self) -> Decimal:
        """What keeping the studio open cost: overhead, shows, other expenses."""
        return -self.sum_of(*(COSTS[name] for name in RUNNING))

    @property
    def worked_hourly(self) -> Decimal | None:
        """What an hour at the bench earned, sold or not."""
        return an_hour(self.left, self.worked, self.unnoted, self.rates.digits)

    @cached_property
    def results(self) -> tuple[ThingSold, ...]:
        """What each thing sold left after fees and supplies, and costs of no single one: together `left`."""
        own = (*INCOME, RowKind.FEES, RowKind.SUPPLIES)
        left: dict[tuple[str, str], Decimal] = {}
        hours: defaultdict[tuple[str, str], Decimal] = defaultdict(Decimal)
        for row in self.rows:
            name = row.stream, row.what
            hours[name] += row.hours
            if row.kind in own:
                left[name] = left.get(name, NOTHING) + row.amount
        sold = [ThingSold(name[1], amount, hours[name]) for name, amount in left.items()]
        shared = [
            ThingSold(name, amount, sold=False) for name in RUNNING if (amount := self.sum_of(COSTS[name]))
        ]
        return (*sold, *shared)

    @property
    def sent_back(self) -> Decimal:
        return total(row.went for row in self.rows if row.kind == RowKind.RECEIVED)

    @property
    def before(self) -> Balance:
        """Where money stood as the year began."""
        return self._balance(RowKind.ADVANCE_BEFORE, RowKind.BACK_BEFORE, RowKind.OPEN_BEFORE)

    @property
    def after(self) -> Balance:
        """Where money stands at the end of the year, or today."""
        return self._balance(RowKind.ADVANCE, RowKind.BACK, RowKind.OPEN)

    def _balance(self, *kinds: str) -> Balance:
        advance, back, open_ = map(self.sum_of, kinds)
        return Balance(advance, back, -open_)

    @cached_property
    def shows(self) -> tuple[Result, ...]:
        return tuple(self._of("show", name) for name in dict.fromkeys(row.show for row in self.rows) if name)

    @cached_property
    def streams(self) -> tuple[Result, ...]:
        """What each stream brought in and took: together `left`, but for overhead and other expenses."""
        return tuple(self._of("stream", name) for name in self.income)

    def _of(self, kind: str, name: str) -> Result:
        """Gather what belongs to the sales of a stream or a show."""
        mine = [row for row in self.rows if getattr(row, kind) == name]
        sold = {(row.on, row.stream, row.what) for row in mine if row.kind in INCOME}
        rows = [row for row in self.rows if (row.on, row.stream, row.what) in sold]
        return Result(
            name,
            total(row.amount for row in mine if row.kind in INCOME),
            -total(row.amount for row in mine if row.kind == RowKind.SHOW_COST),
            -total(row.amount for row in rows if row.kind in {RowKind.FEES, RowKind.SUPPLIES}),
            total(row.hours for row in rows if row.kind in INCOME),
            not {row.what for row in rows}.isdisjoint(self.no_hours),
            self.rates.digits,
        )

    @property
    def carries(self) -> Result | None:
        """The stream that earned most before overhead; None where none earned anything."""
        best = max(self.streams, key=lambda result: result.earned, default=None)
        return best if best is not None and best.earned > 0 else None

    def said(self, amount: Decimal | None) -> str:
        """Write an amount for a person; nothing for what can't be told."""
        return self.rates.said(amount)

    def as_answer(self) -> dict[str, Any]:
        told = self.rates.facts
        return {
            "currency": self.rates.currency,
            **told(
                self,
                "year income total costs left hours hourly no_hours unnoted planned worked "
                "hourly_worked:worked_hourly received sent_back in_advance_before:before.advance "
                "in_advance:after.advance to_return_before:before.back to_return:after.back "
                "unpaid_before:before.open unpaid:after.open closed",
            ),
            "results": [told(thing, "what left:amount hours sold") for thing in self.results],
            "streams": [
                told(one, "name income:sales costs:spent left:earned hours hourly") for one in self.streams
            ],
            "owed": [
                told(owed, "code paid balance due_now:now") | {"late": owed.late > 0} for owed in self.owed
            ],
            "shows": [told(result, "name sales costs left earned hours hourly") for result in self.shows],
        }


def row_of(on: date, kind: str, amount: Decimal, **more: Any) -> BooksRow:
    """Make a row of an amount: what is below zero went out."""
    stream, what = more.pop("stream", ""), more.pop("what", "")
    return BooksRow(on, str(kind), stream, what, max(amount, NOTHING), max(-amount, NOTHING), **more)
