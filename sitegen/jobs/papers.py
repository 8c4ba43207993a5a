"""Print paper and lists of pieces: read the studio, compile the PDF, put it in out/paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from sitegen.desk.find import read_day
from sitegen.desk.plan import AgreementWish
from sitegen.desk.plan import agreed as gather
from sitegen.desk.worth import on_hand
from sitegen.desk.worth import stock as in_stock
from sitegen.disk.files import lay
from sitegen.jobs.photos import note_numbers, small
from sitegen.jobs.reading import sit
from sitegen.jobs.where import sheet_of
from sitegen.paper import agreement as agreements
from sitegen.paper import cards as labels
from sitegen.paper import lists
from sitegen.paper import sheet as sheets
from sitegen.paper.press import Printer
from sitegen.sources.people_import import PRINTED
from sitegen.studio.asked import Fault, Said, ask, wish
from sitegen.studio.fields import no_such
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Interest
from sitegen.studio.piece import Status
from sitegen.studio.public import PublicPiece, PublicShow, sheet_code
from sitegen.studio.text import as_csv, slug
from sitegen.studio.whole import Studio
from sitegen.voice.theme_files import find_theme

PAPER_SIZE = ask("Without it: as studio.yaml says.", default=None, choices=("a4", "letter"))


class Printing:
    """A studio that was read, and what its papers are made with."""

    def __init__(
        self, folder: Path, today: str | None, size: str | None = None, *, numbered: bool = False
    ) -> None:
        """Read the studio; `size` is the paper's, else the studio's. Raises Fault.

        `numbered`: its numbers go out of the house, so they're noted.
        """
        sitting = sit(folder, today)
        if numbered:
            note_numbers(folder, sitting.studio)
        self._folder, self.studio, self.today = folder, sitting.studio, sitting.today
        self.front = front_of_house(sitting.studio, sitting.moment)
        card = self.front.card
        self.press = Printer(self.front, find_theme(folder, card.theme), size or card.paper)

    def piece(self, slug: str) -> PublicPiece:
        """Find a piece. Raises Fault."""
        found = self.front.piece(slug)
        if found is None:
            raise Fault(no_such("piece", slug, (piece.slug for piece in self.front.pieces)))
        return found

    def show(self, name: str | None) -> PublicShow:
        """Find a show, the next to come without a name. Raises Fault."""
        shows = self.front.shows
        coming = (show for show in shows if show.coming and not (show.is_class or show.cancelled))
        if name is None:
            named, none = coming, "no show is coming; add one as shows/NAME.yaml, or name a past one"
        else:
            named = (show for show in shows if name.casefold() in {show.slug, show.name.casefold()})
            none = no_such("show", name, (show.slug for show in shows))
        found = next(named, None)
        if found is None:
            raise Fault(none)
        return found

    def brought(self, show: PublicShow) -> list[PublicPiece]:
        """Return the pieces that go to a show, by its file."""
        known = self.studio.show(show.slug)
        return [self.piece(name) for name in known.bring] if known else []

    def put(
        self, what: str, name: str, make: Callable[..., bytes], *about: Any, warnings: Sequence[str] = (),
        **how: Any,
    ) -> Said:  # fmt: skip
        """Make a PDF about something, put it into out/paper, and say so with what is to be said beside it."""
        made = make(self.press, *about, **how)
        file = lay(self._folder / "out" / "paper" / f"{name}.pdf", made)
        said = (f"{what}:  {file}", *(f"  - {sentence}" for sentence in warnings))
        return Said(said, {"file": str(file), "warnings": list(warnings)}, opens=(file,))


def printed(folder: Path) -> tuple[str, ...]:
    """Return the names of the PDFs that lie in out/paper."""
    return tuple(sorted(path.name for path in (folder / "out" / "paper").glob("*.pdf")))


@wish
class AtShow:
    show: str | None = ask(default=None, word=True, like="[SHOW]")
    paper: str | None = PAPER_SIZE


@wish
class SheetWish(AtShow):
    pages: int = ask(default=2, least=1, most=99)
    form: str = ask(
        "One list, upright or wide, or cards for one name each.", default="portrait",
        choices=tuple(map(str, sheets.SheetForm)),
    )  # fmt: skip


def sheet(folder: Path, wish: SheetWish, today: str | None) -> Said:
    """Print the sign-up sheet for a show's table: the named one, else the next to come.

    A table beside it mirrors its rows, to be filled in and imported; one that is filled in is left alone.
    """
    made = Printing(folder, today, wish.paper, numbered=True)
    chosen, form = made.show(wish.show), sheets.SheetForm(wish.form)
    said = made.put("Sheet", f"sheet-{chosen.slug}", sheets.sheet, chosen, pages=wish.pages, form=form)
    each = sheets.sheet_rows(made.press, chosen, form=form)
    code = sheet_code(chosen, made.front.shows)
    rows = ((f"{code}-{page + 1}", page * each + row + 1, chosen.first_day, *_UNSIGNED)
            for page in range(wish.pages) for row in range(each))  # fmt: skip
    table = sheet_of(folder, chosen.slug).with_suffix(".csv")
    written = table.read_bytes().splitlines()[1:] if table.exists() else []
    if not all(line.endswith(b"," * len(_SIGNED)) for line in written):
        return replace(said, said=(*said.said, f"Filled in already, and left as it is:  {table}"))
    lay(table, as_csv([(*PRINTED, *_SIGNED), *rows]).encode())
    how = f"`sitegen people import {table.name} --source 'show sheet'` takes it over, filled in"
    more = {"table": str(table), "rows_a_page": each}
    return replace(said, said=(*said.said, f"Its rows:  {table}", f"  {how}."), facts={**said.facts, **more})


_SIGNED = ("name", "email", *map(str, Interest))
_UNSIGNED = ("",) * len(_SIGNED)


@wish
class CardsWish:
    slugs: tuple[str, ...] = ask(default=(), word=True, like="[SLUG…]")
    paper: str | None = PAPER_SIZE


def cards(folder: Path, wish: CardsWish, today: str | None) -> Said:
    """Print table cards: of the pieces named, else of every piece that is available."""
    made = Printing(folder, today, wish.paper, numbered=True)
    return made.put("Cards", "cards", labels.cards, [made.piece(slug) for slug in wish.slugs] or None)


@wish
class CertificateWish:
    slug: str = ask(word=True)
    paper: str | None = PAPER_SIZE


def certificate(folder: Path, wish: CertificateWish, today: str | None) -> Said:
    made = Printing(folder, today, wish.paper, numbered=True)
    piece = made.piece(wish.slug)
    return made.put("Certificate", f"certificate-{piece.slug}", labels.certificate, piece)


def agreement(folder: Path, wish: AgreementWish, today: str | None) -> Said:
    """Print the agreement on one commission, or on one finished piece that is paid for in parts."""
    made = Printing(folder, today, wish.paper)
    agreed = gather(made.studio, wish, made.today)
    name = f"agreement-{slug(wish.what) or 'one'}"
    return made.put("Agreement", name, agreements.agreement, agreed, warnings=agreed.plan.warnings)


def price_list(folder: Path, wish: AtShow, today: str | None) -> Said:
    """Print the prices of what is available: of all that is at the studio, or of what goes to one show."""
    made = Printing(folder, today, wish.paper)
    show = made.show(wish.show) if wish.show else None
    at_home = [piece for piece in made.front.pieces if piece.away is None]
    pieces = (made.brought(show) if show else []) or at_home
    return made.put("Prices", f"prices-{show.slug}" if show else "prices", lists.price_list, pieces, show)


def packing_list(folder: Path, wish: AtShow, today: str | None) -> Said:
    """Print what goes to a show, the named one or the next to come, with boxes to tick; name what is gone."""
    made = Printing(folder, today, wish.paper)
    show = made.show(wish.show)
    found = [(piece, _elsewhere(made.studio, piece, show.first_day)) for piece in made.brought(show)]
    here = [piece for piece, why in found if not why]
    said = made.put("Packing list", f"packing-{show.slug}", lists.packing_list, here, show)
    left = (f"  - {piece.title} is {why}, so it isn't on the list" for piece, why in found if why)
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
    slug: str = ask(word=True)
    price: bool = ask("Also what was paid; a present shouldn't say.", default=False)
    paper: str | None = PAPER_SIZE


def packing_slip(folder: Path, wish: SlipWish, today: str | None) -> Said:
    """Print the packing slip and the care card of a sold piece. Raises Fault for one that isn't sold."""
    made = Printing(folder, today, wish.paper)
    shown = made.piece(wish.slug)
    piece = made.studio.piece(shown.slug)
    sold = piece.private.sold if piece else None
    if sold is None:
        raise Fault(
            f"pieces/{shown.slug}/piece.yaml notes no sale, and a packing slip is for a sold piece; note the "
            f"sale first: `sitegen piece mark {shown.slug} sold --price … --on DATE`"
        )
    parcel = lists.Parcel(shown, sold.to, made.today, sold.price if wish.price else None)
    return made.put("Packing slip", f"packing-slip-{shown.slug}", lists.packing_slip, parcel)


@wish
class InventoryWish:
    paper: str | None = PAPER_SIZE


def inventory(folder: Path, wish: InventoryWish, today: str | None) -> Said:
    """Print the inventory for an insurer: what is on hand or under way, its value and whence."""
    made = Printing(folder, today, wish.paper)
    begun = [piece for piece in made.studio.pieces if piece.status is Status.IN_PROGRESS]
    bench = [piece for piece in begun if not piece.private.order]
    lines = in_stock(made.studio, made.today, made.today).lines_of
    insured = [
        lists.Insured(shown, *line.value, _picture(made.studio, shown), stay.place if stay else "")
        for line in (*lines, *on_hand(bench, made.studio.settings))
        if (shown := made.front.piece(line.piece.slug))
        for stay in [line.piece.stay(made.today)]
    ]
    if not insured:
        raise Fault("nothing is on hand, so there's nothing to insure")
    said = made.put("Inventory", "inventory-private", lists.inventory, insured, made.today)
    return replace(said, said=(*said.said, "  It holds values: keep it with the policy, and off the site."))


# Pixels of the longer side: 22 mm at 300 dots to the inch.
_SIDE = 260


def _picture(studio: Studio, piece: PublicPiece) -> bytes | None:
    with suppress(Fault):
        for photo in piece.photos:
            return small(Path(studio.photo_folders[piece.slug]) / photo.file, _SIDE)
    return None


@wish
class StockWish:
    on: str | None = ask("The evening of that day (today, if left out), like 2026-12-31.", default=None)


def stock(folder: Path, wish: StockWish, today: str | None) -> Said:
    """Say what is on hand on a day, at cost and at price; a table of it is written for the accountant."""
    sitting = sit(folder, today)
    found = in_stock(sitting.studio, read_day(wish.on, "--on") or sitting.today, sitting.today)
    table = lay(folder / "out" / "paper" / f"stock-{found.day}.csv", as_csv(found.table()).encode())
    return Said((*found.lines(), f"Table:  {table}"), {**found.as_answer(), "file": str(table)})
