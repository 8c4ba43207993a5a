"""The order book: a ledger of all, a sheet for each, requests out of mails, letters to clients."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sitegen.browser.deeds import Deed, Values, check_mark, form
from sitegen.browser.desk import Workplace, at, leaf, page, tongue_of
from sitegen.browser.fields import as_called, asks
from sitegen.browser.forms import HIDDEN, Ask, Own, filled_in, picks
from sitegen.browser.labels import label
from sitegen.browser.sheets import FileForm, sheet_form
from sitegen.jobs import edits, order_letters
from sitegen.jobs import orders as jobs
from sitegen.jobs.orders import Line, ListOrders, OneOrder
from sitegen.jobs.reading import sit
from sitegen.studio.fault import Fault
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, FOLLOWING, UNDER_WAY, history_of
from sitegen.studio.whole import Studio

A_PAGE = 100
_BOOK = "commissions.yaml"
_CODE = {"code": HIDDEN}
_ENDED_ELSEWHERE = {Step.DECLINED, Step.WITHDRAWN, Step.LAPSED, Step.CALLED_OFF}
"""Steps that have deeds of their own."""
_NOT_ADVICE = "Not legal advice; look at the rules where you and your client live."
# Characters of a link that every mail program takes (common practice, no source).
_LONGEST_LINK = 1_800


def _order(studio: Studio, values: Values) -> Any:
    """Return the order that a form is about; None for one that isn't there."""
    code = values.get("code") or values.get("what")
    return next((one for one in studio.commissions.queue if one.code == code), None)


def _steps(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    following = [step for step in FOLLOWING[order.step] if step not in _ENDED_ELSEWHERE] if order else []
    price = {
        "unit": studio.settings.currency,
        "help": "As agreed on.",
        "value": _sum(order and order.private.price),
    }
    return {
        **_CODE,
        "step": {"kind": "pick", "label": "Now it is", "choices": picks(map(str, following))},
        "price": price if Step.ACCEPTED in following else HIDDEN,
    }


def _sum(amount: Any) -> str:
    return f"{amount:f}" if amount else ""


def _new(studio: Studio, values: Values) -> Own:
    book = studio.commissions
    return {
        "tier": {
            "kind": "pick",
            "choices": picks((tier.name for tier in book.tiers), empty="choose"),
            "help": "",
            "needed": True,
            "label": "What is asked for",
        },
        "mail": HIDDEN,
        "round": {
            "kind": "pick",
            "choices": picks((one.name for one in book.rounds), empty="the one in whose time it came"),
            "help": "",
        },
        "notes": {"kind": "long"},
        "on": {"kind": "moment", "label": "It came in on", "help": "Now, if you leave it empty."},
        "price": {"unit": studio.settings.currency, "help": "If it's agreed already."},
        "code": {"help": "The next one, if you leave it empty."},
    }


def _money(studio: Studio, values: Values) -> Own:
    """Ask for a sum; whether it came twice only where the form comes back."""
    again = {"help": ""} if "mark" in values else HIDDEN
    return {**_CODE, "amount": {"kind": "amount", "unit": studio.settings.currency}, "again": again}


def _hours(studio: Studio, _: Values) -> Own:
    step = {"label": "Step of the work", "help": as_called(studio)}
    return {**_CODE, "step": step, "hours": {"kind": "amount"}}


def _ending(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    at_work = order is not None and order.step is Step.ON_THE_BENCH
    asks = order is not None and Step.WITHDRAWN in FOLLOWING[order.step]  # to say no has a deed of its own
    who = (("client", "the client"), ("maker", "I do"))
    return {
        **_CODE,
        "by": {"kind": "hidden" if asks else "pick", "choices": who, "value": "client"},
        "work": {"help": "Like 40%."} if at_work else HIDDEN,
    }


def _letter(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    agreed = order is not None and order.step in UNDER_WAY
    return {
        **_CODE,
        "words": {"label": "A note of your own", "help": "It stands above what the letter says."},
        "new_day": {
            "label": "It will be later: the new day", "kind": "day",
            "help": "The letter then offers to wait or to cancel.",
        } if agreed else HIDDEN,
        "confirm": {"label": "Confirm what was agreed on", "help": ""} if agreed else HIDDEN,
    }  # fmt: skip


def _deed(title: str, button: str, told: str = "", **more: Any) -> Deed:
    about: dict[str, Any] = {"own": lambda *_: _CODE, "back": "/orders/{code}", "state": _order}
    return Deed(title, button, "orders", told, **(about | more))


_FACTS = ("price", "postage", "brief", "name", "email", "notes")


def _place(desk: Workplace, values: Values) -> str:
    """Return where an order's private lines stand in the book. Raises Fault."""
    held = edits.stands(desk.folder, _BOOK, "queue")["queue"].value or []
    for number, one in enumerate(held):
        if one.get("code") == values.get("code"):
            return f"queue.{number}.private."
    raise Fault("there is no such order in the book")


def _facts(studio: Studio, values: Values) -> Sequence[Ask]:
    within = values.get("place", "")
    if not re.fullmatch(r"queue\.[0-9]+\.private\.", within):
        raise Fault("there is no such order in the book")
    found = {ask.name.removeprefix(within): ask for ask in asks(_BOOK, "queue.*.private.", within)}
    return [
        replace(
            found[name],
            label="What they have in mind" if name == "notes" else label(name),
            unit=studio.settings.currency if name == "price" else "",
        )
        for name in _FACTS
    ]


SHEETS = {
    "order": FileForm(
        "Price, postage, what you make", "Save it", "orders", lambda *_: _BOOK, _facts, "/orders/{code}"
    )
}

DEEDS = {
    "orders.add": Deed(
        "A request came in", "Put it into the book", "orders", own=_new, back="/orders/{code}"
    ),
    "orders.move": _deed("Take a step", "Note the step", own=_steps),
    "orders.promise": _deed("Promise a day", "Note the promise"),
    "orders.take_back": _deed("Take the latest step back", "Take it back"),
    "orders.pay": _deed("Money came in", "Note the payment", own=_money),
    "orders.refund": _deed("Money was sent back", "Note it", own=_money),
    "orders.hours": _deed("Hours at the bench", "Add the hours", own=_hours),
    "orders.decline": _deed("Decline, with a reason", "Decline", "The reason goes into the letter."),
    "orders.cancel": _deed(
        "They withdraw, or it ends early", "Show what is kept and what goes back", own=_ending,
        sure="End it so", caution=_NOT_ADVICE,
    ),
    "order_letters.letter": _deed(
        "Write to the client", "Draft the letter", undo=False, state=None, own=_letter,
        told="The letter that this order calls for now, to that client alone. You post it yourself.",
        back="/orders/{code}/letters/{letter}",
    ),
    "orders.lapsed": Deed(
        "Offers nobody answered", "Show which would be passed on", "orders",
        sure="Let them lapse and pass them on",
    ),
    "papers.agreement": _deed(
        "Print the agreement", "Make the PDF", undo=False, state=None, back="/orders/{what}",
        own=lambda *_: {"what": HIDDEN},
    ),
}  # fmt: skip


def book(request: Request) -> Response:
    """Show the ledger of orders, what is late first."""
    desk, asked = at(request), request.query_params
    everything, find = asked.get("all") == "yes", asked.get("find", "").strip()
    answer = jobs.book(desk.folder, ListOrders(everything=everything or bool(find), find=find), desk.today)
    lines = answer.orders
    number, pages = leaf(request, len(lines), A_PAGE)
    return page(
        request, "orders.html", screen="orders", lines=lines[(number - 1) * A_PAGE : number * A_PAGE],
        rounds=answer.rounds, waiting=answer.waiting, everything=everything, find=find, number=number,
        pages=pages, owed=sum(line.balance for line in lines if line.balance and line.balance > 0),
        tongue=tongue_of(desk.read()), offered=any(one.order.step is Step.OFFERED for one in lines),
    )  # fmt: skip


def order(request: Request) -> Response:
    """Show one order as a sheet of the ledger, with what can be done about it, what comes next first."""
    desk, code = at(request), request.path_params["code"]
    sheet = jobs.show(desk.folder, OneOrder(code=code), desk.today)
    studio, found = desk.read(), sheet.order
    drafts = order_letters.drafts_of(desk.folder, found.code)
    forms = [
        form(
            desk, path, studio, code=found.code, what=found.code,
            **({"amount": _likely(sheet.line)} if path in {"orders.pay", "orders.refund"} else {}),
        )
        for path in _open_to(sheet.line, written=bool(drafts))
    ]  # fmt: skip
    facts = sheet_form(desk, "order", studio, code=found.code, place=_place(desk, {"code": found.code}))
    client = found.private
    lacks = found.step is Step.OFFERED and None in (client.price, client.postage, client.brief or None)
    forms.insert(0 if lacks else 1, facts)
    return page(
        request, "order.html", screen="orders", order=found, sheet=sheet, forms=forms, drafts=drafts,
        tongue=tongue_of(studio), today=sit(desk.folder, desk.today).today,
    )  # fmt: skip


def _likely(line: Line) -> str:
    """Return the sum that is likely meant: what is owed by today, else the next part, else the rest."""
    plan = line.standing
    if plan is None or plan.balance <= 0:
        return _sum(abs(line.balance or 0))
    return _sum(plan.owed_now or next((part.open for part in plan.parts if part.open), plan.balance))


def _open_to(line: Line, *, written: bool) -> list[str]:
    """Return the deeds that an order is open to as it stands, what comes next first."""
    order, balance = line.order, line.balance or 0
    step, following = order.step, FOLLOWING[order.step]
    agreed = Step.CALLED_OFF in following
    moves = ["orders.move"] if any(one not in _ENDED_ELSEWHERE for one in following) else []
    bench = ["orders.hours"] if step in {Step.ON_THE_BENCH, Step.FINISHED} else []
    to_pay = ["orders.pay"] if agreed or step in {Step.SHIPPED, Step.CALLED_OFF} else []
    back = ["orders.refund"] if order.paid else []
    silent = step in {*ASKING, Step.SHIPPED, Step.WITHDRAWN}
    letter = [] if silent else ["order_letters.letter"]
    if step is Step.OFFERED:
        found = [*moves, *letter] if written else [*letter, *moves]
    elif step is Step.ON_THE_BENCH and not line.due:
        found = [*bench, *moves, *to_pay, *letter]
    elif balance > 0:
        found = [*to_pay, *letter, *moves, *bench]
    elif balance < 0:
        found = [*back, *letter, *moves, *bench, *to_pay]
    else:
        found = [*moves, *letter, *bench, *to_pay]
    found += ["orders.promise"] if agreed or step is Step.OFFERED else []
    found += ["papers.agreement"] if agreed else []
    found += ["orders.decline"] if Step.DECLINED in following else []
    found += ["orders.cancel"] if agreed or Step.WITHDRAWN in following else []
    found += back
    found += ["orders.take_back"] if len(history_of(order)) > 1 and step is not Step.CALLED_OFF else []
    return list(dict.fromkeys(found))


def letter(request: Request) -> Response:
    """Show a letter that was drafted: read it, copy it, open it in the mail program, write it anew."""
    desk, code, name = at(request), request.path_params["code"], request.path_params["letter"]
    studio = desk.read()
    found = _order(studio, {"code": code})
    if found is None:
        raise Fault("there is no such order in the book")
    draft = order_letters.read_draft(desk.folder, code, name)
    link = f"mailto:{quote(draft.draft.to, safe='@')}?subject={quote(draft.draft.subject)}&body="
    link += quote(draft.text.replace("\n", "\r\n"))
    return page(
        request, "order_letter.html", screen="orders", order=found, draft=draft,
        link=link if len(link) <= _LONGEST_LINK else "", where=f"/out/letters/{quote(name)}",
        anew=form(desk, "order_letters.letter", studio, code=code, words=draft.note),
    )  # fmt: skip


def new(request: Request) -> Response:
    """Show the box for a mail, and the form of a request."""
    desk = at(request)
    return page(
        request, "order_new.html", screen="orders", form=form(desk, "orders.add", desk.read()), mail="",
        doubts=None, fault="", mark=desk.mark,
    )  # fmt: skip


def from_mail(request: Request, values: dict[str, str]) -> Response:
    """Fill the form of a request out of a mail; nothing is written yet."""
    desk, mail = at(request), values.get("mail", "")
    check_mark(desk, values)
    studio, doubts, fault, found = desk.read(), None, "", {}
    try:
        read, doubts = jobs.read_mail(desk.folder, jobs.ReadMail(mail=mail), desk.today)
        found = {name: (getattr(read, name) or "") for name in jobs.READ}
        found["on"] = found["on"].replace(" ", "T")
    except Fault as wrong:
        fault = str(wrong)
    return page(
        request, "order_new.html", 422 if fault else 200, screen="orders", mail=mail, doubts=doubts,
        fault=fault, form=form(desk, "orders.add", studio, **found), mark=desk.mark,
    )  # fmt: skip


ROUTES = [
    Route("/orders", book),
    Route("/orders/new", new),
    Route("/orders/new/read", filled_in(from_mail), methods=["POST"]),
    Route("/orders/{code}", order),
    Route("/orders/{code}/letters/{letter}", letter),
]
