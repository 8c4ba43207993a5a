"""Ears, horns, antlers, feelers and whiskers."""

import math
from collections.abc import Sequence

import numpy as np

from beasts import Beast
from hair import Wig, hair_material
from pattern import FELT, HAIR
from sculpt import Bench, Point, along, turn
from solids import CARVE, Floats


def leaf(wide: float, tall: float, point: float = 1.0, low: float = 0.35) -> list[tuple[float, float]]:
    """Outline an ear or leaf from the root at (0, 0) upward."""
    t = np.linspace(0, 1, 15)
    half = (
        wide * np.sin(np.pi * t ** (1 - low * 0.6)) ** (0.75) * (1 - 0.55 * point * t**2.2)
        + 0.22 * wide * (1 - t) ** 2
    )
    right = list(zip(half, t * tall, strict=True))
    return [*right, *[(-x, y) for x, y in reversed(right[:-1])]]


def ear_pair(
    bench: Bench, beast: Beast, fur: int, *, wide: float, tall: float, at: Point, tilt: float, yaw: float,
    point: float, back: float = -8, cup: float = 0.9,
    tip: str | None = None, torn: int = 0, seed: int = 0, low: float = 0.35,
) -> None:  # fmt: skip
    """Set a pair of ears with a pink lining and a fringe of hair inside."""
    lining = bench.material(
        beast.pink, kind=FELT, rate=30, bump=0.1, rough=0.8, mirror=0.02, warm=0.6, through=0.35
    )
    outer = bench.material(
        beast.fur,
        beast.dark if tip is None else tip,
        kind=FELT,
        rate=26,
        bump=0.22,
        rough=0.85,
        mirror=0.02,
        sheen=0.3,
    )
    for side in (-1, 1):
        axes = turn(side * yaw, back, side * -tilt)
        p = np.asarray(at, float) * (side, 1, 1)
        bench.part()
        bench.blade(p, leaf(wide, tall, point, low), 0.03, outer, bend=(cup, 0.05), edge=0.024, axes=axes)
        if torn == side:
            bench.ball(
                p + axes @ np.array([side * wide * 0.62, tall * 0.66, 0.08]),
                (0.11, 0.085, 0.4),
                outer,
                op=CARVE,
                k=0.02,
                axes=axes,
            )
        bench.part()
        inner = [(x * 0.74, y * 0.84 + 0.04) for x, y in leaf(wide, tall, point, low)]
        bench.blade(
            p + axes @ np.array([0, 0, 0.035]), inner, 0.018, lining, bend=(cup, 0.05), edge=0.012, axes=axes
        )
        if torn == side:
            bench.ball(
                p + axes @ np.array([side * wide * 0.62, tall * 0.66, 0.08]),
                (0.13, 0.10, 0.4),
                lining,
                op=CARVE,
                k=0.02,
                axes=axes,
            )
        wig = Wig(bench, hair_material(bench, beast.fur, sheen=0.3), seed + side)
        for _ in range(22):
            t = wig.chance.uniform(0.05, 0.5)
            root = p + axes @ np.array([wide * 0.5 * wig.chance.uniform(-1, 1), tall * t, 0.05])
            wig.tuft(root, axes @ np.array([0.1 * side, 0.5, 0.5]), 1, length=0.16, spread=0.03, size=0.010)
        bench.part()
        bench.ball(p + (0, 0.02, 0), (wide * 0.55, 0.10, 0.12), fur, axes=axes)


def chain(
    bench: Bench, points: Sequence[Floats], radii: Sequence[float], material: int, k: float = 0.02
) -> None:
    """Run a tube through many points."""
    bench.part()
    for n in range(1, len(points) - 1):
        a = points[0] if n == 1 else (points[n - 1] + points[n]) / 2
        b = points[-1] if n == len(points) - 2 else (points[n] + points[n + 1]) / 2
        ra = radii[0] if n == 1 else (radii[n - 1] + radii[n]) / 2
        rb = radii[-1] if n == len(points) - 2 else (radii[n] + radii[n + 1]) / 2
        bench.tube([a, points[n], b], [ra, radii[n], rb], material, k=k if n > 1 else 0)


def horns_back(bench: Bench, material: int, *, long: float = 1.0, rings: int = 9) -> None:
    """Set two ringed horns that curve up and back."""
    for side in (-1, 1):
        t = np.linspace(0, 1, 9)
        path = [
            np.array(
                [
                    side * (0.24 + 0.30 * u),
                    0.80 + long * (0.95 * u - 0.42 * u * u),
                    0.12 - 0.25 * u - 0.55 * u * u,
                ]
            )
            for u in t
        ]
        chain(bench, path, list(0.125 * (1 - 0.86 * t)), material)
        for n in range(rings):
            u = 0.06 + 0.08 * n
            k = u * 8
            i = min(7, int(k))
            p = path[i] * (1 - k + i) + path[i + 1] * (k - i)
            way = path[i + 1] - path[i]
            bench.ring(
                p, 0.122 * (1 - 0.86 * u) - 0.006, 0.018 * (1 - 0.5 * u), material, k=0.02, axes=along(way)
            )


def horns_curled(bench: Bench, material: int) -> None:
    """Set two rams' horns."""
    for side in (-1, 1):
        t = np.linspace(0, 1, 16)
        a = 1.9 - 6.6 * t
        r = 0.42 * (1 - 0.45 * t)
        path = [
            np.array([side * (0.58 + 0.42 * u), 0.34 + q * math.sin(b), -0.10 + q * math.cos(b)])
            for u, q, b in zip(t, r, a, strict=True)
        ]
        chain(bench, path, list(0.17 * (1 - 0.8 * t)), material)


def antlers(bench: Bench, material: int, seed: int) -> None:
    """Set two branched antlers."""
    chance = np.random.default_rng(seed)
    for side in (-1, 1):
        trunk = [
            np.array([side * x, y, z])
            for x, y, z in (
                (0.25, 0.80, 0),
                (0.42, 1.15, -0.12),
                (0.72, 1.50, -0.18),
                (0.82, 1.95, -0.05),
                (0.70, 2.35, 0.10),
            )
        ]
        chain(bench, trunk, [0.075, 0.065, 0.055, 0.042, 0.012], material)
        for n, way in (
            (1, (0.05, 0.35, 0.40)),
            (2, (0.42, 0.30, 0.15)),
            (3, (0.30, 0.34, -0.12)),
            (3, (-0.28, 0.30, 0.12)),
        ):
            a = trunk[n] * 0.7 + trunk[min(4, n + 1)] * 0.3
            b = a + np.array(way) * (side, 1, 1) + chance.normal(0, 0.03, 3)
            bench.tube([a, (a + b) / 2 + (0, -0.06, 0.02), b], [0.045, 0.036, 0.010], material, k=0.05)


def antennae(bench: Bench, material: int, *, feathered: bool, club: int | None = None) -> None:
    """Set two feelers: feathered as a moth's, or clubbed as a beetle's."""
    for side in (-1, 1):
        base = np.array([side * 0.22, 0.86, 0.52]) if feathered else np.array([side * 0.30, 0.66, 0.55])
        bow = base + (
            np.array([side * 0.15, 0.75, 0.30]) if feathered else np.array([side * 0.10, 0.35, 0.35])
        )
        tip = base + (
            np.array([side * 0.85, 1.05, 0.15]) if feathered else np.array([side * 0.52, 0.42, 0.50])
        )
        bench.part()
        bench.tube([base, bow, tip], [0.028, 0.022, 0.008] if feathered else [0.035, 0.03, 0.03], material)
        if club is not None:
            bench.part()
            bench.ball(tip, (0.10, 0.085, 0.12), club)
        if not feathered:
            continue
        for n in range(34):
            t = 0.10 + 0.88 * n / 34
            p = base * (1 - t) ** 2 + 2 * bow * t * (1 - t) + tip * t * t
            way = 2 * (bow - base) * (1 - t) + 2 * (tip - bow) * t
            way /= np.linalg.norm(way)
            out = np.cross(way, (0, 0, 1))
            out /= np.linalg.norm(out)
            long = 0.26 * math.sin(math.pi * min(1, t * 0.9 + 0.1)) + 0.03
            for s in (-1, 1):
                end = p + (out * s * 0.85 + way * 0.55 + np.array([0, 0, 0.18])) * long
                bench.part()
                bench.tube([p, (p + end) / 2 + way * -0.03, end], [0.011, 0.009, 0.003], material)


def whiskers(bench: Bench, p: Floats, seed: int, *, wide: float = 0.14, long: float = 0.7) -> None:
    """Set whiskers at both sides of the muzzle."""
    chance = np.random.default_rng(seed)
    white = bench.material("#e9e4da", kind=HAIR, rate=20, bump=0, sheen=0.5)
    for side in (-1, 1):
        for n in range(6):
            a = p + (side * wide, -0.02 - 0.03 * (n % 3), -0.03 * (n // 3))
            b = a + np.array([side * long * 0.5, 0.05 - 0.05 * n + 0.1, 0.12])
            c = a + np.array([side * long * chance.uniform(0.8, 1.1), 0.10 - 0.07 * n, -0.05])
            bench.part()
            bench.tube([a, b, c], [0.0045, 0.0035, 0.001], white)
