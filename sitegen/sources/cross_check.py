"""What no single value can tell: names and photos that must be there, a book that says two things at once."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from sitegen.sources.gathered import FileRead, Gathered, Look
from sitegen.sources.people import fault_of
from sitegen.studio import order_steps
from sitegen.studio.commission import Commissions, Order, Round, Way
from sitegen.studio.fields import did_you_mean, is_placeholder, no_such, not_one_of, shown_twice
from sitegen.studio.money import total
from sitegen.studio.order_lines import Step
from sitegen.studio.order_steps import ASKING, UNDER_WAY
from sitegen.studio.piece import Piece, Status
from sitegen.studio.purses import Purse
from sitegen.studio.text import slug

# What Pillow may be asked to open; anything else beside a piece.yaml is left alone in silence.
PHOTO_ENDINGS = frozenset({".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif"})


def everything(seen: Gathered, look: Look | None, *, photos: bool = True) -> None:
    """Run every check that needs more than one value."""
    known = [series.name for series in seen.settings.series] if seen.settings else []
    if seen.settings is not None:
        ours, contact = seen.notebook("studio.yaml"), seen.settings.contact
        if fault := None if is_placeholder(contact) else fault_of(contact.strip()):
            ours.error_at("contact", f"contact '{contact}' is no mail address: {fault}")
        _complain_of_twins(ours, "series", known)
    numbers: dict[str, list[str]] = {}
    for piece in seen.pieces:
        numbers.setdefault(piece.number or "", []).append(piece.slug)
    for piece in seen.pieces:
        file = seen.file_of(piece)
        if piece.number and len(numbers[piece.number]) > 1:
            others = ", ".join(slug for slug in numbers[piece.number] if slug != piece.slug)
            file.error_at(
                "number", f"number '{piece.number}' also belongs to {others}; each piece has its own"
            )
        if seen.settings and piece.series is not None and piece.series not in known:
            hint = did_you_mean(piece.series, known) or "; add it under `series:` there"
            file.error_at("series", f"series '{piece.series}' isn't in studio.yaml{hint}")
        if seen.commissions is not None:
            _names(seen.commissions, piece, file)
        if photos:
            _photos(seen, piece, file, look)
    _tables(seen)
    if seen.commissions is not None:
        _commissions(seen.notebook("commissions.yaml"), seen.commissions)


def _tables(seen: Gathered) -> None:
    """Complain of a piece that goes to no table, or to two at once."""
    known = [piece.slug for piece in seen.pieces]
    for place, (path, show) in enumerate(shows := [*seen.shows.items()]):
        file = seen.notebook(path)
        for name in show.bring:
            if known and name not in known:
                file.error_at("bring", no_such("piece", name, known))
            other = next((one for _, one in shows[:place] if name in one.bring and one.meets(show)), None)
            if other is not None:
                promised = f"promised to {other.name} ({other.first_day} to {other.ends}) on the same days"
                cure = "take it out of `bring:` in one of the two files"
                file.error_at("bring", f"'{name}' is {promised}; {cure}")


def _complain_of_twins(file: FileRead, block: str, names: Sequence[str]) -> None:
    first: dict[str, int] = {}
    for place, name in enumerate(names):
        had = first.setdefault(slug(name), place)
        if had != place:
            other = file.line_of(f"{block}.{had}")
            sentence = f"'{name}' has the same address as the entry in line {other}; rename one of them"
            file.error_at(f"{block}.{place}", sentence)


def standing(piece: Piece, file: FileRead) -> None:
    """Compare a piece's status with the rest of its own file; the memory keeps what is said."""
    status, price, sold, plan = piece.status, piece.price, piece.private.sold, piece.private.plan
    if sold is not None and status not in {Status.SOLD, Status.COMMISSIONED}:
        file.error_at(
            "status",
            f"status is '{status}', but `private: sold:` says it was sold on {sold.on}; mark it sold, "
            "or take those lines out",
        )
    if plan is not None and plan.price is None and price is None:
        none = "nothing says what is paid for in parts; add a line like `price: 480` to the plan or the piece"
        file.error_at("private.plan", none)
    if status is Status.AVAILABLE:
        if price is None:
            file.warn_at("status", "the piece is available but has no price; add a line like `price: 480`")
        if price == 0:
            file.warn_at("price", "the piece is offered for nothing; is that meant?")
        if not piece.photos:
            none = "the piece is available but has no photo; list one under `photos:`"
            file.warn_at("status", none)
    _sales(piece, file)


def _sales(piece: Piece, file: FileRead) -> None:
    """Look for a sale that isn't noted, and compare sales with what was agreed on where the piece was."""
    sales = piece.private.sales
    if piece.unpriced_sale:
        mark = f"`sitegen piece mark {piece.slug} {piece.status} --price"
        said = (
            f"its latest sale says it came back on {sales[-1].returned}; "
            f"{mark} … --on DATE` notes the sale after that"
            if sales
            else "what it was sold for isn't noted, so the books may not count it; "
            f"{mark} {piece.price or 480} --on DATE` adds that"
        )
        file.warn_at("status", f"the piece is {piece.status}, but {said}")
    for sale in sales:
        stay = piece.sold_at(sale.on)
        lowest = stay.private.lowest if stay is not None else None
        if stay is not None and sale.fee is None:
            file.warn_at(
                "private.sold",
                f"it was sold on {sale.on} while it was at {stay.place}, and nothing says what they kept; "
                "add a line like `fee: 192.00` to the sale (`fee: 0` for nothing)",
            )
        elif stay is not None and lowest is not None and sale.price < lowest:
            less = f"{stay.place} sold it for {sale.price}; the lowest price agreed on is {lowest}"
            file.warn_at("private.sold", f"{less}, so the rest may be theirs to pay")


def _photos(seen: Gathered, piece: Piece, file: FileRead, look: Look | None) -> None:
    folder = seen.photo_folders[piece.slug]
    with os.scandir(folder) as entries:
        present = {entry.name for entry in entries if entry.is_file()}
    present = seen.names_in(f"pieces/{folder.name}", present) if seen.instead else present
    listed: set[str] = set()
    for place, photo in enumerate(piece.photos):
        fault: str | None = None
        if photo.file in listed:
            fault = " is listed twice"
        elif photo.file not in present:
            fault = f" isn't in the folder{_near(photo.file, present)}"
        elif look is not None and (wrong := look(folder / photo.file)):
            fault = f": {wrong}"
        if fault:
            file.error_at(f"photos.{place}.file", f"photo '{photo.file}'{fault}")
        listed.add(photo.file)
        if not photo.alt.strip():
            sentence = f"photo '{photo.file}' has no `alt:`; say in a sentence what it shows"
            file.warn_at(f"photos.{place}.file", sentence)
    for name in sorted(present - listed):
        if Path(name).suffix.lower() in PHOTO_ENDINGS and not name.startswith("."):
            file.warn_at("photos", f"photo '{name}' lies in the folder but isn't listed")


def _alike(name: str) -> str:
    return unicodedata.normalize("NFC", name.lower())


def _near(name: str, present: Iterable[str]) -> str:
    photos = {_alike(name): name for name in present if Path(name).suffix.lower() in PHOTO_ENDINGS}
    if there := photos.get(_alike(name)):
        if there.lower() == name.lower():
            return f"; it is spelt '{there}' there"
        return "; its letters are stored otherwise there, as some Macs do: name the photo without accents"
    return did_you_mean(name, sorted(photos.values()))


def _names(commissions: Commissions, piece: Piece, file: FileRead) -> None:
    """Warn of a piece whose hours count for a tier or an order that isn't there.

    Only a warning: a tier may be given up and an old order taken out of the book, and the piece stays.
    """
    tier, code, tiers = piece.private.tier, piece.private.order, [tier.name for tier in commissions.tiers]
    steps = {order.code: order.step for order in commissions.queue}
    if tier and tier not in tiers:  # each of these looks for the nearest name: only where it's needed
        lost = f"tier '{tier}' isn't under `tiers:` in commissions.yaml, so these hours speak for no tier"
        file.warn_at("private.tier", f"{lost}{_cure(tier, tiers)}")
    if piece.private.plan is not None and steps.get(code) in UNDER_WAY:
        file.error_at(
            "private.plan",
            f"what comes in for {code} is noted with that order in commissions.yaml "
            f"(`sitegen order paid {code} AMOUNT`); take `plan:` out, or the order",
        )
    if code and code not in steps:
        sentence = f"order '{code}' isn't in the queue of commissions.yaml{_cure(code, list(steps))}"
        file.warn_at("private.order", sentence)


def _cure(name: str, known: list[str]) -> str:
    """Name the nearest one, else all of them, else nothing."""
    every = f"; there are {', '.join(known)}" if 0 < len(known) <= 8 else ""
    return did_you_mean(name, known) or every


def _commissions(file: FileRead, book: Commissions) -> None:
    """Complain of names that aren't there or stand twice, and of what the commands would have kept in step.

    A record that contradicts itself is an error, since every answer from it would be a guess.
    """
    known, rounds = [tier.name for tier in book.tiers], [held.name for held in book.rounds]
    tiers = [(f"queue.{number}.tier", order.tier) for number, order in enumerate(book.queue)]
    tiers += [(f"waiting.{number}.tier", who.tier) for number, who in enumerate(book.waiting)]
    for number, held in enumerate(book.rounds):
        tiers += [(f"rounds.{number}.tiers.{entry}", tier) for entry, tier in enumerate(held.tiers)]
    for place, tier in tiers:
        if tier and tier not in known:
            nearest = not_one_of(tier, known) if known else f"'{tier}' isn't under `tiers:`"
            file.error_at(place, f"tier {nearest}")
    _complain_of_twins(file, "tiers", known)
    _complain_of_twins(file, "rounds", rounds)
    _complain_of_twins(file, "queue", [order.code for order in book.queue])
    for number, order in enumerate(book.queue):
        for check in (_of_moves, _of_money, _of_times):
            check(file, book, order, f"queue.{number}")
    for number, held in enumerate(book.rounds):
        _of_round(file, held, number)


def _of_moves(file: FileRead, book: Commissions, order: Order, at: str) -> None:
    rounds, steps = [held.name for held in book.rounds], [move.step for move in order.moves]
    if order.round and order.round not in rounds:
        named = f"{order.code} names the round '{order.round}', which isn't under `rounds:`"
        file.error_at(f"{at}.round", f"{named}{_cure(order.round, rounds)}")
    if not order.moves:
        return
    last, since = order.moves[-1], order.since
    if last.step is not order.step:
        ends = f"{order.code} is '{order.step}', but its moves end with '{last.step}'"
        file.warn_at(f"{at}.moves", f"{ends}; `sitegen order move` keeps both")
    if any(order_steps.goes_back(*pair) for pair in pairwise(order.moves)):
        back = f"the moves of {order.code} don't go forward in time; put them in order"
        file.error_at(f"{at}.moves", back)
        return
    if since is not None and (since < last.on or (since > last.on and last.step is order.step)):
        apart = f"{order.code} is '{order.step}' since {since}, but its moves end with"
        file.error_at(
            f"{at}.since", f"{apart} '{last.when} {last.step}'; write the day that's true into both"
        )
    if odd := next((pair for pair in pairwise(steps) if not order_steps.may_come_after(*pair)), None):
        jump = f"the moves of {order.code} go from '{odd[0]}' to '{odd[1]}', which can't follow"
        file.warn_at(f"{at}.moves", f"{jump}; look at them")


def _of_money(file: FileRead, book: Commissions, order: Order, at: str) -> None:
    client = order.private
    if order.step is Step.CALLED_OFF and client.paid and client.kept is None:
        off = f"{order.code} was called off and money had come in; say in its `private:` what is kept of it"
        file.warn_at(f"{at}.step", f"{off}, like `kept: 0`")
    if order.step in {Step.PAID, Step.SHIPPED} and client.price is not None and client.paid:
        purse = Purse(order.code, client.paid, (), order.day_of(Step.SHIPPED), asked=client.price)
        if (came := total(toward.amount for toward in purse.towards())) < client.price:
            only = f"only {came} of {client.price} is noted under `paid:`"
            file.warn_at(f"{at}.step", f"{order.code} is {order.step}, but {only}")
    if order.step is Step.OFFERED and (
        held := order_steps.slot_held(book, client, order_steps.round_of(book, order), order)
    ):
        holds = f"whoever has the offer {order.code} holds {held.code} ({held.step}) already"
        file.warn_at(f"{at}.step", holds)


def _of_round(file: FileRead, held: Round, number: int) -> None:
    written, at = file.written.value["rounds"][number], f"rounds.{number}"
    if held.head_start and held.way is not Way.FIRST_COME:
        nothing = f"a head start means nothing in {held.name}, which goes by {held.way}; take it out"
        file.warn_at(f"{at}.head_start", nothing)
    if held.closes is not None and ":" not in str(written.get("closes", "")):
        file.warn_at(
            f"{at}.closes",
            f"{held.name} closes at {held.closes:%Y-%m-%d %H:%M}, as that day begins; write the time, like "
            f"`closes: {held.closes:%Y-%m-%d} 20:00`",
        )
    for key, moment in (("opens", held.opens), ("closes", held.closes)):
        if twice := _twice(moment):
            file.warn_at(f"{at}.{key}", f"{twice}. Another time would be plainer")


def _of_times(file: FileRead, book: Commissions, order: Order, at: str) -> None:
    place = f"{at}.{'moves' if order.moves else 'since'}"
    if order.step in ASKING | {Step.OFFERED} and (late := _in_time(book, order)):
        file.warn_at(place, late)
    zone = next((held.zone for held in book.rounds), None)
    for move in order.moves:
        if move.at is None or move.at.fold:
            continue
        if twice := _twice(datetime.combine(move.on, move.at, zone)):
            second = f"If it was the second, write `{move.when}B {move.step}`"
            file.warn_at(place, f"{order.code}: {twice}. {second}")


def _in_time(book: Commissions, order: Order) -> str:
    one = order_steps.round_of(book, order)
    if one is None:
        near = order_steps.nearly(book, order)
        return f"{order.code} is in no round: it {near[1]}" if near is not None else ""
    if why := order_steps.missed(book, one, order):
        return f"{order.code} isn't in line for {one.name}: it {why}"
    if order.first is None:
        return f"{order.code} has no day, so it's last in line; write `since:` or `moves:` under it"
    return order_steps.unsure(book, one, order)


def _twice(moment: datetime | None) -> str:
    """Say that the clocks show a time twice; nothing if they don't."""
    zone = moment.tzinfo if moment else None
    if moment is None or not isinstance(zone, ZoneInfo) or not shown_twice(moment, zone):
        return ""
    return f"the clocks show {moment:%Y-%m-%d %H:%M} twice, since they go back then; the first counts"
