"""Names that one file takes from another: a round, a tier, an order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sitegen.studio.fields import did_you_mean

if TYPE_CHECKING:
    from sitegen.sources.folder import FileRead, Gathered
    from sitegen.studio.commission import Commissions
    from sitegen.studio.piece import Piece


def check_rounds(file: FileRead, commissions: Commissions) -> None:
    """Complain of a place in the queue that names a round which isn't there."""
    known = [one.name for one in commissions.rounds]
    for number, order in enumerate(commissions.queue):
        if order.round and order.round not in known:
            file.notes.error(
                file.line("queue", number, "round"),
                f"{order.code} names the round '{order.round}', which isn't under `rounds:`"
                f"{_cure(order.round, known)}",
            )


def check_piece(seen: Gathered, piece: Piece, file: FileRead) -> None:
    """Warn of a piece whose hours count for a tier or an order that isn't there.

    Only a warning: a tier may be given up and an old order taken out of the book, and the piece stays.
    """
    commissions = seen.commissions
    if commissions is None:
        return
    tiers = [one.name for one in commissions.tiers]
    if piece.private.tier and piece.private.tier not in tiers:
        file.notes.warn(
            file.line("private", "tier"),
            f"tier '{piece.private.tier}' isn't under `tiers:` in commissions.yaml, so these hours speak for "
            f"no tier{_cure(piece.private.tier, tiers)}",
        )
    codes = [one.code for one in commissions.queue]
    if piece.private.order and piece.private.order not in codes:
        file.notes.warn(
            file.line("private", "order"),
            f"order '{piece.private.order}' isn't in the queue of commissions.yaml"
            f"{_cure(piece.private.order, codes)}",
        )


def _cure(name: str, known: list[str]) -> str:
    """Name the nearest one, else all of them, else nothing."""
    every = f"; there are {', '.join(known)}" if 0 < len(known) <= 8 else ""
    return did_you_mean(name, known) or every
