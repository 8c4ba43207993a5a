"""Prices over time: each as a dot against size, hours and year, what stands out, what is alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from operator import itemgetter
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, Values
from sitegen.browser.desk import at, handed_out, page, tongue_of
from sitegen.browser.forms import Own
from sitegen.jobs import prices as jobs
from sitegen.studio.prices import MEASURES, Along, Priced
from sitegen.studio.whole import Studio

# Lines of each table that stand on the page; the table to take along has all.
_A_PAGE = 100


def _fields(studio: Studio, _: Values) -> Own:
    free = [piece for piece in studio.pieces if piece.status.offered and piece.price]
    free.sort(key=lambda one: (one.number or "", one.slug), reverse=True)
    unit = {"unit": studio.settings.currency}
    return {
        "slugs": {"kind": "ticks", "label": "Pieces", "choices": tuple((one.slug, one.title) for one in free),
                  "help": "None ticked: each that is available."},
        "by": {"label": "By per cent", "help": "At each step: 5, or -10 for less."},
        "to": {"kind": "amount", "label": "To a price", "help": "In place of per cent; of one piece.",
               **unit},
        "tiers": {"label": "Sizes of commissions too", "help": ""},
        "on": {"kind": "long", "label": "Days of the steps",
               "help": "A day a line, like 2027-01-15. Left open: today."},
        "nearest": {"kind": "amount", "label": "Round to the nearest", "help": "Like 10.", **unit},
    }  # fmt: skip


DEEDS = {
    "prices.reprice": Deed(
        "Change prices in steps", "Show what would be written", "money", own=_fields, back="/money/prices",
        sure="Write the new prices",
        told="Only a step of today is written; for a later one come back on its day. "
        "What was offered or agreed on keeps its price.",
    ),
}  # fmt: skip


def _dots(of: Along, prices: Sequence[Priced], money: Callable[[Decimal], str]) -> dict[str, Any]:
    """Draw prices against one thing, in per cent from the left and the top; nothing for fewer than two."""
    measure = MEASURES[of.name][1]
    known = sorted(((x, one) for one in prices if (x := measure(one)) is not None), key=itemgetter(0))
    least, most = (known[0][0], known[-1][0]) if known else (0.0, 0.0)
    if least == most:
        return {"name": of.name, "dots": ()}
    top, far = max(one.price for _, one in known), {one.one for one in of.odd}

    def at(x: float, price: float) -> tuple[str, str]:
        high = 94 - 84 * price / float(top or 1)
        return f"{2 + 96 * (x - least) / (most - least):.2f}%", f"{high:.2f}%"

    dots = [(*at(x, float(one.price)), f"{one.title}, {money(one.price)}", one in far) for x, one in known]
    line = [at(x, of.line.at(x)) for x in (least, most)] if of.line else ()
    ends = (_said(of.name, known[0][1]), _said(of.name, known[-1][1]))
    return {"name": of.name, "dots": dots, "line": line, "ends": ends, "highest": money(top)}


def _said(name: str, one: Priced) -> str:
    return {"size": f"{(one.height_mm or 0) / 10:g} cm", "hours": f"{one.hours} h"}.get(name, f"{one.on:%Y}")


def prices(request: Request) -> Response:
    """Show all prices beside each other."""
    desk = at(request)
    found, studio = jobs.prices(desk.folder, desk.today), desk.read()
    tongue = tongue_of(studio)
    drawn = [(found.tells(of), _dots(of, found.prices, tongue.exact_money)) for of in found.lines_through]
    return page(
        request, "prices.html", screen="money", found=found, tongue=tongue,
        drawn=drawn, many=_A_PAGE, latest=found.prices[::-1][:_A_PAGE],
        codes={order.code for order in studio.commissions.queue},
    )  # fmt: skip


def table(request: Request) -> Response:
    """Hand out every price, as CSV (RFC 4180)."""
    desk = at(request)
    return handed_out(jobs.prices(desk.folder, desk.today).table(), "prices.csv")


ROUTES = [Route("/money/prices", prices), Route("/money/prices.csv", table)]
