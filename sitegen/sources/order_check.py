"""What an order book can say twice in different ways: steps and their record, one person with two slots."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sitegen.sources.gathered import FileRead
from sitegen.sources.time_check import check_times
from sitegen.studio.coins import Purse, total
from sitegen.studio.commission import Commissions, Order
from sitegen.studio.in_time import round_of
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import goes_back, may_come_after, slot_held

_GONE = {Step.PAID, Step.SHIPPED}


def check_orders(file: FileRead, book: Commissions) -> None:
    """Complain of what the commands would have kept in step, with the line to look at.

    A record that contradicts itself is an error, since every answer from it would be a guess.
    """
    for number, order in enumerate(book.queue):
        for key, sentence in _contradicting(order):
            file.notes.error(file.written.line(["queue", number, *key]), sentence)
        for key, sentence in (*_of_moves(order), *_of_money(order), *_of_slots(book, order)):
            file.notes.warn(file.written.line(["queue", number, *key]), sentence)
    check_times(file, book)


Found = Iterator[tuple[tuple[str, ...], str]]


def _contradicting(order: Order) -> Found:
    if not order.moves:
        return
    last = order.moves[-1]
    if any(goes_back(earlier, later) for earlier, later in pairwise(order.moves)):
        yield ("moves",), f"the moves of {order.code} don't go forward in time; put them in order"
    elif order.since is not None and (
        order.since < last.on or (order.since > last.on and last.step is order.step)
    ):
        yield (
            ("since",),
            (
                f"{order.code} is '{order.step}' since {order.since}, but its moves end with "
                f"'{last.when} {last.step}'; write the day that's true into both"
            ),
        )


def _of_moves(order: Order) -> Found:
    steps = [move.step for move in order.moves]
    if steps and steps[-1] is not order.step:
        yield (
            ("moves",),
            (
                f"{order.code} is '{order.step}', but its moves end with '{steps[-1]}'; "
                "`sitegen order move` keeps both"
            ),
        )
    odd = next((pair for pair in pairwise(steps) if not may_come_after(*pair)), None)
    if odd is not None and not any(goes_back(*pair) for pair in pairwise(order.moves)):
        yield (
            ("moves",),
            f"the moves of {order.code} go from '{odd[0]}' to '{odd[1]}', which can't follow; look at them",
        )


def _of_money(order: Order) -> Found:
    client = order.private
    if order.step is Step.CALLED_OFF and client.paid and client.kept is None:
        yield (
            ("step",),
            (
                f"{order.code} was called off and money had come in; say in its `private:` what is kept of "
                "it, like `kept: 0`"
            ),
        )
    purse = Purse(order.code, client.paid, (), order.day_of(Step.SHIPPED), asked=client.price)
    came = total(one.amount for one in purse.towards())
    if order.step in _GONE and client.price is not None and client.paid and came < client.price:
        yield (
            ("step",),
            f"{order.code} is {order.step}, but only {came} of {client.price} is noted under `paid:`",
        )


def _of_slots(book: Commissions, order: Order) -> Found:
    if order.step is not Step.OFFERED:
        return
    held = slot_held(book, order.private, round_of(book, order), order)
    if held is not None:
        yield ("step",), f"whoever has the offer {order.code} holds {held.code} ({held.step}) already"
