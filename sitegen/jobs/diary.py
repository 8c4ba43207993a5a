"""What is noted of a piece day by day: hours, by a clock or not; that it goes out, and that it comes back."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from sitegen.desk import find
from sitegen.desk.find import Sitting, one_line, read_day, read_spent
from sitegen.disk import own_folder, put
from sitegen.disk.states import KEPT
from sitegen.jobs import orders
from sitegen.jobs.edits import joined, put_fields, written
from sitegen.jobs.pieces import FOLLOW, shown_file
from sitegen.jobs.reading import ORDERS, PIECES, sit
from sitegen.jobs.where import writes
from sitegen.sources import forms
from sitegen.studio import money
from sitegen.studio.asked import Fault, Said, ask, wish
from sitegen.studio.order_lines import in_a_line, more_worked
from sitegen.studio.piece import Piece, Stay, StayKind
from sitegen.studio.text import bare
from sitegen.studio.whole import Studio

# Hours that nobody works on end; the clock was forgotten then, and says so rather than noting them.
_MOST = Decimal(16)
_LEAST = Decimal("0.01")


@wish
class NotePieceHours:
    slug: str = ask("The piece.", word=True)
    step: str = ask("The step of the work.", word=True)
    hours: str = ask("How many.", word=True, like="HOURS")
    on: str | None = ask("A day of the week they belong to; without it, today.", default=None, like="DATE")


@writes
def note_hours(folder: Path, wish: NotePieceHours, today: str | None) -> Said:
    """Add bench hours to a piece's step of the work."""
    desk, piece, file = _piece(folder, wish.slug, today)
    step, spent = _step(wish.step), read_spent(wish.hours)
    noted = bare(piece.private.hours.get(step, Decimal(0)) + spent)
    worked = in_a_line(more_worked(piece.private.worked, desk.when(wish.on).day, spent))
    values = {joined(["private", "hours", step]): noted, "private.worked": worked}
    return put_fields(folder, file, values, f"{step} {noted} hours in all")


def _piece(folder: Path, slug: str, today: str | None) -> tuple[Sitting, Piece, str]:
    desk = sit(folder, today, PIECES)
    piece = find.piece(desk.studio, slug)
    return desk, piece, shown_file(folder, piece.slug)


def _step(text: str) -> str:
    step = one_line(text)
    if not step:
        raise Fault("say which step of the work, like sculpting")
    return step


@dataclass(frozen=True)
class Running:
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


@wish
class SendOut:
    slug: str = ask("The piece.", word=True)
    to: str | None = ask("The place's name; without it, where the piece is already.", default=None)
    kind: str | None = ask(
        "gallery (the usual: it's sold there), exhibition, loan, or resting (at home, shown nowhere).",
        default=None, name="as", choices=tuple(map(str, StayKind)),
    )  # fmt: skip
    town: str | None = ask("The place's town.", default=None)
    link: str | None = ask("The place's own page.", default=None)
    since: str | None = ask("The day it goes; without it, today.", default=None, like="DATE")
    until: str | None = ask("The day it's due back.", default=None, like="DATE")
    share: str | None = ask("Their share of the price, like 40%; never shown in public.", default=None)
    lowest: str | None = ask(
        "The lowest price they may sell it for without asking; never shown in public.", default=None
    )
    pays_in: int | None = ask("How many days after a sale they pay you.", default=None, least=0, most=3650)


@writes
def out(folder: Path, wish: SendOut, today: str | None) -> Said:
    """Note that a piece goes out, or what is agreed on now of one that is out. Raises Fault."""
    desk, piece, file = _piece(folder, wish.slug, today)
    since = read_day(wish.since, "--since") or desk.today
    lowest = money.plain(desk.amount(wish.lowest), desk.studio.settings.digits) if wish.lowest else None
    days = None if wish.pays_in is None else str(wish.pays_in)
    terms = {"share": wish.share, "lowest": lowest, "pays_in": days}
    said: dict[str, Any] = {
        "place": one_line(wish.to or ""), "as": wish.kind or "", "town": one_line(wish.town or ""),
        "link": wish.link, "since": wish.since or "", "until": wish.until,
        "private": {name: value for name, value in terms.items() if value},
    }  # fmt: skip
    held, place = piece.stay(since), said["place"]
    if held is not None and place in {"", held.place} and (wish.kind or held.kind) == held.kind:
        kind, stands, private = held.kind, f"away.{piece.away.index(held)}", said.pop("private")
        changes = {f"{stands}.{name}": value for name, value in said.items() if value}
        changes |= {f"{stands}.private.{name}": value for name, value in private.items()}
        done = put_fields(folder, file, changes, "")
    else:
        kind = StayKind(wish.kind or StayKind.GALLERY)
        _refuse(piece, held, kind, place)
        said |= {"as": str(kind), "since": since.isoformat()}
        done = written(folder, file, lambda text: forms.one_more(text, file, "away", said), "")
    now = find.piece(sit(folder, since.isoformat(), PIECES).studio, piece.slug)
    stay = now.stay(since) or now.away[-1]
    until = f" until {stay.until}" if stay.until else ""
    lines = [f"{piece.slug} is {_where(stay)}, from {stay.since}{until}. {FOLLOW}"]
    if kind is StayKind.GALLERY and stay.private.share is None:
        lines.append(
            f"Their share isn't noted, so a sale there would book none; `sitegen piece out {piece.slug} "
            "--share 40%` adds it."
        )
    return replace(done, said=tuple(lines), facts={**done.facts, "piece": piece.slug})


def _refuse(piece: Piece, held: Stay | None, kind: StayKind, place: str) -> None:
    if held is not None:
        raise Fault(
            f"{piece.slug} is {_where(held)}, out since {held.since}; if it came back, note that first: "
            f"`sitegen piece back {piece.slug}`"
        )
    if kind is not StayKind.RESTING and not place:
        raise Fault(
            f"where does {piece.slug} go? Name the place with --to 'The Long Room', or say --as resting"
        )
    if kind is StayKind.GALLERY and (sold := piece.private.sold) is not None:
        raise Fault(
            f"{piece.slug} was sold on {sold.on}, so no gallery can sell it; say --as exhibition or --as loan"
        )


def _where(stay: Stay) -> str:
    words = {StayKind.RESTING: "resting", StayKind.LOAN: f"on loan to {stay.place}"}
    return words.get(stay.kind, f"at {stay.place}")


@wish
class ComeBack:
    slug: str = ask("The piece.", word=True)
    on: str | None = ask("The day; without it, today.", default=None, like="DATE")


@writes
def back(folder: Path, wish: ComeBack, today: str | None) -> Said:
    """Note that a piece is at home again. Raises Fault for one that isn't out."""
    desk, piece, file = _piece(folder, wish.slug, today)
    day, held = desk.when(wish.on).day, piece.stay(desk.today)
    if held is None:
        raise Fault(
            f"{piece.slug} isn't out; if a buyer sent it back, that is "
            f"`sitegen piece return {piece.slug} --refund 0`"
        )
    done = put_fields(folder, file, {f"away.{piece.away.index(held)}.back": day.isoformat()}, "")
    was = "rests no more" if held.kind is StayKind.RESTING else f"is back from {held.place}"
    return replace(done, said=(f"{piece.slug} {was}, from {day} on; it is {piece.status}. {FOLLOW}",))
