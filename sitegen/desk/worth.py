"""Say what a piece costs, what would be fair, and what an hour earns at the asking price."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from sitegen.desk import find, words
from sitegen.desk.fault import DeskFault, told
from sitegen.studio import money
from sitegen.studio.fields import read_hours
from sitegen.studio.settings import Settings
from sitegen.studio.whole import Studio
from sitegen.studio.workload import piece_hours
from sitegen.studio.worth import USUAL_MARGIN, WEEKS_A_YEAR, Worth, WorthTerms, work_out

CAUTION = (
    "Before tax and social insurance: what is left of an hour after them depends on where and how you "
    "live. This is no tax advice; ask a licensed professional."
)
# What is missing, and what to write for it.
_LINES = {
    "rate": "`rate: 25`, what an hour at the bench has to earn",
    "overhead": "`overhead: 200`, what the studio costs a month (0 if nothing)",
    "weekly_hours": "`weekly_hours: 20`, bench hours in a usual week",
}


@dataclass(frozen=True)
class PieceWorth:
    """A piece's worth, for the artist's eyes."""

    title: str
    source: str
    """Where the asking price is from."""
    settings: Settings
    worth: Worth = field(repr=False)

    def as_answer(self) -> dict[str, str | None]:
        """Return the answer for machines: money as strings, null where there's no asking price."""
        worth, digits = self.worth, self.settings.digits

        def text(amount: Decimal | None) -> str | None:
            return None if amount is None else money.plain(amount, digits)

        return {
            "supplies": text(worth.supplies),
            "hours": f"{worth.hours.normalize():f}",
            "overhead": text(worth.overhead),
            "fees": text(worth.fees),
            "floor": text(worth.floor),
            "fair": text(worth.fair),
            "asking": text(worth.asking),
            "hourly": text(worth.hourly),
        }

    def lines(self) -> list[str]:
        """Write the answer for a person."""
        return [
            self.title,
            "",
            *words.table(self._rows(), right=(1,)),
            "",
            *self._verdict(),
            CAUTION,
        ]

    def _rows(self) -> list[tuple[str, str, str]]:
        worth, desk = self.worth, self.settings.private
        at = "asking" if worth.asking is not None else "fair"
        margin = USUAL_MARGIN if desk.margin is None else desk.margin
        rows = [
            ("Supplies", self._money(worth.supplies), ""),
            ("Hours", self._money(worth.wage), f"{worth.hours.normalize():f} h at {desk.rate}"),
            ("Overhead", self._money(worth.overhead), "this piece's share"),
            ("Selling", self._money(worth.fees), f"{desk.fees.normalize():f} % of the {at} price"),
            ("Floor", self._money(worth.floor), "below it an hour earns less than your rate"),
            ("Fair", self._money(worth.fair), f"with {margin.normalize():f} % for what no hour sheet shows"),
        ]
        if worth.asking is not None:
            rows.append(("Asking", self._money(worth.asking), self.source))
        if worth.hourly is not None:
            rows.append(("An hour earns", self._money(worth.hourly), f"at the {at} price"))
        return rows

    def _verdict(self) -> list[str]:
        worth = self.worth
        if worth.asking is None:
            return ["It has no price yet."]
        if worth.short:
            return [f"The asking price lies {self._money(worth.short)} below the floor."]
        if worth.asking < worth.fair:
            short = self._money(worth.fair - worth.asking)
            return [f"The asking price pays your rate, and lies {short} below the fair price."]
        return ["The asking price is fair."]

    def _money(self, value: Decimal) -> str:
        return words.amount(value, self.settings)


def piece_worth(studio: Studio, slug: str) -> PieceWorth:
    """Work out what a piece is worth. A sold piece's asking price is what it was sold for.

    Raises DeskFault if there's no such piece, nobody wrote its hours, or the artist's own numbers are
    missing.
    """
    piece = find.piece(studio, slug)
    terms = worth_terms(studio.settings)
    hours = piece_hours(studio, piece)
    if not hours:
        raise DeskFault(
            f"pieces/{piece.slug}/piece.yaml tells of no hours, so nothing can be worked out; under "
            "`private:` write `hours: {sculpting: 12.5, painting: 9}`"
        )
    sold = piece.private.sold
    source = f"what it was sold for on {sold.on}" if sold else "in its piece.yaml"
    with told("studio.yaml, private"):
        worth = work_out(
            sum((one.cost for one in piece.private.supplies), Decimal(0)),
            hours,
            terms,
            studio.settings.digits,
            sold.price if sold else piece.price,
        )
    return PieceWorth(piece.title, source, studio.settings, worth)


def quote(settings: Settings, hours: str, supplies: str, price: str | None = None) -> PieceWorth:
    """Work out what a piece would be worth that isn't begun, from figures typed in.

    Raises DeskFault for a figure that can't be read, no hours, or missing numbers of the artist's own.
    """
    terms, digits = worth_terms(settings), settings.digits
    with told("--hours"):
        bench = Decimal(read_hours(hours))
    if not bench:
        raise DeskFault("--hours of 0 leaves nothing to work out; write how long you think it takes, like 30")
    with told("--supplies"):
        bought = money.read_amount(supplies, digits)
    with told("--price"):
        asking = None if price is None else money.read_amount(price, digits)
    with told("studio.yaml, private"):
        worth = work_out(bought, bench, terms, digits, asking)
    return PieceWorth("A piece not yet begun", "typed in", settings, worth)


def worth_terms(settings: Settings) -> WorthTerms:
    """Return the artist's own numbers. Raises DeskFault that names all that are missing."""
    desk = settings.private
    rate, overhead, weekly = desk.rate, desk.overhead, desk.weekly_hours
    if rate is None or overhead is None or weekly is None:
        missing = [line for name, line in _LINES.items() if getattr(desk, name) is None]
        raise DeskFault(
            "studio.yaml doesn't say enough to work out a price; under `private:` write "
            f"{words.listed(missing)}. Nobody but you ever sees these"
        )
    return WorthTerms(
        rate=rate,
        overhead=overhead,
        weekly_hours=weekly,
        fees=desk.fees,
        margin=USUAL_MARGIN if desk.margin is None else desk.margin,
        weeks=WEEKS_A_YEAR if desk.weeks is None else desk.weeks,
    )
