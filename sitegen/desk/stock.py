"""What is on hand on a day: at cost and at price, and what each piece is worth to an insurer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from sitegen.desk import words
from sitegen.studio.fault import Fault
from sitegen.studio.money import plain, round_half_up
from sitegen.studio.piece import Piece, Status
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
    def value(self) -> tuple[Decimal | None, str]:
        """Return what it's worth, and whether that is its price, its cost, or not known."""
        if self.piece.price is not None:
            return self.piece.price, "price"
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
        return sum((self._of(one, name) or Decimal(0) for one in self.lines_of), Decimal(0))

    def _of(self, one: OnHand, name: str) -> Decimal | None:
        found: Decimal | None = one.piece.price if name == "price" else getattr(one, name)
        return found

    def table(self) -> Iterator[tuple[str, ...]]:
        """Yield the rows of a table, its heading first and the sums last."""
        yield ("number", "piece", "title", "status", "finished", *_SUMS, "currency")
        currency, digits = self.settings.currency, self.settings.digits
        for one in self.lines_of:
            piece, sums = one.piece, (self._of(one, name) for name in _SUMS)
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
    own = [one for one in finished if not one.private.order]
    dated = [one for one in own if one.finished is not None and one.finished <= day]
    undated = [one for one in own if one.finished is None]
    here = [one for one in (*dated, *undated) if not _gone(one, day)]
    here.sort(key=lambda one: (one.number or "", one.slug))
    sentences = (
        _named([one for one in studio.pieces if one.status is Status.IN_PROGRESS],
               "on the bench today and not counted; what was begun by that day isn't noted"),
        _named([one for one in finished if one.private.order], "made for an order and not counted"),
        _named([one for one in undated if one in here], "counted, though no day says when it was finished"),
        _named([one for one in (*dated, *undated) if _gone_unnoted(one)],
               "gone on a day that isn't noted, and not counted"),
    )  # fmt: skip
    lines = tuple(on_hand(here, studio.settings))
    return Stock(day, studio.settings, lines, tuple(filter(None, sentences)))


def on_hand(pieces: Iterable[Piece], settings: Settings) -> Iterator[OnHand]:
    """Yield what each piece cost so far."""
    rate = settings.private.rate or Decimal(0)
    for piece in pieces:
        supplies = sum((supply.cost for supply in piece.private.supplies), Decimal(0))
        yield OnHand(piece, supplies, round_half_up(piece.hours * rate, settings.digits))


def _gone(piece: Piece, day: date) -> bool:
    """Tell whether somebody else had it that evening."""
    sold = any(
        sale.on <= day and (sale.returned is None or sale.returned > day) for sale in piece.private.sales
    )
    return sold or _gone_unnoted(piece)


def _gone_unnoted(piece: Piece) -> bool:
    return piece.unpriced_sale


def _named(pieces: list[Piece], what: str) -> str:
    return f"{words.listed([piece.title for piece in pieces])}: {what}." if pieces else ""
