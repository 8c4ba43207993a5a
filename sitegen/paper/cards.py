"""Table cards: a wall label a piece, several to a sheet, to cut apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from sitegen.paper.code import code
from sitegen.paper.press import Content, paper_name, press
from sitegen.paper.said import said, tongue
from sitegen.studio.fault import Fault
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicStudio
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Voice, open_voice


def cards(
    front: FrontOfHouse, pieces: Sequence[PublicPiece] | None, theme: ThemeFiles, *, paper: str
) -> bytes:
    """Make table cards as a PDF; `None` means every piece that is available.

    A piece that isn't available may have its card, but no price on it. Raises Fault if there's
    nothing to print or the theme is faulty.
    """
    chosen = [piece for piece in front.pieces if piece.offered] if pieces is None else list(pieces)
    if not chosen:
        raise Fault("no piece is available just now, so there's no card to print; name the pieces you want")
    voice = open_voice(theme, front.card)
    content = {
        **tongue(voice),
        "say": said(voice, "cards", studio=front.card.studio, maker=front.card.maker),
        "paper": paper_name(paper),
        "studio": front.card.studio,
        "cards": [label(front.card, piece, voice) for piece in chosen],
    }
    return press(theme, "cards", content)


def page_address(card: PublicStudio, piece: PublicPiece) -> str:
    """Return the address of a piece's page on the studio's site."""
    return f"{card.address}pieces/{piece.slug}/"


def label(card: PublicStudio, piece: PublicPiece, voice: Voice) -> Content:
    """Gather what a label says. The price is None for every piece that isn't offered."""
    address = page_address(card, piece)
    drawn = code(address)
    return {
        **{name: text or None for name, text in asdict(voice.wall_label(piece)).items()},
        "standing": str(piece.status),
        "address": address,
        "qr": drawn.svg,
        "qr_modules": drawn.modules,
    }
