"""Where every coin is: income, in advance, to go back, or still to come. One reading for all who ask.

A purse holds the money of one order, of one piece, or of both where the piece was made for the order. The
rules, so that nothing is counted twice and nothing is lost:
- What came in before anything is sold is in advance, up to the price; what is above it is to go back.
- A piece's sale is income in full on its day. What of it hasn't come is still to come; what came too much
  is to go back. A sale with no money noted was paid on its day, unless it holds and has a plan.
- A return takes its refund out of the income of the day it went back; the sale stays in its own year.
- An order that was sent off and that no sold piece stands for is income as its money comes, from that day
  on, up to its price. One that was called off, up to what is kept and asked for.
- Money sent back after the sale that wasn't paid too much is income taken back on that day.
So on any day: received = income + in advance + to go back - still to come.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from sitegen.studio.order_lines import Receipt
from sitegen.studio.piece import Stream

NOTHING = Decimal(0)


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

    def received(self, day: date) -> Decimal:
        """Return what came in by the end of a day, less what went back."""
        return total(receipt.amount for receipt in self.receipts if receipt.on <= day)

    def earned(self, day: date) -> Decimal:
        """Return its income by the end of a day."""
        return total(one.amount for one in self.income if one.on <= day)

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
        for receipt in sorted(self.receipts, key=lambda one: (one.on, -one.amount)):
            gift = receipt.amount < 0 and receipt.on >= self.settled
            amount = max(receipt.amount, min(self.asked - came, NOTHING)) if gift else receipt.amount
            found.append(Receipt(on=receipt.on, amount=amount))
            came += amount
        return tuple(found)


def total(amounts: Iterable[Decimal]) -> Decimal:
    """Add up."""
    return sum(amounts, NOTHING)


def as_it_comes(
    line: Income, receipts: Sequence[Receipt], settled: date, limit: Decimal | None
) -> tuple[Income, ...]:
    """Turn money into income from a day on, up to a limit: a line for each day on which that changed.

    `line` says what it's called; its hours and supplies go with the first line.
    """
    counted, found = NOTHING, []
    for day in sorted({settled, *(receipt.on for receipt in receipts if receipt.on > settled)}):
        came = total(one.amount for one in receipts if one.on <= day)
        now = came if limit is None else min(came, limit)
        if now != counted:
            kind = line.kind if now > counted else IncomeKind.REFUND
            found.append(replace(line, on=day, amount=now - counted, kind=kind))
        counted = now
    return once(found)


def once(lines: Sequence[Income]) -> tuple[Income, ...]:
    """Leave hours and supplies on the first line only."""
    rest = [replace(line, hours=None, supplies=NOTHING) for line in lines[1:]]
    return (*lines[:1], *rest)


def taken_back(line: Income, receipts: Sequence[Receipt], asked: Decimal) -> tuple[Income, ...]:
    """Return the income taken back by money that was sent back after a sale, beyond what was too much.

    `line` says what it's called and when it was sold; `asked` is what it was sold for.
    """
    found, due = [], asked
    back = replace(line, kind=IncomeKind.REFUND, hours=None, supplies=NOTHING, show="", fee=None)
    for day in sorted({receipt.on for receipt in receipts if receipt.on >= line.on}):
        went = -total(one.amount for one in receipts if one.on == day and one.amount < 0)
        before = total(one.amount for one in receipts if one.on < day)
        before += total(one.amount for one in receipts if one.on == day and one.amount > 0)
        over = max(before - due, NOTHING)
        if went > over:
            due -= went - over
            found.append(replace(back, on=day, amount=over - went))
    return tuple(found)
