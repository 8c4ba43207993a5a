"""The order book: every order with what comes next, and one order with all that is known of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sitegen.desk import find, plan, words
from sitegen.desk.fault import DeskFault
from sitegen.desk.order_money import money_lines, settled_lines, standing_of
from sitegen.desk.orders import ship_time_of
from sitegen.studio import money
from sitegen.studio.commission import Commissions, Place, Round
from sitegen.studio.counting import bare
from sitegen.studio.delivery import CAUTION, ShipTime
from sitegen.studio.in_time import missed, nearly
from sitegen.studio.offers import last_day
from sitegen.studio.order_lines import Move, Step, write_time
from sitegen.studio.order_steps import ASKING, FOLLOWING, UNDER_WAY, history_of
from sitegen.studio.order_sums import kept_of, paid_of
from sitegen.studio.payments import PlanState
from sitegen.studio.whole import Studio
from sitegen.studio.workload import hours_of


@dataclass(frozen=True)
class Line:
    """One order with what comes next."""

    place: Place
    round: str
    next: str
    balance: Decimal | None = None
    """Still to pay; below zero for money to be returned; None where nothing is agreed."""
    late: bool = False


@dataclass(frozen=True)
class OrderBook:
    """The orders under way, or all of them."""

    orders: tuple[Line, ...]
    rounds: tuple[str, ...]
    """How each live round stands, a sentence each."""
    waiting: int
    digits: int

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return {
            "orders": [self._entry(line) for line in self.orders],
            "rounds": list(self.rounds),
            "waiting": self.waiting,
        }

    def _entry(self, line: Line) -> dict[str, Any]:
        place, balance = line.place, line.balance
        return {
            "code": place.code,
            "tier": place.tier,
            "step": str(place.step),
            "since": place.since.isoformat() if place.since else None,
            "round": line.round,
            "name": place.private.name,
            "email": place.private.email,
            "balance": None if balance is None else money.plain(balance, self.digits),
            "late": line.late,
            "next": line.next,
        }

    def lines(self) -> list[str]:
        """Write the book for a person."""
        if not self.orders:
            return ["The order book is empty.", *self.rounds]
        rows = [("", "", "step", "since", "for", "next")]
        rows += [
            (
                line.place.code,
                line.place.tier,
                str(line.place.step),
                words.day(line.place.since),
                line.place.private.name,
                line.next,
            )
            for line in self.orders
        ]
        waiting = [f"On the waiting list: {self.waiting}."] if self.waiting else []
        return [*words.table(rows), "", *self.rounds, *waiting]


def order_book(studio: Studio, today: date, rounds: Sequence[str], *, everything: bool = False) -> OrderBook:
    """List the orders that want something, or all of them."""
    lines = [_line(studio, place, today) for place in studio.commissions.queue]
    shown = [one for one in lines if everything or _wants(one)]
    waiting = len(studio.commissions.waiting)
    return OrderBook(tuple(shown), tuple(rounds), waiting, studio.settings.digits)


def _wants(line: Line) -> bool:
    return bool(FOLLOWING[line.place.step]) or bool(line.balance)


def _line(studio: Studio, place: Place, today: date) -> Line:
    one = studio.commissions.round_of(place)
    standing = _standing(studio, place, today)
    named = one.name if one else ""
    if place.step is Step.CALLED_OFF:
        balance = _open_of_called_off(place)
        return Line(place, named, _settling(studio, balance), balance)
    if place.step is Step.OFFERED:
        return Line(place, named, _answer_by(studio, place, today))
    if place.step in ASKING:
        return Line(place, named, _asking(studio.commissions, place, one))
    if standing is None:
        missing = place.step in UNDER_WAY and place.private.price is None
        return Line(place, named, "has no price yet" if missing else "")
    return Line(place, named, _paying(studio, place, standing, today), standing.balance, standing.is_late)


def _asking(book: Commissions, place: Place, one: Round | None) -> str:
    """Say why a request isn't in line for a round, if it isn't."""
    near = (one, missed(book, one, place)) if one is not None else nearly(book, place)
    return f"not in line: {near[1]}" if near is not None and near[1] else ""


def _standing(studio: Studio, place: Place, today: date) -> PlanState | None:
    agreed = place.step in UNDER_WAY or place.step is Step.SHIPPED
    if not agreed or place.private.price is None or plan.plan_start(place) is None:
        return None
    return standing_of(studio, place, today)


def _open_of_called_off(place: Place) -> Decimal:
    """Return what's still asked for, below zero for what's still to go back."""
    return kept_of(place) + (place.private.claimed or Decimal(0)) - paid_of(place)


def _settling(studio: Studio, balance: Decimal) -> str:
    if not balance:
        return ""
    sum_ = words.amount(abs(balance), studio.settings)
    return f"{sum_} to go back" if balance < 0 else f"{sum_} still asked for"


def _answer_by(studio: Studio, place: Place, today: date) -> str:
    last = last_day(studio.commissions, place)
    if last is None:
        return "has no day to count from; write `since:`"
    return f"answer by {last}" if today <= last else f"not answered by {last}: `sitegen order lapsed`"


def _paying(studio: Studio, place: Place, standing: PlanState, today: date) -> str:
    if standing.balance < 0:
        return f"{words.amount(-standing.balance, studio.settings)} to go back"
    said = "paid in full" if standing.may_ship else f"{_sum(studio, standing.balance)} to pay"
    if standing.is_late:
        said += f", {_sum(studio, standing.owed_now)} late"
    elif standing.owed_now:
        said += f", {_sum(studio, standing.owed_now)} due"
    elif (part := standing.next_due) is not None:
        said += f", next {part.due}"
    promised = place.private.promised_now
    if place.step is not Step.SHIPPED and promised is not None and (promised < today or _first(place)):
        said += f"; promised for {promised}{_first(place)}"
    return said


def _first(place: Place) -> str:
    """Name the first promise beside the one that holds, if they differ."""
    first = place.private.promised
    return f" (first {first})" if first and first != place.private.promised_now else ""


def _sum(studio: Studio, amount: Decimal) -> str:
    return words.amount(amount, studio.settings)


@dataclass(frozen=True)
class OrderSheet:
    """One order with all that is known of it."""

    line: Line
    paragraphs: tuple[tuple[str, ...], ...]
    answer: dict[str, Any]

    def as_answer(self) -> dict[str, Any]:
        """Return the answer for machines."""
        return self.answer

    def lines(self) -> list[str]:
        """Write the sheet for a person."""
        return [line for paragraph in self.paragraphs if paragraph for line in (*paragraph, "")][:-1]


def order_sheet(studio: Studio, code: str, today: date) -> OrderSheet:
    """Show one order. Raises DeskFault for an unknown code."""
    place = find.place(studio, code)
    line = _line(studio, place, today)
    following = [str(step) for step in FOLLOWING[place.step]]
    digits = studio.settings.digits
    answer = {
        **OrderBook((), (), 0, digits)._entry(line),
        "moves": [_move(one) for one in history_of(place)],
        "paid": [
            {"on": one.on.isoformat(), "amount": _signed(one.amount, digits)} for one in place.private.paid
        ],
        "promised": [
            one.isoformat() for one in filter(None, (place.private.promised, *place.private.new_days))
        ],
        "hours": bare(hours_of(studio, place)),
        "can_go_to": following,
    }
    paragraphs = (
        _head(studio, place),
        tuple(f"{one.when}  {one.step}" for one in history_of(place)),
        _money(studio, place, today),
        _work(studio, place),
        _delivery(place, today),
        (f"It can go to {words.listed(following, 'or')}.",) if following else (),
    )
    return OrderSheet(line, paragraphs, answer)


def _move(one: Move) -> dict[str, str]:
    at = {"at": write_time(one.at)} if one.at is not None else {}
    return {"on": one.on.isoformat(), **at, "step": str(one.step)}


def _signed(amount: Decimal, digits: int) -> str:
    return f"-{money.plain(-amount, digits)}" if amount < 0 else money.plain(amount, digits)


def _head(studio: Studio, place: Place) -> tuple[str, ...]:
    client = place.private
    one = studio.commissions.round_of(place)
    who = " ".join(filter(None, [client.name, f"<{client.email}>" if client.email else ""]))
    asked = f"asked for in {one.name}" if one else "asked for outside any round"
    lines = [f"{place.code}: {place.tier}, {place.step}; {asked}", who, client.notes]
    if place.step in ASKING and (why := _asking(studio.commissions, place, one)):
        lines.append(f"{why[0].upper()}{why[1:]}.")
    if client.why:
        lines.append(f"Why: {client.why}")
    return tuple(filter(None, lines))


def _money(studio: Studio, place: Place, today: date) -> tuple[str, ...]:
    if place.step is Step.CALLED_OFF:
        return tuple(settled_lines(studio, place))
    if _standing(studio, place, today) is None:
        price = place.private.price
        return (f"Price: {_sum(studio, price)}.",) if price is not None else ()
    table = plan.for_place(studio, place.code, today).table()
    return (*table, *money_lines(studio, place, today))


def _work(studio: Studio, place: Place) -> tuple[str, ...]:
    hours = hours_of(studio, place)
    return (f"On record: {bare(hours)} h of work.",) if hours else ()


def _delivery(place: Place, today: date) -> tuple[str, ...]:
    """Say what the late-delivery rule asks for, of an order under way."""
    if place.step not in UNDER_WAY or place.day_of(Step.ACCEPTED) is None:
        return ()
    try:
        ship = ship_time_of(place)
    except DeskFault as fault:
        return (str(fault),)
    return (*_promises(place), *_sending(place, ship, today), CAUTION)


def _promises(place: Place) -> tuple[str, ...]:
    """Name the first promise and what became of it."""
    client = place.private
    days = [str(one) for one in client.new_days]
    first = f"First promised for {client.promised}" if client.promised else "No day was promised at first"
    return (f"{first}; since then for {words.listed(days, 'then')}.",) if days else ()


def _sending(place: Place, ship: ShipTime, today: date) -> tuple[str, ...]:
    command = f"`sitegen order letter {place.code} --new-day DATE`"
    if today > ship.ship_by:
        return (
            f"It should have been sent by {ship.ship_by}. Offer the choice to wait or cancel now "
            f"({command}); as that day has gone by, any new one needs their yes.",
        )
    silence = (
        f"It was put off before: any further day needs their yes by {ship.yes_by}."
        if ship.put_off
        else f"A new day up to {ship.silence_until} stands if they say nothing, a later one needs their yes."
    )
    return (
        f"Send it by {ship.ship_by}, or before that day offer the choice to wait or cancel ({command}). "
        f"{silence}",
    )
