"""Today: gather what lies beside the studio's files, and ask the desk what is lost by waiting."""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, date, datetime
from pathlib import Path

from sitegen.desk import today as desk
from sitegen.desk.books import unnoted_sales
from sitegen.desk.errands import Drafted, Errand, Today
from sitegen.desk.find import Sitting
from sitegen.desk.slots import Outlook, outlook
from sitegen.jobs import unchanged
from sitegen.jobs.answers import complaints
from sitegen.jobs.begin import age_if_due
from sitegen.jobs.letters import letters_of
from sitegen.jobs.letters_made import states
from sitegen.jobs.publish import is_out, last_of
from sitegen.jobs.reading import look_of, once, phase_of, sit
from sitegen.jobs.where import is_ours, sheet_of
from sitegen.letters.client import Draft, Matter, drafts_in, stem_of
from sitegen.studio.asked import Fault
from sitegen.studio.whole import Studio

__all__ = ["Errand", "errands"]


def errands(folder: Path, today: str | None) -> Today:
    """Say what is lost by waiting. Raises StudioFault where the files can't be read."""
    sitting = sit(folder, today)
    studio, moment, day = sitting.studio, sitting.moment, sitting.today
    letters, drafts, phase = states(folder, sitting), look_of(letters_of(folder)), phase_of(studio, moment)
    sheets = frozenset(show.slug for show in studio.shows if sheet_of(folder, show.slug).is_file())
    house = ("", "", "") if is_ours(folder) else (
        _site(folder, sitting), _web(folder, sitting), _backup(folder, moment)
    )  # fmt: skip

    def gathered() -> Today:
        ahead = Outlook()  # where the files don't say enough, which `slots` tells
        with suppress(Fault):
            ahead = outlook(studio, day)
        # Sales that aren't noted are told one by one.
        books = len([*complaints(folder, studio, day)]) - len(unnoted_sales(studio)[1])
        drafted = _drafted(drafts_in(letters_of(folder)))
        return desk.today(studio, desk.Beside(ahead, letters, drafted, sheets, *house, books), moment)

    return once(studio, "today", (phase, letters, drafts, sheets, house), gathered)


def _drafted(drafts: Sequence[Draft]) -> Drafted:
    latest: dict[str, date] = {}
    for draft in drafts:
        for name in {draft.folder.name, re.sub(r"-[0-9]+$", "", draft.folder.name)}:
            if draft.made is not None:
                latest[name] = max(draft.made, latest.get(name, date.min))
    return lambda code, matter: latest.get(stem_of(code, Matter(matter)))


# Seconds. To look at each photo and page takes longer than all the rest; an edit or a build shows at once.
_LOOK_AGAIN = 5


def _site(folder: Path, sitting: Sitting) -> str:
    note, soon = look_of(folder / "out" / unchanged.NAME), time.monotonic() // _LOOK_AGAIN
    studio, moment = sitting.studio, sitting.moment

    def why_not() -> str:
        seen = unchanged.look(folder, moment.astimezone)
        if seen is None:
            return "The site isn't built yet."
        if not seen.same_files:
            return "Something has changed since the site was built; it shows how things were then."
        built = datetime.fromtimestamp(seen.since, UTC).astimezone(moment.tzinfo)
        moved = built < moment and _turns(studio, built) != _turns(studio, moment)
        return "Since the site was built something in it has begun or is over." if moved else ""

    return once(studio, "site", (phase_of(studio, moment), note, soon), why_not)


def _web(folder: Path, sitting: Sitting) -> str:
    """Say why what visitors get isn't the site as it was built, where the studio says where it lives."""
    at = sitting.studio.settings.publish
    if at is None:
        return ""
    built, noted = look_of(folder / "out" / unchanged.NAME), look_of(last_of(folder))
    out = once(sitting.studio, "web", (built, noted), lambda: is_out(folder, at))
    if out is None:
        return "The site isn't on the web yet."
    return "" if out else "The site was built anew since it was published; visitors get the earlier one."


def _turns(studio: Studio, moment: datetime) -> tuple[int, ...]:
    """Count what lies behind: the turns of rounds, the shows, the days of pieces that are out."""
    day, stays = moment.date(), [stay for piece in studio.pieces for stay in piece.away]
    over = [show.ends < day for show in studio.shows]
    over += [stay.since <= day for stay in stays]
    over += [stay.until < day for stay in stays if stay.until is not None]
    return phase_of(studio, moment)[1], sum(over)


def _backup(folder: Path, moment: datetime) -> str:
    days = age_if_due(folder, moment)
    if days is None:
        return ""
    if not days:
        return "There's no backup of this studio yet; what this disk loses is lost for good."
    return f"The last backup is {days} days old; what came since lies on this disk alone."
