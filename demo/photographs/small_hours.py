"""More of the Night Staff: the postman, and the two who work for the sky."""

import math

import numpy as np

import props
import trinkets
from beasts import Beast
from face import Face
from figure import WAIST, Outfit, brass, clothes, skirt_radius
from horns import ear_pair, whiskers
from pattern import FELT, PLASTER, WOOD
from scene import part_distance
from sculpt import Frame, turn
from stage import Sitting, hang, offer_arm, rod_arm


def second_post(s: Sitting) -> None:
    """Model a fox with an envelope."""
    b = s.bench
    blue, buff = clothes(b, "#2f4f78", "#284468"), clothes(b, "#d8c39a", "#c8b185")
    wear = Outfit(
        blue,
        blue,
        blue,
        s.skin("#3a241c"),
        brass(b),
        hem=1.70,
        flare=0.60,
        depth=0.05,
        trousers=clothes(b, "#2a3348"),
        collar="stand",
        buttons=6,
        band=False,
    )
    s.dress(
        wear,
        {-1: offer_arm(-1, (0.42, 2.62, 0.72), curl=0.5), 1: hang(1, out=1.05, y=2.34, z=-0.10, curl=1.2)},
    )
    g = s.grips[1]["grip"]
    trinkets.envelope(b, g + (0.12, -0.18, 0.04), turn(14, 0, -16), 0.86)
    b.frame = Frame()
    b.part()
    b.tube([(0.38, 3.50, 0.10), (0.10, 3.05, 0.62), (-0.42, 2.50, 0.26)], [0.038, 0.038, 0.038], buff)
    beast = Beast(
        fur="#b4532a", dark="#2a1710", nose_colour="#191312", muzzle=(0.62, 0.36, 0.12, 0.14),
        muzzle_wide=0.85, eye=0.205, eye_apart=0.42, eye_yaw=28, iris="#9a6a2c", inner="#c8974a",
        pupil="round", pupil_wide=0.42,
        open_up=0.33, open_down=0.32, lift=0.16, gaze=(-20, 2), cheek=0.46, brow=0.5,
        skull=(0.80, 0.72, 0.78),
        marks=(
            ((0.50, -0.36), (0.40, 0.26), "#f3ede1", 0.4),
            ((0.0, -0.62), (0.34, 0.26), "#f3ede1", 0.4),
            ((0.0, 0.7), (0.3, 0.4), "#8f3c1d", 0.8),
            ((0.30, -0.10), (0.10, 0.22), "#7c3319", 0.8),
        ),
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(
        b,
        beast,
        fur,
        wide=0.30,
        tall=0.72,
        at=(0.46, 0.66, -0.10),
        tilt=20,
        yaw=16,
        point=1.0,
        cup=1.1,
        tip="#22140f",
        low=0.9,
    )
    w = s.wig("#f0e6d6", sheen=0.3)
    for side in (-1, 1):
        for k in range(5):
            w.tuft(
                (side * 0.66, -0.16 - 0.10 * k, 0.16 - 0.03 * k),
                (side * 0.95, -0.30 - 0.1 * k, -0.05),
                14,
                length=0.30,
                spread=0.08,
                size=0.022,
            )
    w = s.wig("#b4532a", sheen=0.3)
    w.tuft((0, 0.86, 0.2), (0, 0.7, 0.5), 36, length=0.24, spread=0.12, size=0.022)
    b.frame = s.head
    whiskers(b, s.marks["nose"] + (0, 0.0, 0.04), s.seed, wide=0.10, long=0.55)
    s.tall = 6.6
    s.figure()
    s.face(tall=2.2, shift=(0, 0.1))
    s.detail("envelope.jpg", g + (0.10, -0.18, 0.04), 0.95, side=0.1)


def star_darner(s: Sitting) -> None:
    """Model a silver-haired woman over her spool and needle."""
    b = s.bench
    indigo, silver = clothes(b, "#2a2f5b", "#23274d"), clothes(b, "#b9bdc4", sheen=0.8)
    wear = Outfit(
        indigo,
        silver,
        indigo,
        s.skin("#b07a4d"),
        silver,
        flare=1.0,
        folds=8,
        depth=0.09,
        collar="round",
        buttons=0,
        sleeve_wide=1.25,
    )
    s.dress(
        wear,
        {
            1: offer_arm(1, (0.16, 2.62, 0.74), inward=0.5, curl=0.8),
            -1: rod_arm(-1, (0.28, 2.98, 0.88), curl=1.1, rise=0.2),
        },
    )
    g = s.grips[1]["palm"]
    trinkets.spool(b, g + (0.02, 0.17, 0.05), turn(0, 0, 80), 0.8, colour="#c3c7cd", sheen=1.4)
    steel = brass(b, "#d4d7da", rough=0.16)
    n = s.grips[-1]["grip"] + (0.05, 0, 0.05)
    b.frame = Frame()
    b.part()
    b.cone(n + (0.06, -0.32, 0.06), n + (-0.04, 0.30, -0.03), 0.008, 0.017, steel)
    props.cord(
        b,
        [n + (-0.04, 0.30, -0.03), n + (0.18, 0.36, 0.12), n + (0.26, 0.0, 0.06), g + (0.0, 0.20, 0.14)],
        0.007,
        props.thread(b, "#d6d9dc"),
    )
    stars(s, wear)
    s.human(Face(
        skin="#b9834f", blush="#b5503f", lips="#9c5044", brows="#a9a8a6", lashes="#2b2020", iris="#6a6484",
        lines=0.7, wide=0.95, long=1.03, open_up=0.16, open_down=0.24, gaze=(0, 16), lash=0.9, smile=0.15,
        hollow=0.15, shadow="#5e4a6e", shadow_strength=0.14,
    ))  # fmt: skip
    w = s.wig("#b9bbbf", sheen=1.3)
    w.cap()
    w.loose(150, length=2.0, wave=0.04, size=0.055, front=48, part=0.0)
    w.stray(26)
    s.figure()
    s.face(tall=1.95, up=-0.04)
    s.detail("hem.jpg", (-0.1, 0.75, 0.85), 1.35, side=-0.2)


def stars(s: Sitting, wear: Outfit) -> None:
    """Embroider stars on the robe; some are missing, with only their needle holes left."""
    b = s.bench
    white, hole = props.thread(b, "#f4f0e4"), props.enamel(b, "#12142a")
    chance = np.random.default_rng(s.seed)
    b.frame = Frame()
    for n in range(74):
        y = 0.34 + (WAIST - 0.55) * ((n * 0.7548777) % 1.0)
        a = math.radians(-82 + 164 * ((n * 0.5698403 + 0.03 * chance.uniform()) % 1.0))
        r = skirt_radius(wear, y) + 0.30
        start, way = (
            np.array([r * math.sin(a), y, 0.86 * r * math.cos(a)]),
            np.array([-math.sin(a), 0, -math.cos(a)]),
        )
        p = touch(s, start, way)
        if p is None:
            continue
        u, v = np.array([math.cos(a), 0, -math.sin(a)]), np.array([0, 1.0, 0])
        size = chance.uniform(0.045, 0.075)
        missing = chance.uniform() < 0.25
        for k in range(3):
            t = math.pi * k / 3 + chance.uniform(0, 0.3)
            end = (u * math.cos(t) + v * math.sin(t)) * size
            for sign in (-1, 1) if missing else (0,):
                b.part()
                if missing:
                    b.ball(p + end * sign, 0.010, hole)
                else:
                    b.tube(
                        [p - end - way * 0.004, p - way * 0.022, p + end - way * 0.004],
                        [0.008, 0.012, 0.008],
                        white,
                    )


def touch(s: Sitting, start: np.ndarray, way: np.ndarray) -> np.ndarray | None:
    """Walk from a point along a direction until the clothes are met."""
    b = s.bench
    skirts = [i for i, p in enumerate(b.parts) if any(b.sorts[k][0] == 5 for k in range(*p))][:1]
    rows, sorts, parts = np.array(b.rows), np.array(b.sorts, np.int32), np.array(b.parts, np.int32)
    t = 0.0
    for _ in range(60):
        p = start + way * t
        d = part_distance(sorts, rows, parts, np.zeros((1, 2)), skirts[0], p[0], p[1], p[2])
        if d < 0.003:
            return p
        t += d * 0.8
    return None


def understudy_for_the_moon(s: Sitting) -> None:
    """Model a round white face with a moon mask on a stick."""
    b = s.bench
    chalk, grey = clothes(b, "#ecebe6", "#dcdad4"), clothes(b, "#8d9096")
    blue = clothes(b, "#28334d", "#344262", kind=FELT, rate=30, bump=0.8)
    wear = Outfit(
        chalk,
        chalk,
        grey,
        s.skin("#ecebe6"),
        grey,
        hem=1.15,
        flare=1.0,
        folds=10,
        depth=0.10,
        trousers=chalk,
        boots=blue,
        collar="ruff",
        buttons=0,
        sleeve_wide=1.35,
        band=False,
        waist=0.42,
    )
    s.dress(
        wear,
        {1: rod_arm(1, (1.02, 3.16, 0.50), rise=0.25, pole=(0.8, -1, 0)), -1: hang(-1, out=0.95)},
        base="#39302c",
    )
    b.frame = Frame()
    for n in range(3):
        b.part()
        b.ball((0, 3.10 - 0.42 * n, 0.44 + 0.08 * n), 0.125, blue)
        b.wrinkle(0.02, 30, n)
    rod = s.grips[1]["grip"]
    b.part()
    b.cone(
        rod + (0, -0.7, 0),
        rod + (0.03, 0.85, 0),
        0.030,
        0.028,
        b.material("#8b7355", "#5f4c36", kind=WOOD, rate=14),
    )
    moon_mask(s, rod + (0.05, 1.22, 0.02), 0.52)
    s.human(Face(
        skin="#efede8", blush="#b85c5c", blush_strength=0.16, lips="#a9605f", brows="#77757a",
        lashes="#3a3a40", iris="#7f868e", wide=1.16, long=0.88, jaw=1.12, chin=0.85, cheeks=1.3,
        eye_apart=0.40, shadow="#8d9096",
        shadow_strength=0.22, mouth_wide=0.78, smile=0.55, brow_tilt=0.75, brow_high=0.34, gaze=(0, -8),
        open_up=0.40, nose=0.8, lash=0.55, ears=True,
    ))  # fmt: skip
    b.frame = s.head
    b.part()
    b.ball((0, 0.33, -0.19), (1.0, 0.84, 0.94), clothes(b, "#e9e8e3", "#dedcd5", rate=40))
    s.tall = 6.5
    s.figure()
    s.face(tall=2.05)
    s.detail("mask.jpg", rod + (0.05, 1.08, 0.05), 1.55, side=-0.1)


def moon_mask(s: Sitting, p: np.ndarray, size: float) -> None:
    """Make a flat mask with a painted face."""
    b = s.bench
    gesso = b.material("#f0efe9", "#d9d7cf", kind=PLASTER, rate=14, bump=0.06, rough=0.7, mirror=0.025)
    ink, red, grey = props.enamel(b, "#3b3a40"), props.enamel(b, "#b85c5c"), props.enamel(b, "#b4b5b8")
    b.frame = Frame(p, turn(-6, 0, 3), size)
    b.part()
    b.ball((0, 0, 0), (1, 1, 0.16), gesso)
    b.tube([(0, 0.15, 0.15), (0.05, -0.05, 0.30), (0, -0.22, 0.15)], [0.05, 0.07, 0.05], gesso, k=0.12)
    for side in (-1, 1):
        b.part()
        b.tube(
            [(side * 0.20, 0.14, 0.155), (side * 0.36, 0.30, 0.15), (side * 0.54, 0.15, 0.13)],
            [0.018, 0.028, 0.014],
            ink,
        )
        b.part()
        b.tube(
            [(side * 0.22, 0.38, 0.145), (side * 0.38, 0.52, 0.12), (side * 0.56, 0.38, 0.10)],
            [0.010, 0.020, 0.008],
            ink,
        )
        b.part()
        b.ball((side * 0.50, -0.20, 0.125), (0.16, 0.16, 0.02), red)
    b.part()
    b.tube([(-0.26, -0.40, 0.14), (0, -0.60, 0.13), (0.26, -0.40, 0.14)], [0.016, 0.042, 0.016], red)
    for x, y, r in ((0.1, 0.72, 0.09), (-0.55, 0.5, 0.06), (-0.2, -0.75, 0.07), (0.68, 0.42, 0.05)):
        b.part()
        b.ring((x, y, 0.155 * math.sqrt(max(0.05, 1 - x * x - y * y))), r, 0.012, grey, axes=turn(0, 90, 0))
