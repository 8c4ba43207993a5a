"""The odd things the figures carry; each is made at a point with its own axes and size."""

import math

import numpy as np

from figure import brass, clothes, timber
from hair import Wig
from pattern import BRUSHED, HAIR, METAL, PLASTER, SPECKLE, STRIPES
from sculpt import Bench, Frame, Point, turn
from solids import CARVE, Floats

UP = np.eye(3)


def put(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Begin a thing at a point."""
    bench.frame = Frame(np.asarray(p, float), UP if axes is None else axes, size)
    bench.part()


def glaze(bench: Bench, colour: str, second: str | None = None) -> int:
    """Mix glazed china."""
    return bench.material(
        colour,
        second or colour,
        kind=SPECKLE if second else BRUSHED,
        rate=9,
        bump=0.015,
        rough=0.16,
        mirror=0.05,
    )


def enamel(bench: Bench, colour: str) -> int:
    """Mix a plain painted surface with a satin varnish."""
    return bench.material(colour, kind=BRUSHED, rate=16, bump=0.06, rough=0.38, mirror=0.045)


def card(
    bench: Bench,
    colour: str,
    *,
    kind: int = PLASTER,
    rate: float = 22,
    second: str | None = None,
    width: float = 8,
) -> int:
    """Mix paper."""
    return bench.material(
        colour, second, kind=kind, rate=rate, bump=0.05, rough=0.9, mirror=0.015, through=0.2, width=width
    )


def cord(bench: Bench, points: list[Point], thick: float, material: int) -> None:
    """Lay a thread or cord along points (scene units)."""
    bench.frame = Frame()
    p = [np.asarray(q, float) for q in points]
    bench.part()
    if len(p) == 3:
        bench.tube(p, [thick] * 3, material)
        return
    for n in range(1, len(p) - 1):
        a = p[0] if n == 1 else (p[n - 1] + p[n]) / 2
        b = p[-1] if n == len(p) - 2 else (p[n] + p[n + 1]) / 2
        bench.tube([a, p[n], b], [thick] * 3, material, k=thick * 0.5 if n > 1 else 0)


def thread(bench: Bench, colour: str) -> int:
    """Mix a twisted thread."""
    return bench.material(colour, kind=HAIR, rate=40, bump=0.5, sheen=0.5)


def key(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a big key, teeth upward, its bow at the bottom."""
    metal = brass(bench, "#b58a3f", rough=0.27)
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [
            (0, -0.72),
            (0.040, -0.72),
            (0.040, -0.66),
            (0.066, -0.64),
            (0.066, -0.60),
            (0.040, -0.57),
            (0.036, 0.50),
            (0.062, 0.53),
            (0.062, 0.57),
            (0.040, 0.60),
            (0.040, 0.86),
            (0.03, 0.90),
            (0, 0.90),
        ],
        metal,
        round_by=0.006,
    )
    bench.box((0.11, 0.70, 0), (0.08, 0.13, 0.024), metal, edge=0.008, k=0.01)
    bench.box((0.14, 0.70, 0), (0.07, 0.024, 0.05), metal, edge=0.004, op=CARVE)
    bench.box((0.20, 0.78, 0), (0.04, 0.022, 0.05), metal, edge=0.004, op=CARVE)
    bench.part()
    for x, y, r in ((0, -0.98, 0.17), (-0.15, -0.86, 0.11), (0.15, -0.86, 0.11)):
        bench.ring((x, y, 0), r, 0.036, metal, k=0.02, axes=turn(0, 90, 0))


def pail(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Make a pail with a blue band, full to the brim."""
    tin = bench.material(
        "#c9c8c2", "#8f8f8a", kind=METAL, rate=9, bump=0.06, rough=0.36, mirror=0.3, metallic=0.7
    )
    blue = enamel(bench, "#2f5688")
    water = bench.material("#3d5a58", "#2c4a4c", kind=BRUSHED, rate=3, bump=0.02, rough=0.05, mirror=0.09)
    put(bench, p, None, size)
    bench.lathe(
        (0, 0, 0),
        [
            (0, -0.32),
            (0.26, -0.32),
            (0.36, 0.27),
            (0.385, 0.28),
            (0.385, 0.31),
            (0.35, 0.31),
            (0.335, 0.27),
            (0.25, -0.28),
            (0, -0.28),
        ],
        tin,
        round_by=0.004,
    )
    bench.part()
    bench.lathe(
        (0, 0, 0), [(0.285, -0.10), (0.335, 0.09), (0.343, 0.09), (0.30, -0.10)], blue, round_by=0.003
    )
    bench.part()
    bench.lathe(
        (0, 0, 0), [(0, 0.2), (0.33, 0.2), (0.345, 0.30), (0.33, 0.325), (0.2, 0.345), (0, 0.35)], water
    )
    bench.part()
    bench.tube([(-0.385, 0.27, 0), (0, 1.03, 0.0), (0.385, 0.27, 0)], [0.016, 0.016, 0.016], tin)
    for side in (-1, 1):
        bench.ball((side * 0.385, 0.26, 0), (0.03, 0.045, 0.04), tin, k=0.01)


def umbrella_closed(bench: Bench, tip: Point, long: float = 1.9) -> None:
    """Make a rolled umbrella standing on its tip."""
    black = clothes(bench, "#1d1b1d", "#29262a", rate=60, rough=0.7, sheen=0.35)
    steel, wood = brass(bench, "#9a9a98"), timber(bench, "#4a2c1c")
    put(bench, tip)
    bench.cone((0, 0, 0), (0, 0.16, 0), 0.014, 0.022, steel)
    bench.part()
    bench.skirt(
        (0, long * 0.80, 0), 0.055, 0.05, long * 0.66, black, folds=5, depth=0.012, thick=0.05, flat=1
    )
    bench.cone((0, 0.14, 0), (0, long * 0.48, 0), 0.024, 0.105, black, k=0.05)
    bench.wrinkle(0.014, 22, 0.6)
    bench.cone((0, long * 0.48, 0), (0, long * 0.80, 0), 0.105, 0.065, black, k=0.05)
    bench.wrinkle(0.014, 20, 0.6)
    bench.ring((0, long * 0.60, 0), 0.10, 0.018, black, k=0.01)
    bench.part()
    bench.cone((0, long * 0.78, 0), (0, long, 0), 0.024, 0.026, wood)
    bench.tube(
        [(0, long - 0.02, 0), (0, long + 0.26, 0), (0.16, long + 0.12, 0.02)],
        [0.034, 0.036, 0.030],
        wood,
        k=0.02,
    )
    bench.tube(
        [(0.10, long + 0.16, 0.01), (0.19, long + 0.12, 0.02), (0.185, long + 0.0, 0.02)],
        [0.031, 0.03, 0.032],
        wood,
        k=0.02,
    )


def umbrella_open(bench: Bench, top: Point, axes: Floats, colour: str, wide: float = 1.35) -> None:
    """Make an open umbrella with glass rain on threads below it."""
    silk = clothes(bench, colour, kind=BRUSHED, rate=30, rough=0.6, through=0.25, sheen=0.4)
    steel, wood = brass(bench, "#8d8d8b"), timber(bench, "#3d2618")
    bead = bench.material(
        "#b9cdd8", "#8fb0c2", kind=BRUSHED, rate=4, bump=0.0, rough=0.06, mirror=0.10, through=0.6
    )
    string = thread(bench, "#cfd6da")
    put(bench, top, axes)
    bench.ball((0, -0.75, 0), (wide, 0.75, wide), silk)
    bench.ball((0, -0.79, 0), (wide - 0.02, 0.75, wide - 0.02), silk, op=CARVE)
    for n in range(8):
        a = (n + 0.5) * math.pi / 4
        bench.ball(
            (math.cos(a) * wide * 0.93, -0.88, math.sin(a) * wide * 0.93),
            (0.46, 0.34, 0.46),
            silk,
            op=CARVE,
            k=0.02,
        )
    bench.box((0, -1.3, 0), (2, 0.62, 2), silk, op=CARVE, edge=0.01)
    chance = np.random.default_rng(77)
    for n in range(8):
        a = n * math.pi / 4
        rim = np.array([math.cos(a), 0, math.sin(a)])
        bench.part()
        bench.tube(
            [(0, -0.03, 0), rim * wide * 0.62 + (0, -0.02, 0), rim * wide * 0.985 + (0, -0.66, 0)],
            [0.012, 0.012, 0.010],
            steel,
        )
        bench.tube(
            [(0, -0.55, 0), rim * 0.3 + (0, -0.42, 0), rim * 0.70 + (0, -0.20, 0)],
            [0.008, 0.008, 0.008],
            steel,
        )
    bench.part()
    bench.cone((0, 0.18, 0), (0, -2.5, 0), 0.022, 0.026, wood)
    bench.tube([(0, -2.48, 0), (0, -2.75, 0), (0.15, -2.62, 0.02)], [0.035, 0.036, 0.03], wood, k=0.02)
    for n in range(26):
        a = n * 2.39996 + 0.4
        r = 0.38 + 0.75 * math.sqrt((n % 10) / 10)
        x, z = r * math.cos(a), r * math.sin(a)
        y0 = -0.10 - 0.48 * (r / wide) ** 2
        long = chance.uniform(0.5, 1.25)
        if z > 0.1 and abs(x + 0.38) < 0.62:
            continue  # leave the face free
        bench.part()
        bench.tube([(x, y0, z), (x + 0.01, y0 - long / 2, z), (x, y0 - long, z)], [0.0035] * 3, string)
        for k in range(3):
            y = y0 - long * (k + 1) / 3
            bench.part()
            bench.ball((x, y, z), (0.034, 0.046, 0.034), bead)


def bell(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a hand bell, mouth downward, the clapper bound with red thread."""
    bronze = brass(bench, "#8a6637", rough=0.3)
    wood, red = timber(bench, "#4d2f1e"), thread(bench, "#a32a26")
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [
            (0, 0.30),
            (0.10, 0.30),
            (0.17, 0.24),
            (0.20, 0.10),
            (0.235, -0.12),
            (0.31, -0.25),
            (0.335, -0.28),
            (0.30, -0.29),
            (0.21, -0.13),
            (0.17, 0.10),
            (0.13, 0.22),
            (0, 0.26),
        ],
        bronze,
        round_by=0.006,
    )
    bench.ring((0, -0.20, 0), 0.275, 0.012, bronze, k=0.01)
    bench.ring((0, 0.07, 0), 0.207, 0.009, bronze, k=0.01)
    bench.part()
    bench.lathe(
        (0, 0, 0),
        [
            (0, 0.30),
            (0.04, 0.30),
            (0.05, 0.36),
            (0.035, 0.42),
            (0.06, 0.55),
            (0.075, 0.66),
            (0.05, 0.76),
            (0, 0.78),
        ],
        wood,
        round_by=0.006,
    )
    bench.part()
    bench.cone((0, 0.1, 0), (0, -0.30, 0), 0.016, 0.018, bronze)
    bench.ball((0, -0.34, 0), 0.062, bronze, k=0.02)
    for n in range(4):
        bench.part()
        bench.ring(
            (0, -0.29 - 0.030 * n, 0), 0.058 + 0.006 * (n in (1, 2)), 0.017, red, axes=turn(0, 6 * (n % 2), 4)
        )
    bench.part()
    bench.tube([(0.05, -0.36, 0.04), (0.16, -0.46, 0.06), (0.14, -0.62, 0.08)], [0.012, 0.011, 0.008], red)


def suitcase(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a small suitcase with a carrot top caught in the lid."""
    tan = bench.material("#9c6b3f", "#7d5230", kind=PLASTER, rate=16, bump=0.12, rough=0.5, mirror=0.04)
    dark, metal = enamel(bench, "#5a3a22"), brass(bench)
    leafy = bench.material("#4f7a35", "#2f5220", kind=HAIR, rate=40, bump=0.3, sheen=0.3)
    put(bench, p, axes, size)
    bench.box((0, -0.05, 0), (0.46, 0.27, 0.15), tan, edge=0.045)
    bench.box((0, 0.135, 0), (0.48, 0.010, 0.18), tan, edge=0.004, op=CARVE, k=0.01)
    for x in (-1, 1):
        for y in (-0.30, 0.20):
            bench.part()
            bench.ball((x * 0.42, y, 0), (0.075, 0.06, 0.166), dark)
        bench.part()
        bench.box((x * 0.24, -0.05, 0), (0.035, 0.277, 0.157), dark, edge=0.012)
        bench.part()
        bench.box((x * 0.24, 0.135, 0.158), (0.045, 0.05, 0.012), metal, edge=0.008)
    bench.part()
    bench.tube([(-0.13, 0.21, 0), (0, 0.40, 0), (0.13, 0.21, 0)], [0.026, 0.03, 0.026], dark)
    wig = Wig(bench, leafy, 4)
    wig.tuft((0.43, 0.13, 0.05), (1, 0.35, 0.3), 26, length=0.34, spread=0.07, size=0.014, droop=-0.05)


def paper_boat(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Fold a boat from a ruled page."""
    page = card(bench, "#f2eee3", kind=STRIPES, rate=60, second="#b4c4d8", width=3.4)
    page_row = bench.materials[page]
    page_row[13] = 0.02
    put(bench, p, axes, size)
    hull = [(-0.52, 0.17), (-0.30, -0.13), (0.30, -0.13), (0.52, 0.17)]
    for side in (-1, 1):
        bench.blade(
            (0, 0, side * 0.075),
            hull,
            0.006,
            page,
            edge=0.004,
            axes=turn(0, side * 20, 0),
            bend=(-0.30 * side, 0),
        )
    bench.part()
    bench.blade(
        (0, -0.10, 0), [(-0.27, 0), (0.27, 0), (0, 0.50)], 0.012, page, edge=0.004, axes=turn(2, 0, 0)
    )
    bench.part()
    bench.blade(
        (0.0, -0.10, 0.018), [(-0.27, 0), (0.0, 0), (0.0, 0.50)], 0.003, page, edge=0.003, axes=turn(-7, 0, 0)
    )


def bottle(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a stoppered bottle with something white inside."""
    glass = bench.material(
        "#dfe6e4", "#b9c6c7", kind=PLASTER, rate=7, bump=0.0, rough=0.08, mirror=0.07, through=0.5
    )
    cork, string = timber(bench, "#b08a5c", "#8a6640"), thread(bench, "#8f8a7c")
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [
            (0, -0.36),
            (0.20, -0.36),
            (0.235, -0.32),
            (0.24, 0.06),
            (0.20, 0.16),
            (0.085, 0.23),
            (0.078, 0.34),
            (0.105, 0.36),
            (0.105, 0.39),
            (0, 0.39),
        ],
        glass,
        round_by=0.008,
    )
    bench.part()
    bench.lathe((0, 0, 0), [(0, 0.38), (0.062, 0.38), (0.075, 0.50), (0, 0.50)], cork, round_by=0.006)
    for n in range(3):
        bench.part()
        bench.ring((0, 0.25 + 0.022 * n, 0), 0.085, 0.013, string)
