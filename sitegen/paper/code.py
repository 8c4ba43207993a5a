"""QR codes as vector drawings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import segno

# ISO/IEC 18004: four light modules on every side.
QUIET_ZONE = 4


@dataclass(frozen=True, slots=True)
class Code:
    """A QR code ready to be drawn."""

    svg: str
    modules: int
    """Modules a side, quiet zone included: says how large it must be printed."""


def code(text: str) -> Code:
    """Draw a QR code of `text`, at least at error level M, with its quiet zone.

    Raises segno.DataOverflowError beyond 2331 bytes, far longer than any address.
    """
    drawn = segno.make(text, error="m", micro=False)
    rows = [[bool(module) for module in row] for row in drawn.matrix]
    side = len(rows) + 2 * QUIET_ZONE
    return Code(_svg(rows, side), side)


def _svg(rows: Sequence[Sequence[bool]], side: int) -> str:
    # Runs are drawn across and down: either alone leaves hairline seams where a screen smooths edges.
    across = (f"M{x} {y}h{length}v1h-{length}z" for x, y, length in _runs(rows))
    down = (f"M{y} {x}h1v{length}h-1z" for x, y, length in _runs(list(zip(*rows, strict=True))))
    path = "".join([*across, *down])
    ground = f'<path fill="#fff" d="M0 0h{side}v{side}h-{side}z"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}" height="{side}" viewBox="0 0 {side} {side}">'
        f'{ground}<path fill="#000" d="{path}"/></svg>'
    )


def _runs(rows: Sequence[Sequence[bool]]) -> Iterator[tuple[int, int, int]]:
    """Yield start, row and length of every unbroken run of dark modules, quiet zone counted in."""
    for y, row in enumerate(rows):
        start = None
        for x, dark in enumerate([*row, False]):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield start + QUIET_ZONE, y + QUIET_ZONE, x - start
                start = None
