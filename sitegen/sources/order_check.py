"""What an order book can say twice in different ways: steps and their record, one person with two slots."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from sitegen.studio.commission import Commissions, Place
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import slot_held
from sitegen.studio.order_sums import paid_of

if TYPE_CHECKING:
    from sitegen.sources.folder import FileRead

_GONE = {Step.PAID, Step.SHIPPED}


def check_orders(file: FileRead, book: Commissions) -> None:
    """Warn of what the commands would have kept in step, with the line to look at."""
    for number, place in enumerate(book.queue):
        for key, sentence in (*_of_moves(place), *_of_money(place), *_of_slots(book, place)):
            file.notes.warn(file.written.line(["queue", number, *key]), sentence)


Found = Iterator[tuple[tuple[str, ...], str]]


def _of_moves(place: Place) -> Found:
    if place.moves and place.moves[-1].step is not place.step:
        yield (
            ("moves",),
            (
                f"{place.code} is '{place.step}', but its moves end with '{place.moves[-1].step}'; "
                "`sitegen order move` keeps both"
            ),
        )
    if any(later.on < earlier.on for earlier, later in pairwise(place.moves)):
        yield ("moves",), f"the moves of {place.code} don't go forward in time; put them in order"


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
