"""Times of the order book that need a look: requests out of time, missing times, hours that come twice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sitegen.sources.gathered import FileRead
from sitegen.studio.commission import Commissions, Order
from sitegen.studio.in_time import missed, nearly, round_of, unsure
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING
from sitegen.studio.round import Round, Way
from sitegen.studio.wall_clock import shown_twice


def check_times(file: FileRead, book: Commissions) -> None:
    """Warn of a request that isn't in its round's line, and of a time that may be meant otherwise."""
    for number, one in enumerate(book.rounds):
        written = file.written.value["rounds"][number]
        for key, sentence in _of_round(one, written):
            file.notes.warn(file.written.line(["rounds", number, key]), sentence)
    for number, order in enumerate(book.queue):
        for key, sentence in _of_place(book, order):
            file.notes.warn(file.written.line(["queue", number, key]), sentence)


Found = Iterator[tuple[str, str]]


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


def _of_place(book: Commissions, order: Order) -> Found:
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
    elif order.first is None and order.round:
        yield f"{order.code} has no day, so it's last in line; write `since:` or `moves:` under it"
    elif why := unsure(book, one, order):
        yield why


def _twice(moment: datetime) -> bool:
    return isinstance(moment.tzinfo, ZoneInfo) and shown_twice(moment, moment.tzinfo)


def _said_twice(moment: datetime) -> str:
    return f"the clocks show {moment:%Y-%m-%d %H:%M} twice, since they go back then"
