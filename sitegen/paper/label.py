"""A wall label in the trade's order, as plain content for a template."""

from __future__ import annotations

from babel import Locale

from sitegen.paper import words
from sitegen.paper.code import code
from sitegen.paper.press import Content
from sitegen.studio import wording
from sitegen.studio.public import PublicPiece, PublicStudio


def page_address(card: PublicStudio, piece: PublicPiece) -> str:
    """Return the address of a piece's page on the studio's site."""
    return f"{card.address}pieces/{piece.slug}/"


def label(card: PublicStudio, piece: PublicPiece, locale: Locale) -> Content:
    """Gather what a label says. The price is None for every piece that isn't offered."""
    address = page_address(card, piece)
    drawn = code(address)
    offered = piece.price if piece.offered else None
    return {
        "title": piece.title,
        "number": piece.number,
        "year": str(piece.year) if piece.year else None,
        "materials": piece.materials,
        "base": piece.base,
        "height": height_of(piece, locale),
        "status": str(piece.status),
        "price": None if offered is None else wording.price(offered, card.currency, card.digits, locale),
        "address": address,
        "qr": drawn.svg,
        "qr_modules": drawn.modules,
    }


def height_of(piece: PublicPiece, locale: Locale) -> str:
    """Say how tall a piece is, in the artist's own words where one height doesn't say it."""
    if piece.height_mm and not piece.size:
        return words.height(piece.height_mm, locale)
    return piece.size
