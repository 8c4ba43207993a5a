"""Small odd things: cups, spools, letters, moons, shells."""

import math

import numpy as np

from figure import brass, clothes, timber
from pattern import BRUSHED, HAIR, PLASTER, PRINT, SPECKLE, STRIPES, WARTS
from props import card, enamel, glaze, put
from sculpt import Bench, Point, along, turn
from solids import CARVE, Floats


def lantern(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Make a lantern with amber panes that glow."""
    metal = brass(bench, "#a57f3c")
    amber = bench.material(
        "#e8a13a", "#f6cf7a", kind=PLASTER, rate=9, bump=0.0, rough=0.15, mirror=0.05, glow=1.5
    )
    put(bench, p, None, size)
    bench.box((0, 0, 0), (0.165, 0.235, 0.165), amber, edge=0.01)
    bench.part()
    for x in (-1, 1):
        for z in (-1, 1):
            bench.box((x * 0.17, 0, z * 0.17), (0.022, 0.26, 0.022), metal, edge=0.008)
    for y in (-0.25, 0.25):
        bench.box((0, y, 0), (0.21, 0.025, 0.21), metal, edge=0.01)
    bench.box((0, 0.0, 0.176), (0.009, 0.23, 0.008), metal, edge=0.003)
    bench.box((0.176, 0.0, 0), (0.008, 0.23, 0.009), metal, edge=0.003)
    bench.lathe(
        (0, 0.27, 0),
        [(0, 0), (0.20, 0), (0.10, 0.11), (0.06, 0.12), (0.06, 0.17), (0, 0.19)],
        metal,
        round_by=0.01,
    )
    bench.ring((0, 0.545, 0), 0.085, 0.015, metal, axes=turn(0, 90, 0))


def moon(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Cut a crescent of waxed paper with pencilled craters and an eyelet."""
    wax = bench.material(
        "#efe6c8", "#cfc29a", kind=PLASTER, rate=12, bump=0.14, rough=0.5, mirror=0.04, through=0.35
    )
    pencil, metal = enamel(bench, "#a59a7c"), brass(bench)
    t = np.linspace(-2.45, 2.45, 30)
    outer = [(-0.5 * math.cos(a), 0.5 * math.sin(a)) for a in t]
    inner = [
        (-0.19 - 0.375 * math.cos(a) + 0.19 + 0.15, 0.375 * math.sin(a)) for a in np.linspace(2.6, -2.6, 26)
    ]
    put(bench, p, axes, size)
    bench.blade((0, 0, 0), [*outer, *inner], 0.05, wax, edge=0.025)
    bench.wrinkle(0.004, 11)
    for x, y, r in (
        (-0.40, 0.10, 0.035),
        (-0.36, -0.16, 0.05),
        (-0.30, 0.28, 0.028),
        (-0.41, -0.03, 0.02),
        (-0.22, -0.36, 0.03),
    ):
        bench.part()
        bench.ring((x, y, 0.072), r, 0.006, pencil, axes=turn(0, 90, 0))
    bench.part()
    bench.ring((0.30, 0.335, 0), 0.04, 0.016, metal, axes=turn(0, 90, 0))


def match(bench: Bench, low: Point, high: Point) -> None:
    """Make one long unlit match."""
    low, high = np.asarray(low, float), np.asarray(high, float)
    long = float(np.linalg.norm(high - low))
    wood = timber(bench, "#cda873", "#a98250")
    red = bench.material("#8e2b22", "#5d1a15", kind=SPECKLE, rate=30, bump=0.2, rough=0.8)
    put(bench, low, along(high - low))
    bench.box((0, long / 2, 0), (0.045, long / 2, 0.045), wood, edge=0.008)
    bench.part()
    bench.ball((0, long + 0.03, 0), (0.075, 0.13, 0.075), red)


def teacup(
    bench: Bench,
    p: Point,
    axes: Floats | None = None,
    size: float = 1.0,
    *,
    rim: str = "#2e4a86",
    tea: str | None = "#6b3517",
    saucer: bool = False,
    flowers: bool = False,
) -> None:
    """Make a cup with a coloured rim."""
    white, edge = glaze(bench, "#f3f0e8"), glaze(bench, rim)
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [
            (0, -0.27),
            (0.17, -0.27),
            (0.19, -0.24),
            (0.29, -0.16),
            (0.37, 0.02),
            (0.40, 0.25),
            (0.375, 0.25),
            (0.345, 0.03),
            (0.26, -0.12),
            (0, -0.2),
        ],
        white,
        round_by=0.009,
    )
    bench.tube([(0.35, 0.13, 0), (0.72, 0.22, 0), (0.60, -0.02, 0)], [0.036, 0.030, 0.028], white, k=0.03)
    bench.tube([(0.60, -0.02, 0), (0.52, -0.16, 0), (0.30, -0.10, 0)], [0.028, 0.03, 0.034], white, k=0.03)
    bench.part()
    bench.ring((0, 0.256, 0), 0.390, 0.017, edge)
    if tea:
        brown = bench.material(tea, kind=BRUSHED, rate=4, bump=0.0, rough=0.06, mirror=0.06)
        bench.part()
        bench.lathe((0, 0, 0), [(0, 0.05), (0.33, 0.05), (0.348, 0.10), (0, 0.10)], brown)
    if flowers:
        _flowers(bench)


def _flowers(bench: Bench) -> None:
    """Paint cobalt flowers round a cup, as thin raised enamel."""
    blue, green = glaze(bench, "#2e4a86"), glaze(bench, "#5f7f6a")
    for n in range(11):
        a = math.radians(-150 + 30 * n)
        for k in range(6):
            b = k * 1.2566
            high, wide = (0.10, 0.045) if k < 5 else (0.10, 0.0)
            y = high * 0.4 + wide * math.sin(b) - 0.02
            r = 0.366 + 0.075 * (y + 0.02) - 0.012 * (y < 0)
            turn_by = a + wide * math.cos(b) / r
            bench.part()
            bench.ball(
                (r * math.sin(turn_by), y, r * math.cos(turn_by)),
                0.024 if k < 5 else 0.016,
                blue if k < 5 else green,
            )


def spool(
    bench: Bench,
    p: Point,
    axes: Floats | None = None,
    size: float = 1.0,
    *,
    colour: str = "#a52a2a",
    sheen: float = 0.5,
) -> None:
    """Make a wooden spool wound with thread."""
    wood = timber(bench, "#b98f5e", "#8a6238")
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [
            (0, -0.24),
            (0.17, -0.24),
            (0.18, -0.21),
            (0.09, -0.15),
            (0.09, 0.15),
            (0.18, 0.21),
            (0.17, 0.24),
            (0.045, 0.24),
            (0.045, -0.2),
            (0, -0.2),
        ],
        wood,
        round_by=0.008,
    )
    yarn = bench.material(colour, kind=HAIR, rate=60, bump=0.3, sheen=sheen)
    for n in range(11):
        bench.part()
        bench.ring(
            (0, -0.145 + 0.029 * n, 0),
            0.135 + 0.012 * math.sin(n * 2.1) - 0.02 * (n in (0, 10)),
            0.021,
            yarn,
            axes=turn(0, 3 * math.sin(n), 3 * math.cos(n * 1.7)),
        )


def envelope(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a sealed envelope, its seal pressed on a second time."""
    buff = card(bench, "#d8c39a", second="#c9b083", rate=14)
    flap = card(bench, "#d2bb8f", second="#bfa576", rate=14)
    wax = bench.material("#9b2723", "#7a1a18", kind=PLASTER, rate=14, bump=0.12, rough=0.28, mirror=0.05)
    ink = card(bench, "#d8c39a", kind=PRINT, rate=26, second="#4b3d33")
    put(bench, p, axes, size)
    bench.box((0, 0, 0), (0.40, 0.26, 0.018), buff, edge=0.008)
    bench.part()
    bench.blade(
        (0, 0.26, 0.022),
        [(-0.39, 0), (0.39, 0), (0.03, -0.30), (-0.03, -0.30)],
        0.005,
        flap,
        edge=0.006,
        axes=turn(0, 1.5, 0),
    )
    bench.part()
    bench.box((0, -0.03, -0.020), (0.24, 0.11, 0.002), ink, edge=0.001)
    bench.part()
    bench.ball((0, -0.02, 0.038), (0.085, 0.08, 0.022), wax)
    bench.wrinkle(0.005, 18)
    bench.ring((0, -0.02, 0.052), 0.05, 0.008, wax, k=0.01, axes=turn(0, 90, 0))
    bench.box(
        (0.012, -0.02, 0.06), (0.005, 0.10, 0.02), wax, edge=0.002, op=CARVE, axes=turn(0, 0, 24), k=0.006
    )


def shell(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Wind a snail's shell with a brass door number by the opening."""
    coat = bench.material(
        "#c79a62", "#6f4526", kind=STRIPES, rate=30, bump=0.05, rough=0.3, mirror=0.045, width=9
    )
    plate = brass(bench)
    put(bench, p, axes, size)
    turns = np.linspace(0, 2.75 * 2 * math.pi, 36)
    grow = np.exp(0.155 * (turns - turns[-1]))
    path = [
        np.array([0.52 * g * math.cos(-t), 0.52 * g * math.sin(-t), 0.30 * (1 - g) ** 1.2])
        for t, g in zip(turns, grow, strict=True)
    ]
    for n in range(1, 35):
        a, b = (path[n - 1] + path[n]) / 2, (path[n] + path[n + 1]) / 2
        bench.tube(
            [a, path[n], b],
            [0.36 * grow[n - 1], 0.36 * grow[n], 0.36 * grow[n + 1]],
            coat,
            k=0.025 if n > 1 else 0,
        )
    end, way = path[-1], path[-1] - path[-2]
    way /= np.linalg.norm(way)
    bench.ball(end + way * 0.10, (0.25, 0.20, 0.25), coat, k=0.04, op=CARVE, axes=along(way))
    bench.part()
    bench.box(
        end * 0.98 + np.array([0, 0, 0.345]) - way * 0.12,
        (0.085, 0.055, 0.012),
        plate,
        edge=0.012,
        axes=turn(0, -4, 0),
    )


def egg(bench: Bench, p: Point, tall: float = 1.5) -> None:
    """Make a pale blue egg with a hairline crack."""
    shade = bench.material(
        "#a9c6c2", "#8aa9a6", kind=SPECKLE, rate=26, bump=0.05, rough=0.5, mirror=0.035, warm=0.3
    )
    dark = enamel(bench, "#4b5552")
    put(bench, p)
    bench.ball((0, -0.06 * tall, 0), np.array([0.375, 0.44, 0.375]) * tall, shade)
    bench.ball((0, 0.10 * tall, 0), np.array([0.315, 0.40, 0.315]) * tall, shade, k=0.25 * tall)
    chance = np.random.default_rng(9)
    y, x = 0.16 * tall, 0.05 * tall
    cracks = []
    for _ in range(7):
        q = (x + chance.uniform(-0.02, 0.08), y + chance.uniform(-0.09, 0.02))
        spots = []
        for u, v in ((x, y), ((x + q[0]) / 2 + 0.012, (y + q[1]) / 2), q):
            spots.append((u, v, bench.front(u, v) + 0.002))
        cracks.append(spots)
        x, y = q
    for spots in cracks:
        bench.part()
        bench.tube(spots, [0.006, 0.006, 0.004], dark)


def scroll(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Roll a letter and tie it with a ribbon."""
    sheet = card(bench, "#efe8d6", second="#d9ceb2", rate=12)
    silk = clothes(bench, "#a4632f", "#7d4720", rate=50, rough=0.45, sheen=0.6)
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [(0, -0.46), (0.075, -0.46), (0.105, -0.47), (0.105, 0.47), (0.075, 0.46), (0, 0.44)],
        sheet,
        round_by=0.004,
    )
    bench.ball((0, 0.47, 0), (0.062, 0.10, 0.062), sheet, op=CARVE)
    bench.box((0.0, 0, 0.108), (0.012, 0.47, 0.006), sheet, edge=0.003, k=0.01)
    bench.part()
    bench.ring((0, 0.0, 0), 0.102, 0.022, silk)
    for side in (-1, 1):
        bench.tube(
            [(0, 0, 0.12), (side * 0.20, side * 0.02 + 0.12, 0.22), (side * 0.05, 0.01, 0.15)],
            [0.014, 0.030, 0.012],
            silk,
            k=0.01,
        )
        bench.tube(
            [(0, 0, 0.13), (side * 0.10, -0.05, 0.26), (side * 0.22, -0.06 - 0.05 * side, 0.16)],
            [0.013, 0.018, 0.022],
            silk,
            k=0.01,
        )


def thimble(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a silver thimble."""
    silver = bench.material(
        "#c9ccd0", "#80868c", kind=WARTS, rate=11, bump=-0.25, rough=0.25, mirror=0.6, metallic=1.0
    )
    plain = brass(bench, "#c9ccd0", rough=0.2)
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [(0, 0.62), (0.14, 0.60), (0.19, 0.54), (0.27, 0.06), (0.24, 0.06), (0.16, 0.5), (0, 0.55)],
        silver,
        round_by=0.012,
    )
    bench.part()
    bench.ring((0, 0.04, 0), 0.268, 0.034, plain)
    bench.ring((0, 0.10, 0), 0.262, 0.016, plain, k=0.01)


def halo(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Cut a flat brass disc with scratched rays."""
    metal = bench.material(
        "#b8934d", "#7c5f2c", kind=BRUSHED, rate=26, bump=0.12, rough=0.34, mirror=0.5, metallic=1.0
    )
    put(bench, p, axes, size)
    bench.lathe(
        (0, 0, 0),
        [(0, -0.015), (1.16, -0.015), (1.16, 0.015), (0, 0.015)],
        metal,
        round_by=0.01,
        axes=turn(0, 90, 0),
    )
    bench.ring((0, 0, 0), 1.14, 0.024, metal, axes=turn(0, 90, 0))
    for n in range(36):
        a = n * math.pi / 18
        bench.ball((1.02 * math.cos(a), 1.02 * math.sin(a), 0.022), 0.03, metal, k=0.01)
