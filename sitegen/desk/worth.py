"""Say what a piece costs, what would be fair, what an hour earns at its price; and what is on hand."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sitegen.desk import find, words
from sitegen.studio import money, wage
from sitegen.studio.asked import Fault, WishFault, ask, told, wish
from sitegen.studio.fields import read_hours
from sitegen.studio.money import NOTHING, total
from sitegen.studio.piece import Piece, Status
from sitegen.studio.purses import supplies_of
from sitegen.studio.settings import Desk, Settings
from sitegen.studio.text import bare, counted
from sitegen.studio.whole import Studio
from sitegen.studio.workload import piece_hours, usual_hours

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


@wish
class WorthWish:
    slug: str | None = ask(default=None, word=True)
    hours: str | None = ask("Without SLUG: how many hours you think it takes.", default=None)
    tier: str | None = ask("Without SLUG: a size of commission, whose usual hours are taken.", default=None)
    supplies: str = ask("With --hours or --tier: what you'd buy for it.", default="0")
    price: str | None = ask("With --hours or --tier: the price you have in mind.", default=None)

    def __post_init__(self) -> None:
        if (self.hours is not None) + (self.tier is not None) + (self.slug is not None) != 1:
            raise WishFault("Name one piece, or say --hours or --tier for one that isn't begun.")
        if self.slug is not None and (self.supplies, self.price) != ("0", None):
            raise WishFault("A piece has its own supplies and price noted with it; leave both out here.")


@dataclass(frozen=True)
class PieceWorth:
    """A piece's worth, for the artist's eyes."""

    title: str
    source: str  # where the asking price is from
    settings: Settings
    worth: wage.Worth = field(repr=False)
    year: wage.YearAtTheBench = field(repr=False)  # the last twelve months
    fees: Decimal = field(repr=False)  # per cent that selling takes of this one
    seller: str = ""  # the place that sells it, where that isn't the artist

    @property
    def overhead_worked(self) -> Decimal | None:
        """Running costs of this piece's hours, spread over the hours really worked."""
        if (share := self.year.an_hour(self.year.worked)) is None:
            return None
        return wage.round_fraction(share * Fraction(self.worth.hours), self.settings.digits)

    @property
    def needed(self) -> Decimal | None:
        """What it must cost if the coming year sells as the last one did."""
        return self._at(self.year.needed(self.settings.private.rate or Decimal(0)))

    @property
    def needed_for_all(self) -> Decimal | None:
        """What it must cost if, beside that, what is on the shelf never sells."""
        return self._at(self.year.needed_for_all(self.settings.private.rate or Decimal(0)))

    def _at(self, an_hour: Fraction | None) -> Decimal | None:
        """Price it, rounded up to the coin, if an hour has to bring so much."""
        cost = Fraction(self.worth.hours) * (an_hour or 0) + Fraction(self.worth.supplies)
        return None if an_hour is None else wage.priced(cost, self.fees, self.settings.digits)

    def as_answer(self) -> dict[str, Any]:
        names = (
            "supplies:worth.supplies hours:worth.hours overhead:worth.overhead fees:worth.fees "
            "floor:worth.floor fair:worth.fair asking:worth.asking hourly:worth.hourly overhead_worked "
            "needed needed_for_all from:year.first to:year.last"
        )
        return words.facts(self, names, self.settings.digits)

    def lines(self) -> list[str]:
        return [self.title, "", *words.table(self.rows()), "", *self.explained()]

    def explained(self) -> list[str]:
        """Say in sentences what the amounts come to."""
        return [*self.verdict(), *self._last_year(), CAUTION]

    def rows(self) -> list[tuple[str, str, str]]:
        """Return each amount with its name and where it comes from."""
        worth, desk = self.worth, self.settings.private
        at = "asking" if worth.asking is not None else "fair"
        seller = f", for {self.seller}" if self.seller else ""
        rows = [
            ("Supplies", worth.supplies, ""),
            ("Hours", worth.wage, f"{bare(worth.hours)} h at {desk.rate}"),
            ("Overhead", worth.overhead, "this piece's share"),
            ("Selling", worth.fees, f"{bare(round(self.fees, 2))}% of the {at} price{seller}"),
            ("Floor", worth.floor, "below it an hour earns less than your rate"),
            ("Fair", worth.fair, f"with {bare(desk.margin)}% for what no hour sheet shows"),
            ("Asking", worth.asking, self.source),
            ("An hour earns", worth.hourly, f"at the {at} price"),
        ]
        return [(name, self.settings.said(sum_), said) for name, sum_, said in rows if sum_ is not None]

    def verdict(self) -> list[str]:
        """Say how the asking price stands to what is fair."""
        worth, say = self.worth, self.settings.said
        if worth.asking is None:
            return ["It has no price yet."]
        said = "is fair"
        if worth.short:
            said = f"lies {say(worth.short)} below the floor"
        elif worth.asking < worth.fair:
            said = f"pays your rate, and lies {say(worth.fair - worth.asking)} below the fair price"
        return [f"The asking price {said}."]

    def _last_year(self) -> list[str]:
        """Say what the last twelve months teach of overhead and of what doesn't sell."""
        year, say = self.year, self.settings.said
        if self.overhead_worked is None:
            return []
        said = [
            f"From {year.first} to {year.last} your weeks had room for {_hours(year.planned)}; the overhead "
            f"above counts those. On record for what was made are {_hours(year.worked)}: spread over them, "
            f"with shows and other expenses, this piece's share is {say(self.overhead_worked)}."
        ]
        if year.sold and year.no_hours:
            said.append(
                "What it must cost if the coming year sells as those months did can't be told: no hours are "
                f"noted for {words.listed(year.no_hours)}."
            )
        if self.needed is not None:
            said.append(
                f"If the coming year sells as those months did ({_hours(year.sold)} in pieces and orders), "
                f"it must cost {say(self.needed)} to pay your rate for what sells and all that keeps "
                "the studio open, with what classes and others bring."
            )
        if self.needed_for_all is not None:
            said.append(
                f"{_hours(year.worked - year.in_all)} more were worked than sold; they are paid when that "
                f"sells. If it never did, this piece would have to cost {say(self.needed_for_all)}."
            )
        return said


def piece_worth(studio: Studio, slug: str, today: date) -> PieceWorth:
    """Work out what a piece is worth. A sold piece's asking price is what it was sold for.

    Raises Fault if there's no such piece, nobody wrote its hours, or the artist's own numbers are
    missing.
    """
    piece = find.piece(studio, slug)
    year = wage.last_twelve_months(studio, today)
    desk = own_numbers(studio.settings, year)
    hours = piece_hours(studio, piece)
    if not hours:
        raise Fault(
            f"pieces/{piece.slug}/piece.yaml tells of no hours, so nothing can be worked out; under "
            "`private:` write `hours: {sculpting: 12.5, painting: 9}`"
        )
    sold, digits = piece.private.sold, studio.settings.digits
    source = f"what it was sold for on {sold.on}" if sold else "as noted with it"
    fees, seller = _selling(piece, desk.fees, today)
    desk, asking = desk.model_copy(update={"fees": fees}), sold.price if sold else piece.price
    with told("studio.yaml, private"):
        worth = wage.work_out(supplies_of(piece), hours, desk, digits, asking)
    return PieceWorth(piece.title, source, studio.settings, worth, year, fees, seller)


def _selling(piece: Piece, usual: Decimal, today: date) -> tuple[Decimal, str]:
    """Return what share of its price selling takes, and the place that takes it, if one does."""
    sold = piece.private.sold
    place = piece.stay(today)
    if sold is not None and sold.fee is not None and sold.price:
        # So many places give the same coin back, for any price that money is counted in.
        return round(sold.fee * 100 / sold.price, 12), sold.at
    if sold is None and place is not None and place.private.share is not None:
        return place.private.share, place.place
    return usual, ""


def quote(studio: Studio, wish: WorthWish, today: date) -> PieceWorth:
    """Work out what a piece would be worth that isn't begun, from figures typed in.

    Raises Fault for a figure that can't be read, no hours, or missing numbers of the artist's own.
    """
    settings = studio.settings
    year = wage.last_twelve_months(studio, today)
    desk, digits = own_numbers(settings, year), settings.digits
    if wish.tier is not None:
        tier = find.tier(studio, wish.tier).name
        with told():
            bench = Decimal(str(usual_hours(studio, tier, today)))
    else:
        with told("--hours"):
            bench = Decimal(read_hours(wish.hours or "0"))
    if not bench:
        raise Fault("--hours of 0 leaves nothing to work out; write how long you think it takes, like 30")
    with told("--supplies"):
        bought = money.read_amount(wish.supplies, digits)
    with told("--price"):
        asking = None if wish.price is None else money.read_amount(wish.price, digits)
    with told("studio.yaml, private"):
        worth = wage.work_out(bought, bench, desk, digits, asking)
    title = f"A {wish.tier} not yet begun" if wish.tier else "A piece not yet begun"
    return PieceWorth(title, "typed in", settings, worth, year, desk.fees)


def own_numbers(settings: Settings, year: wage.YearAtTheBench) -> Desk:
    """Return the artist's own numbers with the weeks worked. Raises Fault that names all that are missing."""
    desk = settings.private
    if missing := [line for name, line in _LINES.items() if getattr(desk, name) is None]:
        raise Fault(
            "studio.yaml doesn't say enough to work out a price; under `private:` write "
            f"{words.listed(missing)}. Nobody but you ever sees these"
        )
    return desk.model_copy(update={"weeks": wage.weeks_worked(desk, year.first, year.last)})


def _hours(hours: Decimal) -> str:
    return f"{bare(hours)} h"


STOCK_CAUTION = (
    "What counts as stock, and whether one's own hours are part of its cost, differs from place to place: in "
    "many, a sole maker's are not. This is no tax advice; ask an accountant which column your return wants."
)


@dataclass(frozen=True, slots=True)
class OnHand:
    piece: Piece
    supplies: Decimal = field(repr=False)  # what was bought for it
    hours_at_rate: Decimal = field(repr=False)
    """Its bench hours at the studio's rate; 0 where either isn't noted."""

    @property
    def cost(self) -> Decimal:
        return self.supplies + self.hours_at_rate

    @property
    def price(self) -> Decimal | None:
        return self.piece.price

    @property
    def value(self) -> tuple[Decimal | None, str]:
        """Return what it's worth, and whether that is its price, its cost, or not known."""
        if self.price is not None:
            return self.price, "price"
        return (self.cost, "cost") if self.cost else (None, "none")


@dataclass(frozen=True)
class Stock:
    day: date
    settings: Settings
    lines_of: tuple[OnHand, ...] = field(repr=False)
    left_out: tuple[str, ...] = field(repr=False)  # what isn't counted, and why, a sentence each

    def total(self, name: str) -> Decimal:
        """Add up supplies, hours_at_rate, cost or price."""
        return total(getattr(held, name) or NOTHING for held in self.lines_of)

    def table(self) -> Iterator[tuple[str, ...]]:
        """Yield the rows of a table, its heading first and the sums last."""
        yield ("number", "piece", "title", "status", "finished", *_SUMS, "currency")
        currency, say = self.settings.currency, self.settings.plain
        for held in self.lines_of:
            piece, sums = held.piece, (getattr(held, name) for name in _SUMS)
            yield (
                piece.number or "", piece.slug, piece.title, str(piece.status), str(piece.finished or ""),
                *("" if sum_ is None else say(sum_) for sum_ in sums), currency,
            )  # fmt: skip
        yield ("", "", "together", "", "", *(say(self.total(name)) for name in _SUMS), currency)

    def as_answer(self) -> dict[str, object]:
        head, *rows, _ = self.table()
        return {
            "on": self.day.isoformat(), "pieces": [dict(zip(head, row, strict=True)) for row in rows],
            "totals": {name: self.settings.plain(self.total(name)) for name in _SUMS},
            "left_out": list(self.left_out),
        }  # fmt: skip

    def lines(self) -> list[str]:
        head, *rows = self.table()
        shown = [(row[0], row[2], *row[5:9]) for row in (head, *rows)]
        count = counted(len(self.lines_of), "piece", "pieces")
        return [
            f"On hand on {self.day}: {count}, in {self.settings.currency}.",
            "", *words.table(shown), "", *self.left_out, STOCK_CAUTION,
        ]  # fmt: skip


_SUMS = ("supplies", "hours_at_rate", "cost", "price")


def stock(studio: Studio, day: date, today: date) -> Stock:
    """Say what was on hand in the evening of a day. Raises Fault for a day still to come."""
    if day > today:
        raise Fault(f"{day} is still to come; nobody knows what will be on hand then")
    finished = [piece for piece in studio.pieces if piece.status is not Status.IN_PROGRESS]
    own = [piece for piece in finished if not piece.private.order and (piece.finished or day) <= day]
    here = sorted((one for one in own if not _gone(one, day)), key=lambda one: (one.number or "", one.slug))
    left_out = {
        "on the bench today and not counted; what was begun by that day isn't noted":
            [piece for piece in studio.pieces if piece.status is Status.IN_PROGRESS],
        "made for an order and not counted": [piece for piece in finished if piece.private.order],
        "counted, though no day says when it was finished": [one for one in here if one.finished is None],
        "gone on a day that isn't noted, and not counted": [piece for piece in own if piece.unpriced_sale],
    }  # fmt: skip
    named = ((words.listed([piece.title for piece in pieces]), what) for what, pieces in left_out.items())
    said = [f"{titles}: {what}." for titles, what in named if titles]
    return Stock(day, studio.settings, tuple(on_hand(here, studio.settings)), tuple(said))


def on_hand(pieces: Iterable[Piece], settings: Settings) -> Iterator[OnHand]:
    """Yield what each piece cost so far."""
    rate = settings.private.rate or Decimal(0)
    for piece in pieces:
        yield OnHand(piece, supplies_of(piece), money.round_half_up(piece.hours * rate, settings.digits))


def _gone(piece: Piece, day: date) -> bool:
    """Tell whether somebody else had it that evening."""
    sold = any(
        sale.on <= day and (sale.returned is None or sale.returned > day) for sale in piece.private.sales
    )
    return sold or piece.unpriced_sale
