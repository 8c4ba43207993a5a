"""`piece`: put a piece in, or change what may be said of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from sitegen.terminal import asking
from sitegen.terminal.desk import worth
from sitegen.terminal.group import Asked, Commands, plain, shown
from sitegen.terminal.telling import tell_all

if TYPE_CHECKING:
    from sitegen.jobs.pieces import AddPiece, MarkPiece


@shown("piece add", "pieces.add", "front.jpg face.jpg --title 'The Moth Clerk' --price 480")
def add(asked: Asked, wish: AddPiece) -> None:
    """Make pieces/SLUG/ with copies of the photos and a piece.yaml.

    On a terminal, what is missing is asked for; nothing is asked in a pipe.
    """
    from sitegen.jobs import pieces

    folder = asked.studio
    tell_all(pieces.add(folder, _filled(wish) if asking.someone_is_there() else wish, asked.today).lines())


def _filled(wish: AddPiece) -> AddPiece:
    """Ask for what the options left open."""
    title = wish.title or click.prompt("Title")
    status = wish.status or click.prompt("Status", default="available")
    price, materials = wish.price, wish.materials
    if price is None and status.strip().lower() == "available":
        price = (
            click.prompt("Price (digits only, Enter to leave open)", default="", show_default=False) or None
        )
    if materials is None:
        materials = click.prompt("Materials (Enter to leave open)", default="", show_default=False)
    return replace(wish, title=title, status=status, price=price, materials=materials)


@shown("piece mark", "pieces.mark", "moth-usher sold --price 480 --on 2026-05-14 --stream shows")
def mark(asked: Asked, wish: MarkPiece) -> None:
    """Change a piece's availability: one line of its YAML, comments and all else stay.

    STATUS is available, on hold, sold, commissioned, in progress or not for sale. With sold, price, day,
    stream and buyer are asked for at a terminal, and noted in the same edit.
    """
    from sitegen.jobs import pieces

    sale = _sale if asking.someone_is_there() else None
    tell_all(pieces.mark(asked.studio, wish, asked.today, sale).lines())


def _sale(usual: MarkPiece) -> MarkPiece:
    """Ask for the sale; nothing for the price leaves it out."""
    price = click.prompt("Sold for (digits only)", default=usual.price or "", show_default=bool(usual.price))
    if not price.strip():
        return replace(usual, price=None, on=None, stream=None, to=None)
    on = click.prompt("On", default=usual.on)
    stream = click.prompt("Stream (originals, commissions, shows)", default=usual.stream)
    to = click.prompt("To (Enter to leave open)", default=usual.to or "", show_default=bool(usual.to))
    return replace(usual, price=price, on=on, stream=stream, to=to)


piece = Commands(
    "piece",
    help="Add a piece, or change what may be said of it.",
    commands=[
        add,
        mark,
        plain("piece return", "pieces.take_back", "moth-usher --refund 480 --on 2026-06-02",
            """Note that a sold piece came back and what was sent back for it.

            The sale stays in the books of its day; the refund counts on its own. The piece may be sold again.
            """, json=False),
        worth,
    ],
)  # fmt: skip
