"""The odd things the figures carry; each is made at a point with its own axes and size."""

import math

import numpy as np

from figure import brass, clothes, timber
from hair import Wig, hair_material
from pattern import BRUSHED, FELT, HAIR, KNIT, METAL, PLASTER, PRINT, SCALLOP, SPECKLE, STRIPES, WARTS
from sculpt import Bench, Frame, Point, along, turn
from solids import CARVE, Floats

UP = np.eye(3)


def put(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Begin a thing at a point."""
    bench.frame = Frame(np.asarray(p, float), UP if axes is None else axes, size)
    bench.part()


def glaze(bench: Bench, colour: str, second: str | None = None) -> int:
    """Mix glazed china."""
    return bench.material(colour, second or colour, kind=SPECKLE if second else BRUSHED, rate=9, bump=0.015, rough=0.16, mirror=0.05)


def enamel(bench: Bench, colour: str) -> int:
    """Mix a plain painted surface with a satin varnish."""
    return bench.material(colour, kind=BRUSHED, rate=16, bump=0.06, rough=0.38, mirror=0.045)


def card(bench: Bench, colour: str, *, kind: int = PLASTER, rate: float = 22, second: str | None = None, width: float = 8) -> int:
    """Mix paper."""
    return bench.material(colour, second, kind=kind, rate=rate, bump=0.05, rough=0.9, mirror=0.015, through=0.2, width=width)


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
    bench.lathe((0, 0, 0), [(0, -0.72), (0.040, -0.72), (0.040, -0.66), (0.066, -0.64), (0.066, -0.60), (0.040, -0.57), (0.036, 0.50), (0.062, 0.53), (0.062, 0.57), (0.040, 0.60), (0.040, 0.86), (0.03, 0.90), (0, 0.90)], metal, round_by=0.006)
    bench.box((0.11, 0.70, 0), (0.08, 0.13, 0.024), metal, edge=0.008, k=0.01)
    bench.box((0.14, 0.70, 0), (0.07, 0.024, 0.05), metal, edge=0.004, op=CARVE)
    bench.box((0.20, 0.78, 0), (0.04, 0.022, 0.05), metal, edge=0.004, op=CARVE)
    bench.part()
    for x, y, r in ((0, -0.98, 0.17), (-0.15, -0.86, 0.11), (0.15, -0.86, 0.11)):
        bench.ring((x, y, 0), r, 0.036, metal, k=0.02, axes=turn(0, 90, 0))


def pail(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Make a pail with a blue band, full to the brim."""
    tin = bench.material("#c9c8c2", "#8f8f8a", kind=METAL, rate=9, bump=0.06, rough=0.36, mirror=0.3, metallic=0.7)
    blue = enamel(bench, "#2f5688")
    water = bench.material("#3d5a58", "#2c4a4c", kind=BRUSHED, rate=3, bump=0.02, rough=0.05, mirror=0.09)
    put(bench, p, None, size)
    bench.lathe((0, 0, 0), [(0, -0.32), (0.26, -0.32), (0.36, 0.27), (0.385, 0.28), (0.385, 0.31), (0.35, 0.31), (0.335, 0.27), (0.25, -0.28), (0, -0.28)], tin, round_by=0.004)
    bench.part()
    bench.lathe((0, 0, 0), [(0.285, -0.10), (0.335, 0.09), (0.343, 0.09), (0.30, -0.10)], blue, round_by=0.003)
    bench.part()
    bench.lathe((0, 0, 0), [(0, 0.2), (0.33, 0.2), (0.345, 0.30), (0.33, 0.325), (0.2, 0.345), (0, 0.35)], water)
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
    bench.skirt((0, long * 0.80, 0), 0.055, 0.05, long * 0.66, black, folds=5, depth=0.012, thick=0.05, flat=1)
    bench.cone((0, 0.14, 0), (0, long * 0.48, 0), 0.024, 0.105, black, k=0.05)
    bench.wrinkle(0.014, 22, 0.6)
    bench.cone((0, long * 0.48, 0), (0, long * 0.80, 0), 0.105, 0.065, black, k=0.05)
    bench.wrinkle(0.014, 20, 0.6)
    bench.ring((0, long * 0.60, 0), 0.10, 0.018, black, k=0.01)
    bench.part()
    bench.cone((0, long * 0.78, 0), (0, long, 0), 0.024, 0.026, wood)
    bench.tube([(0, long - 0.02, 0), (0, long + 0.26, 0), (0.16, long + 0.12, 0.02)], [0.034, 0.036, 0.030], wood, k=0.02)
    bench.tube([(0.10, long + 0.16, 0.01), (0.19, long + 0.12, 0.02), (0.185, long + 0.0, 0.02)], [0.031, 0.03, 0.032], wood, k=0.02)


def umbrella_open(bench: Bench, top: Point, axes: Floats, colour: str, wide: float = 1.35) -> None:
    """Make an open umbrella with glass rain on threads below it."""
    silk = clothes(bench, colour, kind=BRUSHED, rate=30, rough=0.6, through=0.25, sheen=0.4)
    steel, wood = brass(bench, "#8d8d8b"), timber(bench, "#3d2618")
    bead = bench.material("#b9cdd8", "#8fb0c2", kind=BRUSHED, rate=4, bump=0.0, rough=0.06, mirror=0.10, through=0.6)
    string = thread(bench, "#cfd6da")
    put(bench, top, axes)
    bench.ball((0, -0.75, 0), (wide, 0.75, wide), silk)
    bench.ball((0, -0.79, 0), (wide - 0.02, 0.75, wide - 0.02), silk, op=CARVE)
    for n in range(8):
        a = (n + 0.5) * math.pi / 4
        bench.ball((math.cos(a) * wide * 0.93, -0.88, math.sin(a) * wide * 0.93), (0.46, 0.34, 0.46), silk, op=CARVE, k=0.02)
    bench.box((0, -1.3, 0), (2, 0.62, 2), silk, op=CARVE, edge=0.01)
    chance = np.random.default_rng(77)
    for n in range(8):
        a = n * math.pi / 4
        rim = np.array([math.cos(a), 0, math.sin(a)])
        bench.part()
        bench.tube([(0, -0.03, 0), rim * wide * 0.62 + (0, -0.02, 0), rim * wide * 0.985 + (0, -0.66, 0)], [0.012, 0.012, 0.010], steel)
        bench.tube([(0, -0.55, 0), rim * 0.3 + (0, -0.42, 0), rim * 0.70 + (0, -0.20, 0)], [0.008, 0.008, 0.008], steel)
    bench.part()
    bench.cone((0, 0.18, 0), (0, -2.5, 0), 0.022, 0.026, wood)
    bench.tube([(0, -2.48, 0), (0, -2.75, 0), (0.15, -2.62, 0.02)], [0.035, 0.036, 0.03], wood, k=0.02)
    for n in range(20):
        a = n * 2.39996 + 0.4
        r = 0.38 + 0.75 * math.sqrt((n % 10) / 10)
        x, z = r * math.cos(a), r * math.sin(a)
        y0 = -0.10 - 0.48 * (r / wide) ** 2
        long = chance.uniform(0.5, 1.25)
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
    bench.lathe((0, 0, 0), [(0, 0.30), (0.10, 0.30), (0.17, 0.24), (0.20, 0.10), (0.235, -0.12), (0.31, -0.25), (0.335, -0.28), (0.30, -0.29), (0.21, -0.13), (0.17, 0.10), (0.13, 0.22), (0, 0.26)], bronze, round_by=0.006)
    bench.ring((0, -0.20, 0), 0.275, 0.012, bronze, k=0.01)
    bench.ring((0, 0.07, 0), 0.207, 0.009, bronze, k=0.01)
    bench.part()
    bench.lathe((0, 0, 0), [(0, 0.30), (0.04, 0.30), (0.05, 0.36), (0.035, 0.42), (0.06, 0.55), (0.075, 0.66), (0.05, 0.76), (0, 0.78)], wood, round_by=0.006)
    bench.part()
    bench.cone((0, 0.1, 0), (0, -0.30, 0), 0.016, 0.018, bronze)
    bench.ball((0, -0.34, 0), 0.062, bronze, k=0.02)
    for n in range(4):
        bench.part()
        bench.ring((0, -0.29 - 0.030 * n, 0), 0.058 + 0.006 * (n in (1, 2)), 0.017, red, axes=turn(0, 6 * (n % 2), 4))
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
    page = card(bench, "#f2eee3", kind=STRIPES, rate=60, second="#8fa6c4", width=5)
    page_row = bench.materials[page]
    page_row[13] = 0.02
    put(bench, p, axes, size)
    hull = [(-0.52, 0.17), (-0.30, -0.13), (0.30, -0.13), (0.52, 0.17)]
    for side in (-1, 1):
        bench.blade((0, 0, side * 0.075), hull, 0.006, page, edge=0.004, axes=turn(0, side * 20, 0), bend=(-0.30 * side, 0))
    bench.part()
    bench.blade((0, -0.10, 0), [(-0.27, 0), (0.27, 0), (0, 0.50)], 0.012, page, edge=0.004, axes=turn(2, 0, 0))
    bench.part()
    bench.blade((0.0, -0.10, 0.018), [(-0.27, 0), (0.0, 0), (0.0, 0.50)], 0.003, page, edge=0.003, axes=turn(-7, 0, 0))


def bottle(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a stoppered bottle with something white inside."""
    glass = bench.material("#dfe6e4", "#b9c6c7", kind=PLASTER, rate=7, bump=0.0, rough=0.08, mirror=0.07, through=0.5)
    cork, string = timber(bench, "#b08a5c", "#8a6640"), thread(bench, "#8f8a7c")
    put(bench, p, axes, size)
    bench.lathe((0, 0, 0), [(0, -0.36), (0.20, -0.36), (0.235, -0.32), (0.24, 0.06), (0.20, 0.16), (0.085, 0.23), (0.078, 0.34), (0.105, 0.36), (0.105, 0.39), (0, 0.39)], glass, round_by=0.008)
    bench.part()
    bench.lathe((0, 0, 0), [(0, 0.38), (0.062, 0.38), (0.075, 0.50), (0, 0.50)], cork, round_by=0.006)
    for n in range(3):
        bench.part()
        bench.ring((0, 0.25 + 0.022 * n, 0), 0.085, 0.013, string)


def lantern(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Make a lantern with amber panes that glow."""
    metal = brass(bench, "#a57f3c")
    amber = bench.material("#e8a13a", "#f6cf7a", kind=PLASTER, rate=9, bump=0.0, rough=0.15, mirror=0.05, glow=1.5)
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
    bench.lathe((0, 0.27, 0), [(0, 0), (0.20, 0), (0.10, 0.11), (0.06, 0.12), (0.06, 0.17), (0, 0.19)], metal, round_by=0.01)
    bench.ring((0, 0.545, 0), 0.085, 0.015, metal, axes=turn(0, 90, 0))


def moon(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Cut a crescent of waxed paper with pencilled craters and an eyelet."""
    wax = bench.material("#efe6c8", "#cfc29a", kind=PLASTER, rate=12, bump=0.14, rough=0.5, mirror=0.04, through=0.35)
    pencil, metal = enamel(bench, "#a59a7c"), brass(bench)
    t = np.linspace(-2.45, 2.45, 30)
    outer = [(-0.5 * math.cos(a), 0.5 * math.sin(a)) for a in t]
    inner = [(-0.19 - 0.375 * math.cos(a) + 0.19 + 0.15, 0.375 * math.sin(a)) for a in np.linspace(2.6, -2.6, 26)]
    put(bench, p, axes, size)
    bench.blade((0, 0, 0), [*outer, *inner], 0.05, wax, edge=0.025)
    bench.wrinkle(0.004, 11)
    for x, y, r in ((-0.40, 0.10, 0.035), (-0.36, -0.16, 0.05), (-0.30, 0.28, 0.028), (-0.41, -0.03, 0.02), (-0.22, -0.36, 0.03)):
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


def teacup(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0, *, rim: str = "#2e4a86", tea: str | None = "#6b3517", saucer: bool = False, flowers: bool = False) -> None:
    """Make a cup with a coloured rim."""
    white, edge = glaze(bench, "#f3f0e8"), glaze(bench, rim)
    put(bench, p, axes, size)
    bench.lathe((0, 0, 0), [(0, -0.27), (0.17, -0.27), (0.19, -0.24), (0.29, -0.16), (0.37, 0.02), (0.40, 0.25), (0.375, 0.25), (0.345, 0.03), (0.26, -0.12), (0, -0.2)], white, round_by=0.009)
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
            bench.ball((r * math.sin(turn_by), y, r * math.cos(turn_by)), 0.024 if k < 5 else 0.016, blue if k < 5 else green)


def spool(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0, *, colour: str = "#a52a2a", sheen: float = 0.5) -> None:
    """Make a wooden spool wound with thread."""
    wood = timber(bench, "#b98f5e", "#8a6238")
    put(bench, p, axes, size)
    bench.lathe((0, 0, 0), [(0, -0.24), (0.17, -0.24), (0.18, -0.21), (0.09, -0.15), (0.09, 0.15), (0.18, 0.21), (0.17, 0.24), (0.045, 0.24), (0.045, -0.2), (0, -0.2)], wood, round_by=0.008)
    yarn = bench.material(colour, kind=HAIR, rate=60, bump=0.3, sheen=sheen)
    for n in range(11):
        bench.part()
        bench.ring((0, -0.145 + 0.029 * n, 0), 0.135 + 0.012 * math.sin(n * 2.1) - 0.02 * (n in (0, 10)), 0.021, yarn, axes=turn(0, 3 * math.sin(n), 3 * math.cos(n * 1.7)))


def envelope(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a sealed envelope, its seal pressed on a second time."""
    buff = card(bench, "#d8c39a", second="#c9b083", rate=14)
    flap = card(bench, "#d2bb8f", second="#bfa576", rate=14)
    wax = bench.material("#9b2723", "#7a1a18", kind=PLASTER, rate=14, bump=0.12, rough=0.28, mirror=0.05)
    ink = card(bench, "#d8c39a", kind=PRINT, rate=26, second="#4b3d33")
    put(bench, p, axes, size)
    bench.box((0, 0, 0), (0.40, 0.26, 0.018), buff, edge=0.008)
    bench.part()
    bench.blade((0, 0.26, 0.022), [(-0.39, 0), (0.39, 0), (0.03, -0.30), (-0.03, -0.30)], 0.005, flap, edge=0.006, axes=turn(0, 1.5, 0))
    bench.part()
    bench.box((0, -0.03, -0.020), (0.24, 0.11, 0.002), ink, edge=0.001)
    bench.part()
    bench.ball((0, -0.02, 0.038), (0.085, 0.08, 0.022), wax)
    bench.wrinkle(0.005, 18)
    bench.ring((0, -0.02, 0.052), 0.05, 0.008, wax, k=0.01, axes=turn(0, 90, 0))
    bench.box((0.012, -0.02, 0.06), (0.005, 0.10, 0.02), wax, edge=0.002, op=CARVE, axes=turn(0, 0, 24), k=0.006)


def shell(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Wind a snail's shell with a brass door number by the opening."""
    coat = bench.material("#c79a62", "#6f4526", kind=STRIPES, rate=30, bump=0.05, rough=0.3, mirror=0.045, width=9)
    plate = brass(bench)
    put(bench, p, axes, size)
    turns = np.linspace(0, 2.75 * 2 * math.pi, 36)
    grow = np.exp(0.155 * (turns - turns[-1]))
    path = [np.array([0.52 * g * math.cos(-t), 0.52 * g * math.sin(-t), 0.30 * (1 - g) ** 1.2]) for t, g in zip(turns, grow, strict=True)]
    for n in range(1, 35):
        a, b = (path[n - 1] + path[n]) / 2, (path[n] + path[n + 1]) / 2
        bench.tube([a, path[n], b], [0.36 * grow[n - 1], 0.36 * grow[n], 0.36 * grow[n + 1]], coat, k=0.025 if n > 1 else 0)
    end, way = path[-1], path[-1] - path[-2]
    way /= np.linalg.norm(way)
    bench.ball(end + way * 0.10, (0.25, 0.20, 0.25), coat, k=0.04, op=CARVE, axes=along(way))
    bench.part()
    bench.box(end * 0.98 + np.array([0, 0, 0.345]) - way * 0.12, (0.085, 0.055, 0.012), plate, edge=0.012, axes=turn(0, -4, 0))


def egg(bench: Bench, p: Point, tall: float = 1.5) -> None:
    """Make a pale blue egg with a hairline crack."""
    shade = bench.material("#a9c6c2", "#8aa9a6", kind=SPECKLE, rate=15, bump=0.05, rough=0.55, mirror=0.035, warm=0.3)
    dark = enamel(bench, "#4b5552")
    t = np.linspace(-math.pi / 2, math.pi / 2, 26)
    shape = [(0.37 * tall * math.cos(a) * (1 - 0.13 * math.sin(a)), 0.5 * tall * math.sin(a)) for a in t]
    put(bench, p)
    bench.lathe((0, 0, 0), shape, shade, round_by=0.004)
    chance = np.random.default_rng(9)
    y, x = 0.16 * tall, 0.05 * tall
    for _ in range(7):
        q = (x + chance.uniform(-0.02, 0.08), y + chance.uniform(-0.09, 0.02))
        spots = []
        for u, v in ((x, y), ((x + q[0]) / 2 + 0.012, (y + q[1]) / 2), q):
            r = 0.37 * tall * math.sqrt(max(0.0, 1 - (2 * v / tall) ** 2)) * (1 - 0.13 * 2 * v / tall)
            spots.append((u, v, math.sqrt(max(0.0, r * r - u * u)) + 0.003))
        bench.part()
        bench.tube(spots, [0.006, 0.006, 0.004], dark)
        x, y = q


def scroll(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Roll a letter and tie it with a ribbon."""
    sheet = card(bench, "#efe8d6", second="#d9ceb2", rate=12)
    silk = clothes(bench, "#a4632f", "#7d4720", rate=50, rough=0.45, sheen=0.6)
    put(bench, p, axes, size)
    bench.lathe((0, 0, 0), [(0, -0.46), (0.075, -0.46), (0.105, -0.47), (0.105, 0.47), (0.075, 0.46), (0, 0.44)], sheet, round_by=0.004)
    bench.ball((0, 0.47, 0), (0.062, 0.10, 0.062), sheet, op=CARVE)
    bench.box((0.0, 0, 0.108), (0.012, 0.47, 0.006), sheet, edge=0.003, k=0.01)
    bench.part()
    bench.ring((0, 0.0, 0), 0.102, 0.022, silk)
    for side in (-1, 1):
        bench.tube([(0, 0, 0.12), (side * 0.20, side * 0.02 + 0.12, 0.22), (side * 0.05, 0.01, 0.15)], [0.014, 0.030, 0.012], silk, k=0.01)
        bench.tube([(0, 0, 0.13), (side * 0.10, -0.05, 0.26), (side * 0.22, -0.06 - 0.05 * side, 0.16)], [0.013, 0.018, 0.022], silk, k=0.01)


def thimble(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Make a silver thimble."""
    silver = bench.material("#c9ccd0", "#80868c", kind=WARTS, rate=11, bump=-0.25, rough=0.25, mirror=0.6, metallic=1.0)
    plain = brass(bench, "#c9ccd0", rough=0.2)
    put(bench, p, axes, size)
    bench.lathe((0, 0, 0), [(0, 0.62), (0.14, 0.60), (0.19, 0.54), (0.27, 0.06), (0.24, 0.06), (0.16, 0.5), (0, 0.55)], silver, round_by=0.012)
    bench.part()
    bench.ring((0, 0.04, 0), 0.268, 0.034, plain)
    bench.ring((0, 0.10, 0), 0.262, 0.016, plain, k=0.01)


def halo(bench: Bench, p: Point, axes: Floats | None = None, size: float = 1.0) -> None:
    """Cut a flat brass disc with scratched rays."""
    metal = bench.material("#b8934d", "#7c5f2c", kind=BRUSHED, rate=26, bump=0.12, rough=0.34, mirror=0.5, metallic=1.0)
    put(bench, p, axes, size)
    bench.lathe((0, 0, 0), [(0, -0.015), (1.16, -0.015), (1.16, 0.015), (0, 0.015)], metal, round_by=0.01, axes=turn(0, 90, 0))
    bench.ring((0, 0, 0), 1.14, 0.024, metal, axes=turn(0, 90, 0))
    for n in range(36):
        a = n * math.pi / 18
        bench.ball((1.02 * math.cos(a), 1.02 * math.sin(a), 0.022), 0.03, metal, k=0.01)


def skep(bench: Bench, p: Point, size: float = 1.0) -> None:
    """Coil a straw hive, with a bee at its door."""
    straw = bench.material("#d3ae62", "#8f6c30", kind=HAIR, rate=60, bump=0.7, sheen=0.5)
    dark = enamel(bench, "#2a2018")
    put(bench, p, None, size)
    for n in range(10):
        t = n / 9
        r = 0.44 * math.sqrt(max(0.02, 1 - (t * 0.99) ** 2.4))
        bench.ring((0, -0.32 + 0.072 * n, 0), r, 0.047, straw, k=0.006)
    bench.ball((0, 0.34, 0), (0.13, 0.06, 0.13), straw, k=0.02)
    bench.ball((0, -0.29, 0.46), (0.11, 0.11, 0.12), dark, k=0.01, op=CARVE)
    bench.part()
    bench.ball((0, -0.28, 0.30), (0.13, 0.13, 0.10), dark)
    bee(bench, (0.15, -0.22, 0.50), 0.9)


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
        bench.ball(p + np.array([-0.01, 0.06, s * 0.045]) * size, np.array([0.055, 0.006, 0.03]) * size, wing, axes=turn(20 * s, 25 * s, 30))


def fish(bench: Bench, tail: Point, size: float = 1.0) -> None:
    """Hang a silver fish by its tail."""
    silver = bench.material("#cfd3d4", "#7b858a", kind=SCALLOP, rate=22, bump=0.5, rough=0.26, mirror=0.5, metallic=0.9)
    fin = brass(bench, "#aab0b2", rough=0.3)
    dark = bench.material("#101010", kind=BRUSHED, rough=0.06, mirror=0.06, bump=0)
    put(bench, tail, turn(12, 0, 4), size)
    bench.ball((0, -0.55, 0), (0.19, 0.42, 0.085), silver)
    bench.ball((0, -0.85, 0), (0.13, 0.16, 0.075), silver, k=0.08)
    bench.ball((0, -0.18, 0), (0.05, 0.17, 0.035), silver, k=0.08)
    bench.tube([(-0.13, -0.80, 0.075), (-0.02, -0.70, 0.12), (0.13, -0.80, 0.075)], [0.008, 0.010, 0.008], silver, op=CARVE, k=0.02)
    bench.part()
    bench.blade((0, 0.06, 0), [(0, -0.20), (0.17, 0.10), (0.06, 0.03), (0, 0.0), (-0.06, 0.03), (-0.17, 0.10)], 0.008, fin, edge=0.006)
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
        bench.lathe((side * 0.44, -0.03, 0), [(0, 0.06), (0.09, 0.05), (0.12, -0.05), (0.155, -0.10), (0.155, -0.14), (0, -0.14)], green, round_by=0.01, k=0.04, axes=turn(0, 0, side * 12))


def hat_flat(bench: Bench, head: Frame, colour: str) -> None:
    """Make a flat-topped hat."""
    felt = clothes(bench, colour, kind=FELT, rate=34, sheen=0.4)
    band = clothes(bench, "#6b2430", rate=60, sheen=0.4)
    bench.frame = head.inside((0, 0.62, -0.10), turn(0, -7, -4))
    bench.part()
    bench.lathe((0, 0, 0), [(0, 0.44), (0.84, 0.44), (0.87, 0.40), (0.84, 0.02), (1.22, -0.01), (1.25, 0.02), (1.22, 0.05), (0.6, 0.05), (0.6, 0.3), (0, 0.3)], felt, round_by=0.025)
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
    bench.lathe((0, 0, 0), [(0.86, 0.12), (0.99, 0.10), (1.02, 0.20), (0.98, 0.36), (0.86, 0.36)], wool, round_by=0.03)
    bench.wrinkle(0.008, 9)
    bench.part()
    bench.ball((0, 1.04, 0), 0.16, wool)
    bench.wrinkle(0.02, 18)
