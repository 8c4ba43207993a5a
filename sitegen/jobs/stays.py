"""A piece goes out, to a gallery, an exhibition or on loan, or rests; and it comes back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from sitegen.desk import find
from sitegen.desk.find import one_line, read_day
from sitegen.jobs.edits import written
from sitegen.jobs.pen import writes
from sitegen.jobs.pieces import FOLLOW, past_day, shown_file
from sitegen.jobs.reading import PIECES, sit
from sitegen.sources import forms
from sitegen.studio import money
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Piece
from sitegen.studio.stay import Stay, StayKind
from sitegen.studio.wish import Said, ask, wish


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


@writes
def out(folder: Path, wish: SendOut, today: str | None) -> Said:
    """Note that a piece goes out, or what is agreed on now of one that is out. Raises Fault."""
    desk = sit(folder, today, PIECES)
    piece = find.piece(desk.studio, wish.slug)
    since = read_day(wish.since, "--since") or desk.today
    lowest = money.plain(desk.amount(wish.lowest), desk.studio.settings.digits) if wish.lowest else None
    terms = {"share": wish.share, "lowest": lowest}
    said: dict[str, Any] = {
        "place": one_line(wish.to or ""), "as": wish.kind or "", "town": one_line(wish.town or ""),
        "link": wish.link, "since": wish.since or "", "until": wish.until,
        "private": {name: value for name, value in terms.items() if value},
    }  # fmt: skip
    held, place, file = piece.stay(since), said["place"], shown_file(folder, piece.slug)
    if held is not None and place in {"", held.place} and (wish.kind or held.kind) == held.kind:
        kind, stands, private = held.kind, f"away.{piece.away.index(held)}", said.pop("private")
        changes = {f"{stands}.{name}": value for name, value in said.items() if value}
        changes |= {f"{stands}.private.{name}": value for name, value in private.items()}
        done = written(folder, file, lambda text: forms.all_changed(text, file, changes), "")
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
    desk = sit(folder, today, PIECES)
    piece = find.piece(desk.studio, wish.slug)
    day = past_day(wish.on, desk.today)
    held = piece.stay(desk.today)
    if held is None:
        raise Fault(
            f"{piece.slug} isn't out; if a buyer sent it back, that is "
            f"`sitegen piece return {piece.slug} --refund 0`"
        )
    file, place = shown_file(folder, piece.slug), f"away.{piece.away.index(held)}.back"
    done = written(folder, file, lambda text: forms.all_changed(text, file, {place: day.isoformat()}), "")
    was = "rests no more" if held.kind is StayKind.RESTING else f"is back from {held.place}"
    return replace(done, said=(f"{piece.slug} {was}, from {day} on; it is {piece.status}. {FOLLOW}",))
