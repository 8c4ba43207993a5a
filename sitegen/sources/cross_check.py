"""What no single value can tell: names that must agree, photos that must be there, places still to fill."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from sitegen.sources.addresses import fault_of
from sitegen.sources.gathered import FileRead, Gathered, Look
from sitegen.sources.order_check import check_orders
from sitegen.studio.commission import Commissions
from sitegen.studio.fields import did_you_mean, is_placeholder, no_such, not_one_of
from sitegen.studio.order_steps import UNDER_WAY
from sitegen.studio.piece import Piece, Status
from sitegen.studio.text import slug

# What Pillow may be asked to open; anything else beside a piece.yaml is left alone in silence.
PHOTO_ENDINGS = frozenset({".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif"})


def everything(seen: Gathered, look: Look | None, *, photos: bool = True) -> None:
    """Run every check that needs more than one value."""
    _contact(seen)
    _series_twice(seen)
    _numbers_twice(seen)
    for piece in seen.pieces:
        file = seen.file_of(piece)
        _series(seen, piece, file)
        _names(seen, piece, file)
        if photos:
            _photos(seen, piece, file, look)
    _tables(seen)
    _commissions(seen)


def _tables(seen: Gathered) -> None:
    """Complain of a piece that goes to no table, or to two at once."""
    known = [piece.slug for piece in seen.pieces]
    for place, (show, path) in enumerate(zip(seen.shows, seen.show_files, strict=True)):
        file = seen.files[path]
        for name in show.bring:
            if known and name not in known:
                file.error(no_such("piece", name, known), "bring")
            other = next((one for one in seen.shows[:place] if name in one.bring and one.meets(show)), None)
            if other is not None:
                file.error(
                    f"'{name}' is promised to {other.name} ({other.first_day} to {other.ends}) on the same "
                    "days; take it out of `bring:` in one of the two files", "bring",
                )  # fmt: skip


def _contact(seen: Gathered) -> None:
    settings = seen.settings
    if settings is None or is_placeholder(settings.contact):
        return
    if fault := fault_of(settings.contact.strip()):
        file = seen.files["studio.yaml"]
        file.error(f"contact '{settings.contact}' is no mail address: {fault}", "contact")


def _series_twice(seen: Gathered) -> None:
    if seen.settings is not None:
        names = [one.name for one in seen.settings.series]
        _complain_of_twins(seen.files["studio.yaml"], "series", names)


def _complain_of_twins(file: FileRead, block: str, names: Sequence[str]) -> None:
    first: dict[str, int] = {}
    for place, name in enumerate(names):
        if (key := slug(name)) in first:
            other = file.written.line([block, first[key]])
            sentence = f"'{name}' has the same address as the entry in line {other}; rename one of them"
            file.error(sentence, block, place)
        first.setdefault(key, place)


def _numbers_twice(seen: Gathered) -> None:
    counts = Counter(piece.number for piece in seen.pieces if piece.number)
    for piece in seen.pieces:
        if piece.number and counts[piece.number] > 1:
            others = [one.slug for one in seen.pieces if one.number == piece.number and one is not piece]
            file = seen.file_of(piece)
            file.error(
                f"number '{piece.number}' also belongs to {', '.join(others)}; each piece has its own",
                "number",
            )


def _series(seen: Gathered, piece: Piece, file: FileRead) -> None:
    if seen.settings is None or piece.series is None:
        return
    known = [one.name for one in seen.settings.series]
    if piece.series in known:
        return
    hint = did_you_mean(piece.series, known) or "; add it under `series:` there"
    file.error(f"series '{piece.series}' isn't in studio.yaml{hint}", "series")


def standing(piece: Piece, file: FileRead) -> None:
    """Compare a piece's status with the rest of its own file; the memory keeps what is said."""
    if piece.private.sold is not None and piece.status not in {Status.SOLD, Status.COMMISSIONED}:
        file.error(
            f"status is '{piece.status}', but `private: sold:` says it was sold on {piece.private.sold.on}; "
            "mark it sold, or take those lines out",
            "status",
        )
    _sold_elsewhere(piece, file)
    plan = piece.private.plan
    if plan is not None and plan.price is None and piece.price is None:
        file.error(
            "nothing says what is paid for in parts; add a line like `price: 480` to the plan or the piece",
            "private",
            "plan",
        )
    if piece.unpriced_sale and not piece.private.sales:
        file.warn(
            f"the piece is {piece.status}, but what it was sold for isn't noted, so the books may not count "
            f"it; `sitegen piece mark {piece.slug} {piece.status} --price {piece.price or 480} --on DATE` "
            "adds that",
            "status",
        )
    if piece.unpriced_sale and piece.private.sales:
        file.warn(
            f"the piece is {piece.status}, but its latest sale says it came back on "
            f"{piece.private.sales[-1].returned}; `sitegen piece mark {piece.slug} {piece.status} "
            "--price … --on DATE` notes the sale after that",
            "status",
        )
    if piece.status is Status.AVAILABLE and piece.price is None:
        file.warn("the piece is available but has no price; add a line like `price: 480`", "status")
    if piece.status is Status.AVAILABLE and piece.price == 0:
        file.warn("the piece is offered for nothing; is that meant?", "price")
    if piece.status is Status.AVAILABLE and not piece.photos:
        file.warn("the piece is available but has no photo; list one under `photos:`", "status")


def _sold_elsewhere(piece: Piece, file: FileRead) -> None:
    """Compare sales with what was agreed on with the place where the piece was."""
    for sold in piece.private.sales:
        stay = piece.sold_at(sold.on)
        if stay is None:
            continue
        if sold.fee is None:
            file.warn(
                f"it was sold on {sold.on} while it was at {stay.place}, and nothing says what they "
                "kept; add a line like `fee: 192.00` to the sale (`fee: 0` for nothing)",
                "private",
                "sold",
            )
        elif stay.private.lowest is not None and sold.price < stay.private.lowest:
            file.warn(
                f"{stay.place} sold it for {sold.price}; the lowest price agreed on is "
                f"{stay.private.lowest}, so the rest may be theirs to pay",
                "private",
                "sold",
            )


def _photos(seen: Gathered, piece: Piece, file: FileRead, look: Look | None) -> None:
    folder = seen.photo_folders[piece.slug]
    with os.scandir(folder) as entries:
        present = {entry.name for entry in entries if entry.is_file()}
    present = seen.names_in(f"pieces/{folder.name}", present) if seen.instead else present
    first: dict[str, int] = {}
    for place, photo in enumerate(piece.photos):
        if fault := _photo_fault(folder, photo.file, first, present, look):
            file.error(f"photo '{photo.file}'{fault}", "photos", place, "file")
        first[photo.file] = place
        if not photo.alt.strip():
            file.warn(
                f"photo '{photo.file}' has no `alt:`; say in a sentence what it shows",
                "photos",
                place,
                "file",
            )
    for name in sorted(present - first.keys()):
        if Path(name).suffix.lower() in PHOTO_ENDINGS and not name.startswith("."):
            file.warn(f"photo '{name}' lies in the folder but isn't listed", "photos")


def _photo_fault(
    folder: Path, name: str, seen: Container[str], present: set[str], look: Look | None
) -> str | None:
    if name in seen:
        return " is listed twice"
    if name not in present:
        return f" isn't in the folder{_near(name, present)}"
    fault = look(folder / name) if look is not None else None
    return f": {fault}" if fault else None


def _near(name: str, present: Iterable[str]) -> str:
    photos = {one.lower(): one for one in present if Path(one).suffix.lower() in PHOTO_ENDINGS}
    if name.lower() in photos:
        return f"; it is spelt '{photos[name.lower()]}' there"
    return did_you_mean(name, sorted(photos.values()))


def _commissions(seen: Gathered) -> None:
    commissions = seen.commissions
    if commissions is None:
        return
    file = seen.files["commissions.yaml"]
    known = [tier.name for tier in commissions.tiers]
    for place, tier in _tiers_named(commissions):
        if tier and tier not in known:
            nearest = not_one_of(tier, known) if known else f"'{tier}' isn't under `tiers:`"
            file.error(f"tier {nearest}", *place)
    _complain_of_twins(file, "tiers", known)
    _complain_of_twins(file, "rounds", [one.name for one in commissions.rounds])
    _complain_of_twins(file, "queue", [order.code for order in commissions.queue])
    check_orders(file, commissions)
    _rounds(file, commissions)


def _tiers_named(commissions: Any) -> Iterator[tuple[list[str | int], str]]:
    for number, one in enumerate(commissions.rounds):
        for entry, tier in enumerate(one.tiers):
            yield ["rounds", number, "tiers", entry], tier
    for number, place in enumerate(commissions.queue):
        yield ["queue", number, "tier"], place.tier
    for number, waiting in enumerate(commissions.waiting):
        yield ["waiting", number, "tier"], waiting.tier


def _rounds(file: FileRead, commissions: Commissions) -> None:
    """Complain of a place in the queue that names a round which isn't there."""
    known = [one.name for one in commissions.rounds]
    for number, order in enumerate(commissions.queue):
        if order.round and order.round not in known:
            file.error(
                f"{order.code} names the round '{order.round}', which isn't under `rounds:`"
                f"{_cure(order.round, known)}",
                "queue",
                number,
                "round",
            )


def _names(seen: Gathered, piece: Piece, file: FileRead) -> None:
    """Warn of a piece whose hours count for a tier or an order that isn't there.

    Only a warning: a tier may be given up and an old order taken out of the book, and the piece stays.
    """
    commissions = seen.commissions
    if commissions is None:
        return
    tiers = [tier.name for tier in commissions.tiers]
    if piece.private.tier and piece.private.tier not in tiers:
        file.warn(
            f"tier '{piece.private.tier}' isn't under `tiers:` in commissions.yaml, so these hours speak for "
            f"no tier{_cure(piece.private.tier, tiers)}",
            "private",
            "tier",
        )
    if not piece.private.order:
        return
    codes = {order.code: order.step for order in commissions.queue}
    if piece.private.plan is not None and codes.get(piece.private.order) in UNDER_WAY:
        file.error(
            f"what comes in for {piece.private.order} is noted with that order in commissions.yaml "
            f"(`sitegen order paid {piece.private.order} AMOUNT`); take `plan:` out, or the order",
            "private",
            "plan",
        )
    if piece.private.order not in codes:
        file.warn(
            f"order '{piece.private.order}' isn't in the queue of commissions.yaml"
            f"{_cure(piece.private.order, list(codes))}",
            "private",
            "order",
        )


def _cure(name: str, known: list[str]) -> str:
    """Name the nearest one, else all of them, else nothing."""
    every = f"; there are {', '.join(known)}" if 0 < len(known) <= 8 else ""
    return did_you_mean(name, known) or every
