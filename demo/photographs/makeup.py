"""Paint for a human face: blush, brows, lids, lips, lines."""

import numpy as np

from face import Face, lid_edge
from paint import Canvas
from sculpt import linear, turn


def paint_face(
    face: Face,
    eyes: dict[int, np.ndarray],
    sizes: dict[int, float],
    lip: tuple[float, float, float, float],
    seed: int,
) -> Canvas:
    """Paint the face."""
    canvas = Canvas(face.skin, seed)
    if not face.painted:
        return canvas
    _, y, half, lift = lip
    f, w = face.long, face.wide
    warm = face.blush
    for side in (-1, 1):
        canvas.glow((side * 0.50 * w, -0.32 * f), (0.26, 0.20), warm, face.blush_strength * 1.5)
        canvas.wash(
            (side * 0.52 * w, -0.31 * f),
            (0.34, 0.23),
            warm,
            face.blush_strength,
            strokes=130,
            slant=side * 0.55 + (0 if side > 0 else 3.14),
        )
        p, size = eyes[side], sizes[side]
        canvas.glow((p[0], p[1] + 0.15), (0.27, 0.13), face.shadow, face.shadow_strength * 1.3)
        canvas.glow((p[0], p[1] - 0.19), (0.22, 0.07), face.shadow, face.shadow_strength * 0.8)
        canvas.wash(
            (p[0] + side * 0.05, p[1] + 0.16),
            (0.26, 0.10),
            face.shadow,
            face.shadow_strength,
            strokes=60,
            slant=side * 0.3,
            length=0.13,
            width=0.014,
        )
        _paint_lids(canvas, face, side, p, size)
        _paint_brow(canvas, face, side, p)
    canvas.glow((0, -0.37 * f), (0.12, 0.08), warm, face.blush_strength * 1.6)
    canvas.wash(
        (0, -0.35 * f),
        (0.12, 0.08),
        warm,
        face.blush_strength * 0.7,
        strokes=36,
        slant=1.2,
        length=0.08,
        width=0.014,
    )
    canvas.glow((0, -0.82 * f), (0.16, 0.10), warm, face.blush_strength * 0.9)
    canvas.glow((0, 0.5), (0.5, 0.22), warm, face.blush_strength * 0.35)
    for side in (-1, 1):
        canvas.glow((side * 0.052 * face.nose_wide, -0.412 * f), (0.026, 0.016), "#4a1c18", 0.55)
    if face.freckles:
        canvas.dots((0, -0.24 * f), (0.30, 0.10), face.freckle_colour, face.freckles // 2)
        for side in (-1, 1):
            canvas.dots((side * 0.42 * w, -0.30 * f), (0.24, 0.15), face.freckle_colour, face.freckles // 2)
        canvas.dots((0, 0.35), (0.5, 0.25), face.freckle_colour, face.freckles // 6, alpha=0.3)
    _paint_lips(canvas, face, y, half, lift)
    if face.lines:
        _paint_lines(canvas, face, eyes, y, half)
    return canvas


def _paint_lids(canvas: Canvas, face: Face, side: int, p: np.ndarray, size: float) -> None:
    yaw = turn(side * 9, 0, 0)
    edge = {}
    for upper in (True, False):
        spots = [p + yaw @ np.array(lid_edge(face, side, size, upper, u)) for u in np.linspace(-1.0, 1.0, 25)]
        edge[upper] = np.array([s[:2] for s in spots])
    top, low = edge[True], edge[False]
    canvas.stroke(low, [0.006, 0.018, 0.018, 0.008], "#b5605a", 0.5, soft=0.9)
    canvas.stroke(low + (0, -0.012), [0.003, 0.006, 0.007, 0.006], face.lashes, 0.35, soft=0.9)
    canvas.stroke(top + (0, 0.03), [0.02, 0.035, 0.04, 0.03], face.shadow, 0.28, soft=1.2, bristle=0.5)
    canvas.stroke(top + (0, 0.004), [0.008, 0.015, 0.020, 0.015], face.lashes, 0.85, soft=0.6)
    wing = top[-1] if side > 0 else top[0]
    canvas.stroke(
        [wing, wing + (side * 0.04, 0.012), wing + (side * 0.075, 0.034)],
        [0.011, 0.008, 0.002],
        face.lashes,
        0.7,
        soft=0.8,
    )
    crease = np.stack([top[:, 0], top[:, 1] + 0.055 + 0.035 * (1 - np.linspace(-1, 1, 25) ** 2)], axis=1)[
        2:-1
    ]
    canvas.stroke(crease, [0.004, 0.010, 0.010, 0.004], face.shadow, 0.35, soft=1.3)
    inner = low[0] if side > 0 else low[-1]
    canvas.stroke([inner, inner + (side * 0.03, 0)], [0.016, 0.008], "#c9736a", 0.6, soft=0.9, gloss=0.9)


def _paint_brow(canvas: Canvas, face: Face, side: int, p: np.ndarray) -> None:
    y = p[1] + face.brow_high
    x = abs(p[0])
    tilt = face.brow_tilt * 0.12
    path = [
        (side * (x - 0.24), y - 0.02 + tilt),
        (side * (x + 0.04), y + 0.12),
        (side * (x + 0.29), y - 0.035 - tilt),
    ]
    canvas.stroke(
        canvas.curve(path, 20),
        [0.02, face.brow_thick, face.brow_thick * 0.7, 0.006],
        face.brows,
        0.16,
        soft=1.3,
        bristle=0.6,
    )
    canvas.hairs(path, face.brows, many=face.brow_many, thick=face.brow_thick, side=side)


def _paint_lips(canvas: Canvas, face: Face, y: float, half: float, lift: float) -> None:
    n = face.lip_full
    dark = np.array([0.62, 0.5, 0.5])
    colour = linear(face.lips)
    for side in (-1, 1):
        bow = canvas.curve(
            [
                (side * half * 0.97, y + lift + 0.006),
                (side * half * 0.5, y + 0.052 + 0.012 * n),
                (side * 0.01, y + 0.026 * n),
            ],
            14,
        )
        canvas.stroke(
            bow, [0.010, 0.030 * n, 0.036 * n, 0.028 * n], colour, 0.8, soft=0.75, bristle=0.25, gloss=0.72
        )
        low = canvas.curve(
            [
                (side * half * 0.93, y + lift * 0.9 - 0.008),
                (side * half * 0.55, y - 0.056 * n),
                (0, y - 0.052 * n),
            ],
            14,
        )
        canvas.stroke(
            low,
            [0.010, 0.034 * n, 0.043 * n, 0.045 * n],
            colour * 1.06,
            0.8,
            soft=0.75,
            bristle=0.25,
            gloss=0.78,
        )
        line = canvas.curve(
            [
                (side * half * 1.03, y + lift * 1.1 + 0.004),
                (side * half * 0.5, y + 0.008 - lift * 0.4),
                (0, y - 0.011),
            ],
            14,
        )
        canvas.stroke(line, [0.004, 0.008, 0.008], colour * dark * 0.35, 0.75, soft=0.9)
    for _ in range(46):
        x = canvas.chance.uniform(-0.82, 0.82) * half
        top = canvas.chance.uniform() < 0.42
        y0 = y + (0.012 if top else -0.014)
        y1 = y0 + (0.04 if top else -0.062) * n * (1 - (x / half) ** 2) * canvas.chance.uniform(0.6, 1)
        shade = colour * (0.72 if canvas.chance.uniform() < 0.6 else 1.35)
        canvas.stroke(
            [(x, y0), (x * 1.03, (y0 + y1) / 2), (x * 1.07, y1)],
            [0.003, 0.0035, 0.0015],
            shade,
            0.3,
            soft=0.9,
            gloss=0.7,
        )


def _paint_lines(canvas: Canvas, face: Face, eyes: dict[int, np.ndarray], y: float, half: float) -> None:
    """Draw the lines of age as a dollmaker does: thin, warm, a light beside each dark."""
    dark = canvas.ground * np.array([0.48, 0.34, 0.32])
    a = 0.42 * face.lines
    for side in (-1, 1):
        p = eyes[side]
        for n in range(4):
            s = p + np.array([side * (0.30 + 0.01 * n), 0.03 - 0.045 * n, 0])
            canvas.stroke(
                canvas.curve(
                    [
                        s[:2],
                        s[:2] + (side * 0.06, 0.012 * (1.5 - n)),
                        s[:2] + (side * 0.125, 0.03 * (1.5 - n)),
                    ],
                    7,
                ),
                [0.003, 0.006, 0.002],
                dark,
                a,
                soft=1,
            )
        canvas.stroke(
            canvas.curve([(side * 0.15, -0.40), (side * 0.27, -0.47), (side * (half + 0.075), y - 0.02)], 12),
            [0.004, 0.010, 0.004],
            dark,
            a,
            soft=1.2,
        )
        for n in range(2):
            s = p + np.array([-side * 0.17, -0.20 - 0.045 * n, 0])
            canvas.stroke(
                canvas.curve([s[:2], s[:2] + (side * 0.18, -0.055), s[:2] + (side * 0.33, 0.03)], 12),
                [0.002, 0.006, 0.002],
                dark,
                a * 0.8,
                soft=1.1,
            )
    for n in range(3):
        h = 0.42 + 0.10 * n
        wave = canvas.chance.normal(0, 0.012, 9)
        canvas.stroke(
            np.stack([np.linspace(-0.36, 0.36, 9), h + wave], 1),
            [0.002, 0.006, 0.005, 0.002],
            dark,
            a * 0.6,
            soft=1.2,
        )
