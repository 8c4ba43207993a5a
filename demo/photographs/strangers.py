"""The figures that belong to no series."""

import math

import numpy as np

import hats
import props
import trinkets
from beasts import Beast
from face import Face
from figure import Outfit, brass, clothes
from horns import ear_pair, whiskers
from paint import Canvas
from pattern import CHECK, FELT, FLORAL, KNIT, LINEN
from sculpt import Frame, turn
from small_hours import touch
from stage import Sitting, hang, hug_arm, offer_arm, rod_arm


def patron_of_small_repairs(s: Sitting) -> None:
    """Model a woman with a mended face and a brass halo."""
    b = s.bench
    linen, terra = clothes(b, "#ddd0b8", "#cdbfa5"), clothes(b, "#b4613f", "#a05334")
    wear = Outfit(
        linen,
        terra,
        linen,
        s.skin("#8e5d41"),
        brass(b),
        flare=1.0,
        folds=9,
        depth=0.09,
        apron=terra,
        collar="round",
        buttons=0,
        sleeve_wide=1.15,
        hem=0.25,
    )
    s.dress(wear, {1: offer_arm(1, (0.46, 2.66, 0.82), curl=0.7), -1: hang(-1)})
    g = s.grips[1]["palm"]
    trinkets.spool(b, g + (-0.01, 0.20, 0.07), turn(0, 8, 10), 0.82, colour="#c79b3b", sheen=1.0)
    patches(s)
    trinkets.halo(b, s.head.point((0, 0.28, -0.75)), s.head.axes, 0.98)
    s.human(Face(
        skin="#9a674a", blush="#a8433a", blush_strength=0.14, lips="#8a4640", brows="#2a1c14",
        iris="#8a5a20", wide=1.02, long=0.98, cheeks=1.3, smile=0.4, open_up=0.34, lip_full=1.15,
        nose_wide=1.15,
    ))  # fmt: skip
    mend(s)
    w = s.wig("#2b1d15", sheen=0.5)
    w.cap()
    w.crop(330, length=0.20, size=0.036, curl=0.03)
    s.tall = 6.5
    s.figure()
    s.face(tall=2.1, shift=(0, 0.05))
    s.detail("patch.jpg", (-0.55, 1.32, 0.5), 1.35, side=-0.95, up=0.08)


def mend(s: Sitting) -> None:
    """Draw the mended crack in gold."""
    canvas = Canvas("#000000", s.seed)
    canvas.pixels = s.bench.faces[-1]
    points = np.array(
        [
            (0.20, 0.62),
            (0.25, 0.50),
            (0.20, 0.40),
            (0.30, 0.30),
            (0.58, 0.12),
            (0.60, -0.05),
            (0.52, -0.18),
            (0.56, -0.30),
            (0.44, -0.42),
            (0.46, -0.56),
            (0.36, -0.72),
        ]
    )
    canvas.stroke(points, [0.004, 0.011, 0.009, 0.012, 0.005], "#4d2f16", 0.7, soft=0.9)
    canvas.stroke(points, [0.003, 0.0085, 0.007, 0.009, 0.003], "#d9ad48", 1.0, soft=0.5, gloss=0.95)
    for start, end in (
        ((0.30, 0.30), (0.42, 0.42)),
        ((0.56, -0.30), (0.70, -0.26)),
        ((0.46, -0.56), (0.56, -0.60)),
    ):
        canvas.stroke([start, end], [0.006, 0.002], "#d9ad48", 1.0, soft=0.5, gloss=0.95)


def patches(s: Sitting) -> None:
    """Sew three patches on the robe, each with its own thread."""
    b = s.bench
    clean = [
        clothes(b, c, d, kind=k, width=w)
        for c, d, k, w in (
            ("#cdbd9c", "#b9a986", LINEN, 8),
            ("#b9a988", "#8d7d5c", CHECK, 9),
            ("#f3ece0", "#e8dfcf", LINEN, 8),
        )
    ]
    for n, (angle, y, half, colour) in enumerate(
        ((-44, 1.62, 0.17, "#a5382c"), (-47, 1.02, 0.21, "#2f5688"), (-70, 1.30, 0.16, "#c79b3b"))
    ):
        a = math.radians(angle)
        way = np.array([-math.sin(a), 0, -math.cos(a)])
        p = touch(s, np.array([1.6 * math.sin(a), y, 1.4 * math.cos(a)]), way)
        if p is None:
            continue
        sew_patch(s, p, a, half, clean[n], props.thread(b, colour))


def sew_patch(s: Sitting, p: np.ndarray, a: float, half: float, cloth: int, yarn: int) -> None:
    """Lay a square of cloth on the skirt as small scales that follow it, with stitches round it."""
    b = s.bench
    u, v, way = (
        np.array([math.cos(a), 0, -math.sin(a)]),
        np.array([0, 1.0, 0]),
        np.array([-math.sin(a), 0, -math.cos(a)]),
    )
    steps = np.linspace(-half, half, 9)
    grid = [[touch(s, p + u * x + v * y - way * 0.4, way) for x in steps] for y in steps]
    b.frame = Frame()
    b.part()
    for row in grid:
        for q in row:
            if q is not None:
                b.ball(
                    q, (half * 0.20, half * 0.20, 0.020), cloth, k=0.03, axes=turn(math.degrees(a), -10, 0)
                )
    for n in range(9):
        for q in (grid[n][0], grid[n][8], grid[0][n], grid[8][n]):
            if q is None:
                continue
            out = q - p
            out /= np.linalg.norm(out) + 1e-9
            b.part()
            b.tube(
                [q - out * 0.02 - way * 0.022, q + out * 0.012 - way * 0.034, q + out * 0.045 - way * 0.006],
                [0.007, 0.008, 0.006],
                yarn,
            )


def aunt_who_kept_bees(s: Sitting) -> None:
    """Model an old woman with a skep under her arm."""
    b = s.bench
    blue, honey = (
        clothes(b, "#7d97b5", "#a9bdd2", kind=FLORAL, width=14),
        clothes(b, "#cf9531", "#bd8526", kind=KNIT, rate=22, bump=0.7),
    )
    wear = Outfit(
        honey,
        honey,
        blue,
        s.skin("#d6a787"),
        props.timber(b, "#6b452c"),
        sleeve=honey,
        open_front=blue,
        flare=0.6,
        hem=2.05,
        depth=0.03,
        collar="none",
        buttons=3,
        band=False,
    )
    s.dress(wear, {1: hug_arm(1, (0.66, 2.30, 0.52), curl=0.7), -1: hang(-1)})
    b.frame = Frame()
    b.part()
    b.skirt((0, 2.55, 0), 0.37, 0.98, 2.25, blue, folds=11, depth=0.085, flat=0.87, phase=3.1)
    hats.skep(b, (0.86, 2.72, 0.42), 1.0)
    s.human(Face(
        skin="#dbae8f", blush="#c0503f", blush_strength=0.16, lips="#aa5c50", brows="#ddd8cf",
        lashes="#4a3a30", iris="#4f86b8", wide=1.0, long=0.95, cheeks=1.4, lines=1.15, open_up=0.20,
        open_down=0.20, smile=0.9, lash=0.5,
        mouth_wide=1.1, lip_full=0.8, nose=1.05, eye=0.235, freckles=40,
    ))  # fmt: skip
    w = s.wig("#e8e5df", sheen=0.7)
    w.cap()
    w.crop(200, length=0.42, size=0.055, low=-30, front=48, curl=0.08)
    hats.hat_straw(b, s.head)
    s.tall = 6.4
    s.figure()
    s.face(tall=2.0, shift=(0, 0.05), up=-0.02)
    s.detail("hive.jpg", (0.88, 2.74, 0.5), 1.25, side=0.0)


def cat_who_was_asked_to_leave(s: Sitting) -> None:
    """Model a black cat in evening dress with a fish."""
    b = s.bench
    black, white = clothes(b, "#1e1c1e", "#2a272a", kind=FELT, rate=60), clothes(b, "#f2efe7")
    red = clothes(b, "#9d2b2f", rate=50, sheen=0.7, rough=0.5)
    wear = Outfit(
        black,
        white,
        white,
        s.skin("#232022"),
        props.enamel(b, "#111111"),
        open_front=white,
        hem=1.1,
        flare=0.66,
        depth=0.05,
        trousers=clothes(b, "#242226"),
        collar="stand",
        buttons=3,
        band=False,
    )
    s.dress(
        wear,
        {1: rod_arm(1, (0.84, 3.00, 0.62), rise=0.2, pole=(0.8, -1, -0.2)), -1: hang(-1)},
        base="#3b2a20",
    )
    hats.fish(b, s.grips[1]["grip"] + (0, -0.02, 0.02), 0.98)
    b.frame = Frame()
    for side in (-1, 1):
        b.part()
        b.tube(
            [(side * 0.02, 3.58, 0.34), (side * 0.20, 3.60, 0.40), (side * 0.16, 3.20, 0.47)],
            [0.045, 0.055, 0.035],
            red,
        )
        b.part()
        b.blade(
            (side * 0.16, 3.22, 0.46),
            [(-0.055, 0), (0.055, 0), (0.09, -0.26), (0, -0.20), (-0.07, -0.28)],
            0.010,
            red,
            bend=(1.2, 0.3),
            axes=turn(side * 15, -8, side * 6),
        )
    beast = Beast(
        fur="#242124", dark="#080808", pink="#5a4444", nose_colour="#171315",
        muzzle=(0.22, 0.36, 0.16, 0.14), muzzle_wide=1.2, nose=(0.075, 0.05, 0.05), eye=0.25, eye_apart=0.42,
        eye_yaw=20, eye_high=0.06, iris="#a8b23a",
        inner="#d0cf6a", pupil="slit", pupil_wide=0.62, iris_size=0.90, open_up=0.36, open_down=0.40,
        lift=0.18, skull=(0.90, 0.74, 0.78), cheek=0.46, gaze=(6, -10), brow=0.7, strokes=2800,
        marks=(((0.0, 0.55), (0.25, 0.4), "#332e32", 0.8), ((0.2, -0.42), (0.18, 0.14), "#39343a", 0.8)),
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(
        b,
        beast,
        fur,
        wide=0.32,
        tall=0.62,
        at=(0.50, 0.62, -0.08),
        tilt=24,
        yaw=14,
        point=1.0,
        cup=1.0,
        torn=1,
        low=0.9,
    )
    b.frame = s.head
    whiskers(b, s.marks["nose"] + (0, 0.0, 0.06), s.seed, wide=0.16, long=0.75)
    w = s.wig("#2c282c", sheen=0.6)
    for side in (-1, 1):
        for k in range(4):
            w.tuft(
                (side * 0.74, -0.18 - 0.10 * k, 0.10),
                (side * 0.9, -0.45, 0.1),
                16,
                length=0.30,
                spread=0.09,
                size=0.02,
            )
    s.tall = 6.5
    s.figure()
    s.face(tall=1.95, shift=(0, 0.1))
    s.detail("fish.jpg", s.grips[1]["grip"] + (0, -0.42, 0.04), 1.25, side=-0.15)
