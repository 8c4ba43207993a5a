"""The order book: a ledger of all, a sheet for each, requests out of mails, letters to clients."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from sitegen.browser.deeds import KNOWN, STATES, Values, form
from sitegen.browser.desk import Workplace
from sitegen.browser.forms import HIDDEN, Ask, Own, as_typed, picks, said_of
from sitegen.browser.frame import ListLeaf, Shown, Visit, screen
from sitegen.browser.sheets import asks, put_sheet, sheet_form, step_asked
from sitegen.jobs import edits, order_letters
from sitegen.jobs import orders as jobs
from sitegen.jobs.orders import Line, ListOrders, OneOrder
from sitegen.studio.asked import Fault
from sitegen.studio.money import NOTHING
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, FOLLOWING, UNDER_WAY, history_of
from sitegen.studio.settings import mailto
from sitegen.studio.whole import Studio

_BOOK = "commissions.yaml"
_ENDED_ELSEWHERE = {Step.DECLINED, Step.WITHDRAWN, Step.LAPSED, Step.CALLED_OFF}
"""Steps that have deeds of their own."""
# Characters of a link that every mail program takes (common practice, no source).
_LONGEST_LINK = 1_800


def _order(studio: Studio, values: Values) -> Any:
    code = values.get("code") or values.get("what")
    return next((order for order in studio.commissions.queue if order.code == code), None)


def _following(order: Any) -> list[str]:
    return [str(step) for step in FOLLOWING[order.step] if step not in _ENDED_ELSEWHERE] if order else []


def _steps(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    following = _following(order)
    price = {"value": as_typed(order and order.private.price, studio.settings)}
    return {
        "step": {"kind": "pick", "choices": picks(following)},
        "price": price if {Step.OFFERED, Step.ACCEPTED} & {*following} else HIDDEN,
    }


def _new(studio: Studio, _: Values) -> Own:
    book = studio.commissions
    sizes = picks((tier.name for tier in book.tiers), empty="choose")
    rounds = picks((held.name for held in book.rounds), empty="the one in whose time it came")
    return {
        "tier": {"kind": "pick", "choices": sizes, "needed": True},
        "round": {"kind": "pick", "choices": rounds},
    }


def _ending(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    at_work = order is not None and order.step is Step.ON_THE_BENCH
    asks = order is not None and Step.WITHDRAWN in FOLLOWING[order.step]  # to say no has a deed of its own
    who = (("client", "the client"), ("maker", "I do"))
    return {
        "by": {"kind": "hidden" if asks else "pick", "choices": who, "value": "client"},
        "work": {} if at_work else HIDDEN,
    }


def _letter(studio: Studio, values: Values) -> Own:
    order = _order(studio, values)
    agreed = order is not None and order.step in UNDER_WAY
    return {} if agreed else dict.fromkeys(("new_day", "confirm"), HIDDEN)


def _place(desk: Workplace, values: Values) -> str:
    held = edits.stands(desk.folder, _BOOK, "queue")["queue"].value or []
    for number, queued in enumerate(held):
        if queued.get("code") == values.get("code"):
            return f"queue.{number}.private."
    raise Fault("there is no such order in the book")


def _facts(_: Studio, values: Values) -> Sequence[Ask]:
    within = values.get("place", "")
    if not re.fullmatch(r"queue\.[0-9]+\.private\.", within):
        raise Fault("there is no such order in the book")
    said = asks(_BOOK, "queue.*.private.", within, said_of("sheet order"))
    found = {ask.name.removeprefix(within): ask for ask in said}
    return [found[name] for name in ("price", "postage", "brief", "name", "email", "notes")]


put_sheet("order", file=_BOOK, asks=_facts)
STATES["order"] = _order
KNOWN |= {
    "orders.add": _new, "orders.move": _steps, "orders.hours": step_asked,
    "orders.cancel": _ending, "order_letters.letter": _letter,
}  # fmt: skip


@screen("/orders", "orders")
def _orders(desk: Workplace, asked: Visit) -> Shown:
    everything, find = asked.get("all") == "yes", asked.get("find", "").strip()
    answer = jobs.book(desk.folder, ListOrders(everything=everything or bool(find), find=find), desk.today)
    return {
        "lines": ListLeaf(asked, answer.orders), "rounds": answer.rounds, "waiting": answer.waiting,
        "find": find, "everything": everything,
        "owed": sum(line.balance for line in answer.orders if line.balance and line.balance > 0),
        "offered": any(line.order.step is Step.OFFERED for line in answer.orders),
    }  # fmt: skip


@screen("/orders/new", "order_new")
@screen("/orders/new/read", "order_new", sent=True)
def _new_order(desk: Workplace, asked: Visit) -> Shown:
    """Show the form of a request, filled out of a mail that was pasted; nothing is written yet."""
    mail, doubts, fault, found = asked.get("mail"), None, "", {}
    if mail is not None:
        try:
            read, doubts = jobs.read_mail(desk.folder, jobs.ReadMail(mail=mail), desk.today)
            found = {name: (getattr(read, name) or "") for name in jobs.READ}
            found["on"] = found["on"].replace(" ", "T")
        except Fault as wrong:
            fault = str(wrong)
    shown = form(desk, "orders.add", **found)
    return {"mail": mail or "", "doubts": doubts, "fault": fault, "form": shown}


@screen("/orders/{code}", "order")
def _one(desk: Workplace, asked: Visit) -> Shown:
    sheet = jobs.show(desk.folder, OneOrder(code=asked["code"]), desk.today)
    found = sheet.order
    code, client, settings = found.code, found.private, desk.read().settings
    likely = {"amount": as_typed(_likely(sheet.line), settings)}
    drafts = order_letters.drafts_of(desk.folder, code)
    with_sum = {"orders.pay", "orders.refund"}
    forms = [
        form(desk, path, code=code, what=code, **(likely if path in with_sum else {}))
        for path in _open_to(sheet.line, written=bool(drafts))
    ]
    facts = sheet_form(desk, "order", code=code, place=_place(desk, {"code": code}))
    lacks = found.step is Step.OFFERED and None in (client.price, client.postage, client.brief or None)
    forms.insert(0 if lacks else 1, facts)
    return {
        "order": found, "sheet": sheet, "forms": forms, "drafts": drafts,
    }  # fmt: skip


def _likely(line: Line) -> Decimal:
    """Return the sum that is likely meant: what is owed by today, else the next part, else the rest."""
    plan = line.standing
    if plan is None or plan.balance <= 0:
        return abs(line.balance or NOTHING)
    return plan.owed_now or next((part.open for part in plan.parts if part.open), plan.balance)


def _open_to(line: Line, *, written: bool) -> list[str]:
    """Return the deeds that an order is open to as it stands, what comes next first."""
    order, balance = line.order, line.balance or 0
    step, following = order.step, FOLLOWING[order.step]
    agreed = Step.CALLED_OFF in following
    open_to = {
        "orders.move": bool(_following(order)),
        "orders.hours": step in {Step.ON_THE_BENCH, Step.FINISHED},
        "orders.pay": agreed or step in {Step.SHIPPED, Step.CALLED_OFF},
        "order_letters.letter": step not in {*ASKING, Step.SHIPPED, Step.WITHDRAWN},
        "orders.promise": agreed or step is Step.OFFERED,
        "papers.agreement": agreed,
        "orders.decline": Step.DECLINED in following,
        "orders.cancel": agreed or Step.WITHDRAWN in following,
        "orders.refund": bool(order.paid),
        "orders.take_back": len(history_of(order)) > 1 and step is not Step.CALLED_OFF,
    }
    if step is Step.OFFERED:
        first = ["move", "letter"] if written else ["letter", "move"]
    elif step is Step.ON_THE_BENCH and not line.due:
        first = ["hours", "move", "pay", "letter"]
    elif balance > 0:
        first = ["pay", "letter", "move", "hours"]
    else:
        first = ["refund", "letter", "move"] if balance < 0 else ["move", "letter"]
        first += ["hours", "pay"]
    paths = ["order_letters.letter" if deed == "letter" else f"orders.{deed}" for deed in first]
    return [path for path in dict.fromkeys([*paths, *open_to]) if open_to[path]]


@screen("/orders/{code}/letters/{letter}", "order_letter")
def _letter_of(desk: Workplace, asked: Visit) -> Shown:
    studio, code, name = desk.read(), asked["code"], asked["letter"]
    found = _order(studio, {"code": code})
    if found is None:
        raise Fault("there is no such order in the book")
    draft = order_letters.read_draft(desk.folder, code, name)
    link = mailto(draft.to, draft.subject, draft.text)
    return {
        "order": found, "draft": draft, "link": link if len(link) <= _LONGEST_LINK else "",
        "where": f"/out/letters/{quote(name)}",
        "anew": form(desk, "order_letters.letter", code=code, words=draft.note),
    }  # fmt: skip
