"""What is on hand on a day: at cost and at price, and what each piece is worth to an insurer."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from sitegen.desk import words
from sitegen.studio.coins import NOTHING, total
from sitegen.studio.fault import Fault
from sitegen.studio.money import plain, round_half_up
from sitegen.studio.piece import Piece, Status
from sitegen.studio.purses import supplies_of
from sitegen.studio.settings import Settings
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio

CAUTION = (
    "What counts as stock, and whether one's own hours are part of its cost, differs from place to place: in "
    "many, a sole maker's are not. This is no tax advice; ask an accountant which column your return wants."
)


@dataclass(frozen=True, slots=True)
class OnHand:
    """One piece on hand."""

    piece: Piece
    supplies: Decimal = field(repr=False)  # what was bought for it
    hours_at_rate: Decimal = field(repr=False)
    """Its bench hours at the studio's rate; 0 where either isn't noted."""

    @property
    def cost(self) -> Decimal:
        """Both together."""
        return self.supplies + self.hours_at_rate

    @property
    def price(self) -> Decimal | None:
        """What is asked for it, if anything."""
        return self.piece.price

    @property
    def value(self) -> tuple[Decimal | None, str]:
        """Return what it's worth, and whether that is its price, its cost, or not known."""
        if self.price is not None:
            return self.price, "price"
        return (self.cost, "cost") if self.cost else (None, "none")


@dataclass(frozen=True)
class Stock:
    """What is on hand on a day."""

    day: date
    settings: Settings
    lines_of: tuple[OnHand, ...] = field(repr=False)
    left_out: tuple[str, ...] = field(repr=False)  # what isn't counted, and why, a sentence each

    def total(self, name: str) -> Decimal:
        """Add up supplies, hours_at_rate, cost or price."""
        return total(getattr(one, name) or NOTHING for one in self.lines_of)

    def table(self) -> Iterator[tuple[str, ...]]:
        """Yield the rows of a table, its heading first and the sums last."""
        yield ("number", "piece", "title", "status", "finished", *_SUMS, "currency")
        currency, digits = self.settings.currency, self.settings.digits
        for one in self.lines_of:
            piece, sums = one.piece, (getattr(one, name) for name in _SUMS)
            yield (
                piece.number or "", piece.slug, piece.title, str(piece.status), str(piece.finished or ""),
                *("" if sum_ is None else plain(sum_, digits) for sum_ in sums), currency,
            )  # fmt: skip
        yield ("", "", "together", "", "", *(plain(self.total(name), digits) for name in _SUMS), currency)

    def as_answer(self) -> dict[str, object]:
        head, *rows, _ = self.table()
        return {
            "on": self.day.isoformat(), "pieces": [dict(zip(head, row, strict=True)) for row in rows],
            "totals": {name: plain(self.total(name), self.settings.digits) for name in _SUMS},
            "left_out": list(self.left_out),
        }  # fmt: skip

    def lines(self) -> list[str]:
        head, *rows = self.table()
        shown = [(row[0], row[2], *row[5:9]) for row in (head, *rows)]
        count = counted(len(self.lines_of), "piece", "pieces")
        return [
            f"On hand on {self.day}: {count}, in {self.settings.currency}.",
            "", *words.table(shown), "", *self.left_out, CAUTION,
        ]  # fmt: skip


_SUMS = ("supplies", "hours_at_rate", "cost", "price")


def stock(studio: Studio, day: date, today: date) -> Stock:
    """Say what was on hand in the evening of a day. Raises Fault for a day still to come."""
    if day > today:
        raise Fault(f"{day} is still to come; nobody knows what will be on hand then")
    finished = [piece for piece in studio.pieces if piece.status is not Status.IN_PROGRESS]
    own = [one for one in finished if not one.private.order and (one.finished or day) <= day]
    here = sorted((one for one in own if not _gone(one, day)), key=lambda one: (one.number or "", one.slug))
    left_out = {
        "on the bench today and not counted; what was begun by that day isn't noted":
            [one for one in studio.pieces if one.status is Status.IN_PROGRESS],
        "made for an order and not counted": [one for one in finished if one.private.order],
        "counted, though no day says when it was finished": [one for one in here if one.finished is None],
        "gone on a day that isn't noted, and not counted": [one for one in own if one.unpriced_sale],
    }  # fmt: skip
    named = ((words.listed([one.title for one in pieces]), what) for what, pieces in left_out.items())
    said = [f"{titles}: {what}." for titles, what in named if titles]
    return Stock(day, studio.settings, tuple(on_hand(here, studio.settings)), tuple(said))


def on_hand(pieces: Iterable[Piece], settings: Settings) -> Iterator[OnHand]:
    """Yield what each piece cost so far."""
    rate = settings.private.rate or Decimal(0)
    for piece in pieces:
        yield OnHand(piece, supplies_of(piece), round_half_up(piece.hours * rate, settings.digits))


def _gone(piece: Piece, day: date) -> bool:
    """Tell whether somebody else had it that evening."""
    sold = any(
        sale.on <= day and (sale.returned is None or sale.returned > day) for sale in piece.private.sales
    )
    return sold or piece.unpriced_sale
