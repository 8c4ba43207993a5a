"""What is lost by waiting, as a value; and what of the order book is: offers, payments, promised days."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any, NamedTuple

from sitegen.desk import words
from sitegen.desk.order_book import Line
from sitegen.desk.order_money import back_by, may_end
from sitegen.desk.orders import ship_by
from sitegen.desk.slots import SURE, Outlook
from sitegen.desk.turns import named
from sitegen.studio.commission import Order, Way
from sitegen.studio.offers import OfferFault, free_slots, in_line, last_day
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import round_of
from sitegen.studio.plan import PlanState, Standing
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio


class ErrandKind(StrEnum):
    """What is at stake, in the order of what can't be made good again."""

    DELIVERY = "delivery"  # the day to send it by is gone: the client may have everything back
    REFUND = "money to go back"
    LAPSED = "lapsed offer"
    OFFER = "offer"
    PROMISE = "promise"
    PAYMENT = "payment"
    RETURN = "piece due back"
    PRICE = "price step"
    DOUBT = "letter in doubt"
    ROUND = "round"
    LETTER = "letter"
    INVITATION = "invitation"
    SHEET = "sheet"
    REFUSED = "letter refused"
    REQUEST = "request"
    SHIPPING = "shipping"
    FINISHED = "finished"
    BENCH = "bench"
    CONSENT = "consent"
    CHECKLIST = "checklist"
    TERMS = "terms"
    SALE = "sale"
    BEGINNING = "beginning"  # the starter is as it came
    BOOKS = "books"
    FILES = "files"
    SITE = "site"
    WEB = "web"
    BACKUP = "backup"


class Target(NamedTuple):
    """What an errand is about; a face turns it into a command or a link."""

    kind: str
    """order, round, show, class, letter, piece, people, site, web, backup, terms, books, files,
    checklist …"""
    name: str = ""  # code, name, slug or ident; empty where there's but one


@dataclass(frozen=True)
class Errand:
    """One thing that is better done soon."""

    kind: ErrandKind
    sentence: str
    by: date | None
    """The day after which something is lost, or since which something is; None where no day says so."""
    do: str  # the one thing to do
    target: Target


@dataclass(frozen=True)
class Today:
    """Everything that is lost by waiting, the first to be lost first."""

    day: date
    errands: tuple[Errand, ...]

    def as_answer(self) -> dict[str, Any]:
        return {
            "today": self.day.isoformat(),
            "errands": [
                words.facts(errand, "kind sentence by do") | {"target": errand.target._asdict()}
                for errand in self.errands
            ],
        }

    def lines(self) -> list[str]:
        if not self.errands:
            return ["Nothing is lost by waiting today."]
        return [line for errand in self.errands for line in (errand.sentence, f"  {errand.do}")]


# Days ahead within which things are alike: at once, this week, this month.
_STAGES = (2, 7, 31)


def by_loss(day: date, errands: Iterable[Errand]) -> Today:
    """Put errands in order, each once: by how soon, in a few stages, and within one by what is at stake.

    What has no day belongs to this month.
    """
    kinds = list(ErrandKind)

    def place(errand: Errand) -> tuple[int, int, date, Target, str]:
        days = (errand.by - day).days if errand.by else _STAGES[-1]
        stage = sum(days > limit for limit in _STAGES)
        return stage, kinds.index(errand.kind), errand.by or date.max, errand.target, errand.sentence

    return Today(day, tuple(sorted(dict.fromkeys(errands), key=place)))


Drafted = Callable[[str, str], date | None]
"""Tells on which day a letter to a client was last drafted, by the order's code and the letter's matter."""
# The last week of an offer, and a week without an answer (common practice, no source).
OFFER_DAYS = REQUEST_DAYS = 7


def of_line(studio: Studio, line: Line, drafted: Drafted, today: date) -> Iterator[Errand]:
    """Name what one order wants. Raises Fault where its lines don't say enough."""
    order, step, target = line.order, line.order.step, Target("order", line.order.code)
    if step is Step.OFFERED:
        yield from _offer(studio, order, drafted, today)
    if line.balance is not None and line.balance < 0:
        ended = order.day_of(step) if step is Step.CALLED_OFF else None
        by = min(back_by(studio, ended)) if ended else None
        until = f"; the last day for it: {words.at_day(by, today)}" if by else ""
        back = f"{studio.settings.said(-line.balance)} go back for {named(order)}{until}."
        yield Errand(ErrandKind.REFUND, back, by, "Send it back, and note it.", target)
    if line.late and line.standing is not None:
        late, since = late_part(studio, line.standing, named(order), today)
        late += f" {ending}." if (ending := may_end(studio, line.standing)) else ""
        made = _since(drafted(order.code, "reminder"), since)
        do = (
            f"The reminder of {words.on_day(made, today)} lies ready: post it."
            if made
            else "Draft a reminder."
        )
        yield Errand(ErrandKind.PAYMENT, late, since, do, target)
    paid = line.standing is not None and line.standing.may_ship
    if step is Step.PAID or (step is Step.FINISHED and paid):
        by = ship.ship_by if (ship := ship_by(order)) else None
        until = f", to be sent by {words.on_day(by, today)}" if by else ""
        still = f"{named(order)} is paid in full and still here{until}."
        yield Errand(ErrandKind.SHIPPING, still, by, "Send it, and note that it's shipped.", target)
    elif step is Step.FINISHED and not _since(drafted(order.code, "finished"), order.day_of(step)):
        know = f"{named(order)} is finished, and no letter says so yet; the rest is paid once they know."
        yield Errand(ErrandKind.FINISHED, know, None, "Draft the letter and post it.", target)


def _offer(studio: Studio, order: Order, drafted: Drafted, today: date) -> Iterator[Errand]:
    book, target = studio.commissions, Target("order", order.code)
    if (last := last_day(book, order)) is None:
        return
    when, round_, others = words.at_day(last, today), round_of(book, order), True
    with suppress(OfferFault):  # before a draw somebody waits for it
        others = round_ is not None and bool(in_line(book, round_, None))
    if last < today:
        left = "nobody else gets that slot in the meantime" if others else "nobody is in line for that slot"
        do = "Pass it on to the next in line." if others else "Let it lapse; the slot is free then."
        said = f"The offer to {named(order)} ran out {when}, and {left}."
        yield Errand(ErrandKind.LAPSED, said, last, do, target)
    elif not _since(drafted(order.code, "offer"), order.day_of(Step.OFFERED)):
        said = f"{named(order)} has an offer that ends {when}, and no letter says so yet."
        yield Errand(ErrandKind.OFFER, said, last, "Draft the letter and post it.", target)
    elif last <= today + timedelta(days=OFFER_DAYS):
        then = "goes to the next in line" if others else "is free, as nobody is in line"
        said = f"The offer to {named(order)} ends {when}; then the slot {then}."
        yield Errand(ErrandKind.OFFER, said, last, "Ask for an answer.", target)


def late_part(studio: Studio, standing: PlanState, what: str, today: date) -> tuple[str, date]:
    """Say what of a plan is late, and since when."""
    late, say = standing.late_parts, studio.settings.said
    several = len(late) > 1
    days = [f"{say(state.open)} " * several + words.at_day(state.part.due, today) for state in late]
    come = f"should have come{':' * several} {'; '.join(days)}"
    return f"{say(standing.late_now)} for {what} {come}.", late[0].part.due


def of_promise(order: Order, outlook: Outlook, drafted: Drafted, today: date) -> Iterator[Errand]:
    """Name a promised day that is gone, or that hardly holds. Raises Fault for one before the order."""
    promised, target = order.private.promised_now, Target("order", order.code)
    if promised is None or (ship := ship_by(order)) is None:
        return
    by = ship.ship_by
    if by < today and order.step is not Step.PAID:
        lies_ready = any(_since(drafted(order.code, kind), by) for kind in ("long delay", "renewed delay"))
        said = (
            f"{named(order)} should have been sent {words.at_day(by, today)}. Until they agree to a new day, "
            "a rule of the United States lets them have all their money back."
        )
        do = "Post the letter that lies ready, and note the new day once they agree."
        do = do if lies_ready else "Offer them to wait or to cancel."
        yield Errand(ErrandKind.DELIVERY, said, by, do, target)
    elif by >= today and (chance := outlook.chances.get(order.code, 1.0)) < SURE:
        said = (
            f"{named(order)} is promised for {words.at_day(promised, today)}; that holds with {chance:.0%}."
        )
        do = "Before that day, offer them to wait or to cancel."
        yield Errand(ErrandKind.PROMISE, said, promised, do, target)


def of_none_promised(studio: Studio, outlook: Outlook, today: date) -> Iterator[Errand]:
    """Put orders together for which no day was named, where the rule's 30 days are gone or hardly hold."""
    bare = [order for order in studio.commissions.queue if order.private.promised_now is None]
    ends = sorted(((ship.ship_by, one) for one in bare if (ship := ship_by(one))), key=lambda pair: pair[0])
    found = [(by, order) for by, order in ends if by < today or outlook.chances.get(order.code, 1.0) < SURE]
    if found:
        by, first = found[0]
        has = counted(len(found), "order has", "orders have")
        said = (
            f"{has} no promised day ({words.listed([order.code for _, order in found])}); a rule of the "
            f"United States then counts 30 days, for {first.code} until {words.on_day(by, today)}."
        )
        do = "Name each of them a day, and note it."
        yield Errand(ErrandKind.DELIVERY, said, by, do, Target("order", first.code))


def of_requests(studio: Studio, moment: datetime) -> Iterator[Errand]:
    """Name requests that nobody answered for more than a week; several of one round together.

    Before a round that goes by draw is closed, nobody can be answered.
    """
    book, groups = studio.commissions, dict[str, list[tuple[date, Order]]]()
    for order in book.queue:
        if order.step is not Step.REQUEST or order.first is None:
            continue
        days, round_ = (moment.date() - order.first.on).days, round_of(book, order)
        waits = round_ is not None and round_.way is Way.DRAW and not round_.is_over(moment)
        if days > REQUEST_DAYS and not waits:
            groups.setdefault(round_.name if round_ else "", []).append((order.first.on, order))
    for name, asked in groups.items():
        of = [held for held in book.rounds if held.name == name]
        of = of or [held for held in book.rounds if not held.is_over(moment)]
        # Outside any round there's room where none is to come; else who asks waits for it.
        room = any(free_slots(book, held) for held in of) if name else not of
        yield _unanswered(name, sorted(asked, key=lambda dated: dated[0]), moment.date(), room=room)


def _unanswered(name: str, asked: list[tuple[date, Order]], today: date, *, room: bool) -> Errand:
    since, first = asked[0]
    when = f"for an answer since {words.on_day(since, today)}, {(today - since).days} days"
    who, target = f"{named(first)} has waited", Target("order", first.code)
    if len(asked) > 1:
        of = f"of {name}" if name else "outside any round"
        who = f"{len(asked)} requests {of} wait, the longest, {first.code},"
        target = Target("round", name) if name else target
    do = f"{'Offer a slot, let' if room else 'Let'} them wait for the next round, or decline with a reason."
    return Errand(ErrandKind.REQUEST, f"{who} {when}.", None, do, target)


def of_the_bench(lines: Mapping[str, Line], outlook: Outlook) -> Iterator[Errand]:
    """Say who is next, if nothing lies on the bench and the next one's deposit is there."""
    following = next(iter(outlook.orders), None)
    if following is None or following.step is not Step.ACCEPTED:
        return
    standing = lines[following.code].standing
    if standing is not None and standing.parts[0].standing is not Standing.PAID:
        return
    said = f"Nothing ordered lies on the bench, and {named(following)} is next."
    do = "Begin it, and note that it's on the bench."
    yield Errand(ErrandKind.BENCH, said, None, do, Target("order", following.code))


def _since(drafted: date | None, day: date | None) -> date | None:
    """Return the day of a draft that was made on a day or later."""
    return drafted if drafted is not None and (day is None or drafted >= day) else None
