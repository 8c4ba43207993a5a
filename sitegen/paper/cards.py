"""Table cards, several to a sheet, and the certificate of authenticity that goes with a piece."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import groupby
from typing import NamedTuple

import segno

from sitegen.paper.press import Plain, Printer, written
from sitegen.studio.asked import Fault
from sitegen.studio.piece import Status
from sitegen.studio.public import PublicPiece

# ISO/IEC 18004: four light modules on every side.
QUIET_ZONE = 4
# A certificate's page holds about so many letters beside the rest; more belongs on the site's care page.
LONGEST_CARE = 700


def cards(press: Printer, pieces: Sequence[PublicPiece] | None) -> bytes:
    """Make table cards as a PDF; `None` means every piece that is available and at home.

    A piece that isn't available may have its card, but no price on it. Raises Fault if there's
    nothing to print or the theme is faulty.
    """
    here = (piece for piece in press.front.pieces if piece.offered and piece.away is None)
    chosen = list(here if pieces is None else pieces)
    if not chosen:
        raise Fault("no piece is available just now, so there's no card to print; name the pieces you want")
    return press.set("cards", press.content("cards", {"cards": [label(press, piece) for piece in chosen]}))


def label(press: Printer, piece: PublicPiece) -> dict[str, Plain]:
    """Gather what a label says. The price is None for every piece that isn't offered."""
    address = f"{press.front.card.address}pieces/{piece.slug}/"
    drawn = code(address)
    return {
        **{name: text or None for name, text in asdict(press.voice.wall_label(piece)).items()},
        "standing": str(piece.status),
        "address": address,
        "qr": drawn.svg,
        "qr_modules": drawn.modules,
        "from": written(f"pieces/{piece.slug}/piece.yaml", "title", "materials", "base", "number", "series"),
    }


def certificate(press: Printer, piece: PublicPiece) -> bytes:
    """Make a piece's certificate as a PDF of one page; it never carries a price.

    A studio number or date that the piece's file lacks becomes a line to fill in by hand. Raises
    Fault for a piece still on the bench, a care note too long for one page, or a faulty theme.
    """
    card = press.front.card
    if piece.status is Status.IN_PROGRESS:
        raise Fault(
            f"pieces/{piece.slug}/piece.yaml says 'in progress'; a certificate is for a finished piece, "
            "so change its status first"
        )
    if len(card.care) > LONGEST_CARE:
        raise Fault(
            f"studio.yaml: care has {len(card.care)} letters, too many for a certificate; "
            f"keep it below {LONGEST_CARE} and put the rest into pages/care.md"
        )
    content = {
        **label(press, piece),
        "price": None,
        "maker": card.maker,
        "contact": card.contact,
        "care": card.care,
        "series": piece.series.name if piece.series else None,
        "finished": press.voice.tongue.day(piece.finished) if piece.finished else None,
    }
    return press.set("certificate", press.content("certificate fact", content, title=piece.title))


class Code(NamedTuple):
    """A QR code ready to be drawn."""

    svg: str
    modules: int  # modules a side, quiet zone included: says how large it must be printed


def code(text: str) -> Code:
    """Draw a QR code of `text`, at least at error level M, with its quiet zone.

    Raises segno.DataOverflowError beyond 2331 bytes, far longer than any address.
    """
    rows = [[bool(module) for module in row] for row in segno.make(text, error="m", micro=False).matrix]
    side = len(rows) + 2 * QUIET_ZONE
    # Runs are drawn across and down: either alone leaves hairline seams where a screen smooths edges.
    across = (f"M{x} {y}h{length}v1h-{length}z" for x, y, length in _runs(rows))
    down = (f"M{y} {x}h1v{length}h-1z" for x, y, length in _runs(list(zip(*rows, strict=True))))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}" height="{side}" viewBox="0 0 {side} {side}">'
        f'<path fill="#fff" d="M0 0h{side}v{side}h-{side}z"/>'
        f'<path fill="#000" d="{"".join([*across, *down])}"/></svg>'
    )
    return Code(svg, side)


def _runs(rows: Sequence[Sequence[bool]]) -> Iterator[tuple[int, int, int]]:
    """Yield start, row and length of every unbroken run of dark modules, quiet zone counted in."""
    for y, row in enumerate(rows):
        x = 0
        for dark, run in groupby(row):
            length = len(list(run))
            if dark:
                yield x + QUIET_ZONE, y + QUIET_ZONE, length
            x += length
