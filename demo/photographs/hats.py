"""Hats, and the last of the odd things: a hive, a fish, a receiver."""

import math

import numpy as np

from figure import brass, clothes
from pattern import BRUSHED, FELT, HAIR, KNIT, SCALLOP, STRIPES
from props import enamel, put
from sculpt import Bench, Frame, Point, turn
from solids import CARVE, Floats


def skep(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Coil a straw hive, with a bee at its door."""
    straw = bench.material("#d3ae62", "#8f6c30", kind=HAIR, rate=60, bump=0.7, sheen=0.5)
    dark = enamel(bench, "#2a2018")
    put(bench, p, None, size)
    for n in range(10):
        t = n / 9
        r = 0.44 * math.sqrt(max(0.02, 1 - (t * 0.99) ** 2.4))
        bench.part()
        bench.ring((0, -0.32 + 0.072 * n, 0), r, 0.047, straw)
    bench.ball((0, 0.34, 0), (0.13, 0.06, 0.13), straw, k=0.02)
    bench.part()
    bench.ball((0, -0.28, 0.43), (0.115, 0.115, 0.07), dark)
    bee(bench, (0.16, -0.20, 0.525), 0.9)


def bee(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Make a bee."""
    gold = bench.material("#d59a2b", "#33240f", kind=STRIPES, rate=100, bump=0.2, width=4)
    dark = enamel(bench, "#20180f")
    wing = bench.material("#e8e6dc", kind=BRUSHED, rate=20, bump=0, rough=0.2, mirror=0.06, through=0.8)
    p = np.asarray(p, float)
    bench.part()
    bench.ball(p, np.array([0.075, 0.045, 0.045]) * size, gold)
    bench.part()
    bench.ball(p + np.array([0.085, 0.005, 0]) * size, 0.034 * size, dark)
    for s in (-1, 1):
        bench.part()
        bench.ball(
            p + np.array([-0.01, 0.06, s * 0.045]) * size,
            np.array([0.055, 0.006, 0.03]) * size,
            wing,
            axes=turn(20 * s, 25 * s, 30),
        )


def fish(bench: Bench, tail: Point, size: float = 1.0) -> None:
    """Hang a silver fish by its tail."""
    silver = bench.material(
        "#cfd3d4", "#7b858a", kind=SCALLOP, rate=34, bump=0.3, rough=0.26, mirror=0.5, metallic=0.9
    )
    fin = brass(bench, "#aab0b2", rough=0.3)
    dark = bench.material("#101010", kind=BRUSHED, rough=0.06, mirror=0.06, bump=0)
    put(bench, tail, turn(12, 0, 4), size)
    bench.ball((0, -0.55, 0), (0.19, 0.42, 0.085), silver)
    bench.ball((0, -0.86, 0), (0.145, 0.17, 0.082), fin, k=0.05)
    bench.ball((0, -0.18, 0), (0.05, 0.17, 0.035), silver, k=0.08)
    bench.tube(
        [(-0.13, -0.80, 0.075), (-0.02, -0.70, 0.12), (0.13, -0.80, 0.075)],
        [0.008, 0.010, 0.008],
        silver,
        op=CARVE,
        k=0.02,
    )
    bench.part()
    bench.blade(
        (0, 0.06, 0),
        [(0, -0.20), (0.17, 0.10), (0.06, 0.03), (0, 0.0), (-0.06, 0.03), (-0.17, 0.10)],
        0.008,
        fin,
        edge=0.006,
    )
    bench.part()
    bench.blade((0.17, -0.58, 0), [(0, -0.15), (0.12, 0.05), (0.0, 0.16)], 0.007, fin, edge=0.005)
    bench.blade((-0.17, -0.50, 0), [(0, -0.10), (0, 0.12), (-0.09, 0.06)], 0.007, fin, edge=0.005)
    for s in (-1, 1):
        bench.part()
        bench.ball((0.02, -0.90, s * 0.066), (0.030, 0.030, 0.018), dark)


def receiver(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a telephone receiver with a little cord."""
    green = bench.material("#3f5b4a", "#33493c", kind=BRUSHED, rate=6, bump=0.02, rough=0.2, mirror=0.05)
    put(bench, p, axes, size)
    bench.tube([(-0.42, 0, 0), (0, 0.17, 0), (0.42, 0, 0)], [0.055, 0.062, 0.055], green)
    for side in (-1, 1):
        bench.lathe(
            (side * 0.44, -0.03, 0),
            [(0, 0.06), (0.09, 0.05), (0.12, -0.05), (0.155, -0.10), (0.155, -0.14), (0, -0.14)],
            green,
            round_by=0.01,
            k=0.04,
            axes=turn(0, 0, side * 12),
        )


def hat_flat(bench: Bench, head: Frame, colour: str) -> None:
    """Make a flat-topped hat."""
    felt = clothes(bench, colour, kind=FELT, rate=34, sheen=0.4)
    band = clothes(bench, "#6b2430", rate=60, sheen=0.4)
    bench.frame = head.inside((0, 0.62, -0.10), turn(0, -7, -4))
    bench.part()
    bench.lathe(
        (0, 0, 0),
        [
            (0, 0.44),
            (0.84, 0.44),
            (0.87, 0.40),
            (0.84, 0.02),
            (1.22, -0.01),
            (1.25, 0.02),
            (1.22, 0.05),
            (0.6, 0.05),
            (0.6, 0.3),
            (0, 0.3),
        ],
        felt,
        round_by=0.025,
    )
    bench.part()
    bench.lathe((0, 0, 0), [(0.80, 0.06), (0.872, 0.06), (0.885, 0.18), (0.80, 0.18)], band, round_by=0.01)


def hat_straw(bench: Bench, head: Frame) -> None:
    """Plait a wide straw hat."""
    straw = bench.material("#dcc889", "#a88d4c", kind=HAIR, rate=50, bump=0.6, sheen=0.5)
    band = clothes(bench, "#7d97b5", "#5f789a", rate=60)
    bench.frame = head.inside((0, 0.56, -0.12), turn(0, -12, 5))
    bench.part()
    for n in range(14):
        r = 0.90 + 0.062 * n
        bench.ring((0, 0.03 - 0.010 * n + 0.012 * math.sin(n), 0), r, 0.040, straw, k=0.006)
    for n in range(9):
        t = n / 8
        bench.ring((0, 0.05 + 0.062 * n, 0), 0.90 - 0.30 * t**2.2, 0.042, straw, k=0.006)
    bench.lathe((0, 0, 0), [(0, 0.5), (0.62, 0.5), (0.62, 0.56), (0, 0.58)], straw, round_by=0.03, k=0.02)
    bench.part()
    bench.lathe((0, 0, 0), [(0.86, 0.08), (0.945, 0.08), (0.93, 0.24), (0.86, 0.24)], band, round_by=0.01)


def cap_knitted(bench: Bench, head: Frame, colour: str) -> None:
    """Knit a cap with a turned-up edge."""
    wool = clothes(bench, colour, kind=KNIT, rate=15, bump=0.8, sheen=0.3)
    bench.frame = head.inside((0, 0.30, -0.14), turn(0, -10, 3))
    bench.part()
    bench.ball((0, 0.06, 0), (0.94, 0.92, 0.98), wool)
    bench.box((0, -0.85, 0), (2, 1.0, 2), wool, op=CARVE, edge=0.02)
    bench.part()
    bench.lathe(
        (0, 0, 0), [(0.86, 0.12), (0.99, 0.10), (1.02, 0.20), (0.98, 0.36), (0.86, 0.36)], wool, round_by=0.03
    )
    bench.wrinkle(0.008, 9)
    bench.part()
    bench.ball((0, 1.04, 0), 0.16, wool)
    bench.wrinkle(0.02, 18)
