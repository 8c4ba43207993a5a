"""The order book: read the studio, ask the desk what an order becomes, write only that order's lines."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

from sitegen.desk import find, order_book, order_money, orders, turns
from sitegen.desk.find import Sitting, one_line, read_day, read_spent, share_in
from sitegen.desk.order_book import Line as Line  # noqa: PLC0414 (the pages that show lines name it too)
from sitegen.desk.order_money import Changed
from sitegen.desk.turns import Passing
from sitegen.jobs.reading import ORDERS, once, sit
from sitegen.jobs.where import writes
from sitegen.sources.changes import add_hours, write_orders
from sitegen.studio.asked import Fault, ask, told, wish
from sitegen.studio.commission import Client, Round, Way
from sitegen.studio.fields import one_of
from sitegen.studio.order_lines import Receipt, Step, write_time
from sitegen.studio.person import deliverable
from sitegen.studio.plan import CalledOffBy
from sitegen.studio.text import short

Moved = TypeVar("Moved", Changed, Passing)
# With the pages, as terms that were accepted are of them.
_BOOK = ORDERS | {"pages"}


@wish
class ListOrders:
    everything: bool = ask("Also what is shipped, declined or called off.", default=False, name="all")
    find: str = ask("Only those of a name, an address or a code, or a part of one.", default="")


def book(folder: Path, wish: ListOrders, today: str | None) -> order_book.OrderBook:
    """List the orders under way, or all of them."""
    desk = sit(folder, today, _BOOK)
    live = turns.rounds_of_interest(desk.studio)
    rounds = [turns.line_up(desk.studio, held, _drawn(folder, held)) for held in live]
    everything, part = wish.everything, wish.find
    return once(
        desk.studio, ("orders", everything, part), (desk.today, *rounds),
        lambda: order_book.order_book(desk.studio, desk.today, rounds, everything=everything, find=part),
    )  # fmt: skip


@wish
class OneOrder:
    code: str = ask(word=True)


def show(folder: Path, wish: OneOrder, today: str | None) -> order_book.OrderSheet:
    desk = sit(folder, today, _BOOK)
    return order_book.order_sheet(desk.studio, wish.code, desk.today)


@writes
def take_back(folder: Path, wish: OneOrder, today: str | None) -> Changed:
    desk = sit(folder, today, _BOOK)
    return _written(folder, desk, orders.take_back(desk.studio, wish.code))


@wish
class AddOrder:
    tier: str = ask("What is asked for, as named under `tiers:`.", default="")
    mail: str = ask(
        "The mail it came in: who, when and what are read from it, but for what is said here.",
        default="", file=True, there=True,
    )  # fmt: skip
    name: str = ask("Who asks.", default="")
    email: str = ask("Where to write to.", default="")
    price: str | None = ask("If it's agreed already, like 640 or 640,50.", default=None)
    notes: str = ask("What they have in mind.", default="")
    round: str | None = ask(
        "The round; without it, the one in whose time the request came.", default=None, like="ROUND"
    )
    code: str | None = ask("The order's code; without it, the next one, like W27-3.", default=None)
    on: str | None = ask(
        "When it came, with a time if the first are served: '2027-01-16 12:04'.", default=None, like="DATE"
    )


@writes
def add(folder: Path, wish: AddOrder, today: str | None) -> Changed:
    """Put a request into the queue; one of a first-come round carries its time of day."""
    desk = sit(folder, today, _BOOK)
    doubts: tuple[str, ...] = ()
    if wish.mail:
        found, doubts = _read(desk, wish.mail)
        known = {name: getattr(found, name) for name in READ if not getattr(wish, name)}
        wish = replace(wish, **known)
    email = wish.email.strip()
    if not wish.tier.strip():
        raise Fault("say what is asked for, as --tier 'Small figure'")
    if email:
        with told(f"--email '{email}'"):
            deliverable(wish.email)
    price = desk.amount(wish.price) if wish.price else None
    client = Client(name=one_line(wish.name), email=email, price=price, notes=one_line(wish.notes))
    when = desk.when(wish.on) if wish.on is not None else desk.now()
    if wish.code is not None and not re.fullmatch(r"[^\W_](?:[\w.-]*[^\W_])?", wish.code):
        raise Fault(f"--code '{wish.code}' is no code; write letters, digits and hyphens, like W27-1")
    added = orders.add(desk.studio, client, one_line(wish.tier), wish.round, wish.code, when)
    return _written(folder, desk, replace(added, said=(*added.said, *doubts)))


@wish
class ReadMail:
    """A mail in which somebody asks for a commission, to look over before it's in the book."""

    mail: str = ask("The whole mail, saved or copied: sender, day and text.", file=True, there=True)


READ = ("name", "email", "on", "tier", "notes")  # what is read from a mail of what a request says
# Characters of a note in the book; the mail itself holds the rest.
_MOST = 2_000


def read_mail(folder: Path, wish: ReadMail, today: str | None) -> tuple[AddOrder, tuple[str, ...]]:
    """Find who asks, when and for what, and what is in doubt. Raises Fault for an empty mail."""
    return _read(sit(folder, today, ORDERS), wish.mail)


def _read(desk: Sitting, mail: str) -> tuple[AddOrder, tuple[str, ...]]:
    if not mail.strip():
        raise Fault("there is nothing in it; paste the mail with its sender and its day")
    from sitegen.letters.envelope import read_asking  # who asks for a command's options needn't wait for it

    found = read_asking(mail)
    on, late = _came(desk, found.at)
    stop = "" if found.subject.endswith(("?", "!", ".", "…")) else "."
    words = one_line(f"{found.subject}{stop} {found.text}" if found.subject else found.text)
    said = f"{words} {found.subject}".casefold()
    tiers = [tier.name for tier in desk.studio.commissions.tiers if tier.name.casefold() in said]
    notes = short(words, _MOST)
    doubts = {
        "No sender's address was found; fill it in.": not found.email,
        "No sender's name was found; fill it in.": found.email and not found.name,
        "The day it gives lies ahead; fill in when it came.": late,
        "No day was found in it; fill in when it came.": not on and not late,
        "The time is the sender's own clock.": on and not found.by_the_post,
        "Nothing is left of its text but what it quotes.": not found.text,
        "It is long, so its beginning is noted; keep the mail.": notes != words,
    }
    return AddOrder(
        name=one_line(found.name), email=found.email, on=on or None,
        tier=tiers[0] if len(tiers) == 1 else "", notes=notes,
    ), tuple(doubt for doubt, holds in doubts.items() if holds)  # fmt: skip


def _came(desk: Sitting, at: datetime | None) -> tuple[str, bool]:
    """Return when a mail came in by the studio's clock, and whether that would lie ahead."""
    if at is None:
        return "", False
    here = desk.moment.tzinfo
    local = at.astimezone(here) if at.tzinfo is not None else at.replace(tzinfo=here)
    if local.astimezone(UTC).date() > desk.moment.astimezone(UTC).date():
        return "", True
    clock = f" {write_time(local.time())}" if at.tzinfo is not None or (at.hour, at.minute) != (0, 0) else ""
    return f"{local.date()}{clock}", False


ON_DAY = "The day it happened; without it, today."


@wish
class MoveOrder(OneOrder):
    step: str = ask(word=True, joined=True)
    price: str | None = ask("The price agreed on, like 640 or 640,50.", default=None)
    on: str | None = ask(ON_DAY, default=None, like="DATE")


@writes
def move(folder: Path, wish: MoveOrder, today: str | None) -> Changed:
    """Take one step forward."""
    desk = sit(folder, today, _BOOK)
    with told():
        step = Step(one_of(Step)(re.sub(r"[-_]+", " ", wish.step)))
    price = desk.amount(wish.price) if wish.price else None
    return _written(folder, desk, orders.move(desk.studio, wish.code, step, desk.when(wish.on), price))


@wish
class PromiseDay(OneOrder):
    day: str = ask(word=True, like="DATE")


@writes
def promise(folder: Path, wish: PromiseDay, today: str | None) -> Changed:
    """Note the day a piece is promised for."""
    desk = sit(folder, today, _BOOK)
    promised = read_day(wish.day, "the promised day")
    if promised is None or promised < desk.today:
        raise Fault(f"{wish.day} has gone by; today is {desk.today}")
    return _written(folder, desk, orders.promise(desk.studio, wish.code, promised))


@wish
class NoteMoney(OneOrder):
    amount: str = ask(word=True)
    on: str | None = ask(ON_DAY, default=None, like="DATE")


@wish
class NotePayment(NoteMoney):
    again: bool = ask("The same amount did come in twice that day.", default=False)
    more: bool = ask("More came in than is owed; what is too much goes back.", default=False)


@writes
def pay(folder: Path, wish: NotePayment, today: str | None) -> Changed:
    desk = sit(folder, today, _BOOK)
    paid = order_money.pay(desk.studio, wish.code, _receipt(desk, wish), desk.today, again=wish.again)
    if not wish.more:
        order_money.refuse_too_much(desk.studio, paid.order, desk.today)
    return _written(folder, desk, paid)


@writes
def refund(folder: Path, wish: NoteMoney, today: str | None) -> Changed:
    desk = sit(folder, today, _BOOK)
    sent = order_money.refund(desk.studio, wish.code, _receipt(desk, wish), desk.today)
    return _written(folder, desk, sent)


def _receipt(desk: Sitting, wish: NoteMoney) -> Receipt:
    return Receipt(on=desk.when(wish.on).day, amount=desk.amount(wish.amount))


@wish
class NoteHours(OneOrder):
    step: str = ask(word=True)
    hours: str = ask(word=True, like="HOURS")
    on: str | None = ask("A day of the week they belong to; without it, today.", default=None, like="DATE")


@writes
def hours(folder: Path, wish: NoteHours, today: str | None) -> Changed:
    """Add bench hours: to the order's piece if there is one, else to the order."""
    desk = sit(folder, today, _BOOK)
    spent, step, day = read_spent(wish.hours), one_line(wish.step), desk.when(wish.on).day
    changed, in_piece = orders.note_hours(desk.studio, wish.code, step, spent, day)
    if in_piece is None:
        return _written(folder, desk, changed)
    file, there, worked = in_piece
    add_hours(folder / file, file, step, there, worked)
    return changed


@wish
class DeclineOrder(OneOrder):
    why: str = ask("The reason, as the letter will give it.")
    on: str | None = ask(ON_DAY, default=None, like="DATE")


@writes
def decline(folder: Path, wish: DeclineOrder, today: str | None) -> Changed:
    """Decline a request, or take an offer back, with a reason."""
    desk = sit(folder, today, _BOOK)
    day = desk.when(wish.on).day
    return _written(folder, desk, order_money.decline(desk.studio, wish.code, _reason(wish.why), day))


@wish
class CancelOrder(OneOrder):
    by: str = ask("Who ends it.", choices=("client", "maker"))
    why: str = ask("The reason; a must when you end it.", default="")
    work: str | None = ask(
        "How much of the work is done, like 40%, if it is on the bench.", default=None, like="SHARE"
    )
    on: str | None = ask(ON_DAY, default=None, like="DATE")


@writes
def cancel(
    folder: Path, wish: CancelOrder, today: str | None, agree: Callable[[Changed], bool]
) -> Changed | None:
    """End an order early and settle its money; None if the artist doesn't agree to what is shown."""
    desk = sit(folder, today, _BOOK)
    by = CalledOffBy(wish.by)
    why = _reason(wish.why) if by is CalledOffBy.MAKER else one_line(wish.why)
    work = share_in(wish.work) if wish.work is not None else None
    if work is None and wish.work is not None:
        raise Fault(f"--work '{wish.work}' is no share of the work; write it like 40%")
    ending = order_money.Ending(by, desk.when(wish.on).day, why, work)
    changed = order_money.cancel(desk.studio, wish.code, ending)
    return _written(folder, desk, changed) if agree(changed) else None


def _reason(text: str) -> str:
    why = one_line(text)
    if not why:
        raise Fault("say why, as --why 'The piece would need a kiln, which I don't have.'")
    return why


@wish
class OfferSlots:
    round: str = ask(word=True, like="ROUND")
    slots: int | None = ask("At most so many; without it, all that are free.", default=None, least=1)


@writes
def offer(
    folder: Path, wish: OfferSlots, today: str | None, agree: Callable[[Passing], bool]
) -> Passing | None:
    """Offer a round's free slots to the next in line; None if the artist doesn't agree to what is shown."""
    desk = sit(folder, today, _BOOK)
    held = find.round_named(desk.studio, wish.round)
    made = turns.offer_round(desk.studio, held.name, _drawn(folder, held), wish.slots, desk.moment)
    return _passed(folder, desk, made, agree)


@writes
def lapsed(folder: Path, today: str | None, agree: Callable[[Passing], bool]) -> Passing | None:
    """Pass on the offers that nobody answered in time; None if the artist doesn't agree to what is shown."""
    desk = sit(folder, today, _BOOK)
    rounds = desk.studio.commissions.rounds
    drawn = {held.name: codes for held in rounds if (codes := _drawn(folder, held)) is not None}
    return _passed(folder, desk, turns.lapsed(desk.studio, drawn, desk.today), agree)


def _passed(folder: Path, desk: Sitting, made: Passing, agree: Callable[[Passing], bool]) -> Passing | None:
    if not made.changes:
        return made
    return _written(folder, desk, made) if agree(made) else None


def _written(folder: Path, desk: Sitting, moved: Moved) -> Moved:
    write_orders(folder, desk.studio.commissions, moved.book, desk.studio.settings.digits)
    return moved


def _drawn(folder: Path, held: Round) -> tuple[str, ...] | None:
    from sitegen.jobs.draws import order_of

    return order_of(folder, held) if held.way is Way.DRAW else None
