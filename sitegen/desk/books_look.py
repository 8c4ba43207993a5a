"""What the files say twice in different ways, or leave out, where money is concerned."""

from __future__ import annotations

from collections.abc import Mapping

from sitegen.studio.commission import Order, Step
from sitegen.studio.piece import Piece
from sitegen.studio.purses import pieces_of_orders
from sitegen.studio.status import Status
from sitegen.studio.tables import Tables, tables
from sitegen.studio.whole import Studio

Made = Mapping[str, tuple[Piece, ...]]
"""The pieces of each order, by its code."""


def cautions(studio: Studio) -> list[str]:
    """Name what is worth a look, each once."""
    table, made = tables(studio), pieces_of_orders(studio)
    found = [*_of_shows(studio, table), *_of_orders(studio, made), *_of_pieces(studio, table, made)]
    return list(dict.fromkeys(found))


def _of_shows(studio: Studio, table: Tables) -> list[str]:
    found = []
    for show in studio.shows:
        named = [line.what for line in show.private.sales]
        for line in show.private.sales:
            piece = studio.piece(line.what)
            sales = piece.private.sales if piece else ()
            if sales and sales[0].price != line.price:
                found.append(
                    f"shows/{show.slug}.yaml says that {line.what} brought {line.price}, its piece.yaml says "
                    f"{sales[0].price}; the piece's is counted."
                )
            if piece is not None and named.count(line.what) > 1:
                found.append(f"shows/{show.slug}.yaml sells {line.what} twice; it exists once.")
    for show, line, piece in table.lost:
        found.append(
            f"shows/{show.slug}.yaml names {line.what}, which is no piece now; it's taken for {piece.slug}, "
            f"sold there at that price. Write `was: {line.what}` into pieces/{piece.slug}/piece.yaml."
        )
    return found


def _of_orders(studio: Studio, made: Made) -> list[str]:
    return [
        _unsold(order, made[order.code])
        for order in studio.commissions.queue
        if order.step is Step.SHIPPED
        and (order.private.paid or order.private.price)
        and not any(piece.private.sales for piece in made[order.code])
    ]


def _unsold(order: Order, made: tuple[Piece, ...]) -> str:
    without = "" if made else ", without supplies"
    return (
        f"{order.code} is {order.step}, but no piece says that it was sold for it, so the order itself is "
        f"counted{without}; write `order: {order.code}` and `sold:` into the piece's `private:`."
    )


def _of_pieces(studio: Studio, table: Tables, made: Made) -> list[str]:
    """Name sold pieces that nothing says the price of: they bring nothing into the books."""
    elsewhere = {*table.pieces, *_sent_off(studio, made)}
    return [
        f"pieces/{piece.slug}/piece.yaml says sold, but not for how much, so nothing is counted; "
        f"`sitegen piece mark {piece.slug} sold --price {piece.price or 480} --on DATE` writes the sale."
        for piece in studio.pieces
        if piece.status is Status.SOLD and piece.private.sold is None and piece.slug not in elsewhere
    ]


def _sent_off(studio: Studio, made: Made) -> set[str]:
    steps = {order.code: order.step for order in studio.commissions.queue}
    return {one.slug for code, pieces in made.items() if steps[code] is Step.SHIPPED for one in pieces}
