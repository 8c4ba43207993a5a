"""What an order book can say twice in different ways: steps and their record, one person with two slots."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from sitegen.sources.time_check import check_times
from sitegen.studio.commission import Commissions, Place
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import goes_back, may_come_after, slot_held
from sitegen.studio.order_sums import paid_of

if TYPE_CHECKING:
    from sitegen.sources.folder import FileRead

_GONE = {Step.PAID, Step.SHIPPED}


def check_orders(file: FileRead, book: Commissions) -> None:
    """Complain of what the commands would have kept in step, with the line to look at.

    A record that contradicts itself is an error, since every answer from it would be a guess.
    """
    for number, place in enumerate(book.queue):
        for key, sentence in _contradicting(place):
            file.notes.error(file.written.line(["queue", number, *key]), sentence)
        for key, sentence in (*_of_moves(place), *_of_money(place), *_of_slots(book, place)):
            file.notes.warn(file.written.line(["queue", number, *key]), sentence)
    check_times(file, book)


Found = Iterator[tuple[tuple[str, ...], str]]


def _contradicting(place: Place) -> Found:
    if not place.moves:
        return
    last = place.moves[-1]
    if any(goes_back(earlier, later) for earlier, later in pairwise(place.moves)):
        yield ("moves",), f"the moves of {place.code} don't go forward in time; put them in order"
    elif place.since is not None and (
        place.since < last.on or (place.since > last.on and last.step is place.step)
    ):
        yield (
            ("since",),
            (
                f"{place.code} is '{place.step}' since {place.since}, but its moves end with "
                f"'{last.when} {last.step}'; write the day that's true into both"
            ),
        )


def _of_moves(place: Place) -> Found:
    steps = [move.step for move in place.moves]
    if steps and steps[-1] is not place.step:
        yield (
            ("moves",),
            (
                f"{place.code} is '{place.step}', but its moves end with '{steps[-1]}'; "
                "`sitegen order move` keeps both"
            ),
        )
    odd = next((pair for pair in pairwise(steps) if not may_come_after(*pair)), None)
    if odd is not None and not any(goes_back(*pair) for pair in pairwise(place.moves)):
        yield (
            ("moves",),
            f"the moves of {place.code} go from '{odd[0]}' to '{odd[1]}', which can't follow; look at them",
        )


def _of_money(place: Place) -> Found:
    client = place.private
    if place.step is Step.CALLED_OFF and client.paid and client.kept is None:
        yield (
            ("step",),
            (
                f"{place.code} was called off and money had come in; say in its `private:` what is kept of "
                "it, like `kept: 0`"
            ),
        )
    short = client.price is not None and client.paid and paid_of(place) < client.price
    if place.step in _GONE and short:
        yield (
            ("step",),
            (
                f"{place.code} is {place.step}, but only {paid_of(place)} of {client.price} is noted "
                "under `paid:`"
            ),
        )


def _of_slots(book: Commissions, place: Place) -> Found:
    if place.step is not Step.OFFERED:
        return
    held = slot_held(book, place.private, book.round_of(place), place)
    if held is not None:
        yield ("step",), f"whoever has the offer {place.code} holds {held.code} ({held.step}) already"
