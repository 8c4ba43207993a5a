"""Animal heads: skull, muzzle, ears, horns, and fur painted hair by hair."""

import math
from dataclasses import dataclass

import numpy as np

from eyes import iris
from face import Face, lid_edge, lid_shape
from paint import Canvas
from pattern import EYE, FACE, FELT, HAIR
from sculpt import Bench, Frame, linear, turn
from solids import CARVE, Floats

Mark = tuple[tuple[float, float], tuple[float, float], str, float]  # middle, radii, colour, softness


@dataclass(frozen=True)
class Beast:
    """Proportions and colours of an animal's head; lengths in head units."""

    fur: str
    dark: str
    pink: str = "#c98f88"
    nose_colour: str = "#2a1c1a"
    skull: tuple[float, float, float] = (0.80, 0.74, 0.80)
    cheek: float = 0.40
    muzzle: tuple[float, float, float, float] = (0.55, 0.36, 0.17, 0.16)  # length, root, tip, drop
    muzzle_wide: float = 1.0
    nose: tuple[float, float, float] = (0.11, 0.075, 0.07)
    mouth: bool = True
    beak: bool = False
    eye: float = 0.22
    eye_apart: float = 0.42
    eye_high: float = 0.08
    eye_yaw: float = 24
    iris: str = "#7a4a1e"
    inner: str | None = None
    pupil: str = "round"
    pupil_wide: float = 0.5
    iris_size: float = 0.80
    white: str = "#d8cfc0"
    open_up: float = 0.46
    open_down: float = 0.40
    lift: float = 0.05
    gaze: tuple[float, float] = (0, 0)
    marks: tuple[Mark, ...] = ()
    painted: bool = True
    strokes: int = 2600
    gloss: float = 0.6
    mirror: float = 0.03
    lash: float = 0.6
    brow: float = 0.0  # a ridge over the eye


def model_beast(bench: Bench, beast: Beast, frame: Frame, seed: int) -> dict[str, Floats]:
    """Model an animal's head in a frame; returns landmarks in head units."""
    bench.frame = frame
    here = bench.place(frame)
    fur = bench.material(
        beast.fur, kind=FACE, rate=30, bump=0.09 if beast.painted else 0.05, rough=beast.gloss,
        mirror=beast.mirror, sheen=0.25, warm=0.3,
        picture=len(bench.faces), place=here,
    )  # fmt: skip
    long, root, tip, drop = beast.muzzle
    mw = beast.muzzle_wide
    bench.part()
    bench.ball((0, 0.20, -0.10), beast.skull, fur)
    for side in (-1, 1):
        bench.ball((side * beast.cheek, -0.22, 0.20), (0.34, 0.32, 0.34), fur, k=0.28)
    start, end = np.array([0, -0.10, 0.42]), np.array([0, -0.16 - drop, 0.48 + long])
    if not beast.beak:
        bench.cone(start, end, root, tip, fur, k=0.30)
        for side in (-1, 1):
            bench.ball(
                end + (side * 0.085 * mw, -0.045, 0.0), (tip * 0.78 * mw, tip * 0.72, tip * 0.85), fur, k=0.09
            )
        bench.ball(end + (0, -0.13 - 0.1 * tip, -0.10), (tip * 0.85 * mw, 0.085, 0.2), fur, k=0.08)
    eyes = {}
    face = Face(open_up=beast.open_up, open_down=beast.open_down, lift=beast.lift, lash=beast.lash)
    for side in (-1, 1):
        depth = bench.front(side * beast.eye_apart, beast.eye_high)
        p = np.array([side * beast.eye_apart, beast.eye_high, depth - beast.eye * 0.74])
        bench.ball(
            p + (side * 0.02, 0, beast.eye * 0.9),
            (beast.eye * 1.05, beast.eye * 0.9, beast.eye * 0.5),
            fur,
            k=0.12,
            op=CARVE,
        )
        if beast.brow:
            bench.ball(
                p + (-side * 0.02, beast.eye * 0.95, beast.eye * 0.62),
                (beast.eye * 1.1, 0.07, 0.09 * beast.brow),
                fur,
                k=0.12,
                axes=turn(side * beast.eye_yaw, 0, side * -10),
            )
        eyes[side] = p
    if beast.mouth and not beast.beak:
        y = end[1] - 0.115
        for side in (-1, 1):
            bench.tube(
                [end + (0, -0.04, tip + 0.05), end + (0, -0.09, tip + 0.04), (0, y, end[2] + tip * 0.9)],
                [0.008, 0.010, 0.012],
                fur,
                k=0.03,
                op=CARVE,
            )
            bench.tube(
                [
                    (0, y, end[2] + tip * 0.9),
                    (side * tip * 0.8 * mw, y - 0.05, end[2] + tip * 0.62),
                    (side * tip * 1.35 * mw, y + 0.03, end[2] - 0.06),
                ],
                [0.012, 0.011, 0.006],
                fur,
                k=0.03,
                op=CARVE,
            )
    for side, p in eyes.items():
        bench.lid(p, lid_shape(face, side, beast.eye), fur, k=0.02, axes=turn(side * beast.eye_yaw, 0, 0))
    bench.cone((0, -0.4, -0.12), (0, -1.3, -0.2), 0.36, 0.33, fur, k=0.2)
    _model_nose(bench, beast, end, tip)
    for side, p in eyes.items():
        glass_frame = bench.frame.inside(
            p, turn(side * beast.eye_yaw * 0.55 + beast.gaze[0], beast.gaze[1]), beast.eye
        )
        glass = bench.material(
            beast.white,
            kind=EYE,
            place=bench.place(glass_frame),
            picture=len(bench.irises),
            width=beast.iris_size,
            bump=0,
        )
        bench.irises.append(
            iris(beast.iris, inner=beast.inner, pupil=beast.pupil, wide=beast.pupil_wide, seed=seed + side)
        )
        bench.part()
        bench.ball(p, beast.eye, glass)
        _model_lashes(bench, beast, face, side, p, seed)
    bench.faces.append(paint_fur(beast, face, eyes, end, seed).pixels)
    return {"left": eyes[1], "right": eyes[-1], "nose": end, "skin": np.array([fur])}


def _model_nose(bench: Bench, beast: Beast, end: Floats, tip: float) -> None:
    dark = bench.material(beast.nose_colour, kind=FELT, rate=40, bump=0.06, rough=0.28, mirror=0.06)
    bench.part()
    if beast.beak:
        z = 0.70
        bench.tube(
            [(0, 0.0, z - 0.06), (0, -0.10, z + 0.20), (0, -0.36, z + 0.10)], [0.09, 0.10, 0.012], dark
        )
        bench.tube(
            [(0, -0.16, z - 0.04), (0, -0.24, z + 0.09), (0, -0.33, z + 0.05)],
            [0.07, 0.06, 0.012],
            dark,
            k=0.02,
        )
        return
    w, h, d = beast.nose
    p = end + np.array([0, tip * 0.45, tip * 0.78])
    bench.ball(p, (w, h, d), dark)
    bench.ball(p + (0, -h * 0.7, -0.005), (w * 0.55, h * 0.7, d * 0.8), dark, k=0.04)
    for side in (-1, 1):
        bench.ball(
            p + (side * w * 0.55, -h * 0.25, d * 0.75),
            (w * 0.26, h * 0.26, d * 0.5),
            dark,
            k=0.02,
            op=CARVE,
            axes=turn(0, 0, side * 25),
        )


def _model_lashes(bench: Bench, beast: Beast, face: Face, side: int, p: Floats, seed: int) -> None:
    if not beast.painted or beast.lash <= 0:
        return
    chance = np.random.default_rng(seed + 70 + side)
    ink = bench.material("#15100e", kind=HAIR, rate=60, bump=0.0, sheen=0.3)
    yaw = turn(side * beast.eye_yaw, 0, 0)
    for n in range(26):
        u = -0.85 + 1.7 * (n + chance.uniform(0.2, 0.8)) / 26
        root = p + yaw @ np.array(lid_edge(face, side, beast.eye, True, u))
        way = yaw @ np.array([0.7 * math.sin(u) + 0.2 * side, 0.25, 0.8])
        long = 0.10 * beast.lash * (1 + 0.4 * u * side) * chance.uniform(0.75, 1.15)
        mid = root + way * long * 0.6
        bench.part()
        bench.tube(
            [root - way * 0.012, mid, mid + (0.25 * math.sin(u) * long, 0.55 * long, 0.1 * long)],
            [0.005, 0.0038, 0.001],
            ink,
        )


def paint_fur(beast: Beast, face: Face, eyes: dict[int, Floats], nose: Floats, seed: int) -> Canvas:
    """Paint fur in short strokes that run away from the nose, and the lines round the eyes."""
    canvas = Canvas(beast.fur, seed)
    if not beast.painted:
        return canvas
    chance = canvas.chance
    ground = linear(beast.fur)

    def shade(x: float, y: float) -> Floats:
        colour = ground
        for middle, radii, tint, soft in beast.marks:
            for side in (-1, 1) if middle[0] else (1,):
                away = math.hypot((x - side * middle[0]) / radii[0], (y - middle[1]) / radii[1])
                w = min(1.0, max(0.0, (1.0 - away) / soft + 0.5 + chance.normal(0, 0.12)))
                colour = colour * (1 - w) + linear(tint) * w
        return colour

    for many, length, width, alpha in (
        (beast.strokes // 3, 0.15, 0.030, 0.8),
        (beast.strokes, 0.085, 0.0075, 0.62),
    ):
        for _ in range(many):
            x, y = chance.uniform(-1.1, 1.1), chance.uniform(-1.05, 1.1)
            dx, dy = x - nose[0], (y - nose[1]) * 0.9
            far = math.hypot(dx, dy) + 1e-6
            way = np.array([dx / far, dy / far - 0.25 * (abs(x) > 0.5)])
            way = way + chance.normal(0, 0.18, 2)
            n = length * chance.uniform(0.6, 1.2) * min(1.0, 0.35 + far)
            a = np.array([x, y])
            c = a + way * n
            b = (a + c) / 2 + chance.normal(0, 0.10, 2) * n
            colour = shade(*((a + c) / 2)) * chance.uniform(0.74, 1.28)
            canvas.stroke(
                canvas.curve([a, b, c], 5),
                [width * 0.7, width, width * 0.2],
                np.clip(colour, 0, 1),
                alpha,
                soft=0.8,
            )
    for side in (-1, 1):
        yaw = turn(side * beast.eye_yaw, 0, 0)
        for upper, w in ((True, 0.022), (False, 0.016)):
            edge = np.array(
                [
                    (eyes[side] + yaw @ np.array(lid_edge(face, side, beast.eye, upper, u)))[:2]
                    for u in np.linspace(-1, 1, 21)
                ]
            )
            canvas.stroke(edge, [w * 0.6, w, w, w * 0.6], beast.dark, 0.85, soft=0.7, gloss=0.7)
        inner = eyes[side][:2] + np.array([-side * beast.eye * 0.85, -0.02])
        canvas.stroke([inner, inner + (-side * 0.07, -0.05)], [0.02, 0.004], beast.dark, 0.6, soft=0.9)
    if not beast.beak:
        canvas.glow((0, nose[1] - 0.10), (0.05, 0.12), beast.dark, 0.45)
    return canvas
