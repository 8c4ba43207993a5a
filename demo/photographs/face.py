"""Proportions and paint of a face, and where its lids are."""

import math
from dataclasses import dataclass


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
