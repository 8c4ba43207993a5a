"""A wall label as plain content for a template, with the code that leads to the piece's page."""

from __future__ import annotations

from dataclasses import asdict

from sitegen.paper.code import code
from sitegen.paper.press import Content
from sitegen.studio.public import PublicPiece, PublicStudio
from sitegen.voice.label import wall_label
from sitegen.voice.voice import Voice


def page_address(card: PublicStudio, piece: PublicPiece) -> str:
    """Return the address of a piece's page on the studio's site."""
    return f"{card.address}pieces/{piece.slug}/"


def label(card: PublicStudio, piece: PublicPiece, voice: Voice) -> Content:
    """Gather what a label says. The price is None for every piece that isn't offered."""
    address = page_address(card, piece)
    drawn = code(address)
    return {
        **{name: text or None for name, text in asdict(wall_label(voice, piece)).items()},
        "standing": str(piece.status),
        "address": address,
        "qr": drawn.svg,
        "qr_modules": drawn.modules,
    }
