"""The figures of the series Night Staff."""

import math

import numpy as np

import props
from beasts import Beast, antennae, ear_pair, horns_curled, whiskers
from figure import WAIST, Outfit, braid, brass, clothes, skirt_radius
from head import Face
from paint import Canvas
from pattern import BARK, FEATHER, FELT, HAIR, PLASTER, VELVET, WOOD
from scene import part_distance
from sculpt import Frame, turn
from stage import Sitting, hang, hug_arm, offer_arm, rod_arm


def moth_usher(s: Sitting) -> None:
    """Model a moth in livery with a lantern."""
    b = s.bench
    plush = clothes(b, "#4b3757", "#3f2d4a", kind=VELVET, rate=30, sheen=1.2)
    gold, wing = braid(b, "#b8954a", "#8a6a2c"), clothes(b, "#8b7560", "#6f5b49", kind=FEATHER, rate=14, bump=0.2, through=0.2)
    wear = Outfit(plush, gold, plush, clothes(b, "#e9e4da", rate=70), brass(b), hem=1.25, flare=0.66, depth=0.06, trousers=clothes(b, "#3a2b44", kind=VELVET, rate=30), collar="stand", buttons=6)
    s.dress(wear, {1: rod_arm(1, (1.16, 2.98, 0.50), rise=0.3, pole=(0.6, -1, -0.2)), -1: hang(-1)}, base="#3b2a2e")
    props.lantern(b, s.grips[1]["grip"] + (0, -0.60, 0), 1.0)
    b.frame = Frame()
    for side in (-1, 1):
        shape = [(0, 0), (0.25, 0.12), (0.72, -0.25), (0.95, -1.0), (0.86, -1.75), (0.5, -2.25), (0.18, -2.05), (0.05, -1.0)]
        b.part()
        b.blade((side * 0.10, 3.42, -0.34), [(side * x, y) for x, y in shape], 0.012, wing, bend=(0.22, 0.02), edge=0.012, axes=turn(side * 12, -4, side * 7))
    s.human(Face(
        skin="#e6e0d6", blush="#8f6f98", blush_strength=0.09, lips="#9d8290", brows="#cfc7ba", lashes="#17121a", iris="#0b090c", iris_inner="#141018", white="#0d0b0e", iris_size=0.93,
        eye=0.275, eye_apart=0.40, open_up=0.44, open_down=0.42, wide=0.98, long=0.98, shadow="#6a4478", shadow_strength=0.34, mouth_wide=0.66, nose=0.7, nose_wide=0.75, brow_many=24,
        lip_full=0.75, ears=False, smile=0.3,
    ))  # fmt: skip
    w = s.wig("#e8dfcb", sheen=0.4)
    w.cap(back=0.12, up=0.06)
    w.crop(420, length=0.20, size=0.030, low=-30, front=52, curl=0.035)
    for n in range(46):
        a = 2 * math.pi * n / 46
        w.tuft((0.46 * math.sin(a), -1.12, -0.12 + 0.46 * math.cos(a)), (math.sin(a), 0.35, math.cos(a)), 7, length=0.34, spread=0.08, size=0.022)
    b.frame = s.head
    antennae(b, b.material("#b79f7d", "#8b7560", kind=FELT, rate=40, bump=0.1), feathered=True)
    s.tall = 7.0
    s.figure()
    s.face(tall=2.45, shift=(0, 0.2))
    s.detail("lantern.jpg", s.grips[1]["grip"] + (0.0, -0.38, 0), 1.35, side=-0.2)


def moon_rigger(s: Sitting) -> None:
    """Model a tall woman hoisting a moon."""
    b = s.bench
    midnight, rope = clothes(b, "#1b2238", "#232c46"), b.material("#b59f78", "#8b7650", kind=HAIR, rate=50, bump=0.6, sheen=0.3)
    wear = Outfit(midnight, midnight, midnight, s.skin("#402b22"), brass(b), hem=1.95, flare=0.47, folds=6, depth=0.03, trousers=midnight, boots=clothes(b, "#2b2422", kind=FELT), collar="round", buttons=4, band=False, belt=rope)
    s.dress(wear, {1: rod_arm(1, (0.34, 3.95, 0.80), rise=0.5, pole=(1, -0.8, 0)), -1: rod_arm(-1, (-0.30, 3.60, 0.82), rise=0.5, pole=(1, -0.9, 0))}, base="#2d2320")
    b.frame = Frame()
    for n in range(4):
        b.part()
        b.ring((0, 2.56 + 0.07 * n, 0), 0.385 - 0.005 * n, 0.034, rope, flat=0.9, axes=turn(0, 2 - n, 3 * (n % 2) - 1))
    props.cord(b, [(0.30, 3.2, 0.80), (0.31, 3.58, 0.81), (0.335, 3.95, 0.82), (0.60, 4.75, 0.72), (0.98, 5.00, 0.60), (1.06, 4.72, 0.56), (1.07, 4.30, 0.55)], 0.017, rope)
    props.moon(b, (0.86, 3.86, 0.55), turn(-6, 0, 6), 1.18)
    s.human(Face(
        skin="#4a3228", blush="#7a3230", blush_strength=0.10, lips="#6b3234", brows="#1c1412", iris="#2f1c10", white="#e6ddcd", wide=0.90, long=1.08, cheeks=1.25, hollow=0.35, shadow="#c49a3f",
        shadow_strength=0.34, open_up=0.33, lip_full=1.2, nose_wide=1.15, gaze=(10, -14), smile=0.1, jaw=0.95,
    ))  # fmt: skip
    w = s.wig("#1c1614", sheen=0.2)
    w.bench.part()
    w.bench.ball((0, 0.285, -0.15), (0.872, 0.835, 0.925), b.material("#221915", "#3a281f", kind=FELT, rate=50, bump=0.25, rough=0.8))
    s.tall = 6.9
    s.figure()
    s.face(tall=2.1, shift=(0.12, 0.05), side=0.2)
    s.detail("moon.jpg", (0.86, 3.90, 0.56), 1.5, side=-0.15)
    s.detail("hand.jpg", (0.12, 3.72, 0.84), 1.25, side=-0.3)


def lamplighters_sister(s: Sitting) -> None:
    """Model a copper-haired woman with a long match."""
    b = s.bench
    soot, lamp = clothes(b, "#2a2725", "#35312e"), clothes(b, "#e3b34c", "#d3a13a")
    wear = Outfit(soot, lamp, soot, s.skin("#f0dccb"), brass(b), hem=0.85, flare=0.98, folds=11, depth=0.10, trousers=lamp, boots=clothes(b, "#1c1a1a", kind=FELT, rough=0.4), buttons=5, collar="round", cuff=False)
    s.dress(wear, {1: hang(1, out=0.95, y=2.3), -1: rod_arm(-1, (0.98, 2.72, 0.62), rise=0.0)}, base="#39291f")
    props.match(b, (-1.02, 0.16, 0.66), (-0.96, 3.75, 0.60))
    s.human(Face(
        skin="#f0dccb", blush="#cd6a5a", iris="#5f7a4c", brows="#8b4526", wide=0.98, long=1.0, jaw=0.85, chin=0.85, lips="#b55a50", left_eye_larger=1.10, freckles=40, smile=0.2, brow_tilt=-0.35,
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
    wear = Outfit(wash, wash, cream, clothes(b, "#c2a27a", kind=FELT, rate=40), brass(b), chest=1.15, waist=0.46, hem=0.75, flare=0.76, depth=0.055, trousers=plume, collar="shawl", buttons=5, band=False)
    s.dress(wear, {1: hug_arm(1, (0.36, 2.62, 0.56), curl=0.7), -1: hug_arm(-1, (0.36, 2.62, 0.56), curl=0.7)})
    props.teacup(b, (0, 2.76, 0.84), turn(30, 0, 0), 0.72, rim="#2e5590")
    b.frame = Frame()
    for n, colour in enumerate(("#b8892b", "#8e2b22", "#3f5b4a")):
        b.part()
        b.cone((0.24 + 0.06 * n, 2.98, 0.36 - 0.015 * n), (0.245 + 0.065 * n, 3.26 + 0.04 * (n % 2), 0.33 - 0.015 * n), 0.02, 0.02, props.enamel(b, colour))
    b.part()
    b.box((0.30, 2.96, 0.345), (0.15, 0.14, 0.03), wash, edge=0.02, axes=turn(14, -6, 0))
    beast = Beast(
        fur="#b4946c", dark="#5a4029", nose_colour="#38302a", skull=(0.92, 0.80, 0.76), cheek=0.44, beak=True, eye=0.27, eye_apart=0.40, eye_high=0.10, eye_yaw=12, iris="#c06a1e", inner="#e39a3c", pupil_wide=0.36,
        iris_size=0.74, open_up=0.14, open_down=0.34, strokes=3400, gaze=(0, 5), lash=0.5, brow=0.9,
        marks=(((0.0, 0.0), (0.92, 0.86), "#8d6b46", 0.16), ((0.0, 0.02), (0.82, 0.76), "#ded0b4", 0.25), ((0.40, 0.10), (0.36, 0.36), "#efe6d2", 0.5), ((0.40, 0.10), (0.21, 0.20), "#8f6c46", 0.8), ((0.0, 0.55), (0.16, 0.5), "#a5825a", 0.6)),
    )  # fmt: skip
    s.beast(beast)
    w = s.wig("#a07f58", sheen=0.3)
    for side in (-1, 1):
        w.tuft((side * 0.50, 0.72, 0.12), (side * 0.75, 0.55, 0.1), 60, length=0.52, spread=0.09, size=0.03, droop=0.25)
    for n in range(40):
        a = math.pi * (-0.75 + 1.5 * n / 39)
        w.tuft((0.88 * math.sin(a), 0.05 + 0.78 * math.cos(a) * 0.9, 0.02), (math.sin(a), math.cos(a), 0.45), 5, length=0.20, spread=0.06, size=0.026)
    w = s.wig("#d9c8a8", sheen=0.3)
    for n in range(34):
        a = 2 * math.pi * n / 34
        w.tuft((0.5 * math.sin(a), -0.95, -0.05 + 0.5 * math.cos(a)), (math.sin(a), -0.5, math.cos(a)), 6, length=0.36, spread=0.08, size=0.032)
    s.tall = 6.5
    s.figure()
    s.face(tall=1.95, shift=(0, 0.05))
    s.detail("cup.jpg", (0.0, 2.78, 0.84), 0.95, side=-0.15, up=0.55)


def the_one_who_counts(s: Sitting) -> None:
    """Model a sheep in a grey suit with a spool of thread."""
    b = s.bench
    suit, dark = clothes(b, "#6a6a70", "#5b5b61"), s.skin("#2c2624")
    wear = Outfit(suit, suit, clothes(b, "#e7dcc6"), dark, props.enamel(b, "#2a2a2c"), hem=1.75, flare=0.58, depth=0.05, trousers=suit, collar="none", buttons=4, band=False)
    s.dress(wear, {1: offer_arm(1, (0.42, 2.66, 0.70), curl=0.9), -1: hang(-1)})
    g = s.grips[1]["palm"]
    props.spool(b, g + (-0.02, 0.17, 0.06), turn(0, 12, 74), 0.85)
    red = props.thread(b, "#a52a2a")
    props.cord(b, [g + (-0.10, 0.17, 0.18), g + (-0.25, -0.10, 0.20), g + (-0.40, 0.02, 0.05), (0.08, 2.86, 0.42), (0.0, 2.94, 0.40)], 0.010, red)
    for n in range(3):
        b.part()
        b.ball(g + np.array([-0.20 - 0.07 * n, -0.02 + 0.01 * n, 0.19 - 0.04 * n]), 0.021, red)
    beast = Beast(
        fur="#2b2624", dark="#0f0d0d", nose_colour="#1a1615", muzzle=(0.55, 0.34, 0.19, 0.26), eye=0.205, eye_apart=0.46, eye_yaw=30, iris="#c9a02c", inner="#e0c05a", pupil="bar", pupil_wide=0.40, open_up=0.36,
        open_down=0.36, strokes=2200, gloss=0.7, marks=(((0.0, -0.3), (0.2, 0.5), "#3d3633", 0.7),), skull=(0.72, 0.72, 0.80),
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(b, beast, fur, wide=0.17, tall=0.55, at=(0.66, 0.20, -0.02), tilt=112, yaw=15, point=0.7, cup=1.6)
    horns_curled(b, b.material("#a08a6a", "#5f4e3a", kind=BARK, rate=20, bump=0.5, rough=0.5))
    w = s.wig("#e7dcc6", sheen=0.3)
    w.cap(back=0.14, up=0.12)
    w.curls(210, size=0.10, thick=0.040, low=-40, front=50, lift=1.04)
    for n in range(54):
        a = 2 * math.pi * n / 54
        w.tuft((0.44 * math.sin(a), -1.08, -0.05 + 0.44 * math.cos(a)), (math.sin(a), 0.1, math.cos(a)), 5, length=0.22, spread=0.12, size=0.05)
    s.tall = 6.5
    s.figure()
    s.face(tall=2.1, shift=(0, 0.02))
    s.detail("spool.jpg", g + (-0.08, 0.14, 0.05), 1.0, side=-0.25, up=0.25)


def second_post(s: Sitting) -> None:
    """Model a fox with an envelope."""
    b = s.bench
    blue, buff = clothes(b, "#2f4f78", "#284468"), clothes(b, "#d8c39a", "#c8b185")
    wear = Outfit(blue, blue, blue, s.skin("#3a241c"), brass(b), hem=1.70, flare=0.60, depth=0.05, trousers=clothes(b, "#2a3348"), collar="stand", buttons=6, band=False)
    s.dress(wear, {-1: offer_arm(-1, (0.42, 2.62, 0.72), curl=0.5), 1: hang(1, out=1.05, y=2.34, z=-0.10, curl=1.2)})
    g = s.grips[1]["grip"]
    props.envelope(b, g + (0.12, -0.18, 0.04), turn(14, 0, -16), 0.86)
    b.frame = Frame()
    b.part()
    b.tube([(0.38, 3.50, 0.10), (0.10, 3.05, 0.62), (-0.42, 2.50, 0.26)], [0.055, 0.055, 0.055], buff)
    beast = Beast(
        fur="#b4532a", dark="#2a1710", nose_colour="#191312", muzzle=(0.62, 0.36, 0.12, 0.14), muzzle_wide=0.85, eye=0.205, eye_apart=0.42, eye_yaw=28, iris="#9a6a2c", inner="#c8974a", pupil="round", pupil_wide=0.42,
        open_up=0.33, open_down=0.32, lift=0.16, gaze=(-20, 2), cheek=0.46, brow=0.5, skull=(0.80, 0.72, 0.78),
        marks=(((0.50, -0.36), (0.40, 0.26), "#f3ede1", 0.4), ((0.0, -0.62), (0.34, 0.26), "#f3ede1", 0.4), ((0.0, 0.7), (0.3, 0.4), "#8f3c1d", 0.8), ((0.30, -0.10), (0.10, 0.22), "#7c3319", 0.8)),
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(b, beast, fur, wide=0.30, tall=0.72, at=(0.46, 0.66, -0.10), tilt=20, yaw=16, point=1.0, cup=1.1, tip="#22140f", low=0.9)
    w = s.wig("#f0e6d6", sheen=0.3)
    for side in (-1, 1):
        for k in range(5):
            w.tuft((side * 0.66, -0.16 - 0.10 * k, 0.16 - 0.03 * k), (side * 0.9, -0.45, 0.1), 18, length=0.40, spread=0.10, size=0.024)
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
    wear = Outfit(indigo, silver, indigo, s.skin("#b07a4d"), silver, flare=1.0, folds=8, depth=0.09, collar="round", buttons=0, sleeve_wide=1.25)
    s.dress(wear, {1: offer_arm(1, (0.16, 2.62, 0.74), inward=0.5, curl=0.8), -1: rod_arm(-1, (0.28, 2.98, 0.88), curl=1.1, rise=0.2)})
    g = s.grips[1]["palm"]
    props.spool(b, g + (0.02, 0.17, 0.05), turn(0, 0, 80), 0.8, colour="#c3c7cd", sheen=1.4)
    steel = brass(b, "#d4d7da", rough=0.16)
    n = s.grips[-1]["grip"] + (0.05, 0, 0.05)
    b.frame = Frame()
    b.part()
    b.cone(n + (0.06, -0.32, 0.06), n + (-0.04, 0.30, -0.03), 0.008, 0.017, steel)
    props.cord(b, [n + (-0.04, 0.30, -0.03), n + (0.18, 0.36, 0.12), n + (0.26, 0.0, 0.06), g + (0.0, 0.20, 0.14)], 0.007, props.thread(b, "#d6d9dc"))
    stars(s, wear)
    s.human(Face(
        skin="#b9834f", blush="#b5503f", lips="#9c5044", brows="#a9a8a6", lashes="#2b2020", iris="#6a6484", lines=0.7, wide=0.95, long=1.03, open_up=0.16, open_down=0.24, gaze=(0, 16), lash=0.9, smile=0.15,
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
        y = 0.34 + (WAIST - 0.55) * ((n * 0.618034) % 1.0)
        a = math.radians(-82 + 164 * ((n * 0.381966 + 0.1 * chance.uniform()) % 1.0))
        r = skirt_radius(wear, y) + 0.30
        start, way = np.array([r * math.sin(a), y, 0.86 * r * math.cos(a)]), np.array([-math.sin(a), 0, -math.cos(a)])
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
                    b.tube([p - end - way * 0.004, p - way * 0.022, p + end - way * 0.004], [0.008, 0.012, 0.008], white)


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
    wear = Outfit(chalk, chalk, grey, s.skin("#ecebe6"), grey, hem=1.15, flare=1.0, folds=10, depth=0.10, trousers=chalk, boots=blue, collar="ruff", buttons=0, sleeve_wide=1.35, band=False, waist=0.42)
    s.dress(wear, {1: rod_arm(1, (1.02, 3.16, 0.50), rise=0.25, pole=(0.8, -1, 0)), -1: hang(-1, out=0.95)}, base="#39302c")
    b.frame = Frame()
    for n in range(3):
        b.part()
        b.ball((0, 3.10 - 0.42 * n, 0.44 + 0.08 * n), 0.125, blue)
        b.wrinkle(0.02, 30, n)
    rod = s.grips[1]["grip"]
    b.part()
    b.cone(rod + (0, -0.7, 0), rod + (0.03, 0.85, 0), 0.030, 0.028, b.material("#8b7355", "#5f4c36", kind=WOOD, rate=14))
    moon_mask(s, rod + (0.05, 1.22, 0.02), 0.52)
    s.human(Face(
        skin="#efede8", blush="#b85c5c", blush_strength=0.16, lips="#a9605f", brows="#77757a", lashes="#3a3a40", iris="#7f868e", wide=1.16, long=0.88, jaw=1.12, chin=0.85, cheeks=1.3, eye_apart=0.40, shadow="#8d9096",
        shadow_strength=0.22, mouth_wide=0.78, smile=0.55, brow_tilt=0.75, brow_high=0.34, gaze=(0, -8), open_up=0.40, nose=0.8, lash=0.55, ears=True,
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
        b.tube([(side * 0.20, 0.14, 0.155), (side * 0.36, 0.30, 0.15), (side * 0.54, 0.15, 0.13)], [0.018, 0.028, 0.014], ink)
        b.part()
        b.tube([(side * 0.22, 0.38, 0.145), (side * 0.38, 0.52, 0.12), (side * 0.56, 0.38, 0.10)], [0.010, 0.020, 0.008], ink)
        b.part()
        b.ball((side * 0.50, -0.20, 0.125), (0.16, 0.16, 0.02), red)
    b.part()
    b.tube([(-0.26, -0.40, 0.14), (0, -0.60, 0.13), (0.26, -0.40, 0.14)], [0.016, 0.042, 0.016], red)
    for x, y, r in ((0.1, 0.72, 0.09), (-0.55, 0.5, 0.06), (-0.2, -0.75, 0.07), (0.68, 0.42, 0.05)):
        b.part()
        b.ring((x, y, 0.155 * math.sqrt(max(0.05, 1 - x * x - y * y))), r, 0.012, grey, axes=turn(0, 90, 0))
