"""What an order book can say twice in different ways: steps and record, slots; times that need a look."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from sitegen.sources.gathered import FileRead
from sitegen.studio.coins import Purse, total
from sitegen.studio.commission import Commissions, Order, Round, Way
from sitegen.studio.fields import shown_twice
from sitegen.studio.in_time import missed, nearly, round_of, unsure
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, goes_back, may_come_after, slot_held

_GONE = {Step.PAID, Step.SHIPPED}


def check_orders(file: FileRead, book: Commissions) -> None:
    """Complain of what the commands would have kept in step, with the line to look at.

    A record that contradicts itself is an error, since every answer from it would be a guess.
    """
    for number, order in enumerate(book.queue):
        for key, sentence in _contradicting(order):
            file.error(sentence, "queue", number, key)
        for warn in (_of_moves, _of_money, _of_slots, _of_times):
            for key, sentence in warn(book, order):
                file.warn(sentence, "queue", number, key)
    for number, one in enumerate(book.rounds):
        for key, sentence in _of_round(one, file.written.value["rounds"][number]):
            file.warn(sentence, "rounds", number, key)


Found = Iterator[tuple[str, str]]


def _contradicting(order: Order) -> Found:
    if not order.moves:
        return
    last = order.moves[-1]
    if any(goes_back(earlier, later) for earlier, later in pairwise(order.moves)):
        yield "moves", f"the moves of {order.code} don't go forward in time; put them in order"
    elif order.since is not None and (
        order.since < last.on or (order.since > last.on and last.step is order.step)
    ):
        yield (
            "since",
            f"{order.code} is '{order.step}' since {order.since}, but its moves end with "
            f"'{last.when} {last.step}'; write the day that's true into both",
        )


def _of_moves(_: Commissions, order: Order) -> Found:
    steps = [move.step for move in order.moves]
    if steps and steps[-1] is not order.step:
        yield (
            "moves",
            f"{order.code} is '{order.step}', but its moves end with '{steps[-1]}'; "
            "`sitegen order move` keeps both",
        )
    odd = next((pair for pair in pairwise(steps) if not may_come_after(*pair)), None)
    if odd is not None and not any(goes_back(*pair) for pair in pairwise(order.moves)):
        yield (
            "moves",
            f"the moves of {order.code} go from '{odd[0]}' to '{odd[1]}', which can't follow; look at them",
        )


def _of_money(_: Commissions, order: Order) -> Found:
    client = order.private
    if order.step is Step.CALLED_OFF and client.paid and client.kept is None:
        yield (
            "step",
            f"{order.code} was called off and money had come in; say in its `private:` what is kept of "
            "it, like `kept: 0`",
        )
    purse = Purse(order.code, client.paid, (), order.day_of(Step.SHIPPED), asked=client.price)
    came = total(toward.amount for toward in purse.towards())
    if order.step in _GONE and client.price is not None and client.paid and came < client.price:
        yield (
            "step",
            f"{order.code} is {order.step}, but only {came} of {client.price} is noted under `paid:`",
        )


def _of_slots(book: Commissions, order: Order) -> Found:
    if order.step is not Step.OFFERED:
        return
    held = slot_held(book, order.private, round_of(book, order), order)
    if held is not None:
        yield "step", f"whoever has the offer {order.code} holds {held.code} ({held.step}) already"


def _of_round(one: Round, written: dict[str, Any]) -> Found:
    if one.head_start and one.way is not Way.FIRST_COME:
        yield "head_start", f"a head start means nothing in {one.name}, which goes by {one.way}; take it out"
    if one.closes is not None and ":" not in str(written.get("closes", "")):
        yield (
            "closes",
            f"{one.name} closes at {one.closes:%Y-%m-%d %H:%M}, as that day begins; write the time, like "
            f"`closes: {one.closes:%Y-%m-%d} 20:00`",
        )
    for key, moment in (("opens", one.opens), ("closes", one.closes)):
        if moment is not None and _twice(moment):
            yield key, f"{_said_twice(moment)}; the first counts. Another time would be plainer"


def _of_times(book: Commissions, order: Order) -> Found:
    key = "moves" if order.moves else "since"
    if order.step in ASKING | {Step.OFFERED}:
        yield from ((key, sentence) for sentence in _in_time(book, order))
    zone = next((one.zone for one in book.rounds), None)
    for move in order.moves:
        if move.at is not None and not move.at.fold and _twice(datetime.combine(move.on, move.at, zone)):
            yield (
                key,
                f"{order.code}: {_said_twice(datetime.combine(move.on, move.at, zone))}; the first counts. "
                f"If it was the second, write `{move.when}B {move.step}`",
            )


def _in_time(book: Commissions, order: Order) -> Iterator[str]:
    one = round_of(book, order)
    if one is None:
        if (near := nearly(book, order)) is not None:
            yield f"{order.code} is in no round: it {near[1]}"
    elif why := missed(book, one, order):
        yield f"{order.code} isn't in line for {one.name}: it {why}"
    elif order.first is None:
        yield f"{order.code} has no day, so it's last in line; write `since:` or `moves:` under it"
    elif why := unsure(book, one, order):
        yield why


def _twice(moment: datetime) -> bool:
    return isinstance(moment.tzinfo, ZoneInfo) and shown_twice(moment, moment.tzinfo)


def _said_twice(moment: datetime) -> str:
    return f"the clocks show {moment:%Y-%m-%d %H:%M} twice, since they go back then"
