"""Hours at the bench: noted of a piece, or counted by a clock that's started at a step of the work."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.find import one_line, read_spent
from sitegen.disk import own_folder, put
from sitegen.disk.states import KEPT
from sitegen.jobs import orders
from sitegen.jobs.edits import joined, written
from sitegen.jobs.pen import writes
from sitegen.jobs.pieces import shown_file
from sitegen.jobs.reading import ORDERS, PIECES, sit
from sitegen.sources import forms
from sitegen.studio.fault import Fault
from sitegen.studio.order_lines import more_worked, write_worked
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Said, ask, wish

# Hours that nobody works on end; the clock was forgotten then, and says so rather than noting them.
_MOST = Decimal(16)
_LEAST = Decimal("0.01")


@wish
class NotePieceHours:
    slug: str = ask("The piece.", word=True)
    step: str = ask("The step of the work.", word=True)
    hours: str = ask("How many.", word=True, like="HOURS")


@writes
def note_hours(folder: Path, wish: NotePieceHours, today: str | None) -> Said:
    """Add bench hours to a piece's step of the work."""
    desk = sit(folder, today, PIECES)
    piece = find.piece(desk.studio, wish.slug)
    step, file, spent = _step(wish.step), shown_file(folder, piece.slug), read_spent(wish.hours)
    noted = bare(piece.private.hours.get(step, Decimal(0)) + spent)
    worked = write_worked(more_worked(piece.private.worked, desk.today, spent))
    values = {joined(["private", "hours", step]): noted, "private.worked": worked}
    return written(
        folder, file, lambda text: forms.all_changed(text, file, values), f"{step} {noted} hours in all"
    )


def _step(text: str) -> str:
    step = one_line(text)
    if not step:
        raise Fault("say which step of the work, like sculpting")
    return step


@dataclass(frozen=True)
class Running:
    """The clock as it runs."""

    what: str  # a piece's folder or an order's code
    step: str
    since: datetime


@wish
class StartClock:
    what: str = ask("A piece's folder or an order's code.", word=True)
    step: str = ask("The step of the work.", word=True)


@wish
class StopClock:
    hours: str | None = ask("So many hours instead of those that the clock counted.", default=None)
    dropped: bool = ask("Note nothing; it was forgotten or begun by mistake.", default=False, name="drop")


def running(folder: Path) -> Running | None:
    """Return what the clock counts; None while it stands."""
    try:
        held = json.loads((folder / KEPT / "clock.json").read_text("utf-8"))
        return Running(str(held["what"]), str(held["step"]), datetime.fromisoformat(held["since"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


@writes
def start(folder: Path, wish: StartClock, today: str | None) -> Said:
    """Start the clock. Raises Fault if it runs already, or there's nothing of that name."""
    desk = sit(folder, today, ORDERS)
    if (now := running(folder)) is not None:
        raise Fault(f"the clock runs already, for {now.what} ({now.step}); stop it first")
    named = wish.what if _is_order(desk.studio, wish.what) else find.piece(desk.studio, wish.what).slug
    held = {"what": named, "step": _step(wish.step), "since": desk.moment.isoformat(timespec="seconds")}
    own_folder(folder / KEPT)
    put(folder / KEPT / "clock.json", json.dumps(held).encode(), kept=False, private=True)
    return Said((f"The clock runs for {named}: {held['step']}.",), held)


@writes
def stop(folder: Path, wish: StopClock, today: str | None) -> Said:
    """Stop the clock and note its hours. Raises Fault if it doesn't run, or ran longer than anybody works."""
    desk, now = sit(folder, today, ORDERS), running(folder)
    if now is None:
        raise Fault("the clock doesn't run")
    counted = Decimal((desk.moment - now.since).total_seconds()) / 3600
    spent = wish.hours if wish.hours is not None else bare(counted.quantize(Decimal("0.01")))
    if not wish.dropped and wish.hours is None and not _LEAST <= counted <= _MOST:
        raise Fault(
            f"the clock counted {spent} hours for {now.what} ({now.step}); say with --hours how many "
            "they were, or --drop to note nothing"
        )
    if not wish.dropped and _is_order(desk.studio, now.what):
        orders.hours(folder, orders.NoteHours(code=now.what, step=now.step, hours=spent), today)
    elif not wish.dropped:
        note_hours(folder, NotePieceHours(slug=now.what, step=now.step, hours=spent), today)
    (folder / KEPT / "clock.json").unlink(missing_ok=True)
    noted = "nothing was noted" if wish.dropped else f"{spent} h noted"
    return Said((f"{now.what}, {now.step}: {noted}.",), {"what": now.what, "step": now.step})


def _is_order(studio: Studio, what: str) -> bool:
    return any(order.code == what for order in studio.commissions.queue)
