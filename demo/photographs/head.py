"""A human head: skull, lids, nose, lips and ears, and its paint."""

import math

import numpy as np

from eyes import iris
from face import Face, lid_edge, lid_shape
from makeup import paint_face
from pattern import EYE, FACE, HAIR
from sculpt import Bench, Frame, turn
from solids import CARVE


def model_head(bench: Bench, face: Face, frame: Frame, seed: int) -> dict[str, np.ndarray]:
    """Model a head in a frame; returns landmarks in head units."""
    bench.frame = frame
    here = bench.place(frame)
    skin = bench.material(
        face.skin, kind=FACE, rate=42, bump=0.05, rough=0.52 if face.painted else 0.75,
        mirror=0.035 if face.painted else 0.02,
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
            bench.ball(
                (side * 0.56 * w, -0.56 * f, 0.62),
                (0.16, 0.2, 0.10 + 0.06 * face.hollow),
                skin,
                k=0.22,
                op=CARVE,
            )
    bench.ball((0, -0.54 * f, 0.66), (0.27, 0.20, 0.14), skin, k=0.2)
    ey = face.eye_high
    depth = bench.front(face.eye_apart * w, ey)
    eyes = {}
    for side in (-1, 1):
        size = face.eye * (face.left_eye_larger if side > 0 else 1)
        # The brow bone over the eye, then a hollow for the eye to sit in.
        bench.ball(
            (side * 0.37 * w, ey + 0.30, depth - 0.02),
            (0.28, 0.08, 0.06),
            skin,
            k=0.2,
            axes=turn(side * 25, 0, side * 4),
        )
        bench.ball(
            (side * (face.eye_apart * w - 0.02), ey + 0.0, depth + 0.07),
            (size * 1.0, size * 0.80, 0.13),
            skin,
            k=0.17,
            op=CARVE,
        )
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
    bench.faces.append(
        paint_face(
            face, {s: e[0] for s, e in eyes.items()}, {s: e[1] for s, e in eyes.items()}, lip, seed
        ).pixels
    )
    return {
        "left": eyes[1][0],
        "right": eyes[-1][0],
        "lip": np.array([0, lip[1], lip[0]]),
        "nose": np.array([0, -0.36 * f, nose_z]),
        "skin": np.array([skin]),
    }


def _model_nose(bench: Bench, face: Face, skin: int) -> float:
    f, n, w = face.long, face.nose, face.nose_wide
    root = bench.front(0, 0.06)
    base = bench.front(0, -0.36 * f)
    tip_y, tip_z = -0.335 * f - 0.05 * face.nose_hook, base + 0.09 * n
    bench.tube(
        [
            (0, 0.24, root - 0.10),
            (0, -0.10, root - 0.02 + 0.05 * face.nose_hook),
            (0, tip_y + 0.03, tip_z - 0.03),
        ],
        [0.04, 0.040, 0.060 * w],
        skin,
        k=0.15,
    )
    bench.ball((0, tip_y, tip_z), (0.078 * w, 0.070, 0.074), skin, k=0.06)
    for side in (-1, 1):
        bench.ball((side * 0.082 * w, tip_y - 0.022, tip_z - 0.075), (0.050 * w, 0.050, 0.062), skin, k=0.05)
    for side in (-1, 1):
        bench.ball(
            (side * 0.044 * w, tip_y - 0.070, tip_z - 0.028),
            (0.027 * w, 0.024, 0.042),
            skin,
            k=0.022,
            op=CARVE,
            axes=turn(0, 0, side * 24),
        )
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
            [(side * half, y + lift, corner - 0.03),
            (side * half * 0.45, y + 0.062 + 0.01 * n, z + 0.020),
            (side * 0.004, y + 0.020 * n, z + 0.024)],
            [0.010, up * 1.15, up], skin, k=0.028,
        )  # fmt: skip
    bench.ball((0, y + 0.028 * n, z + 0.030), (0.042, 0.024 * n, 0.030), skin, k=0.03)
    gap = 0.018 * face.part_lips
    for side in (-1, 1):
        bench.tube(
            [(side * half * 0.88, y + lift * 0.9 - 0.014, corner - 0.022),
            (side * half * 0.5, y - 0.052 * n - gap, z + 0.020),
            (side * 0.002, y - 0.046 * n - gap, z + 0.026)],
            [0.010, low * 0.92, low], skin, k=0.03,
        )  # fmt: skip
    bench.ball((0, y - 0.155, z - 0.0), (0.15, 0.045, 0.045), skin, k=0.09, op=CARVE)
    line = 0.0095 + 0.012 * face.part_lips
    for side in (-1, 1):
        bench.tube(
            [(side * half * 1.02, y + lift * 1.1 + 0.004, corner + 0.008),
            (side * half * 0.5, y + 0.008 - lift * 0.4, z + 0.056),
            (0, y - 0.010 - gap * 0.4, z + 0.066)],
            [0.007, line, line * 1.1], skin, k=0.024, op=CARVE,
        )  # fmt: skip
        bench.ball(
            (side * (half + 0.015), y + lift, corner + 0.006), (0.022, 0.022, 0.02), skin, k=0.04, op=CARVE
        )
    top = bench.front(0, y + 0.10)
    bench.tube(
        [(0, y + 0.175, top + 0.035), (0, y + 0.12, top + 0.012), (0, y + 0.075, top + 0.030)],
        [0.014, 0.02, 0.026],
        skin,
        k=0.035,
        op=CARVE,
    )
    return z, y, half, lift


def _model_ear(bench: Bench, face: Face, side: int, skin: int) -> None:
    x = 0.80 * face.wide
    axes = turn(side * 62, 0, side * -8)
    p = np.array([side * x, -0.10, -0.10])
    bench.ball(p, (0.15, 0.235, 0.055), skin, k=0.05, axes=axes)
    bench.ball(p + (0, -0.19, 0.03), (0.085, 0.08, 0.05), skin, k=0.06, axes=axes)
    bench.ball(p + axes @ np.array([0.0, 0.03, 0.06]), (0.085, 0.15, 0.05), skin, k=0.05, op=CARVE, axes=axes)
    bench.tube(
        [
            p + axes @ np.array([-0.03 * side, 0.10, 0.02]),
            p + axes @ np.array([0.05 * side, 0.02, 0.05]),
            p + axes @ np.array([-0.01 * side, -0.10, 0.03]),
        ],
        [0.018, 0.024, 0.02],
        skin,
        k=0.03,
    )


def _model_eye(bench: Bench, face: Face, side: int, p: np.ndarray, size: float, seed: int) -> None:
    frame = bench.frame.inside(p, turn(side * 2.5 + face.gaze[0], face.gaze[1], 0), size)
    glass = bench.material(
        face.white,
        kind=EYE,
        place=bench.place(frame),
        picture=len(bench.irises),
        width=face.iris_size,
        bump=0,
    )
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
