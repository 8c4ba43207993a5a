"""The wall label, the unit of information, said once in the trade's order for page, letter and paper."""

from __future__ import annotations

from dataclasses import dataclass

from sitegen.studio.public import PublicPiece
from sitegen.voice.voice import Voice


@dataclass(frozen=True, slots=True)
class WallLabel:
    """A piece in words; what isn't known of it is empty."""

    title: str
    number: str
    year: str
    materials: str
    base: str
    height: str
    status: str
    price: str
    """Empty for every piece that isn't offered."""


def wall_label(voice: Voice, piece: PublicPiece) -> WallLabel:
    """Say a piece in the trade's order: title, year and materials, base and height, status, price."""
    offered = piece.price if piece.offered else None
    return WallLabel(
        title=voice.typographic(piece.title),
        number=piece.number or "",
        year=str(piece.year) if piece.year else "",
        materials=voice.typographic(piece.materials),
        base=voice.typographic(piece.base),
        height=voice.height(piece.size, piece.height_mm),
        status=voice.status(piece.status),
        price="" if offered is None else voice.tongue.money(offered),
    )
