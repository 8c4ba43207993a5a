"""What a show's lines of sales stand for: a piece, by its folder's name or an earlier one, or a sale."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from sitegen.studio.piece import Piece, Sold, Stream
from sitegen.studio.show import Show, ShowSale
from sitegen.studio.whole import Studio

_FOLDER = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass
class Tables:
    """Every show's lines, sorted by what they stand for."""

    shows: tuple[Show, ...]
    pieces: dict[str, tuple[Show, ShowSale]] = field(default_factory=dict)
    """The first line that names a piece, by the piece's slug."""
    others: list[tuple[Show, ShowSale]] = field(default_factory=list)
    """Lines that name no piece."""
    lost: list[tuple[Show, ShowSale, Piece]] = field(default_factory=list)
    """Lines with a title, or a folder's name that no piece has now, and the piece that must be meant."""

    def show_of(self, piece: Piece, sold: Sold) -> str:
        """Return the slug of the show where a piece was sold, as a line or the day says; empty for none."""
        if piece.slug in self.pieces:
            show, _ = self.pieces[piece.slug]
            if sale_at(piece, show) in {None, sold}:
                return show.slug
        if sold.stream is not Stream.SHOWS:
            return ""
        return next((one.slug for one in self.shows if one.first_day <= sold.on <= one.ends), "")


def sale_at(piece: Piece, show: Show) -> Sold | None:
    """Return the sale that a show's line stands for: the one on its days, else the first, if any."""
    sales = piece.private.sales
    return next((one for one in sales if show.first_day <= one.on <= show.ends), sales[0] if sales else None)


def tables(studio: Studio) -> Tables:
    """Sort the lines of every show."""
    by_name = {name: piece for piece in studio.pieces for name in piece.was}
    by_name |= {piece.slug: piece for piece in studio.pieces}
    found, left = Tables(studio.shows), []
    for show in studio.shows:
        for line in show.private.sales:
            piece = by_name.get(line.what)
            if piece is None:
                left.append((show, line))
            else:
                found.pieces.setdefault(piece.slug, (show, line))
    for show, line in left:
        meant = _meant(studio, found, show, line)
        if meant is None:
            found.others.append((show, line))
        else:
            found.pieces[meant.slug] = (show, line)
            found.lost.append((show, line, meant))
    return found


def _meant(studio: Studio, found: Tables, show: Show, line: ShowSale) -> Piece | None:
    """Find the piece behind a title or a folder's name that is gone: sold there, and named by no line."""
    return next(
        (
            piece
            for piece in studio.pieces
            if piece.slug not in found.pieces
            and (is_folder(line.what) or line.what.casefold() == piece.title.casefold())
            and _sold_there(piece, show, line)
        ),
        None,
    )


def is_folder(what: str) -> bool:
    """Tell whether a line might name a folder."""
    return _FOLDER.fullmatch(what) is not None


def _sold_there(piece: Piece, show: Show, line: ShowSale) -> bool:
    """Tell whether it was sold at the show, at the line's price."""
    sold = sale_at(piece, show)
    if sold is None or sold.stream is not Stream.SHOWS:
        return False
    return show.first_day <= sold.on <= show.ends and sold.price == line.price
