"""Choose the order of the bench: as booked, or by promised day where that keeps more promises."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sitegen.studio.capacity import Question
from sitegen.studio.capacity.answer import promises_kept
from sitegen.studio.commission import BenchOrder
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
