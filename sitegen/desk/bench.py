"""What slots rest on: the order of the bench, and what past days tell of days held and of the real week."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sitegen.studio.capacity.answer import Question, promises_kept
from sitegen.studio.capacity.bench import FEW_DATED, Pace
from sitegen.studio.commission import BenchOrder
from sitegen.studio.hindsight import Held
from sitegen.studio.text import bare, counted
from sitegen.studio.workload import Workload, by_promise


@dataclass(frozen=True)
class Queueing:
    """The order that was chosen, and what each would keep."""

    chosen: BenchOrder
    kept: dict[BenchOrder, int]
    """Promises that hold, by order."""
    promises: int
    differ: bool
    """Whether the two orders are two."""
    pinned: bool

    def as_answer(self) -> dict[str, Any]:
        """Return the order and what each would keep, for machines."""
        return {"order": str(self.chosen), "keeps": {str(order): count for order, count in self.kept.items()}}

    def lines(self) -> list[str]:
        """Say what each order would keep, where there are two."""
        if not self.differ:
            return []
        booked, dated = (self.kept[order] for order in BenchOrder)
        pin = (
            "" if self.pinned else f"; to keep it so, write `bench_order: {self.chosen}` in commissions.yaml"
        )
        return [
            f"Of {self.promises} promised days, work as booked keeps {booked}, work by promised day {dated}. "
            f"The dates above are {self.chosen}{pin}."
        ]


def choose_order(question: Question, load: Workload, pinned: BenchOrder | None) -> tuple[Workload, Queueing]:
    """Put the queue in the pinned order, else as booked unless work by promised day keeps more."""
    dated = by_promise(load)
    differ = dated.jobs != load.jobs
    booked = promises_kept(question)
    kept = {
        BenchOrder.AS_BOOKED: booked,
        BenchOrder.BY_PROMISED_DAY: promises_kept(replace(question, queue=dated.jobs)) if differ else booked,
    }
    chosen = pinned or max(BenchOrder, key=lambda order: kept[order])
    count = sum(job.promised is not None for job in load.jobs)
    queueing = Queueing(chosen, kept, count, differ, pinned is not None)
    return (dated if chosen is BenchOrder.BY_PROMISED_DAY else load), queueing


# A record is never exact; by so much it may lie below the hours written before a word is said.
_SLACK = Fraction(4, 5)


@dataclass(frozen=True)
class Past:
    """What the record says."""

    days: Held
    """80 % days as they would have been said."""
    promises: Held
    """Days that were really promised."""
    pace: Pace
    written: Decimal
    """Weekly hours of studio.yaml."""

    @property
    def real(self) -> float:
        """Weekly hours as the record has them, else those written."""
        return round(float(self.written) * float(self.pace.share), 1)

    @property
    def week(self) -> str:
        """The hours that the dates rest on."""
        week = f"{self.real:g} bench hours a week"
        if not self.pace.dated:
            return week
        return f"{week} (so {self.pace.dated} dated pieces show; studio.yaml says {bare(self.written)})"

    def as_answer(self) -> dict[str, Any]:
        """Return the record for machines."""
        return {
            "weekly_hours": {
                "written": float(self.written),
                "record": self.real if self.pace.dated else None,
            },
            "held": {"days": self.days.days, "held": self.days.held},
            "promised": {"days": self.promises.days, "held": self.promises.held},
        }

    def warning(self) -> list[str]:
        """Warn where far more hours are written than the record has."""
        if not self.pace.dated or self.pace.share >= _SLACK:
            return []
        more = self.written - Decimal(str(self.real))
        return [
            f"Warning: weekly_hours in studio.yaml is {bare(self.written)}, but the hours and days "
            f"of your finished pieces come to {self.real:g} a week, {bare(more)} fewer. The dates go "
            "by the record; if pieces took hours that you didn't note, note them."
        ]

    def lines(self) -> list[str]:
        """Say how many days held."""
        found = []
        if self.days.days:
            found.append(
                f"Your 80 % days held {self.days.held} of {self.days.days}, had they been said then."
            )
        if self.promises.days:
            count = counted(self.promises.days, "day", "days")
            found.append(f"You promised {count} to clients whose pieces are done: {self.promises.held} held.")
        if not self.pace.dated:
            found.append(
                f"Fewer than {FEW_DATED} finished pieces have hours and a day that fit a working week, so "
                "the week is taken as written; real weeks vary, and dates may slip."
            )
        return found
