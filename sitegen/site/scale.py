"""A piece's height drawn beside a cup: where each line goes, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

# A tea cup of usual size, handle included (common practice, no source).
CUP_HEIGHT = 80
CUP_WIDTH = 110
# Widest part of the stand-in figure over its height: about that of a standing person with a coat.
_GIRTH = 0.36


@dataclass(frozen=True, slots=True)
class Tick:
    """One mark of the ruler."""

    y: float
    label: str
    """Centimetres, or nothing at a small mark."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Everything in millimetres, the table's surface at y = height, y growing downwards."""

    height: int
    """Of the piece."""
    tall: int
    """Of the drawing: the taller of piece and cup."""
    wide: int
    """Of the drawing."""
    figure_x: float
    """Middle of the figure."""
    girth: float
    cup_x: float
    """Left side of the cup."""
    letter: float
    """Height of the ruler's figures."""
    ticks: tuple[Tick, ...]


def draw(height: int) -> Scale:
    """Lay out the drawing for a piece of `height` mm."""
    tall = max(height, CUP_HEIGHT)
    ruler, gap = tall * 0.16, tall * 0.1
    girth = height * _GIRTH
    cup_x = ruler + girth + gap
    return Scale(
        height=height,
        tall=tall,
        wide=round(cup_x + CUP_WIDTH + gap / 2),
        figure_x=round(ruler + girth / 2, 1),
        girth=round(girth, 1),
        cup_x=round(cup_x, 1),
        letter=round(tall * 0.055, 1),
        ticks=_ticks(tall, height),
    )


def _ticks(tall: int, height: int) -> tuple[Tick, ...]:
    step = next(step for step in (10, 50, 100, 500, 1000, 5000, 10**9) if tall / step <= 12)
    labelled = step * 2 if tall / step > 6 else step
    marks = range(0, height + 1, step)
    return tuple(Tick(tall - at, f"{at // 10}" if at % labelled == 0 else "") for at in marks)
