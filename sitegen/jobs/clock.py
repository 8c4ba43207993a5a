"""The clock at the bench: started at a step of the work, its hours noted when it's stopped."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from sitegen.desk import find
from sitegen.desk.find import one_line
from sitegen.disk import own_folder, put
from sitegen.disk.states import KEPT
from sitegen.jobs import edits, orders
from sitegen.jobs.pen import writes
from sitegen.jobs.reading import ORDERS, sit
from sitegen.studio.fault import Fault
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Said, ask, wish

# Hours that nobody works on end; the clock was forgotten then, and says so rather than noting them.
_MOST = Decimal(16)
_LEAST = Decimal("0.01")


@dataclass(frozen=True)
class Running:
    """The clock as it runs."""

    what: str
    """A piece's folder or an order's code."""
    step: str
    since: datetime


@wish
class StartClock:
    """Work begins."""

    what: str = ask("A piece's folder or an order's code.", word=True)
    step: str = ask("The step of the work.", word=True)


@wish
class StopClock:
    """Work ends."""

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
    what, step = _named(desk.studio, wish.what), one_line(wish.step)
    if not step:
        raise Fault("say which step of the work, like sculpting")
    own_folder(folder / KEPT)
    held = {"what": what, "step": step, "since": desk.moment.isoformat(timespec="seconds")}
    put(folder / KEPT / "clock.json", json.dumps(held).encode(), kept=False, private=True)
    return Said((f"The clock runs for {what}: {step}.",), held)


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
    if not wish.dropped:
        _note(folder, desk.studio, now, spent, today)
    (folder / KEPT / "clock.json").unlink(missing_ok=True)
    noted = "nothing was noted" if wish.dropped else f"{spent} h noted"
    return Said((f"{now.what}, {now.step}: {noted}.",), {"what": now.what, "step": now.step})


def _is_order(studio: Studio, what: str) -> bool:
    return any(order.code == what for order in studio.commissions.queue)


def _named(studio: Studio, what: str) -> str:
    return what if _is_order(studio, what) else find.piece(studio, what).slug


def _note(folder: Path, studio: Studio, now: Running, spent: str, today: str | None) -> None:
    if _is_order(studio, now.what):
        orders.hours(folder, orders.NoteHours(code=now.what, step=now.step, hours=spent), today)
    else:
        edits.note_hours(folder, edits.NotePieceHours(slug=now.what, step=now.step, hours=spent), today)
