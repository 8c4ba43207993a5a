"""Pieces under way: bare clay heads on wire, with the tools about."""

import math

import numpy as np

import hats
import props
from beasts import Beast
from face import Face
from figure import bare_skin, brass, clothes, model_hand, timber
from horns import antlers, ear_pair
from paint import Canvas
from pattern import BARK, BRUSHED, FELT, HAIR, SPECKLE
from sculpt import Bench, Frame, turn
from stage import Shot, Sitting

WIRE = "#8a8b8c"
LOW = 1.62  # height of the wire body's middle; the head sits as much lower than on a finished figure


def armature(s: Sitting, *, wrapped: str | None) -> None:
    """Twist a wire body on a block, perhaps wrapped in cloth."""
    b = s.bench
    wire = brass(b, WIRE, rough=0.3)
    b.frame = Frame()
    b.part()
    b.box((0, 0.14, 0), (0.62, 0.14, 0.5), timber(b, "#9c7a52", "#7d5c38"), edge=0.03)
    for n in range(2):
        line = [
            (0.05 * math.sin(1.4 * k + n * math.pi), 0.2 + 0.165 * k, 0.05 * math.cos(1.4 * k + n * math.pi))
            for k in range(13)
        ]
        props.cord(b, line, 0.030, wire)
    for side in (-1, 1):
        for n in range(2):
            line = [
                (
                    side * (0.08 + 0.115 * k),
                    LOW + 0.36 - 0.02 * k**1.5 + 0.03 * math.sin(2 * k + n * math.pi),
                    0.03 * math.cos(2 * k + n * math.pi),
                )
                for k in range(8)
            ]
            props.cord(b, line, 0.026, wire)
    if wrapped:
        cloth = clothes(b, wrapped, rate=50)
        b.part()
        b.ball((0, LOW - 0.05, 0), (0.40, 0.58, 0.30), cloth)
        b.wrinkle(0.02, 6.5, 1.1)
        b.cone((0, LOW - 0.5, 0), (0.03, LOW - 0.95, 0.02), 0.30, 0.20, cloth, k=0.2)
        b.wrinkle(0.02, 7.5, 2.0)
        for n in range(7):
            b.part()
            b.ring(
                (0, LOW + 0.22 - 0.19 * n, 0),
                0.395 - 0.02 * abs(n - 2),
                0.02,
                cloth,
                flat=0.78,
                axes=turn(0, 4 * (-1) ** n, 9 * (-1) ** n),
            )
        pin = brass(b, "#d4d7da", rough=0.15)
        for n in range(4):
            p = np.array([0.12 - 0.08 * n, LOW + 0.15 - 0.22 * n, 0.30])
            b.part()
            b.cone(p, p + (0.10, -0.12, 0.07), 0.006, 0.006, pin)
            b.ball(
                p + (0.10, -0.12, 0.07),
                0.026,
                props.enamel(b, ("#a5382c", "#e3b34c", "#2f5688", "#f0ece2")[n]),
            )


def tools(b: Bench, seed: int, *, x: float = 1.6, z: float = 0.5) -> None:
    """Lay brushes, a pencil, clay tools and jars about."""
    chance = np.random.default_rng(seed)
    steel, wood, dark = brass(b, "#b9bbbd", rough=0.25), timber(b, "#b98f5e", "#8a6238"), timber(b, "#3d2618")
    for n in range(4):
        b.frame = Frame(
            np.array([-x - 0.35 + 0.26 * n, 0.035, z + 0.75 - 0.12 * n]),
            turn(28 + chance.normal(0, 12), 0, 0),
        )
        b.part()
        b.cone((0, 0, -0.7), (0, 0, 0.55), 0.022, 0.034, dark if n % 2 else wood)
        b.part()
        b.cone((0, 0, 0.52), (0, 0, 0.74), 0.034, 0.028, steel)
        b.part()
        if n < 3:
            b.tube(
                [(0, 0, 0.72), (0.01, 0.0, 0.88), (0.0, -0.01, 0.98)],
                [0.028, 0.034, 0.004],
                b.material("#6b4a30", kind=HAIR, rate=60, bump=0.5),
            )
        else:
            b.box((0, 0, 0.86), (0.032, 0.008, 0.12), steel, edge=0.006)
    b.frame = Frame(np.array([x + 0.15, 0.0, z - 0.9]))
    jar(b, "#7d3c30", (0, 0, 0))
    jar(b, "#41586b", (0.62, 0, -0.35))
    jar(b, "#c79b3b", (-0.25, 0, -0.75))
    b.frame = Frame(np.array([x - 0.1, 0.0, z + 0.65]))
    clay = b.material("#d3c1ab", "#bda88f", kind=SPECKLE, rate=12, bump=0.2, rough=0.8)
    b.part()
    b.ball((0, 0.15, 0), (0.34, 0.19, 0.28), clay)
    b.wrinkle(0.02, 8, 2)
    for _ in range(7):
        b.part()
        b.ball(
            (chance.uniform(-0.9, 0.5), 0.025, chance.uniform(0.1, 0.9)), chance.uniform(0.02, 0.05, 3), clay
        )


def jar(b: Bench, colour: str, p: tuple[float, float, float]) -> None:
    """Stand a jar of paint with brushes in it."""
    glass = b.material(colour, kind=BRUSHED, rate=4, bump=0, rough=0.10, mirror=0.06)
    lid = b.material("#d6d2c6", kind=SPECKLE, rate=12, bump=0.05, rough=0.4)
    x, y, z = p
    b.part()
    b.lathe(
        (x, y, z),
        [(0, 0), (0.22, 0), (0.235, 0.03), (0.235, 0.40), (0.19, 0.46), (0.19, 0.52), (0, 0.52)],
        glass,
        round_by=0.012,
    )
    b.part()
    b.lathe((x, y + 0.50, z), [(0, 0), (0.215, 0), (0.215, 0.10), (0, 0.10)], lid, round_by=0.012)


def bench_shots(s: Sitting, shots: dict[str, Shot]) -> None:
    """Set the sitting on boards with a lamp's warmth."""
    s.boards = True
    s.shots.update(shots)


def tool_marks(s: Sitting, colour: str, *, stripes: bool = False) -> None:
    """Leave tool marks on the clay, and pencil lines where paint will go."""
    canvas = Canvas("#000000", s.seed)
    canvas.pixels = s.bench.faces[-1]
    chance = canvas.chance
    for _ in range(260):
        x, y = chance.uniform(-0.9, 0.9), chance.uniform(-0.9, 0.95)
        a = chance.uniform(-0.6, 0.6) + 0.9 * x
        n = chance.uniform(0.04, 0.16)
        shade = canvas.pixels[1100, 1100, :3].astype(float) * chance.choice([0.86, 1.08])
        canvas.stroke(
            [(x, y), (x + n * math.sin(a), y - n * math.cos(a))],
            [0.004, 0.008, 0.002],
            np.clip(shade, 0, 1),
            0.5,
            soft=0.9,
        )
    if stripes:
        for side in (-1, 1):
            for off in (0.0, 0.17):
                line = canvas.curve(
                    [
                        (side * (0.13 + off), 0.75),
                        (side * (0.34 + off * 1.3), 0.25),
                        (side * (0.12 + off * 0.7), -0.38),
                    ],
                    14,
                )
                for _ in range(3):
                    canvas.stroke(
                        line + chance.normal(0, 0.008, 2),
                        [0.002, 0.0045, 0.002],
                        colour,
                        0.5,
                        bristle=0.7,
                        soft=0.8,
                    )
        for _ in range(26):
            t = chance.uniform(0, 1)
            x, y = 0.22 + 0.18 * math.sin(math.pi * t), 0.7 - 0.95 * t
            for side in (-1, 1):
                canvas.stroke(
                    [(side * x, y), (side * (x + 0.10), y - 0.05)],
                    [0.0025, 0.0035, 0.001],
                    colour,
                    0.35,
                    bristle=0.7,
                )


def salt_assessor(s: Sitting) -> None:
    """Model a badger's bare head on wire, a cone of salt beside it."""
    b = s.bench
    s.lower = 2.90 - LOW
    armature(s, wrapped="#2b3550")
    beast = Beast(
        fur="#cdb9a3",
        dark="#8a7662",
        nose_colour="#bda78f",
        muzzle=(0.66, 0.38, 0.19, 0.20),
        eye=0.17,
        eye_apart=0.40,
        eye_yaw=28,
        iris="#1f1510",
        iris_size=0.92,
        white="#1a1310",
        painted=False,
        gloss=0.8,
        open_up=0.42,
        open_down=0.40,
        lash=0,
    )
    s.beast(beast)
    tool_marks(s, "#57524c", stripes=True)
    clay = b.material("#cdb9a3", kind=SPECKLE, rate=14, bump=0.1, rough=0.8)
    for side in (-1, 1):
        b.part()
        b.ball((side * 0.66, 0.62, -0.12), (0.22, 0.22, 0.10), clay, axes=turn(side * 20, 0, 0))
        b.ball((side * 0.68, 0.62, -0.02), (0.13, 0.13, 0.08), clay, op=1, k=0.04, axes=turn(side * 20, 0, 0))
    tools(b, s.seed)
    b.frame = Frame(np.array([1.35, 0.0, 0.85]))
    salt = b.material("#f3f1ec", "#e2dfd6", kind=SPECKLE, rate=26, bump=0.25, rough=0.6)
    b.part()
    b.lathe(
        (0, 0, 0),
        [(0, 0), (0.46, 0), (0.44, 0.05), (0.10, 1.02), (0.05, 1.08), (0, 1.09)],
        salt,
        round_by=0.02,
    )
    bench_shots(
        s,
        {
            "bench.jpg": Shot((-2.2, 4.2, 15), (0.15, 1.78, 0.3), 4.3, 0.6, 0.035),
            "face.jpg": Shot((-2.0, 3.9, 10.5), (-0.05, 3.00, 0.2), 2.2, 0.6, 0.06),
        },
    )


def clock_winder(s: Sitting) -> None:
    """Model a strict old man's bare head, and his hands on stalks."""
    b = s.bench
    s.lower = 2.90 - LOW
    armature(s, wrapped="#e6ddca")
    s.human(
        Face(
            skin="#d3c1ab",
            iris="#8fb0c8",
            wide=0.90,
            long=1.10,
            hollow=0.6,
            nose=1.35,
            nose_hook=0.9,
            nose_wide=0.85,
            lines=0,
            open_up=0.27,
            open_down=0.28,
            brow_tilt=-0.5,
            painted=False,
            lip_full=0.7,
            smile=-0.4,
            ears=True,
            chin=1.2,
        )
    )
    tool_marks(s, "#57524c")
    tools(b, s.seed)
    clay = bare_skin(b, "#d3c1ab", painted=False)
    wire = brass(b, WIRE, rough=0.3)
    for side in (-1, 1):
        x = -1.15 + 0.34 * side
        p = np.array([x, 0.62, 1.55])
        props.cord(b, [(x, 0.0, 1.55), (x + 0.02, 0.3, 1.56), p], 0.028, wire)
        b.part()
        b.cone(p + (0, -0.14, 0), p, 0.075, 0.066, clay)
        model_hand(
            b, side, p, np.array([0.10 * side, 1.0, 0.05]), np.array([-0.5 * side, 0.0, 1.0]), 0.45, clay, 1.0
        )
        b.part()
        b.box((x, 0.05, 1.55), (0.16, 0.05, 0.16), timber(b, "#9c7a52", "#7d5c38"), edge=0.02)
    b.spots.clear()
    clock_key(b, (-0.30, 0.05, 1.95))
    bench_shots(
        s,
        {
            "bench.jpg": Shot((-2.0, 4.2, 15.5), (-0.05, 1.95, 0.3), 4.9, 0.5, 0.035),
            "hand.jpg": Shot((-2.4, 3.4, 10), (-0.95, 0.70, 1.6), 1.75, 0.1, 0.075),
        },
    )


def clock_key(b: Bench, p: tuple[float, float, float]) -> None:
    """Lay a small winged key on the bench."""
    metal = brass(b, "#b58a3f", rough=0.25)
    b.frame = Frame(np.array(p), turn(50, 90, 0))
    b.part()
    b.cone((0, -0.02, 0), (0, -0.34, 0), 0.042, 0.042, metal)
    for side in (-1, 1):
        b.ring((side * 0.13, 0.10, 0), 0.10, 0.032, metal, k=0.03, axes=turn(0, 90, 0))
    b.ball((0, 0.04, 0), 0.07, metal, k=0.03)


def deer_at_the_telephone(s: Sitting) -> None:
    """Model a deer's bare head with paper antlers, a receiver beside it."""
    b = s.bench
    s.lower = 2.90 - LOW
    armature(s, wrapped="#e9e2d2")
    beast = Beast(
        fur="#cfbca6", dark="#8a7662", nose_colour="#bfa98f", muzzle=(0.72, 0.33, 0.145, 0.26), eye=0.24,
        eye_apart=0.46, eye_yaw=38, eye_high=0.10, iris="#2f1b10", iris_size=0.93, white="#1d120c",
        painted=False, gloss=0.8,
        open_up=0.50, open_down=0.46, lash=0, skull=(0.70, 0.72, 0.82),
    )  # fmt: skip
    s.beast(beast)
    tool_marks(s, "#57524c")
    fur = int(s.marks["skin"][0])
    ear_pair(
        b,
        Beast(fur="#cfbca6", dark="#cfbca6", pink="#c6b19a"),
        fur,
        wide=0.20,
        tall=0.72,
        at=(0.62, 0.42, -0.15),
        tilt=72,
        yaw=22,
        point=0.8,
        cup=1.5,
    )
    b.frame = s.head
    antlers(b, b.material("#b79c78", "#8f7452", kind=BARK, rate=14, bump=0.4, rough=0.85), s.seed)
    tools(b, s.seed)
    hats.receiver(b, (0.95, 0.62, 0.95), turn(-20, 0, 58), 1.15)
    line = [(0.62, 0.16, 0.95)] + [
        (
            0.75 + 0.05 * k + 0.06 * math.cos(2.0 * k),
            0.06 + 0.05 * abs(math.sin(2.0 * k)),
            1.2 + 0.06 * math.sin(2.0 * k),
        )
        for k in range(14)
    ]
    props.cord(b, line, 0.022, b.material("#33493c", kind=FELT, rate=30, bump=0.2))
    bench_shots(
        s,
        {
            "bench.jpg": Shot((-2.4, 4.4, 16.5), (0.1, 2.32, 0.2), 5.9, 0.6, 0.035),
            "face.jpg": Shot((6.5, 3.9, 9.5), (0.15, 3.12, 0.4), 2.2, 0.4, 0.06),
        },
    )
