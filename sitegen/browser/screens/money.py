"""Money: the years beside each other, what is to come, one year's books, what a piece must cost."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.bars import FILLS, Bars, bars
from sitegen.browser.deeds import Deed, Values, form, wish_of
from sitegen.browser.desk import at, handed_out, page, speaks, tongue_of
from sitegen.browser.forms import HIDDEN, Ask, Own, asks_of, picks, wish_from
from sitegen.jobs import answers
from sitegen.studio.fault import Fault
from sitegen.studio.payments import Standing
from sitegen.studio.plan import Weekend
from sitegen.studio.whole import Studio
from sitegen.studio.workload import piece_hours
from sitegen.voice.voice import Tongue

# So many years stand beside each other; the others have their own pages.
_BESIDE = len(FILLS) - 1

DEEDS = {
    "answers.books": Deed(
        "Close a year", "Show what would be kept", "money", back="/money/{year}",
        told="A closed year stays as it is: no later change of a file, a rate or a fee alters it.",
        own=lambda *_: {"close": {**HIDDEN, "value": "yes"}, "year": {"needed": True, "help": ""}},
        sure="Close the year",
        caution=(
            "Do it once its last payments and costs are noted. What you file or pay tax on goes by the rules "
            "where you live; show the books to a licensed professional first."
        ),
    ),
}  # fmt: skip


def money(request: Request) -> Response:
    """Show the years beside each other, and the money ahead."""
    desk = at(request)
    studio, years = desk.read(), answers.years(desk.folder, desk.today).years
    ahead = answers.ahead(desk.folder, desk.today)
    tongue, beside = tongue_of(studio), years[:_BESIDE]
    last = next((one for one in years if one.year == ahead.day.year - 1 and not one.closed), None)
    return page(
        request, "money.html", screen="money", beside=beside, earlier=years[_BESIDE:], ahead=ahead, last=last,
        tongue=tongue, drawn=_by_stream(beside, tongue), coming=_by_month(ahead, tongue), of_year=_of_year,
        codes={order.code for order in studio.commissions.queue}, flow_names=ahead.flow.names,
        sum_of=lambda month, standing: _or_nothing(tongue, month.sum_of(Standing(standing))),
    )  # fmt: skip


def _of_year(year: Any, amount: Decimal) -> str:
    """Write a sum of a year, in the currency that it was kept in."""
    return speaks(year.rates.currency, year.rates.digits).exact_money(amount)


def _or_nothing(tongue: Tongue, amount: Decimal) -> str:
    return tongue.exact_money(amount) if amount else ""


def _by_stream(years: Any, tongue: Tongue) -> Bars:
    """Draw each stream's income, a bar a year."""
    years = [one for one in years if one.rates.currency == tongue.currency]
    fills = {one.year: FILLS[place] for place, one in enumerate(years)}
    streams = [one for one in (years[0].income if years else ()) if any(year.income[one] for year in years)]
    return bars(
        (
            stream.capitalize(),
            [
                (str(year.year), tongue.exact_money(sum_), [(fills[year.year], sum_)])
                for year in years
                for sum_ in (year.income[stream],)
            ],
        )
        for stream in streams
    )


_HOW = {Standing.LATE: "cross", Standing.DUE: "hatch", Standing.TO_COME: "full"}


def _by_month(ahead: Any, tongue: Tongue) -> Bars:
    """Draw what is to come, a bar a month, what is late first."""
    groups = []
    for month in ahead.months:
        sums = [(said, fill, month.sum_of(said)) for said, fill in _HOW.items()]
        stands = " and ".join(str(said) for said, _, sum_ in sums if sum_)
        named = f"{month.first:%b %Y}" if month.first else "No day agreed on"
        name = f"{named}: {tongue.exact_money(month.sum_of())} {stands}"
        groups.append((name, [("", "", [(fill, sum_) for _, fill, sum_ in sums])]))
    return bars(groups)


def year(request: Request) -> Response:
    """Show one year's books."""
    desk = at(request)
    studio, found = desk.read(), _books(request)
    tongue = speaks(found.rates.currency, found.rates.digits)
    over = found.year < answers.years(desk.folder, desk.today).years[0].year
    closing = form(desk, "answers.books", studio, year=str(found.year)) if over and not found.closed else None
    if closing:
        closing["asks"] = tuple(one if one.name != "year" else _hidden(one) for one in closing["asks"])
    return page(
        request, "year.html", screen="money", books=found, closing=closing, say=tongue.exact_money,
        hours=lambda hours: f"{tongue.number(hours)} h",
        codes={order.code for order in studio.commissions.queue},
    )  # fmt: skip


def _hidden(ask: Ask) -> Ask:
    return Ask(ask.name, kind="hidden", value=ask.value)


def _books(request: Request) -> Any:
    desk = at(request)
    wish = wish_from(wish_of("answers.books"), {"year": str(request.path_params["year"])})
    return answers.books(desk.folder, wish, desk.today)


def table(request: Request) -> Response:
    """Hand out a year for the accountant, as CSV (RFC 4180)."""
    found = _books(request)
    return handed_out(found.table(), f"books-{found.year}.csv")


def ahead_table(request: Request) -> Response:
    """Hand out the money ahead as CSV."""
    desk = at(request)
    return handed_out(answers.ahead(desk.folder, desk.today).table(), "ahead.csv")


def worth(request: Request) -> Response:
    """Say what a piece is worth, or one that isn't begun."""
    return _asked(request, "answers.worth", "worth.html", _worth_fields, ("slug", "hours", "tier"))


def plan(request: Request) -> Response:
    """Lay a payment plan out."""
    return _asked(request, "answers.plan", "plan.html", _plan_fields, ("what",))


def _worth_fields(studio: Studio, _: Values) -> Own:
    sizes = picks((tier.name for tier in studio.commissions.tiers), empty="none of them")
    money = {"kind": "amount", "unit": studio.settings.currency}
    return {
        "slug": {"label": "A piece", "help": "Its title. Its hours, supplies and price are noted with it."},
        "tier": {"kind": "pick", "choices": sizes, "label": "Or a size of commission, not begun",
                 "help": "Its usual hours are taken, by your records."},
        "hours": {"kind": "number", "label": "Or hours you think it takes", "help": ""},
        "supplies": {**money, "help": "What you'd buy for it, where it isn't begun.", "value": ""},
        "price": {**money, "label": "The price you have in mind", "help": "Where it isn't begun."},
    }  # fmt: skip


def _plan_fields(studio: Studio, _: Values) -> Own:
    return {
        "what": {"label": "A price, or a piece", "unit": studio.settings.currency, "needed": True,
                 "help": "Digits and a point, a piece's title, or an order's code."},
        "deposit": {"help": "A share like 20%, or an amount. Left open: as your terms say."},
        "instalments": {"help": "Besides the deposit. Left open: as your terms say for such a price."},
        "start": {"kind": "day", "label": "The deposit is due", "help": "Left open: today."},
        "charge": {"kind": "amount", "label": "Charge for paying later", "unit": studio.settings.currency},
        "weekend": {"kind": "pick", "label": "A due date on a weekend", "help": "",
                    "choices": picks(map(str, Weekend), empty="as your terms say")},
        "currency": HIDDEN,
    }  # fmt: skip


def _asked(
    request: Request, path: str, template: str, own: Callable[[Studio, Values], Own], of: tuple[str, ...]
) -> Response:
    """Show a question with its answer below; what is wrong with it stands above its fields."""
    desk, values = at(request), dict(request.query_params)
    studio, kind = desk.read(), wish_of(path)
    asks = [one.filled(values[one.name]) if one.name in values else one
            for one in asks_of(kind, own(studio, values))]  # fmt: skip
    answer, fault, mend = None, "", None
    typed = {name: value for name, value in values.items() if value}
    if of[0] in typed and of[0] in {"slug", "what"}:
        typed[of[0]] = _slug_of(studio, typed[of[0]])
    if any(typed.get(name) for name in of):
        mend = _to_mend(studio, path, typed.get(of[0], ""))
        try:
            answer = (
                None
                if mend
                else getattr(answers, path.split(".")[1])(desk.folder, wish_from(kind, typed), desk.today)
            )
        except Fault as wrong:
            fault = str(wrong)
    shown = {"asks": asks, "answer": answer, "fault": fault, "mend": mend}
    return page(request, template, 422 if fault else 200, screen="money", **shown)


def booking(request: Request) -> Response:
    """Say what a show must sell, before it's booked."""
    return _asked(request, "answers.booking", "booking.html", _booking_fields, ("cost",))


def _booking_fields(studio: Studio, _: Values) -> Own:
    return {
        "cost": {"kind": "amount", "unit": studio.settings.currency, "needed": True,
                 "label": "All it would cost", "help": "The table, the way, a room."},
        "hours": {"kind": "number", "label": "Its own hours"},
    }  # fmt: skip


def _slug_of(studio: Studio, typed: str) -> str:
    """Return the name of the piece that a title, or a part of one only, means; or what was typed."""
    title, said = typed.strip().casefold(), {piece.slug: piece.title.casefold() for piece in studio.pieces}
    whole = [slug for slug, words in said.items() if title in {slug, words}]
    found = whole or [slug for slug, words in said.items() if len(title) > 2 and title in words]
    return found[0] if len(found) == 1 else typed.strip()


def _to_mend(studio: Studio, path: str, slug: str) -> tuple[str, str, str] | None:
    """Say what has to be noted before there's an answer, where, and what the way there is called."""
    desk, piece = studio.settings.private, studio.piece(slug)
    if path == "answers.worth" and None in {desk.rate, desk.overhead, desk.weekly_hours}:
        said = (
            "What an hour has to earn, what the studio costs a month and the hours of a week aren't all "
            "noted yet. Nobody but you ever sees them."
        )
        return said, "/settings/part/bench", "Note them in the settings"
    if path == "answers.worth" and piece and not piece_hours(studio, piece):
        return f"No hours are noted for {piece.title} yet.", f"/pieces/{slug}", "Note them with the piece"
    if path == "answers.plan" and piece and piece.price is None and piece.private.plan is None:
        return f"{piece.title} has no price yet.", f"/pieces/{slug}", "Write it on its page"
    return None


ROUTES = [
    Route("/money", money),
    Route("/money/worth", worth),
    Route("/money/plan", plan),
    Route("/money/ahead.csv", ahead_table),
    Route("/money/booking", booking),
    Route("/money/{year:int}", year),
    Route("/money/{year:int}/books.csv", table),
]
