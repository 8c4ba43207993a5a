"""The order book: every order with what comes next, and one order with all that is known of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import find, plan, words
from sitegen.desk.order_money import SETTLED, money_lines, usual_of
from sitegen.desk.orders import ship_by
from sitegen.desk.plan import standing_of
from sitegen.studio.asked import Fault
from sitegen.studio.commission import Order
from sitegen.studio.delivery import CAUTION, ShipTime
from sitegen.studio.offers import last_day
from sitegen.studio.order_lines import Move, Step, write_time
from sitegen.studio.order_steps import ASKING, FOLLOWING, UNDER_WAY, history_of, missed, nearly, round_of
from sitegen.studio.plan import PlanState
from sitegen.studio.purses import Purse, purse_of, purses
from sitegen.studio.text import bare, unmarked
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_of


@dataclass(frozen=True)
class Line:
    """One order with what comes next."""

    order: Order
    round: str
    next: str
    balance: Decimal | None = None
    """Still to pay; below zero for money to be returned; None where nothing is agreed."""
    standing: PlanState | None = None  # how its plan stands, if it's under way and one is agreed on
    gone_by: bool = False
    """Whether a day that was named has gone by: of an answer, of a payment, or the one promised."""

    @property
    def due(self) -> bool:
        """Tell whether a part of its plan waits to be paid."""
        return self.standing is not None and bool(self.standing.overdue)

    @property
    def late(self) -> bool:
        """Tell whether a part is past its days of grace."""
        return self.standing is not None and bool(self.standing.late_parts)


@dataclass(frozen=True)
class OrderBook:
    """The orders under way, or all of them."""

    orders: tuple[Line, ...]
    rounds: tuple[str, ...]  # how each live round stands, a sentence each
    waiting: int
    digits: int

    def as_answer(self) -> dict[str, Any]:
        return {
            "orders": [_entry(line, self.digits) for line in self.orders],
            "rounds": list(self.rounds),
            "waiting": self.waiting,
        }

    def lines(self) -> list[str]:
        if not self.orders:
            return ["The order book is empty.", *self.rounds]
        orders = [(line.order, line.next) for line in self.orders]
        rows = [
            (order.code, order.tier, str(order.step), words.day(order.since), order.private.name, next_)
            for order, next_ in orders
        ]
        waiting = [f"On the waiting list: {self.waiting}."] if self.waiting else []
        return [*words.section(("", "", "step", "since", "for", "next"), rows), *self.rounds, *waiting]


def _entry(line: Line, digits: int) -> dict[str, Any]:
    names = (
        "code:order.code tier:order.tier step:order.step since:order.since round name:order.private.name "
        "email:order.private.email balance late next"
    )
    return words.facts(line, names, digits)


def order_book(
    studio: Studio, today: date, rounds: Sequence[str], *, everything: bool = False, find: str = ""
) -> OrderBook:
    """List the orders that want something, or all of them; with `find`, those of a name, address or code.

    What is late comes first, then what is due.
    """

    def folded(text: str) -> str:
        return unmarked(" ".join(text.split()).casefold())

    shown = [
        line
        for line in lines_of(studio, today)
        if (everything or FOLLOWING[line.order.step] or line.balance)
        and folded(find) in folded(f"{line.order.code} {line.order.private.name} {line.order.private.email}")
    ]
    shown.sort(key=lambda line: (not line.gone_by, not line.due))
    return OrderBook(tuple(shown), tuple(rounds), len(studio.commissions.waiting), studio.settings.digits)


def lines_of(studio: Studio, today: date) -> list[Line]:
    """Return every order with what comes next."""
    queue = studio.commissions.queue
    found = zip(queue, purses(studio), strict=False)  # those of orders come first
    return [_line(studio, order, purse, today) for order, purse in found]


def _line(studio: Studio, order: Order, purse: Purse, today: date) -> Line:
    book, round_ = studio.commissions, round_of(studio.commissions, order)
    named = round_.name if round_ else ""
    if order.step in SETTLED:
        balance = purse.rest(today)
        return Line(order, named, _settling(studio, order, purse, balance), balance)
    if order.step is Step.OFFERED:
        last = last_day(book, order)
        gone = last is not None and last < today
        said = f"not answered by {last}: `sitegen order lapsed`" if gone else f"answer by {last}"
        return Line(order, named, said if last else "has no day to count from; write `since:`", gone_by=gone)
    if order.step in ASKING:
        why = missed(book, round_, order) if round_ is not None else (nearly(book, order) or ("", ""))[1]
        return Line(order, named, f"not in line: {why}" if why else "")
    promised = order.private.promised_now
    broken = order.step in UNDER_WAY and promised is not None and promised < today
    if order.step not in UNDER_WAY or not plan.is_planned(order):
        missing = order.step in UNDER_WAY and order.private.price is None
        return Line(order, named, "has no price yet" if missing else "", gone_by=broken)
    try:
        standing = standing_of(studio, order, today)
    except Fault as fault:  # the studio's terms may have changed so that its plan can't be laid out
        return Line(order, named, f"can't be reckoned: {fault}", gone_by=broken)
    said = _paying(studio, order, standing, today)
    return Line(order, named, said, standing.balance, standing, bool(standing.late_parts) or broken)


def _settling(studio: Studio, order: Order, purse: Purse, balance: Decimal) -> str:
    if purse.settled is None:
        return "has no day; write `since:`"
    if balance < 0:
        return f"{studio.settings.said(-balance)} to go back"
    asked, paid = ("to pay", "paid in full") if order.step is Step.SHIPPED else ("still asked for", "")
    return f"{studio.settings.said(balance)} {asked}" if balance else paid


def _paying(studio: Studio, order: Order, standing: PlanState, today: date) -> str:
    if standing.balance < 0:
        return f"{studio.settings.said(-standing.balance)} to go back"
    said = "paid in full" if standing.may_ship else f"{studio.settings.said(standing.balance)} to pay"
    late = standing.late_now
    stands = {"late": late, "due": standing.owed_now - late}
    said += "".join(f", {studio.settings.said(sum_)} {how}" for how, sum_ in stands.items() if sum_)
    if not standing.owed_now and (part := standing.next_due) is not None:
        said += f", next {part.due}"
    promised, first = order.private.promised_now, order.private.promised
    was = f" (first {first})" if first and first != promised else ""
    if promised is not None and (promised < today or was):
        said += f"; promised for {promised}{was}"
    return said


@dataclass(frozen=True)
class OrderSheet:
    """One order with all that is known of it."""

    line: Line
    asked: str  # in which round, in words
    history: tuple[Move, ...]
    hours: Decimal  # on record, of its own and of its piece
    usual: float | None
    """Hours that the next piece of its kind takes on average, of one under way, if anything says so."""
    plan: plan.PlanAnswer | None
    money: tuple[str, ...]  # how its money stands, in sentences
    delivery: tuple[str, ...]  # what the late-delivery rule asks for, in sentences
    ship: ShipTime | None
    digits: int

    @property
    def order(self) -> Order:
        return self.line.order

    @property
    def following(self) -> tuple[str, ...]:
        return tuple(map(str, FOLLOWING[self.order.step]))

    def as_answer(self) -> dict[str, Any]:
        client = self.order.private
        return {
            **_entry(self.line, self.digits),
            "moves": [
                {
                    "on": str(move.on),
                    **({"at": write_time(move.at)} if move.at is not None else {}),
                    "step": str(move.step),
                }
                for move in self.history
            ],
            "paid": [words.facts(receipt, "on amount", self.digits) for receipt in client.paid],
            "promised": [str(day) for day in (client.promised, *client.new_days) if day],
            **words.facts(self, "hours can_go_to:following"),
        }

    def lines(self) -> list[str]:
        paragraphs = (
            self._head(),
            tuple(f"{move.when}  {move.step}" for move in self.history),
            (*(self.plan.table() if self.plan else ()), *self.money),
            (self.work,) if self.hours else (),
            self.delivery,
            (f"It can go to {words.listed(self.following, 'or')}.",) if self.following else (),
        )
        lines = [line for paragraph in paragraphs if paragraph for line in (*paragraph, "")]
        return lines[:-1]

    @property
    def work(self) -> str:
        """Say how many hours went into it, against what such a piece takes."""
        against = "" if self.usual is None else f"; such a piece takes {self.usual:g} h on average"
        return f"On record: {bare(self.hours)} h of work{against}."

    def _head(self) -> tuple[str, ...]:
        order, client, line = self.order, self.order.private, self.line
        who = " ".join(filter(None, [client.name, f"<{client.email}>" if client.email else ""]))
        asked = f"asked for {self.asked}"
        lines = [f"{order.code}: {order.tier}, {order.step}; {asked}", who, client.notes]
        if order.step in ASKING and line.next:
            lines.append(f"{line.next[0].upper()}{line.next[1:]}.")
        if client.why:
            lines.append(f"Why: {client.why}")
        return tuple(filter(None, lines))


def order_sheet(studio: Studio, code: str, today: date) -> OrderSheet:
    """Show one order. Raises Fault for an unknown code."""
    order = find.order(studio, code)
    line = _line(studio, order, purse_of(studio, order), today)
    ship, delivery = _delivery(order, today)
    price, planned = order.private.price, order.agreed and plan.is_planned(order)
    money = [f"Price: {studio.settings.said(price)}."] if price is not None else []
    if planned or order.step is Step.CALLED_OFF:
        money = money_lines(studio, order, today)
    return OrderSheet(
        line, f"in {line.round}" if line.round else "outside any round", history_of(order),
        hours_of(studio, order), usual_of(studio, order, today) if order.step in UNDER_WAY else None,
        plan.for_order(studio, order.code, today) if planned else None, tuple(money), delivery, ship,
        studio.settings.digits,
    )  # fmt: skip


def _delivery(order: Order, today: date) -> tuple[ShipTime | None, tuple[str, ...]]:
    """Say what the late-delivery rule asks for, of an order under way."""
    try:
        ship = ship_by(order)
    except Fault as fault:
        return None, (str(fault),)
    if ship is None:
        return None, ()
    first, since = order.private.promised, [str(day) for day in order.private.new_days]
    was = f"First promised for {first}" if first else "No day was promised at first"
    promises = (f"{was}; since then for {words.listed(since, 'then')}.",) if since else ()
    return ship, (*promises, _sending(order, ship, today), CAUTION)


def _sending(order: Order, ship: ShipTime, today: date) -> str:
    command = f"`sitegen order letter {order.code} --new-day DATE`"
    if today > ship.ship_by:
        return (
            f"It should have been sent by {ship.ship_by}. Offer the choice to wait or cancel now "
            f"({command}); as that day has gone by, any new one needs their yes."
        )
    silence = (
        f"It was put off before: any further day needs their yes by {ship.yes_by}."
        if ship.put_off
        else f"A new day up to {ship.silence_until} stands if they say nothing, a later one needs their yes."
    )
    return (
        f"Send it by {ship.ship_by}, or before that day offer the choice to wait or cancel ({command}). "
        f"{silence}"
    )
