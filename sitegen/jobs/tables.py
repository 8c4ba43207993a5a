"""What taking a table over does, line by line: before anything is written, and after."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sitegen.sources.people_import import ImportPlan
from sitegen.studio.person import Person


@dataclass(frozen=True)
class TakenTable:
    """What would happen to each line of a table, or did."""

    plan: ImportPlan = field(repr=False)
    columns: Mapping[str, str]
    """What each heading is read as; nothing for one that isn't used."""
    written: bool

    @property
    def counts(self) -> dict[str, int]:
        """Count the lines by what becomes of them."""
        plan = self.plan
        return {
            "added": len(plan.added), "changed": len(plan.changed), "already_there": len(plan.there),
            "refused": len(plan.refused),
        }  # fmt: skip

    @property
    def changes(self) -> tuple[Person, ...]:
        """What there is to take back."""
        return (*self.plan.added, *self.plan.changed) if self.written else ()

    def as_answer(self) -> Mapping[str, Any]:
        """Return the answer for machines."""
        return self.counts

    def counted(self) -> list[str]:
        """Write the counts, a line each."""
        return [f"{count:>6} {what.replace('_', ' ')}" for what, count in self.counts.items()]

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        plan, by_line = self.plan, lambda one: one.line
        return [
            *self.counted(),
            *(f"       + {addition.email}" for addition in plan.added),
            *(f"       ~ {one.email} (now {stands(one)})" for one in plan.changed),
            *(f"Refused, line {one.line}: {one.address} ({one.why})"
              for one in sorted(plan.refused, key=by_line)),
            *(f"Look again, line {question.line}: {question.address} ({question.why})"
              for question in sorted(plan.questions, key=by_line)),
            "people.csv is up to date." if self.written else "Nothing is written yet.",
        ]  # fmt: skip


def stands(person: Person) -> str:
    """Say how a row of the list stands."""
    interests = ", ".join(sorted(person.interests)) or "any subject"
    return f"{person.name or 'nameless'}; {person.consent or 'no consent'}; {interests}"
