"""Keep the terms as a version; say which are kept and what their numbers are."""

from __future__ import annotations

from pathlib import Path

from sitegen.jobs.reading import reading_of
from sitegen.jobs.where import moment_in, writes
from sitegen.sources.kept import keep as write
from sitegen.sources.kept import numbers_of
from sitegen.studio import terms
from sitegen.studio.asked import Said
from sitegen.studio.order_lines import next_version
from sitegen.studio.whole import Studio


@writes
def keep(folder: Path, today: str | None) -> Said:
    """Keep the terms as they are now, unless the newest version says the same. Raises StudioFault."""
    studio = reading_of(folder).sound()
    if version := terms.current(studio):
        same = f"Nothing to keep: text and numbers are those of version {version}."
        return Said((same,), {"version": version, "files": []})
    day = moment_in(studio.settings.time_zone, today).date()
    newest = next(reversed(terms.versions(studio)), "")
    kept = {page.name for page in terms.of_version(studio, newest)}
    # This month's run was stopped between its texts: what it has is as now, and the rest isn't there.
    stopped = newest[:7] == f"{day:%Y-%m}" and kept.isdisjoint(terms.changed(studio))
    begun = stopped and not _who_accepted(studio, newest)
    version = newest if begun else next_version(terms.versions(studio), day)
    files = [file.relative_to(folder).as_posix() for file in write(folder, studio, version)]
    said = (
        f"Whoever accepts from now on accepts version {version}: write `terms: {{version: {version}, on: "
        "DATE}` beside their place in commissions.yaml."
    )
    return Said((*(f"Kept:  {file}" for file in files), said), {"version": version, "files": files})


def tell(folder: Path) -> Said:
    """Say which versions are kept, who accepted which, and what stands in the places of the text."""
    studio = reading_of(folder).sound()
    current, queue = terms.current(studio), studio.commissions.queue
    accepted = {version: _who_accepted(studio, version) for version in terms.versions(studio)}
    without = [order.code for order in queue if order.terms is None and order.agreed]
    numbers = studio.numbers or numbers_of(folder, studio.settings, studio.commissions)
    said = (
        f"Version {current} is in force."
        if current
        else "The terms as they are now aren't kept yet: `sitegen terms keep` keeps them.",
        *(
            f"  {version}: " + (f"accepted by {', '.join(who)}" if who else "nobody accepted it")
            for version, who in accepted.items()
        ),
        *([f"Accepted without a version: {', '.join(without)}."] if without else []),
        "",
        "What stands in the places of the text:",
        *(f"  {{{name}}}: {value}" for name, value in numbers.items()),
    )
    versions = [{"version": version, "accepted": list(who)} for version, who in accepted.items()]
    facts = {"current": current, "versions": versions, "without": without, "numbers": dict(numbers)}
    return Said(said, facts)


def _who_accepted(studio: Studio, version: str) -> tuple[str, ...]:
    queue = studio.commissions.queue
    codes = [place.code for place in queue if place.terms and place.terms.version == version]
    plans = [(piece.slug, piece.private.plan) for piece in studio.pieces]
    slugs = [slug for slug, plan in plans if plan and plan.terms and plan.terms.version == version]
    return (*codes, *slugs)
