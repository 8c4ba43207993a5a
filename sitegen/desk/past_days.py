"""Say what past days tell: how many held, and how the real week compares with the one written down."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sitegen.studio.capacity.past import FEW_DATED, Pace
from sitegen.studio.counting import bare, counted
from sitegen.studio.hindsight import Held

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
