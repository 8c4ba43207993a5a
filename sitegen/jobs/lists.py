"""Print lists of pieces: prices, packing, an inventory; the slip for the box; and say what is in stock."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path

from sitegen import paper
from sitegen.desk.find import read_day
from sitegen.desk.stock import OnHand, on_hand
from sitegen.desk.stock import stock as in_stock
from sitegen.jobs.papers import PAPER_SIZE, Printing, lay
from sitegen.jobs.photos import small
from sitegen.sources import StudioFault
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Status
from sitegen.studio.public import PublicPiece
from sitegen.studio.text import as_csv
from sitegen.studio.whole import Studio
from sitegen.studio.wish import Said, ask, wish

# Pixels of the longer side: 22 mm at 300 dots to the inch.
_SIDE = 260


@wish
class AtShow:
    """Which show, or none."""

    show: str | None = ask(default=None, word=True, like="[SHOW]")
    paper: str | None = PAPER_SIZE


def price_list(folder: Path, wish: AtShow, today: str | None) -> Said:
    """Print the prices of what is available: of all that is at the studio, or of what goes to one show."""
    made = Printing(folder, today)
    show = made.show(wish.show) if wish.show else None
    here = [piece for piece in made.front.pieces if piece.away is None]
    pieces = (made.brought(show) if show else []) or here
    size, name = made.size(wish.paper), f"prices-{show.slug}" if show else "prices"
    return made.put(
        "Prices", name, lambda: paper.price_list(made.front, pieces, show, made.theme, paper=size)
    )


def packing_list(folder: Path, wish: AtShow, today: str | None) -> Said:
    """Print what goes to a show, the named one or the next to come, with boxes to tick; name what is gone."""
    made = Printing(folder, today)
    show = made.show(wish.show)
    found = made.brought(show)
    elsewhere = {one.slug: why for one in found if (why := _elsewhere(made.studio, one, show.first_day))}
    here = [one for one in found if one.slug not in elsewhere]
    size = made.size(wish.paper)
    said = made.put(
        "Packing list", f"packing-{show.slug}",
        lambda: paper.packing_list(made.front, here, show, made.theme, paper=size),
    )  # fmt: skip
    left = tuple(
        f"  - {one.title} is {elsewhere[one.slug]}, so it isn't on the list"
        for one in found if one.slug in elsewhere
    )  # fmt: skip
    return replace(said, said=(*said.said, *left))


def _elsewhere(studio: Studio, shown: PublicPiece, day: date) -> str:
    """Say why a piece can't be packed for a day; nothing if it can."""
    if shown.status in {Status.SOLD, Status.COMMISSIONED, Status.IN_PROGRESS}:
        return str(shown.status)
    piece = studio.piece(shown.slug)
    stay = piece.stay(day) if piece else None
    due = stay is not None and stay.until is not None and stay.until < day
    return f"at {stay.place}" if stay is not None and stay.place and not due else ""


@wish
class SlipWish:
    """Which sold piece goes into the box."""

    slug: str = ask(word=True)
    price: bool = ask("Also what was paid; a present shouldn't say.", default=False)
    paper: str | None = PAPER_SIZE


def packing_slip(folder: Path, wish: SlipWish, today: str | None) -> Said:
    """Print the packing slip and the care card of a sold piece. Raises Fault for one that isn't sold."""
    made = Printing(folder, today)
    shown = made.piece(wish.slug)
    piece = made.studio.piece(shown.slug)
    sold = piece.private.sold if piece else None
    if sold is None:
        raise StudioFault(
            f"pieces/{shown.slug}/piece.yaml notes no sale, and a packing slip is for a sold piece; note the "
            f"sale first: `sitegen piece mark {shown.slug} sold --price … --on DATE`"
        )
    parcel = paper.Parcel(shown, sold.to, made.today, sold.price if wish.price else None)
    size = made.size(wish.paper)
    return made.put(
        "Packing slip", f"packing-slip-{shown.slug}",
        lambda: paper.packing_slip(made.front, parcel, made.theme, paper=size),
    )  # fmt: skip


@wish
class InventoryWish:
    """On which paper."""

    paper: str | None = PAPER_SIZE


def inventory(folder: Path, wish: InventoryWish, today: str | None) -> Said:
    """Print the inventory for an insurer: what is on hand or under way, its value and whence."""
    made = Printing(folder, today)
    bench = [
        piece
        for piece in made.studio.pieces
        if piece.status is Status.IN_PROGRESS and not piece.private.order
    ]
    lines = in_stock(made.studio, made.today, made.today).lines_of
    insured = list(_insured(made, (*lines, *on_hand(bench, made.studio.settings))))
    if not insured:
        raise StudioFault("nothing is on hand, so there's nothing to insure")
    size = made.size(wish.paper)
    said = made.put(
        "Inventory", "inventory-private",
        lambda: paper.inventory(made.front, insured, made.today, made.theme, paper=size),
    )  # fmt: skip
    return replace(said, said=(*said.said, "  It holds values: keep it with the policy, and off the site."))


def _insured(made: Printing, lines: Iterable[OnHand]) -> Iterable[paper.Insured]:
    for line in lines:
        shown = made.front.piece(line.piece.slug)
        if shown is not None:
            value, source = line.value
            stay = line.piece.stay(made.today)
            where = stay.place if stay is not None else ""
            yield paper.Insured(shown, value, source, _picture(made.studio, shown), where)


def _picture(studio: Studio, piece: PublicPiece) -> bytes | None:
    """Return a piece's first photo, small; nothing where there's none that can be read."""
    with suppress(Fault):
        for photo in piece.photos:
            return small(Path(studio.photo_folders[piece.slug]) / photo.file, _SIDE)
    return None


@wish
class StockWish:
    """On which day."""

    on: str | None = ask("The evening of that day (today, if left out), like 2026-12-31.", default=None)


def stock(folder: Path, wish: StockWish, today: str | None) -> Said:
    """Say what is on hand on a day, at cost and at price; a table of it is written for the accountant."""
    made = Printing(folder, today)
    found = in_stock(made.studio, read_day(wish.on, "--on") or made.today, made.today)
    table = lay(folder / "out" / "paper" / f"stock-{found.day}.csv", as_csv(found.table()).encode())
    return Said((*found.lines(), f"Table:  {table}"), {**found.as_answer(), "file": str(table)})
