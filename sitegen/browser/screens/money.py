"""Money: the years beside each other, what is to come, one year's books, what a piece must cost, prices."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from operator import itemgetter
from typing import Any

from sitegen.browser.deeds import KNOWN, Values, form
from sitegen.browser.desk import DeskTongue, Workplace, speaks
from sitegen.browser.forms import HIDDEN, Own, asks_of, picks, said_of, wish_from
from sitegen.browser.forms import typed as plain
from sitegen.browser.frame import Shown, Visit, handed_out, screen
from sitegen.jobs import answers, wish_of
from sitegen.studio.asked import Fault
from sitegen.studio.plan import Standing, Weekend
from sitegen.studio.prices import MEASURES, Along, Priced
from sitegen.studio.whole import Studio
from sitegen.studio.workload import piece_hours

FILLS = ("full", "hatch", "cross", "dots", "open")
Sums = Sequence[tuple[str, Decimal]]
"""What a bar is made of: a fill and a sum each."""
# A bar: its name, what is said behind it, where it ends, and where each part begins, its length and fill.
Bar = tuple[str, str, str, list[tuple[str, str, str]]]
Bars = list[tuple[str, list[Bar]]]
# So many years stand beside each other; the others have their own pages.
_BESIDE = len(FILLS) - 1
# Prices that stand on the page; the table to take along has all.
_PRICES = 100


def latest_first(pieces: Any) -> list[Any]:
    """Return pieces with the latest first."""
    return sorted(pieces, key=lambda piece: (piece.number or "", piece.slug), reverse=True)


def _reprice(studio: Studio, _: Values) -> Own:
    free = latest_first(piece for piece in studio.pieces if piece.status.offered and piece.price)
    return {"slugs": {"kind": "ticks", "choices": tuple((piece.slug, piece.title) for piece in free)}}


def _closing(_: Studio, values: Values) -> Own:
    """Ask for the year, unless the page of one shows the form."""
    known = values.get("year") and "mark" not in values
    return {"close": {**HIDDEN, "value": "yes"}, "year": HIDDEN if known else {"needed": True}}


KNOWN |= {"answers.books": _closing, "pieces.reprice": _reprice}


@screen("/money", "money")
def _money(desk: Workplace, _: Visit) -> Shown:
    years, ahead = answers.years(desk.folder, desk.today).years, answers.ahead(desk.folder, desk.today)
    tongue, beside = desk.tongue, years[:_BESIDE]
    return {
        "beside": beside, "earlier": years[_BESIDE:], "ahead": ahead,
        "of_year": lambda year, sum_: speaks(year.rates.currency, year.rates.digits).figure(sum_),
        "last": next((year for year in years if year.year == ahead.day.year - 1 and not year.closed), None),
        "drawn": _by_stream(beside, tongue), "coming": _by_month(ahead, tongue), "codes": _codes(desk.read()),
        "sum_of": lambda month, standing: (
            tongue.figure(sum_) if (sum_ := month.sum_of(Standing(standing))) else ""
        ),
    }  # fmt: skip


def _codes(studio: Studio) -> set[str]:
    return {order.code for order in studio.commissions.queue}


def bars(groups: Iterable[tuple[str, Sequence[tuple[str, str, Sums]]]]) -> Bars:
    """Lay named groups of bars to one scale, in per cent; what lies below zero is drawn by its size, open."""
    told = [(name, rows) for name, rows in groups if rows]
    sizes = (sum(abs(amount) for _, amount in sums) for _, rows in told for _, _, sums in rows)
    longest = Decimal(max(sizes, default=0) or 1)

    def laid(name: str, said: str, sums: Sums) -> Bar:
        parts, start = [], Decimal(0)
        for fill, amount in sums:
            if amount:
                length = abs(amount) / longest
                parts.append((f"{start:.2%}", f"{length:.2%}", fill if amount > 0 else "open"))
                start += length
        return name, said, f"{start:.2%}", parts

    return [(name, [laid(*row) for row in rows]) for name, rows in told]


def _by_stream(years: Any, tongue: DeskTongue) -> Bars:
    years = [year for year in years if year.rates.currency == tongue.currency]
    filled = list(zip(years, FILLS, strict=False))

    def rows(stream: str) -> list[tuple[str, str, list[tuple[str, Decimal]]]]:
        sums = [(year, fill, year.income[stream]) for year, fill in filled]
        return [(str(year.year), tongue.figure(sum_), [(fill, sum_)]) for year, fill, sum_ in sums]

    streams = [one for one in (years[0].income if years else ()) if any(year.income[one] for year in years)]
    return bars((stream.capitalize(), rows(stream)) for stream in streams)


_HOW = {Standing.LATE: "cross", Standing.DUE: "hatch", Standing.TO_COME: "full"}


def _by_month(ahead: Any, tongue: DeskTongue) -> Bars:
    groups = []
    for month in ahead.months:
        sums = [(said, fill, month.sum_of(said)) for said, fill in _HOW.items()]
        stands = " and ".join(str(said) for said, _, sum_ in sums if sum_)
        named = f"{month.first:%b %Y}" if month.first else "No day agreed on"
        name = f"{named}: {tongue.figure(month.sum_of())} {stands}"
        groups.append((name, [("", "", [(fill, sum_) for _, fill, sum_ in sums])]))
    return bars(groups)


def dots(of: Along, prices: Sequence[Priced], money: Callable[[Decimal], str]) -> dict[str, Any]:
    """Draw prices against one thing, in per cent from the left and the top; nothing for fewer than two."""
    measure = MEASURES[of.name][1]
    known = sorted(((x, sale) for sale in prices if (x := measure(sale)) is not None), key=itemgetter(0))
    least, most = (known[0][0], known[-1][0]) if known else (0.0, 0.0)
    if least == most:
        return {"name": of.name, "dots": ()}
    top, far = max(sale.price for _, sale in known), {odd_one.one for odd_one in of.odd}

    def at(x: float, price: float) -> tuple[str, str]:
        high = 94 - 84 * price / float(top or 1)
        return f"{2 + 96 * (x - least) / (most - least):.2f}%", f"{high:.2f}%"

    def said(sale: Priced) -> str:
        words = {"size": f"{(sale.height_mm or 0) / 10:g} cm", "hours": f"{sale.hours} h"}
        return words.get(of.name, f"{sale.on:%Y}")

    return {
        "name": of.name, "highest": money(top), "ends": (said(known[0][1]), said(known[-1][1])),
        "dots": [
            (*at(x, float(one.price)), f"{one.title}, {money(one.price)}", one in far) for x, one in known
        ],
        "line": [at(x, of.line.at(x)) for x in (least, most)] if of.line else (),
    }  # fmt: skip


@screen("/money/prices", "prices")
def _prices(desk: Workplace, _: Visit) -> Shown:
    found, say = answers.prices(desk.folder, desk.today), desk.tongue.exact_money
    return {
        "found": found, "many": _PRICES, "codes": _codes(desk.read()), "latest": found.prices[::-1][:_PRICES],
        "drawn": [(found.tells(of), dots(of, found.prices, say)) for of in found.lines_through],
    }  # fmt: skip


_TABLES: Mapping[str, Callable[..., Any]] = {
    "/money/ahead.csv": answers.ahead,
    "/money/prices.csv": answers.prices,
    "/register.csv": answers.register,
}


@screen("/money/ahead.csv")
@screen("/money/prices.csv")
@screen("/register.csv")
def _table(desk: Workplace, asked: Visit) -> Shown:
    return handed_out(_TABLES[asked.path](desk.folder, desk.today).table(), asked.path.split("/")[-1])


@screen("/money/worth", "worth")
def _worth(desk: Workplace, asked: Visit) -> Shown:
    sizes = picks((tier.name for tier in desk.read().commissions.tiers), empty="none of them")
    own: Own = {"tier": {"kind": "pick", "choices": sizes}, "supplies": {"value": ""}}
    return _answered(desk, asked, answers.worth, own, "slug hours tier")


@screen("/money/plan", "plan")
def _plan(desk: Workplace, asked: Visit) -> Shown:
    weekends = picks(map(str, Weekend), empty="as your terms say")
    own: Own = {
        "what": {"unit": desk.read().settings.currency, "needed": True},
        "weekend": {"kind": "pick", "choices": weekends},
    }
    return _answered(desk, asked, answers.plan, own, "what")


@screen("/money/booking", "booking")
def _booking(desk: Workplace, asked: Visit) -> Shown:
    return _answered(desk, asked, answers.booking, {"cost": {"needed": True}}, "cost")


def _answered(desk: Workplace, asked: Visit, job: Callable[..., Any], own: Own, of: str) -> Shown:
    """Show a question with its answer below; what is wrong with it stands above its fields."""
    studio, first = desk.read(), of.split(maxsplit=1)[0]
    name = f"answers.{job.__name__}"
    kind = wish_of(name)
    typed = {name: value for name, value in asked.items() if value}
    if first in typed and first != "cost":
        typed[first] = _slug_of(studio, typed[first])
    answer, fault, mend = None, "", None
    if any(name in typed for name in of.split()):
        mend = _to_mend(studio, job.__name__, typed.get(first, ""))
        try:
            answer = None if mend else job(desk.folder, wish_from(kind, plain(typed, desk.read)), desk.today)
        except Fault as wrong:
            fault = str(wrong)
    asks = asks_of(kind, said_of(name, own), studio, asked)
    return {"asks": asks, "answer": answer, "fault": fault, "mend": mend}


def _slug_of(studio: Studio, typed: str) -> str:
    """Return the name of the piece that a title, or a part of one only, means; or what was typed."""
    title, said = typed.strip().casefold(), {piece.slug: piece.title.casefold() for piece in studio.pieces}
    whole = [slug for slug, words in said.items() if title in {slug, words}]
    found = whole or [slug for slug, words in said.items() if len(title) > 2 and title in words]
    return found[0] if len(found) == 1 else typed.strip()


def _to_mend(studio: Studio, job: str, slug: str) -> tuple[str, str, str] | None:
    """Say what has to be noted before there's an answer, where, and what the way there is called."""
    desk, piece = studio.settings.private, studio.piece(slug)
    if job == "worth" and None in {desk.rate, desk.overhead, desk.weekly_hours}:
        said = (
            "What an hour has to earn, what the studio costs a month and the hours of a week aren't all "
            "noted yet. Nobody but you ever sees them."
        )
        return said, "/settings/part/bench", "Note them in the settings"
    if job == "worth" and piece and not piece_hours(studio, piece):
        return f"No hours are noted for {piece.title} yet.", f"/pieces/{slug}", "Note them with the piece"
    if job == "plan" and piece and piece.price is None and piece.private.plan is None:
        return f"{piece.title} has no price yet.", f"/pieces/{slug}", "Write it on its page"
    return None


@screen("/money/{year:int}", "year")
def _year(desk: Workplace, asked: Visit) -> Shown:
    studio, found = desk.read(), _books(desk, asked)
    tongue = speaks(found.rates.currency, found.rates.digits)
    over = found.year < answers.years(desk.folder, desk.today).years[0].year
    closing = form(desk, "answers.books", year=str(found.year)) if over and not found.closed else None
    return {
        "books": found, "closing": closing, "say": tongue.exact_money, "figure": tongue.figure,
        "codes": _codes(studio), "hours": lambda hours: f"{tongue.number(hours)} h",
    }  # fmt: skip


@screen("/money/{year:int}/books.csv")
def _year_table(desk: Workplace, asked: Visit) -> Shown:
    found = _books(desk, asked)
    return handed_out(found.table(), f"books-{found.year}.csv")


def _books(desk: Workplace, asked: Visit) -> Any:
    wish = wish_from(wish_of("answers.books"), {"year": asked["year"]})
    return answers.books(desk.folder, wish, desk.today)
