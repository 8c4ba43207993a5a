"""Table cards, several to a sheet, and the certificate of authenticity that goes with a piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from sitegen.paper.code import code
from sitegen.paper.content import Content, written
from sitegen.paper.press import paper_name, press, said, tongue
from sitegen.studio.fault import Fault
from sitegen.studio.piece import Status
from sitegen.studio.public import FrontOfHouse, PublicPiece, PublicStudio
from sitegen.voice.theme_files import ThemeFiles
from sitegen.voice.voice import Voice, open_voice


def cards(
    front: FrontOfHouse, pieces: Sequence[PublicPiece] | None, theme: ThemeFiles, *, paper: str
) -> bytes:
    """Make table cards as a PDF; `None` means every piece that is available and at home.

    A piece that isn't available may have its card, but no price on it. Raises Fault if there's
    nothing to print or the theme is faulty.
    """
    here = (piece for piece in front.pieces if piece.offered and piece.away is None)
    chosen = list(here if pieces is None else pieces)
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
        "from": written(f"pieces/{piece.slug}/piece.yaml", "title", "materials", "base", "number", "series"),
    }


# A page holds about so much beside the rest; more belongs on the site's care page.
LONGEST_CARE = 700


def certificate(front: FrontOfHouse, piece: PublicPiece, theme: ThemeFiles, *, paper: str) -> bytes:
    """Make a piece's certificate as a PDF of one page; it never carries a price.

    A studio number or date that the piece's file lacks becomes a line to fill in by hand. Raises
    Fault for a piece still on the bench, a care note too long for one page, or a faulty theme.
    """
    if piece.status is Status.IN_PROGRESS:
        raise Fault(
            f"pieces/{piece.slug}/piece.yaml says 'in progress'; a certificate is for a finished piece, "
            "so change its status first"
        )
    if len(front.card.care) > LONGEST_CARE:
        raise Fault(
            f"studio.yaml: care has {len(front.card.care)} letters, too many for a certificate; "
            f"keep it below {LONGEST_CARE} and put the rest into pages/care.md"
        )
    voice = open_voice(theme, front.card)
    return press(theme, "certificate", _content(front, piece, voice, paper_name(paper)))


def _content(front: FrontOfHouse, piece: PublicPiece, voice: Voice, paper: str) -> Content:
    card = front.card
    facts = {key: value for key, value in label(card, piece, voice).items() if key != "price"}
    return {
        **tongue(voice),
        **facts,
        "say": said(voice, "certificate", "fact", studio=card.studio, maker=card.maker, title=piece.title),
        "paper": paper,
        "studio": card.studio,
        "maker": card.maker,
        "contact": card.contact,
        "care": card.care,
        "series": piece.series.name if piece.series else None,
        "finished": voice.tongue.day(piece.finished) if piece.finished else None,
    }
