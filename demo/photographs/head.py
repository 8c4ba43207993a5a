"""A human head: skull, lids, nose, lips and ears, and its paint."""

import math
from dataclasses import dataclass

import numpy as np

from eyes import iris
from paint import Canvas
from pattern import EYE, FACE, HAIR
from sculpt import Bench, Frame, turn
from solids import CARVE


@dataclass(frozen=True)
class Face:
    """Proportions and paint of a face; lengths in head units (a head is about two high)."""

    skin: str = "#e9c7ae"
    blush: str = "#c8564e"
    blush_strength: float = 0.10
    lips: str = "#b4544e"
    brows: str = "#5a3a2a"
    lashes: str = "#1d1412"
    iris: str = "#5f7f86"
    iris_inner: str | None = None
    white: str = "#efe9e0"
    wide: float = 1.0
    long: float = 1.0
    jaw: float = 1.0
    chin: float = 1.0
    cheeks: float = 1.0
    hollow: float = 0.0
    nose: float = 1.0
    nose_wide: float = 1.0
    nose_hook: float = 0.0
    eye: float = 0.25
    eye_apart: float = 0.365
    eye_high: float = -0.06
    open_up: float = 0.37
    open_down: float = 0.33
    lift: float = 0.06
    iris_size: float = 0.60
    gaze: tuple[float, float] = (0.0, 0.0)  # degrees: to the figure's left, down
    mouth_wide: float = 1.0
    lip_full: float = 1.0
    smile: float = 0.0
    part_lips: float = 0.0
    brow_high: float = 0.30
    brow_tilt: float = 0.0
    brow_many: int = 80
    brow_thick: float = 0.034
    shadow: str = "#7a4a55"
    shadow_strength: float = 0.10
    freckles: int = 0
    freckle_colour: str = "#8a4f33"
    lines: float = 0.0
    lash: float = 1.0
    painted: bool = True
    ears: bool = True
    left_eye_larger: float = 1.0


def lid_shape(face: Face, side: int, size: float) -> list[float]:
    """Give an eyelid's numbers for Bench.lid."""
    skew = 0.22 * side
    return [size * 1.035, size * 0.062, 1.02, face.open_up, face.open_down, face.lift * side, -skew, skew]


def lid_edge(face: Face, side: int, size: float, upper: bool, u: float) -> tuple[float, float, float]:
    """Give a point of the lid's edge from the eye's centre; u runs -1 to 1 across."""
    s = lid_shape(face, side, size)
    bow = 1 - u * u
    v = s[5] * u + (s[3] * bow * (1 + s[6] * u) if upper else -s[4] * bow * (1 + s[7] * u))
    angle, r = u * s[2], size * 1.08
    return (r * math.cos(v) * math.sin(angle), r * math.sin(v), r * math.cos(v) * math.cos(angle))


def model_head(bench: Bench, face: Face, frame: Frame, seed: int) -> dict[str, np.ndarray]:
    """Model a head in a frame; returns landmarks in head units."""
    bench.frame = frame
    here = bench.place(frame)
    skin = bench.material(
        face.skin, kind=FACE, rate=42, bump=0.05, rough=0.52 if face.painted else 0.75, mirror=0.035 if face.painted else 0.02,
        warm=1.0 if face.painted else 0.35, picture=len(bench.faces), place=here,
    )  # fmt: skip
    w, f = face.wide, face.long
    bench.part()
    bench.ball((0, 0.26, -0.10), (0.86 * w, 0.84, 0.92), skin)
    bench.ball((0, -0.30 * f, 0.12), (0.66 * w, 0.62 * f, 0.66), skin, k=0.34)
    bench.cone((-0.46 * w * face.jaw, -0.52 * f, 0.12), (0, -0.74 * f, 0.50), 0.16, 0.15, skin, k=0.26)
    bench.cone((0.46 * w * face.jaw, -0.52 * f, 0.12), (0, -0.74 * f, 0.50), 0.16, 0.15, skin, k=0.26)
    bench.ball((0, -0.80 * f, 0.545), (0.155 * face.chin, 0.125, 0.13), skin, k=0.16)
    for side in (-1, 1):
        bench.ball((side * 0.43 * w, -0.34 * f, 0.47), (0.24, 0.215, 0.22 * face.cheeks), skin, k=0.24)
        if face.hollow:
            bench.ball((side * 0.56 * w, -0.56 * f, 0.62), (0.16, 0.2, 0.10 + 0.06 * face.hollow), skin, k=0.22, op=CARVE)
    bench.ball((0, -0.54 * f, 0.66), (0.27, 0.20, 0.14), skin, k=0.2)
    ey = face.eye_high
    depth = bench.front(face.eye_apart * w, ey)
    eyes = {}
    for side in (-1, 1):
        size = face.eye * (face.left_eye_larger if side > 0 else 1)
        # The brow bone over the eye, then a hollow for the eye to sit in.
        bench.ball((side * 0.37 * w, ey + 0.30, depth - 0.02), (0.28, 0.08, 0.06), skin, k=0.2, axes=turn(side * 25, 0, side * 4))
        bench.ball((side * (face.eye_apart * w - 0.02), ey + 0.0, depth + 0.07), (size * 1.0, size * 0.80, 0.13), skin, k=0.17, op=CARVE)
        eyes[side] = (np.array([side * face.eye_apart * w, ey, depth - size * 0.80]), size)
    nose_z = _model_nose(bench, face, skin)
    lip = _model_lips(bench, face, skin)
    for side, (p, size) in eyes.items():
        bench.lid(p, lid_shape(face, side, size), skin, k=0.022, axes=turn(side * 9, 0, 0))
    if face.ears:
        for side in (-1, 1):
            _model_ear(bench, face, side, skin)
    bench.cone((0, -0.55, -0.12), (0, -1.35, -0.22), 0.30, 0.27, skin, k=0.14)
    for side, (p, size) in eyes.items():
        _model_eye(bench, face, side, p, size, seed)
        _model_lashes(bench, face, side, p, size, seed)
    bench.faces.append(paint_face(face, {s: e[0] for s, e in eyes.items()}, {s: e[1] for s, e in eyes.items()}, lip, seed).pixels)
    return {"left": eyes[1][0], "right": eyes[-1][0], "lip": np.array([0, lip[1], lip[0]]), "nose": np.array([0, -0.36 * f, nose_z]), "skin": np.array([skin])}


def _model_nose(bench: Bench, face: Face, skin: int) -> float:
    f, n, w = face.long, face.nose, face.nose_wide
    root = bench.front(0, 0.06)
    base = bench.front(0, -0.36 * f)
    tip_y, tip_z = -0.335 * f - 0.05 * face.nose_hook, base + 0.09 * n
    bench.tube([(0, 0.14, root - 0.05), (0, -0.10, root - 0.02 + 0.05 * face.nose_hook), (0, tip_y + 0.03, tip_z - 0.03)], [0.04, 0.040, 0.060 * w], skin, k=0.15)
    bench.ball((0, tip_y, tip_z), (0.078 * w, 0.070, 0.074), skin, k=0.06)
    for side in (-1, 1):
        bench.ball((side * 0.082 * w, tip_y - 0.022, tip_z - 0.075), (0.050 * w, 0.050, 0.062), skin, k=0.05)
    for side in (-1, 1):
        bench.ball((side * 0.044 * w, tip_y - 0.070, tip_z - 0.028), (0.027 * w, 0.024, 0.042), skin, k=0.022, op=CARVE, axes=turn(0, 0, side * 24))
    return tip_z + 0.08


def _model_lips(bench: Bench, face: Face, skin: int) -> tuple[float, float, float, float]:
    """Model mouth and philtrum; returns (depth, height of the mouth line, half width, corner lift)."""
    f = face.long
    y, half, lift = -0.595 * f, 0.205 * face.mouth_wide, 0.05 * face.smile
    z = bench.front(0, y)
    corner = bench.front(half, y + lift)
    n = face.lip_full
    up, low = 0.030 * n, 0.038 * n
    for side in (-1, 1):
        bench.tube(
            [(side * half, y + lift, corner - 0.03), (side * half * 0.45, y + 0.062 + 0.01 * n, z + 0.020), (side * 0.004, y + 0.020 * n, z + 0.024)],
            [0.010, up * 1.15, up], skin, k=0.028,
        )  # fmt: skip
    bench.ball((0, y + 0.028 * n, z + 0.030), (0.042, 0.024 * n, 0.030), skin, k=0.03)
    gap = 0.018 * face.part_lips
    for side in (-1, 1):
        bench.tube(
            [(side * half * 0.88, y + lift * 0.9 - 0.014, corner - 0.022), (side * half * 0.5, y - 0.052 * n - gap, z + 0.020), (side * 0.002, y - 0.046 * n - gap, z + 0.026)],
            [0.010, low * 0.92, low], skin, k=0.03,
        )  # fmt: skip
    bench.ball((0, y - 0.155, z - 0.0), (0.15, 0.045, 0.045), skin, k=0.09, op=CARVE)
    line = 0.0095 + 0.012 * face.part_lips
    for side in (-1, 1):
        bench.tube(
            [(side * half * 1.02, y + lift * 1.1 + 0.004, corner + 0.008), (side * half * 0.5, y + 0.008 - lift * 0.4, z + 0.056), (0, y - 0.010 - gap * 0.4, z + 0.066)],
            [0.007, line, line * 1.1], skin, k=0.024, op=CARVE,
        )  # fmt: skip
        bench.ball((side * (half + 0.015), y + lift, corner + 0.006), (0.022, 0.022, 0.02), skin, k=0.04, op=CARVE)
    top = bench.front(0, y + 0.10)
    bench.tube([(0, y + 0.175, top + 0.035), (0, y + 0.12, top + 0.012), (0, y + 0.075, top + 0.030)], [0.014, 0.02, 0.026], skin, k=0.035, op=CARVE)
    return z, y, half, lift


def _model_ear(bench: Bench, face: Face, side: int, skin: int) -> None:
    x = 0.80 * face.wide
    axes = turn(side * 62, 0, side * -8)
    p = np.array([side * x, -0.10, -0.10])
    bench.ball(p, (0.15, 0.235, 0.055), skin, k=0.05, axes=axes)
    bench.ball(p + (0, -0.19, 0.03), (0.085, 0.08, 0.05), skin, k=0.06, axes=axes)
    bench.ball(p + axes @ np.array([0.0, 0.03, 0.06]), (0.085, 0.15, 0.05), skin, k=0.05, op=CARVE, axes=axes)
    bench.tube([p + axes @ np.array([-0.03 * side, 0.10, 0.02]), p + axes @ np.array([0.05 * side, 0.02, 0.05]), p + axes @ np.array([-0.01 * side, -0.10, 0.03])], [0.018, 0.024, 0.02], skin, k=0.03)


def _model_eye(bench: Bench, face: Face, side: int, p: np.ndarray, size: float, seed: int) -> None:
    frame = bench.frame.inside(p, turn(side * 2.5 + face.gaze[0], face.gaze[1], 0), size)
    glass = bench.material(face.white, kind=EYE, place=bench.place(frame), picture=len(bench.irises), width=face.iris_size, bump=0)
    bench.irises.append(iris(face.iris, inner=face.iris_inner, seed=seed + side))
    bench.part()
    bench.ball(p, size, glass)
    bench.ball(p + size * 0.40 * frame.axes[:, 2] @ bench.frame.axes, size * 0.665, glass, k=0.05)


def _model_lashes(bench: Bench, face: Face, side: int, p: np.ndarray, size: float, seed: int) -> None:
    chance = np.random.default_rng(seed + 50 + side)
    hair = bench.material(face.lashes, kind=HAIR, rate=60, bump=0.0, rough=0.5, sheen=0.4)
    yaw = turn(side * 9, 0, 0)
    if not face.painted:
        return
    for upper, many, long in ((True, 34, 0.10), (False, 16, 0.04)):
        for n in range(many):
            u = -0.86 + 1.74 * (n + chance.uniform(0.2, 0.8)) / many
            root = p + yaw @ np.array(lid_edge(face, side, size, upper, u))
            out = u + chance.normal(0, 0.10)
            rise = 1 if upper else -0.8
            outer = 1 + 0.45 * u * side
            way = np.array([0.75 * math.sin(out) + 0.22 * side, 0.20 * rise, 0.8])
            bend = np.array([0.30 * math.sin(out) + 0.25 * side, 0.95 * rise, 0.30])
            size_here = long * face.lash * outer * chance.uniform(0.75, 1.15)
            mid = root + way * size_here * 0.55
            tip = mid + bend * size_here * 0.62
            bench.part()
            bench.tube([root - way * 0.012, mid, tip], [0.0048, 0.0036, 0.0010], hair)


def paint_face(face: Face, eyes: dict[int, np.ndarray], sizes: dict[int, float], lip: tuple[float, float, float, float], seed: int) -> Canvas:
    """Paint the face."""
    canvas = Canvas(face.skin, seed)
    if not face.painted:
        return canvas
    z, y, half, lift = lip
    f, w = face.long, face.wide
    warm = face.blush
    for side in (-1, 1):
        canvas.glow((side * 0.50 * w, -0.32 * f), (0.26, 0.20), warm, face.blush_strength * 1.5)
        canvas.wash((side * 0.52 * w, -0.31 * f), (0.34, 0.23), warm, face.blush_strength, strokes=130, slant=side * 0.55 + (0 if side > 0 else 3.14))
        p, size = eyes[side], sizes[side]
        canvas.glow((p[0], p[1] + 0.15), (0.27, 0.13), face.shadow, face.shadow_strength * 1.3)
        canvas.glow((p[0], p[1] - 0.19), (0.22, 0.07), face.shadow, face.shadow_strength * 0.8)
        canvas.wash((p[0] + side * 0.05, p[1] + 0.16), (0.26, 0.10), face.shadow, face.shadow_strength, strokes=60, slant=side * 0.3, length=0.13, width=0.014)
        _paint_lids(canvas, face, side, p, size)
        _paint_brow(canvas, face, side, p)
    canvas.glow((0, -0.37 * f), (0.12, 0.08), warm, face.blush_strength * 1.6)
    canvas.wash((0, -0.35 * f), (0.12, 0.08), warm, face.blush_strength * 0.7, strokes=36, slant=1.2, length=0.08, width=0.014)
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
    canvas.stroke([wing, wing + (side * 0.04, 0.012), wing + (side * 0.075, 0.034)], [0.011, 0.008, 0.002], face.lashes, 0.7, soft=0.8)
    crease = np.stack([top[:, 0], top[:, 1] + 0.055 + 0.035 * (1 - np.linspace(-1, 1, 25) ** 2)], axis=1)[2:-1]
    canvas.stroke(crease, [0.004, 0.010, 0.010, 0.004], face.shadow, 0.35, soft=1.3)
    inner = low[0] if side > 0 else low[-1]
    canvas.stroke([inner, inner + (side * 0.03, 0)], [0.016, 0.008], "#c9736a", 0.6, soft=0.9, gloss=0.9)


def _paint_brow(canvas: Canvas, face: Face, side: int, p: np.ndarray) -> None:
    y = p[1] + face.brow_high
    x = abs(p[0])
    tilt = face.brow_tilt * 0.12
    path = [(side * (x - 0.24), y - 0.02 + tilt), (side * (x + 0.04), y + 0.12), (side * (x + 0.29), y - 0.035 - tilt)]
    canvas.stroke(canvas.curve(path, 20), [0.02, face.brow_thick, face.brow_thick * 0.7, 0.006], face.brows, 0.16, soft=1.3, bristle=0.6)
    canvas.hairs(path, face.brows, many=face.brow_many, thick=face.brow_thick, side=side)


def _paint_lips(canvas: Canvas, face: Face, y: float, half: float, lift: float) -> None:
    n = face.lip_full
    dark = np.array([0.62, 0.5, 0.5])
    colour = canvas_colour = np.asarray(__import__("sculpt").linear(face.lips))
    for side in (-1, 1):
        bow = canvas.curve([(side * half * 0.97, y + lift + 0.006), (side * half * 0.5, y + 0.052 + 0.012 * n), (side * 0.01, y + 0.026 * n)], 14)
        canvas.stroke(bow, [0.010, 0.030 * n, 0.036 * n, 0.028 * n], colour, 0.8, soft=0.75, bristle=0.25, gloss=0.72)
        low = canvas.curve([(side * half * 0.93, y + lift * 0.9 - 0.008), (side * half * 0.55, y - 0.056 * n), (0, y - 0.052 * n)], 14)
        canvas.stroke(low, [0.010, 0.034 * n, 0.043 * n, 0.045 * n], colour * 1.06, 0.8, soft=0.75, bristle=0.25, gloss=0.78)
        line = canvas.curve([(side * half * 1.03, y + lift * 1.1 + 0.004), (side * half * 0.5, y + 0.008 - lift * 0.4), (0, y - 0.011)], 14)
        canvas.stroke(line, [0.004, 0.008, 0.008], canvas_colour * dark * 0.35, 0.75, soft=0.9)
    for _ in range(46):
        x = canvas.chance.uniform(-0.82, 0.82) * half
        top = canvas.chance.uniform() < 0.42
        y0 = y + (0.012 if top else -0.014)
        y1 = y0 + (0.04 if top else -0.062) * n * (1 - (x / half) ** 2) * canvas.chance.uniform(0.6, 1)
        shade = colour * (0.72 if canvas.chance.uniform() < 0.6 else 1.35)
        canvas.stroke([(x, y0), (x * 1.03, (y0 + y1) / 2), (x * 1.07, y1)], [0.003, 0.0035, 0.0015], shade, 0.3, soft=0.9, gloss=0.7)


def _paint_lines(canvas: Canvas, face: Face, eyes: dict[int, np.ndarray], y: float, half: float) -> None:
    """Draw the lines of age as a dollmaker does: thin, warm, a light beside each dark."""
    dark = canvas.ground * np.array([0.48, 0.34, 0.32])
    a = 0.42 * face.lines
    for side in (-1, 1):
        p = eyes[side]
        for n in range(4):
            s = p + np.array([side * (0.30 + 0.01 * n), 0.03 - 0.045 * n, 0])
            canvas.stroke(canvas.curve([s[:2], s[:2] + (side * 0.06, 0.012 * (1.5 - n)), s[:2] + (side * 0.125, 0.03 * (1.5 - n))], 7), [0.003, 0.006, 0.002], dark, a, soft=1)
        canvas.stroke(canvas.curve([(side * 0.15, -0.40), (side * 0.27, -0.47), (side * (half + 0.075), y - 0.02)], 12), [0.004, 0.010, 0.004], dark, a, soft=1.2)
        for n in range(2):
            s = p + np.array([-side * 0.17, -0.20 - 0.045 * n, 0])
            canvas.stroke(canvas.curve([s[:2], s[:2] + (side * 0.18, -0.055), s[:2] + (side * 0.33, 0.03)], 12), [0.002, 0.006, 0.002], dark, a * 0.8, soft=1.1)
    for n in range(3):
        h = 0.42 + 0.10 * n
        wave = canvas.chance.normal(0, 0.012, 9)
        canvas.stroke(np.stack([np.linspace(-0.36, 0.36, 9), h + wave], 1), [0.002, 0.006, 0.005, 0.002], dark, a * 0.6, soft=1.2)
