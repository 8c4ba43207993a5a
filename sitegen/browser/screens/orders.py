"""The order book: a ledger, one line an order; and one order with all that can be done about it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, Values, form
from sitegen.browser.desk import at, page, tongue_of
from sitegen.browser.forms import picks
from sitegen.jobs import orders as jobs
from sitegen.jobs.orders import ListOrders, OneOrder
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import FOLLOWING
from sitegen.studio.whole import Studio

Own = Mapping[str, Mapping[str, Any]]
_CODE = {"code": {"kind": "hidden"}}
_ENDED_ELSEWHERE = {Step.DECLINED, Step.LAPSED, Step.CALLED_OFF, Step.OFFERED}
"""Steps that have deeds of their own."""
_NOT_ADVICE = "Not legal advice; look at the rules where you and your client live."


def _order(studio: Studio, values: Values) -> Any:
    """Return the order that a form is about; None for one that isn't there."""
    return next((one for one in studio.commissions.queue if one.code == values.get("code")), None)


def _steps(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    following = [step for step in FOLLOWING[order.step] if step not in _ENDED_ELSEWHERE] if order else []
    needs_price = Step.ACCEPTED in following
    return {
        **_CODE,
        "step": {"kind": "pick", "label": "Now it is", "choices": picks(map(str, following))},
        "price": {"unit": studio.settings.currency} if needs_price else {"kind": "hidden"},
    }


def _new(studio: Studio, values: Values) -> Own:
    book = studio.commissions
    return {
        "tier": {"kind": "pick", "choices": picks(one.name for one in book.tiers), "help": ""},
        "round": {
            "kind": "pick",
            "choices": picks((one.name for one in book.rounds), empty="the one in whose time it came"),
            "help": "",
        },
        "notes": {"kind": "long"},
        "on": {"kind": "moment"},
        "price": {"unit": studio.settings.currency},
    }


def _money(studio: Studio, _: Values) -> Own:
    return {**_CODE, "amount": {"kind": "amount", "unit": studio.settings.currency}}


def _hours(studio: Studio, _: Values) -> Own:
    steps = sorted({step for piece in studio.pieces for step in piece.private.hours})
    return {**_CODE, "step": {"help": f"As you call it: {', '.join(steps)}." if steps else ""}}


def _deed(title: str, button: str, told: str = "", **more: Any) -> Deed:
    about: dict[str, Any] = {"own": lambda *_: _CODE, "back": "/orders/{code}", "state": _order}
    return Deed(title, button, "orders", told, **(about | more))


DEEDS = {
    "orders.add": Deed(
        "A request came in", "Put it into the book", "orders", own=_new, back="/orders"
    ),
    "orders.move": _deed("Take a step", "Note the step", own=_steps),
    "orders.promise": _deed("Promise a day", "Note the promise"),
    "orders.take_back": _deed("Take the latest step back", "Take it back"),
    "orders.pay": _deed("Money came in", "Note the payment", own=_money),
    "orders.refund": _deed("Money was sent back", "Note it", own=_money),
    "orders.hours": _deed("Hours at the bench", "Add the hours", own=_hours),
    "orders.decline": _deed("Decline, with a reason", "Decline", "The reason goes into the letter."),
    "orders.cancel": _deed(
        "End it early", "Show what is kept and what goes back",
        sure="Call it off", caution=_NOT_ADVICE,
    ),
    "order_letters.letter": _deed(
        "Write to the client", "Draft the letter", undo=False, state=None,
        told="The letter that this order calls for now, to that client alone. You post it yourself.",
    ),
    "orders.lapsed": Deed(
        "Offers nobody answered", "Show which would be passed on", "orders",
        sure="Let them lapse and pass them on",
    ),
    "papers.agreement": _deed("Print the agreement", "Make the PDF", undo=False, state=None),
}  # fmt: skip


def book(request: Request) -> Response:
    """Show the ledger of orders."""
    desk = at(request)
    everything = request.query_params.get("all") == "yes"
    answer = jobs.book(desk.folder, ListOrders(everything=everything), desk.today)
    studio = desk.read()
    return page(
        request, "orders.html", screen="orders", book=answer, everything=everything,
        tongue=tongue_of(studio), new=form(desk, "orders.add", studio),
        offered=any(one.order.step is Step.OFFERED for one in answer.orders),
    )  # fmt: skip


def order(request: Request) -> Response:
    """Show one order, with what can be done about it."""
    desk, code = at(request), request.path_params["code"]
    sheet = jobs.show(desk.folder, OneOrder(code=code), desk.today)
    studio = desk.read()
    found = next(one for one in studio.commissions.queue if one.code == sheet.as_answer()["code"])
    forms = [
        form(desk, path, studio, code=found.code, back=f"/orders/{found.code}")
        for path in _open_to(found.step)
    ]
    return page(
        request, "order.html", screen="orders", order=found, facts=sheet.as_answer(), lines=sheet.lines(),
        forms=forms, tongue=tongue_of(studio),
    )  # fmt: skip


def _open_to(step: Step) -> list[str]:
    """Return the deeds that an order is open to as it stands, what comes next first."""
    following = FOLLOWING[step]
    agreed = Step.CALLED_OFF in following
    found = ["orders.move"] if any(one not in _ENDED_ELSEWHERE for one in following) else []
    found += ["orders.pay", "orders.hours", "orders.promise"] if agreed else []
    found += ["orders.refund"] if agreed or step in {Step.SHIPPED, Step.CALLED_OFF} else []
    found += ["order_letters.letter"]
    found += ["papers.agreement"] if agreed else []
    found += ["orders.decline"] if Step.DECLINED in following else []
    found += ["orders.cancel"] if agreed else []
    return [*found, "orders.take_back"]


ROUTES = [Route("/orders", book), Route("/orders/{code}", order)]
