"""The studio: camera positions, lamps and the paper sweep."""

import numpy as np

from light import Setting
from pattern import BRUSHED, PLASTER, WOOD
from sculpt import Point, linear
from solids import Floats


def look(
    eye: Point, target: Point, tall: float, *, paper: str = "#8f8a80", dim: float = 1.0, wall: float = -4.2,
    aim: Point | None = None, key_power: float = 1.0,
    rim_power: float = 1.0, fill_power: float = 1.0, snoot: float = 0.9, warm: float = 0.0,
) -> Setting:  # fmt: skip
    """Point the camera at a target so that the picture is `tall` units high there."""
    eye, target = np.asarray(eye, float), np.asarray(target, float)
    way = target - eye
    far = float(np.linalg.norm(way))
    way = way / far
    right = np.cross(way, (0, 1, 0))
    right /= np.linalg.norm(right)
    up = np.cross(right, way)
    aim = target if aim is None else np.asarray(aim, float)
    c = np.array
    tint = c([1 + warm, 1.0, 1 - warm])
    return Setting(
        eye=eye, frame=np.stack([right, up, way]), spread=tall / 2 / far, key=aim + c([-3.6, 4.4, 4.8]),
        key_size=1.05,
        key_colour=c([3.35, 3.15, 2.9]) * 1.06 * key_power * tint, aim=aim, rim=aim + c([4.2, 3.2, -3.6]),
        rim_colour=c([1.25, 1.3, 1.4]) * 1.25 * rim_power,
        fill=c([0.85, 0.1, 0.5]), fill_colour=c([0.16, 0.155, 0.15]) * fill_power,
        above=c([0.30, 0.305, 0.32]) * dim, below=c([0.15, 0.14, 0.13]) * dim,
        wall=wall, sweep=2.2 if wall > -6 else 0.4, paper=linear(paper), snoot=snoot,
    )  # fmt: skip


def sweep(colour: str, second: str | None = None, *, kind: int = PLASTER) -> Floats:
    """Roll out a backdrop: plaster-toned paper, brushed canvas or bench boards."""
    row = np.zeros(20)
    base = linear(colour)
    row[0:3], row[3:6] = base, base * 0.82 if second is None else linear(second)
    row[6], row[7], row[11], row[12], row[13], row[17] = 0.92, 0.015, kind, 5.0, 0.0, 8.0
    if kind == WOOD:
        row[6], row[7], row[12], row[13] = 0.5, 0.04, 5.0, 0.05
    if kind == BRUSHED:
        row[12] = 3.0
    return row
