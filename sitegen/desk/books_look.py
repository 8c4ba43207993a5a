"""What the files say twice in different ways, or leave out, where money is concerned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sitegen.desk import words
from sitegen.studio.coins import total
from sitegen.studio.commission import Order, Step
from sitegen.studio.piece import Piece
from sitegen.studio.purses import Tables, is_folder, pieces_of_orders, sale_at, tables
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
            sold = sale_at(piece, show) if piece else None
            if sold is not None and sold.price != line.price:
                found.append(
                    f"shows/{show.slug}.yaml says that {line.what} brought {line.price}, its piece.yaml says "
                    f"{sold.price}; the piece's is counted."
                )
            if piece is not None and named.count(line.what) > 1:
                found.append(f"shows/{show.slug}.yaml sells {line.what} twice; it exists once.")
    for show, line, piece in table.lost:
        cure = f"Write `was: {line.what}` into pieces/{piece.slug}/piece.yaml."
        if not is_folder(line.what):
            cure = f"Write `what: {piece.slug}` there."
        found.append(
            f"shows/{show.slug}.yaml names {line.what}, which is no piece now; it's taken for {piece.slug}, "
            f"sold there at that price. {cure}"
        )
    return found


def _of_orders(studio: Studio, made: Made) -> list[str]:
    found = []
    for order in studio.commissions.queue:
        price = order.private.price
        sold = [piece for piece in made.get(order.code, ()) if piece.private.sales]
        brought = total(piece.private.sales[0].price for piece in sold)
        if not sold and order.step is Step.SHIPPED and (order.private.paid or price):
            found.append(unsold(order, made[order.code]))
        elif sold and price is not None and price != brought:
            names = words.listed([f"pieces/{piece.slug}/piece.yaml" for piece in sold])
            found.append(
                f"commissions.yaml says that {order.code} costs {price}, by {names} it was sold for "
                f"{brought}; that is counted."
            )
    return found


def unsold(order: Order, made: Sequence[Piece]) -> str:
    """Say how the sale of an order that was shipped is noted with its piece."""
    slug, price = (made[0].slug if made else "PIECE"), order.private.price or 480
    on = order.day_of(Step.SHIPPED)
    without, first = "", ""
    if not made:
        without = ", without supplies"
        first = f"write `order: {order.code}` into the `private:` of its piece, then "
    return (
        f"{order.code} is shipped, but no piece says that it was sold for it, so the books count the order "
        f"itself{without}; {first}`sitegen piece mark {slug} commissioned --price {price} --on {on}` notes "
        "the sale."
    )


def _of_pieces(studio: Studio, table: Tables, made: Made) -> list[str]:
    """Name sold pieces that nothing says the price of: they bring nothing into the books."""
    elsewhere = {*table.pieces, *_sent_off(studio, made)}
    return [
        f"pieces/{piece.slug}/piece.yaml says {piece.status}, but not for how much, so nothing is counted; "
        f"`sitegen piece mark {piece.slug} {piece.status} --price {piece.price or 480} --on DATE` writes "
        "the sale."
        for piece in studio.pieces
        if piece.slug not in elsewhere and piece.unpriced_sale
    ]


def _sent_off(studio: Studio, made: Made) -> set[str]:
    steps = {order.code: order.step for order in studio.commissions.queue}
    return {one.slug for code, pieces in made.items() if steps[code] is Step.SHIPPED for one in pieces}
