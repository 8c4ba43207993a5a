"""Print paper: read the studio, compile the PDF, put it in out/paper."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from sitegen import paper
from sitegen.desk.agreement import Agreed, AgreementWish
from sitegen.desk.agreement import agreed as gather
from sitegen.disk import sweep_parts, write_whole
from sitegen.jobs.reading import sit
from sitegen.jobs.register import note_numbers
from sitegen.jobs.where import sheet_of
from sitegen.paper import SheetForm
from sitegen.sources import StudioFault
from sitegen.sources.people_import import PRINTED
from sitegen.studio.fields import no_such
from sitegen.studio.front import front_of_house
from sitegen.studio.person import Interest
from sitegen.studio.plan import PartKind, Plan
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicShow
from sitegen.studio.text import as_csv, slug
from sitegen.studio.wish import Said, ask, wish
from sitegen.voice.theme_files import find_theme

SIZES = ("a4", "letter")
SIZE = "Without it: as studio.yaml says."
PAPER_SIZE = ask(SIZE, default=None, choices=SIZES)


class Printing:
    """A studio that was read, and what its papers are made with."""

    def __init__(self, folder: Path, today: str | None, *, numbered: bool = False) -> None:
        """Read the studio; `numbered`: its numbers go out of the house, so they're noted. Raises Fault."""
        sitting = sit(folder, today)
        if numbered:
            note_numbers(folder, sitting.studio)
        self._folder, self.studio, self.today = folder, sitting.studio, sitting.today
        self.front = front_of_house(sitting.studio, sitting.moment)
        self.theme = find_theme(folder, self.front.card.theme)

    def size(self, asked: str | None) -> str:
        """Return the paper's size: the one asked for, else the studio's."""
        return asked or self.front.card.paper

    def piece(self, slug: str) -> PublicPiece:
        """Find a piece. Raises Fault."""
        return _piece(self.front, slug)

    def show(self, name: str | None) -> PublicShow:
        """Find a show, the next to come without a name. Raises Fault."""
        return _show(self.front, name)

    def brought(self, show: PublicShow) -> list[PublicPiece]:
        """Return the pieces that go to a show, by its file."""
        known = self.studio.show(show.slug)
        return [self.piece(name) for name in known.bring] if known else []

    def put(self, what: str, name: str, make: Callable[[], bytes], warnings: Sequence[str] = ()) -> Said:
        """Make a PDF, put it into out/paper, and say so, with what is to be said beside it."""
        file = lay(_place(self._folder, name), make())
        said = (f"{what}:  {file}", *(f"  - {sentence}" for sentence in warnings))
        return Said(said, {"file": str(file), "warnings": list(warnings)}, opens=(file,))


@wish
class SheetWish:
    """Which show's sheet."""

    show: str | None = ask(default=None, word=True, like="[SHOW]")
    paper: str | None = PAPER_SIZE
    pages: int = ask(default=2, least=1, most=99)
    form: str = ask(
        "One list, upright or wide, or cards for one name each.", default="portrait",
        choices=tuple(map(str, SheetForm)),
    )  # fmt: skip


def sheet(folder: Path, wish: SheetWish, today: str | None) -> Said:
    """Print the sign-up sheet for a show's table: the named one, else the next to come.

    A table beside it mirrors its rows, to be filled in and imported; one that is filled in is left alone.
    """
    made = Printing(folder, today, numbered=True)
    front, chosen, size = made.front, made.show(wish.show), made.size(wish.paper)
    theme, form = made.theme, SheetForm(wish.form)
    said = made.put(
        "Sheet", f"sheet-{chosen.slug}",
        lambda: paper.sheet(front, chosen, theme, paper=size, pages=wish.pages, form=form),
    )  # fmt: skip
    each = paper.sheet_rows(front, chosen, theme, paper=size, form=form)
    code = paper.sheet_code(chosen, front.shows)
    rows = ((f"{code}-{page + 1}", page * each + row + 1, chosen.first_day, *_UNSIGNED)
            for page in range(wish.pages) for row in range(each))  # fmt: skip
    table = sheet_of(folder, chosen.slug).with_suffix(".csv")
    if _signed(table):
        return replace(said, said=(*said.said, f"Filled in already, and left as it is:  {table}"))
    lay(table, as_csv([(*PRINTED, *_SIGNED), *rows]).encode())
    how = f"`sitegen people import {table.name} --source 'show sheet'` takes it over, filled in"
    more = {"table": str(table), "rows_a_page": each}
    return replace(said, said=(*said.said, f"Its rows:  {table}", f"  {how}."), facts={**said.facts, **more})


_SIGNED = ("name", "email", *map(str, Interest))
_UNSIGNED = ("",) * len(_SIGNED)


def _signed(table: Path) -> bool:
    """Tell whether a table that mirrors a sheet has been filled in."""
    lines = table.read_bytes().splitlines()[1:] if table.exists() else []
    return not all(line.endswith(b"," * len(_SIGNED)) for line in lines)


@wish
class CardsWish:
    """Which pieces' cards."""

    slugs: tuple[str, ...] = ask(default=(), word=True, like="[SLUG…]")
    paper: str | None = PAPER_SIZE


def cards(folder: Path, wish: CardsWish, today: str | None) -> Said:
    """Print table cards: of the pieces named, else of every piece that is available."""
    made = Printing(folder, today, numbered=True)
    chosen = [made.piece(slug) for slug in wish.slugs] or None
    size = made.size(wish.paper)
    return made.put("Cards", "cards", lambda: paper.cards(made.front, chosen, made.theme, paper=size))


@wish
class CertificateWish:
    """Which piece's certificate."""

    slug: str = ask(word=True)
    paper: str | None = PAPER_SIZE


def certificate(folder: Path, wish: CertificateWish, today: str | None) -> Said:
    """Print a piece's certificate of authenticity."""
    made = Printing(folder, today, numbered=True)
    piece, size = made.piece(wish.slug), made.size(wish.paper)
    return made.put(
        "Certificate", f"certificate-{piece.slug}",
        lambda: paper.certificate(made.front, piece, made.theme, paper=size),
    )  # fmt: skip


def agreement(folder: Path, wish: AgreementWish, today: str | None) -> Said:
    """Print the agreement on one commission, or on one finished piece that is paid for in parts."""
    made = Printing(folder, today)
    agreed, size = gather(made.studio, wish, made.today), made.size(wish.paper)
    return made.put(
        "Agreement", f"agreement-{slug(wish.what) or 'one'}",
        lambda: paper.agreement(made.front, _deal(agreed), made.theme, paper=size), agreed.plan.warnings,
    )  # fmt: skip


def printed(folder: Path) -> tuple[str, ...]:
    """Return the names of the PDFs that lie in out/paper."""
    return tuple(sorted(path.name for path in (folder / "out" / "paper").glob("*.pdf")))


def _deal(agreed: Agreed) -> paper.Deal:
    return paper.Deal(
        matter=paper.AgreementKind.COMMISSION if agreed.commission else paper.AgreementKind.PAYMENT_PLAN,
        code=agreed.code,
        work=agreed.work,
        price=agreed.plan.price,
        charge=agreed.plan.charge,
        payments=tuple(
            paper.AgreedPayment(number, part.due, part.amount)
            for number, part in zip(_numbers(agreed.plan), agreed.plan.parts, strict=True)
        ),
        terms=agreed.terms,
        accepted_on=agreed.accepted.on if agreed.accepted else None,
        client=agreed.client,
        ready_by=agreed.ready_by,
        facts=agreed.facts,
        own_plan=agreed.own_plan,
    )


def _numbers(plan: Plan) -> Iterator[int]:
    """Count the instalments from 1; the deposit is 0."""
    count = itertools.count(1)
    return (0 if part.kind is PartKind.DEPOSIT else next(count) for part in plan.parts)


def _piece(front: FrontOfHouse, slug: str) -> PublicPiece:
    found = front.piece(slug)
    if found is None:
        raise StudioFault(no_such("piece", slug, (piece.slug for piece in front.pieces)))
    return found


def _show(front: FrontOfHouse, name: str | None) -> PublicShow:
    if name is None:
        return _next_show(front.shows, front.moment.date())
    found = next((show for show in front.shows if name.casefold() in {show.slug, show.name.casefold()}), None)
    if found is None:
        raise StudioFault(no_such("show", name, (one.slug for one in front.shows)))
    return found


def _next_show(shows: tuple[PublicShow, ...], today: date) -> PublicShow:
    coming = [show for show in shows if show.last_day >= today and not (show.is_class or show.cancelled)]
    if not coming:
        raise StudioFault("no show is coming; add one as shows/NAME.yaml, or name a past one")
    return coming[0]


def _place(folder: Path, name: str) -> Path:
    return folder / "out" / "paper" / f"{name}.pdf"


def lay(file: Path, content: bytes) -> Path:
    """Write a file below out/, for its owner only, unless the same bytes lie there already."""
    file.parent.mkdir(parents=True, exist_ok=True)
    sweep_parts(file.parent)
    if not file.exists() or file.read_bytes() != content:
        write_whole(file, content, private=True)
    return file
