"""Glass eyes: the painted iris disc."""

import numpy as np
from numpy.typing import NDArray

from sculpt import linear

SIZE = 384


def iris(
    colour: str,
    *,
    ring: str = "#14100e",
    inner: str | None = None,
    pupil: str = "round",
    wide: float = 0.36,
    seed: int = 1,
) -> NDArray[np.float32]:
    """Paint an iris: fibres, a lighter ring round the pupil, a dark edge; linear light."""
    chance = np.random.default_rng(seed)
    y, x = np.mgrid[-1 : 1 : SIZE * 1j, -1 : 1 : SIZE * 1j] / 0.94
    r, angle = np.hypot(x, y), np.arctan2(-y, x)
    fibres = np.zeros_like(r)
    for n in range(46):
        many, phase = chance.integers(9, 120), chance.uniform(0, 6.28)
        fibres += np.sin(
            many * angle + phase + chance.uniform(-2, 2) * r + 0.5 * np.sin(3 * angle + n)
        ) * chance.uniform(0.3, 1)
    fibres = fibres / fibres.std()
    base, dark = linear(colour), linear(ring)
    bright = linear(inner) if inner else np.clip(base * 1.9 + np.array([0.10, 0.07, 0.02]), 0, 1)
    mix = np.clip((r - wide) / (0.92 - wide), 0, 1)
    collar = np.exp(-((mix - 0.18 - 0.02 * fibres) ** 2) / 0.022)
    shade = np.clip(0.82 + 0.26 * fibres * (0.4 + 0.6 * mix), 0.15, 2.1)[..., None]
    out = (base * (1 - 0.62 * collar[..., None]) + bright * 0.62 * collar[..., None]) * shade
    edge = np.clip((r - 0.76 - 0.02 * fibres) / 0.22, 0, 1)[..., None] ** 1.4
    out = out * (1 - edge) + dark * edge
    hole = {
        "round": r - wide,
        "slit": np.hypot(x * 3.2, y * 0.62) - wide,
        "bar": np.hypot(x * 0.62, y * 2.6) - wide,
    }[pupil]
    hole = np.clip(hole / 0.035 + 0.5 + 0.12 * fibres * 0.3, 0, 1)[..., None]
    return (out * hole + np.array([0.004, 0.003, 0.003]) * (1 - hole)).astype(np.float32)
