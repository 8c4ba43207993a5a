"""The figures of the series Night Staff."""

import math

import numpy as np

import props
import trinkets
from beasts import Beast
from face import Face
from figure import Outfit, braid, brass, clothes
from horns import antennae, ear_pair, horns_curled
from paint import Canvas
from pattern import BARK, FEATHER, FELT, HAIR, VELVET
from sculpt import Frame, turn
from stage import Sitting, hang, hug_arm, offer_arm, rod_arm


def moth_usher(s: Sitting) -> None:
    """Model a moth in livery with a lantern."""
    b = s.bench
    plush = clothes(b, "#4b3757", "#3f2d4a", kind=VELVET, rate=30, sheen=1.2)
    gold, wing = (
        braid(b, "#b8954a", "#8a6a2c"),
        clothes(b, "#8b7560", "#6f5b49", kind=FEATHER, rate=14, bump=0.2, through=0.2),
    )
    wear = Outfit(
        plush,
        gold,
        plush,
        clothes(b, "#e9e4da", rate=70),
        brass(b),
        hem=1.25,
        flare=0.66,
        depth=0.06,
        trousers=clothes(b, "#3a2b44", kind=VELVET, rate=30),
        collar="stand",
        buttons=6,
    )
    s.dress(
        wear,
        {1: rod_arm(1, (1.16, 2.98, 0.50), rise=0.3, pole=(0.6, -1, -0.2)), -1: hang(-1)},
        base="#3b2a2e",
    )
    trinkets.lantern(b, s.grips[1]["grip"] + (0, -0.60, 0), 1.0)
    b.frame = Frame()
    for side in (-1, 1):
        shape = [
            (0, 0),
            (0.25, 0.12),
            (0.72, -0.25),
            (0.95, -1.0),
            (0.86, -1.75),
            (0.5, -2.25),
            (0.18, -2.05),
            (0.05, -1.0),
        ]
        b.part()
        b.blade(
            (side * 0.10, 3.42, -0.34),
            [(side * x, y) for x, y in shape],
            0.012,
            wing,
            bend=(0.22, 0.02),
            edge=0.012,
            axes=turn(side * 12, -4, side * 7),
        )
    s.human(Face(
        skin="#e6e0d6", blush="#8f6f98", blush_strength=0.09, lips="#9d8290", brows="#cfc7ba",
        lashes="#17121a", iris="#0b090c", iris_inner="#141018", white="#0d0b0e", iris_size=0.93,
        eye=0.275, eye_apart=0.40, open_up=0.44, open_down=0.42, wide=0.98, long=0.98, shadow="#6a4478",
        shadow_strength=0.34, mouth_wide=0.66, nose=0.7, nose_wide=0.75, brow_many=24,
        lip_full=0.75, ears=False, smile=0.3,
    ))  # fmt: skip
    w = s.wig("#e8dfcb", sheen=0.4)
    w.cap(back=0.12, up=0.06)
    w.crop(420, length=0.20, size=0.030, low=-30, front=52, curl=0.035)
    for n in range(46):
        a = 2 * math.pi * n / 46
        w.tuft(
            (0.46 * math.sin(a), -1.12, -0.12 + 0.46 * math.cos(a)),
            (math.sin(a), 0.35, math.cos(a)),
            7,
            length=0.34,
            spread=0.08,
            size=0.022,
        )
    b.frame = s.head
    antennae(b, b.material("#b79f7d", "#8b7560", kind=FELT, rate=40, bump=0.1), feathered=True)
    s.tall = 7.0
    s.figure()
    s.face(tall=2.45, shift=(0, 0.2))
    s.detail("lantern.jpg", s.grips[1]["grip"] + (0.0, -0.38, 0), 1.35, side=-0.2)


def moon_rigger(s: Sitting) -> None:
    """Model a tall woman hoisting a moon."""
    b = s.bench
    midnight, rope = (
        clothes(b, "#1b2238", "#232c46"),
        b.material("#b59f78", "#8b7650", kind=HAIR, rate=50, bump=0.6, sheen=0.3),
    )
    wear = Outfit(
        midnight,
        midnight,
        midnight,
        s.skin("#402b22"),
        brass(b),
        hem=1.95,
        flare=0.47,
        folds=6,
        depth=0.03,
        trousers=midnight,
        boots=clothes(b, "#2b2422", kind=FELT),
        collar="round",
        buttons=4,
        band=False,
        belt=rope,
    )
    s.dress(
        wear,
        {
            1: rod_arm(1, (0.80, 4.12, 0.66), rise=0.5, pole=(1, -0.8, 0)),
            -1: rod_arm(-1, (-0.42, 3.30, 0.72), rise=0.5, pole=(1, -0.9, 0)),
        },
        base="#2d2320",
    )
    b.frame = Frame()
    for n in range(4):
        b.part()
        b.ring(
            (0, 2.56 + 0.07 * n, 0),
            0.385 - 0.005 * n,
            0.034,
            rope,
            flat=0.9,
            axes=turn(0, 2 - n, 3 * (n % 2) - 1),
        )
    props.cord(
        b,
        [
            (0.30, 2.75, 0.74),
            (0.40, 3.10, 0.72),
            (0.44, 3.36, 0.72),
            (0.78, 4.10, 0.67),
            (0.98, 4.52, 0.62),
            (1.34, 4.66, 0.52),
            (1.52, 4.40, 0.48),
            (1.545, 3.97, 0.46),
        ],
        0.017,
        rope,
    )
    trinkets.moon(b, (1.20, 3.56, 0.46), turn(-4, 0, 4), 1.15)
    s.human(Face(
        skin="#4a3228", blush="#7a3230", blush_strength=0.10, lips="#6b3234", brows="#1c1412",
        iris="#2f1c10", white="#e6ddcd", wide=0.90, long=1.08, cheeks=1.25, hollow=0.35, shadow="#c49a3f",
        shadow_strength=0.34, open_up=0.33, lip_full=1.2, nose_wide=1.15, gaze=(10, -14), smile=0.1, jaw=0.95,
    ))  # fmt: skip
    stubble = Canvas("#000000", s.seed)
    stubble.pixels = b.faces[-1]
    stubble.dots((0.0, 0.95), (0.85, 0.30), "#1a1210", 2600, size=0.005, alpha=0.7)
    for side in (-1, 1):
        stubble.dots((side * 0.78, 0.45), (0.16, 0.45), "#1a1210", 700, size=0.005, alpha=0.7)
    s.tall = 6.9
    s.figure()
    s.face(tall=2.1, shift=(0.12, 0.05), side=0.2)
    s.detail("moon.jpg", (1.10, 3.62, 0.50), 1.6, side=-0.1)
    s.detail("hand.jpg", (0.60, 3.66, 0.70), 1.5, side=-0.1)


def lamplighters_sister(s: Sitting) -> None:
    """Model a copper-haired woman with a long match."""
    b = s.bench
    soot, lamp = clothes(b, "#2a2725", "#35312e"), clothes(b, "#e3b34c", "#d3a13a")
    wear = Outfit(
        soot,
        lamp,
        soot,
        s.skin("#f0dccb"),
        brass(b),
        hem=0.85,
        flare=0.98,
        folds=11,
        depth=0.10,
        trousers=lamp,
        boots=clothes(b, "#1c1a1a", kind=FELT, rough=0.4),
        buttons=5,
        collar="round",
        cuff=False,
    )
    s.dress(
        wear, {1: hang(1, out=0.95, y=2.3), -1: rod_arm(-1, (0.98, 2.72, 0.62), rise=0.0)}, base="#39291f"
    )
    trinkets.match(b, (-1.02, 0.16, 0.66), (-0.96, 3.75, 0.60))
    s.human(Face(
        skin="#f0dccb", blush="#cd6a5a", iris="#5f7a4c", brows="#8b4526", wide=0.98, long=1.0, jaw=0.85,
        chin=0.85, lips="#b55a50", left_eye_larger=1.10, freckles=40, smile=0.2, brow_tilt=-0.35,
        open_up=0.33, cheeks=1.1, mouth_wide=0.92,
    ))  # fmt: skip
    smear(s, (0.42, -0.36), 40)
    w = s.wig("#b0562e", sheen=1.0)
    w.cap()
    w.loose(150, length=1.05, wave=0.10, size=0.06, front=44, part=-0.10)
    w.stray(44)
    s.figure()
    s.face(tall=2.05, shift=(0, -0.04))


def smear(s: Sitting, middle: tuple[float, float], many: int) -> None:
    """Smear soot over the painted face."""
    canvas = Canvas("#000000", s.seed)
    canvas.pixels = s.bench.faces[-1]
    canvas.wash(middle, (0.22, 0.12), "#2a2624", 0.16, strokes=many, slant=0.6, length=0.20, width=0.03)


def owl_on_the_late_shift(s: Sitting) -> None:
    """Model a tired owl with a cup."""
    b = s.bench
    wash, cream = clothes(b, "#5f7687", "#526878"), clothes(b, "#ece1cb")
    plume = clothes(b, "#b4946c", "#7f6242", kind=FEATHER, rate=18, bump=0.3)
    wear = Outfit(
        wash,
        wash,
        cream,
        clothes(b, "#c2a27a", kind=FELT, rate=40),
        brass(b),
        chest=1.15,
        waist=0.46,
        hem=0.75,
        flare=0.76,
        depth=0.055,
        trousers=plume,
        collar="shawl",
        buttons=5,
        band=False,
    )
    s.dress(
        wear, {1: hug_arm(1, (0.36, 2.62, 0.56), curl=0.7), -1: hug_arm(-1, (0.36, 2.62, 0.56), curl=0.7)}
    )
    trinkets.teacup(b, (0, 2.76, 0.84), turn(30, 0, 0), 0.72, rim="#2e5590")
    b.frame = Frame()
    for n, colour in enumerate(("#b8892b", "#8e2b22", "#3f5b4a")):
        b.part()
        b.cone(
            (0.24 + 0.06 * n, 2.98, 0.36 - 0.015 * n),
            (0.245 + 0.065 * n, 3.26 + 0.04 * (n % 2), 0.33 - 0.015 * n),
            0.02,
            0.02,
            props.enamel(b, colour),
        )
    b.part()
    b.box((0.30, 2.96, 0.345), (0.15, 0.14, 0.03), wash, edge=0.02, axes=turn(14, -6, 0))
    beast = Beast(
        fur="#b4946c", dark="#5a4029", nose_colour="#38302a", skull=(0.92, 0.80, 0.76), cheek=0.44,
        beak=True, eye=0.27, eye_apart=0.40, eye_high=0.10, eye_yaw=12, iris="#c06a1e", inner="#e39a3c",
        pupil_wide=0.36,
        iris_size=0.74, open_up=0.14, open_down=0.34, strokes=3400, gaze=(0, 5), lash=0.5, brow=0.9,
        marks=(
            ((0.0, 0.0), (0.92, 0.86), "#8d6b46", 0.16),
            ((0.0, 0.02), (0.82, 0.76), "#ded0b4", 0.25),
            ((0.40, 0.10), (0.36, 0.36), "#efe6d2", 0.5),
            ((0.40, 0.10), (0.21, 0.20), "#8f6c46", 0.8),
            ((0.0, 0.55), (0.16, 0.5), "#a5825a", 0.6),
        ),
    )  # fmt: skip
    s.beast(beast)
    w = s.wig("#a07f58", sheen=0.3)
    for side in (-1, 1):
        w.tuft(
            (side * 0.50, 0.72, 0.12),
            (side * 0.75, 0.55, 0.1),
            60,
            length=0.52,
            spread=0.09,
            size=0.03,
            droop=0.25,
        )
    for n in range(40):
        a = math.pi * (-0.75 + 1.5 * n / 39)
        w.tuft(
            (0.88 * math.sin(a), 0.05 + 0.78 * math.cos(a) * 0.9, 0.02),
            (math.sin(a), math.cos(a), 0.45),
            5,
            length=0.20,
            spread=0.06,
            size=0.026,
        )
    w = s.wig("#d9c8a8", sheen=0.3)
    for n in range(34):
        a = 2 * math.pi * n / 34
        w.tuft(
            (0.5 * math.sin(a), -0.95, -0.05 + 0.5 * math.cos(a)),
            (math.sin(a), -0.5, math.cos(a)),
            6,
            length=0.36,
            spread=0.08,
            size=0.032,
        )
    s.tall = 6.5
    s.figure()
    s.face(tall=1.95, shift=(0, 0.05))
    s.detail("cup.jpg", (0.0, 2.78, 0.84), 0.95, side=-0.15, up=0.55)


def the_one_who_counts(s: Sitting) -> None:
    """Model a sheep in a grey suit with a spool of thread."""
    b = s.bench
    suit, dark = clothes(b, "#6a6a70", "#5b5b61"), s.skin("#2c2624")
    wear = Outfit(
        suit,
        suit,
        clothes(b, "#e7dcc6"),
        dark,
        props.enamel(b, "#2a2a2c"),
        hem=1.75,
        flare=0.58,
        depth=0.05,
        trousers=suit,
        collar="none",
        buttons=4,
        band=False,
    )
    s.dress(wear, {1: offer_arm(1, (0.42, 2.66, 0.70), curl=0.9), -1: hang(-1)})
    g = s.grips[1]["palm"]
    trinkets.spool(b, g + (-0.02, 0.17, 0.06), turn(0, 12, 74), 0.85)
    red = props.thread(b, "#a52a2a")
    props.cord(
        b,
        [
            g + (-0.10, 0.17, 0.18),
            g + (-0.25, -0.10, 0.20),
            g + (-0.40, 0.02, 0.05),
            (0.08, 2.86, 0.42),
            (0.0, 2.94, 0.40),
        ],
        0.010,
        red,
    )
    for n in range(3):
        b.part()
        b.ball(g + np.array([-0.20 - 0.07 * n, -0.02 + 0.01 * n, 0.19 - 0.04 * n]), 0.021, red)
    beast = Beast(
        fur="#2b2624", dark="#0f0d0d", nose_colour="#1a1615", muzzle=(0.55, 0.34, 0.19, 0.26), eye=0.205,
        eye_apart=0.46, eye_yaw=30, iris="#c9a02c", inner="#e0c05a", pupil="bar", pupil_wide=0.40,
        open_up=0.36,
        open_down=0.36, strokes=2200, gloss=0.7, marks=(((0.0, -0.3), (0.2, 0.5), "#3d3633", 0.7),),
        skull=(0.72, 0.72, 0.80),
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(
        b, beast, fur, wide=0.17, tall=0.55, at=(0.66, 0.20, -0.02), tilt=112, yaw=15, point=0.7, cup=1.6
    )
    horns_curled(b, b.material("#a08a6a", "#5f4e3a", kind=BARK, rate=20, bump=0.5, rough=0.5))
    w = s.wig("#e7dcc6", sheen=0.3)
    w.cap(back=0.14, up=0.12)
    w.curls(210, size=0.10, thick=0.040, low=-40, front=30, lift=1.04)
    for n in range(54):
        a = 2 * math.pi * n / 54
        w.tuft(
            (0.44 * math.sin(a), -1.08, -0.05 + 0.44 * math.cos(a)),
            (math.sin(a), 0.1, math.cos(a)),
            5,
            length=0.22,
            spread=0.12,
            size=0.05,
        )
    s.tall = 6.5
    s.figure()
    s.face(tall=2.1, shift=(0, 0.02))
    s.detail("spool.jpg", g + (-0.08, 0.14, 0.05), 1.0, side=-0.25, up=0.25)
