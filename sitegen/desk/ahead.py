"""The money that is to come by the plans agreed on, month by month.

Each part of a plan counts in the month it's due, by what is missing of it: late after the days of grace, due
from its day until then, to come before. What was sold or sent off and isn't paid has no day. What isn't
agreed on isn't counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import words
from sitegen.desk.books import standings
from sitegen.desk.flow import Flow, flow
from sitegen.desk.plan import plan_start
from sitegen.studio.coins import Purse, total
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, UNDER_WAY
from sitegen.studio.payments import Standing
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Expected:
    """What is missing of one part of a plan."""

    name: str  # an order's code, or a piece's folder
    due: date | None  # None: it was sold or sent off, and no plan says when
    standing: Standing
    amount: Decimal = field(repr=False)


@dataclass(frozen=True)
class Month:
    """What is to come in one month."""

    first: date | None
    parts: tuple[Expected, ...]

    def sum_of(self, *standings: Standing) -> Decimal:
        """Add up what stands so; all of it for none."""
        return total(part.amount for part in self.parts if not standings or part.standing in standings)


@dataclass(frozen=True)
class Ahead(words.InCurrency):
    """What is to come, by month."""

    currency: str
    digits: int
    day: date
    parts: tuple[Expected, ...]
    unagreed: int  # requests and offers that nobody said yes to yet
    unplanned: tuple[str, ...]  # orders under way without a price or a day that a plan could begin on
    flow: Flow  # what comes and goes month by month

    @property
    def months(self) -> tuple[Month, ...]:
        """The months in which something is to come, the earliest first; what has no day before them."""
        firsts = {part.due and part.due.replace(day=1) for part in self.parts}
        return tuple(
            Month(first, tuple(one for one in self.parts if (one.due and one.due.replace(day=1)) == first))
            for first in sorted(firsts, key=lambda first: first or date.min)
        )

    @property
    def all(self) -> Month:
        """All that is to come."""
        return Month(None, self.parts)

    def as_answer(self) -> dict[str, Any]:
        def told(month: Month) -> dict[str, Any]:
            kinds = (("late", Standing.LATE), ("due", Standing.DUE), ("to_come", Standing.TO_COME))
            sums = {name: self.plain(month.sum_of(kind)) for name, kind in kinds}
            return sums | {"total": self.plain(month.sum_of())}

        return {
            **self.facts(self, "currency on:day unagreed unplanned"),
            "months": [
                {
                    "month": month.first and f"{month.first:%Y-%m}", **told(month),
                    "parts": [self.facts(part, "name due standing amount") for part in month.parts],
                }
                for month in self.months
            ],
            **told(self.all), **self.flow.as_answer(),
        }  # fmt: skip

    def table(self) -> str:
        """Write the months as CSV."""
        return self.flow.table()

    def lines(self) -> list[str]:
        """Write the months as a table."""
        if not self.parts:
            return ["No plan that was agreed on has anything to come.", *self.left_out(), *self.flow.lines()]
        kinds = (Standing.LATE, Standing.DUE, Standing.TO_COME)
        rows = [
            (name, *(self.said(month.sum_of(kind)) for kind in kinds), self.said(month.sum_of()))
            for name, month in [(self.name_of(one), one) for one in self.months] + [("in all", self.all)]
        ]
        head = ("Money ahead", *map(str, kinds), "in all")
        return [*words.section(head, rows), *self.left_out(), *self.flow.lines()]

    def name_of(self, month: Month) -> str:
        """Name a month."""
        return words.month(month.first) if month.first else "sold, and no day agreed on"

    def left_out(self) -> list[str]:
        """Say what isn't counted."""
        said = ["Counted is what was agreed on, and comes only if it's paid."]
        if self.unagreed:
            few = counted(self.unagreed, "request or offer isn't", "requests and offers aren't")
            said.append(f"{few} agreed on, so nothing of that is counted.")
        if self.unplanned:
            said.append(
                f"No price or no day was agreed on for {words.listed(self.unplanned)}; nothing of that is "
                "counted either."
            )
        return said


def ahead(studio: Studio, found: Sequence[Purse], day: date) -> Ahead:
    """Lay what is still to come out by month, out of the studio's purses."""
    parts = [
        Expected(purse.name, None, Standing.DUE, missing)
        for purse in found
        if (missing := purse.still_to_pay(day))
    ]
    parts += [
        Expected(name, part.part.due, part.standing, part.open)
        for name, standing in standings(studio, found, day, begun=date.max)
        for part in standing.parts
        if part.open
    ]
    queue, settings = studio.commissions.queue, studio.settings
    settled = {one.name for one in found if one.is_settled(day)}
    open_ = [order for order in queue if order.step in UNDER_WAY and order.code not in settled]
    return Ahead(
        settings.currency,
        settings.digits,
        day,
        tuple(sorted(parts, key=lambda one: (one.due or date.min, one.name))),
        sum(one.step in ASKING | {Step.OFFERED} for one in queue),
        tuple(one.code for one in open_ if one.private.price is None or plan_start(one) is None),
        flow(studio, [(one.due, one.standing, one.amount) for one in parts], day),
    )
