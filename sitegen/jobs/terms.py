"""Keep the terms as a version; say which are kept and what their numbers are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sitegen.jobs.pen import writes
from sitegen.jobs.where import moment_in
from sitegen.sources import read
from sitegen.sources.terms import keep as write
from sitegen.sources.terms import numbers_of
from sitegen.studio import terms
from sitegen.studio.term_versions import next_version
from sitegen.studio.whole import Studio


@dataclass(frozen=True)
class Kept:
    """The version in force."""

    version: str
    files: tuple[str, ...]
    """Written just now, below the studio's folder; none if neither text nor numbers had changed."""

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {"version": self.version, "files": list(self.files)}

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        if not self.files:
            return [f"Nothing to keep: text and numbers are those of version {self.version}."]
        return [
            *(f"Kept:  {file}" for file in self.files),
            f"Whoever accepts from now on accepts version {self.version}: write `terms: {{version: "
            f"{self.version}, on: DATE}}` beside their place in commissions.yaml.",
        ]


@writes
def keep(folder: Path, today: str | None) -> Kept:
    """Keep the terms as they are now, unless the newest version says the same. Raises StudioFault."""
    studio = read(folder).sound()
    if version := terms.current(studio):
        return Kept(version, ())
    day = moment_in(studio.settings.time_zone, today).date()
    version = _begun(studio, day) or next_version(terms.versions(studio), day)
    files = write(folder, studio, version)
    return Kept(version, tuple(file.relative_to(folder).as_posix() for file in files))


def _begun(studio: Studio, day: date) -> str | None:
    """Name this month's version if a run was stopped between its texts; nobody has accepted it then.

    What it has is as now, and the rest isn't there.
    """
    newest = next(reversed(terms.versions(studio)), "")
    kept = {one.name for one in terms.of_version(studio, newest)}
    stopped = newest[:7] == f"{day:%Y-%m}" and kept.isdisjoint(terms.changed(studio))
    return newest if stopped and not _who_accepted(studio, newest) else None


@dataclass(frozen=True)
class TermsAnswer:
    """Which versions there are, who accepted which, and what the numbers are now."""

    versions: tuple[str, ...]
    current: str | None
    accepted: Mapping[str, tuple[str, ...]]
    """Codes of places in the queue and names of pieces paid for in parts, by version."""
    without: tuple[str, ...]
    """Codes of places that were accepted and name no version."""
    numbers: Mapping[str, str]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {
            "current": self.current,
            "versions": [
                {"version": one, "accepted": list(self.accepted.get(one, ()))} for one in self.versions
            ],
            "without": list(self.without),
            "numbers": dict(self.numbers),
        }

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        standing = f"Version {self.current} is in force."
        if self.current is None:
            standing = "The terms as they are now aren't kept yet: `sitegen terms keep` keeps them."
        return [
            standing,
            *(f"  {one}: {self._who(one)}" for one in self.versions),
            *([f"Accepted without a version: {', '.join(self.without)}."] if self.without else []),
            "",
            "What stands in the places of the text:",
            *(f"  {{{name}}}: {value}" for name, value in self.numbers.items()),
        ]

    def _who(self, version: str) -> str:
        codes = self.accepted.get(version, ())
        return f"accepted by {', '.join(codes)}" if codes else "nobody accepted it"


def tell(folder: Path) -> TermsAnswer:
    """Say which versions are kept, who accepted which, and what stands in the places."""
    studio = read(folder).sound()
    versions = terms.versions(studio)
    return TermsAnswer(
        versions=versions,
        current=terms.current(studio),
        accepted={one: _who_accepted(studio, one) for one in versions},
        without=tuple(
            place.code for place in studio.commissions.queue if place.terms is None and place.agreed
        ),
        numbers=studio.numbers or numbers_of(folder, studio.settings, studio.commissions),
    )


def _who_accepted(studio: Studio, version: str) -> tuple[str, ...]:
    queue = studio.commissions.queue
    codes = [place.code for place in queue if place.terms and place.terms.version == version]
    plans = [(piece.slug, piece.private.plan) for piece in studio.pieces]
    slugs = [slug for slug, plan in plans if plan and plan.terms and plan.terms.version == version]
    return (*codes, *slugs)
