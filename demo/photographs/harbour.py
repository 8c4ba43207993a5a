"""The figures of the series The Harbour Office."""

import numpy as np

import hats
import props
from beasts import Beast
from face import Face
from figure import Outfit, brass, clothes
from horns import ear_pair, horns_back, whiskers
from pattern import BARK, CHECK, FELT, KNIT
from sculpt import Frame, turn
from stage import Sitting, hang, hug_arm, offer_arm, rod_arm


def keeper_of_unclaimed_keys(s: Sitting) -> None:
    """Model an old woman with a key as long as her forearm."""
    b = s.bench
    coat, chalk = clothes(b, "#22304a", "#2b3a58", kind=FELT, rate=60), clothes(b, "#e8e2d4", rate=60)
    wear = Outfit(
        coat,
        chalk,
        chalk,
        s.skin("#9a6a4b"),
        brass(b),
        flare=0.92,
        depth=0.07,
        waist=0.33,
        chest=0.94,
        buttons=6,
        band=False,
    )
    rod = (0.0, 2.78, 0.72)
    s.dress(wear, {1: rod_arm(1, (0.0, 2.62, 0.72)), -1: rod_arm(-1, (0.0, 2.92, 0.72))})
    props.key(b, (0.0, rod[1] + 0.30, 0.72), turn(0, 6, 0), 0.92)
    s.human(Face(
        skin="#a5714f", blush="#b2403c", blush_strength=0.13, lips="#8a4038", brows="#cfc8bc",
        lashes="#2a1c16", iris="#5a4a22", wide=0.90, long=1.05,
        hollow=0.5, lines=1.0, open_up=0.22, open_down=0.27, lash=0.5, nose=1.15, nose_hook=0.5,
        lip_full=0.85, smile=0.25, brow_tilt=-0.2, cheeks=1.05, shadow="#6b3d3a",
    ))  # fmt: skip
    w = s.wig("#e0dace", sheen=0.6)
    w.cap()
    w.swept((0, 1.22, -0.25))
    w.knot((0, 1.40, -0.25), 0.30, tall=1.45)
    w.stray(24)
    s.tall = 6.5
    s.figure()
    s.face(tall=1.9, shift=(0, 0.1))
    s.detail("hand.jpg", (0, 2.80, 0.75), 1.0, side=-0.15)
    s.detail("hem.jpg", (0.15, 0.50, 0.8), 1.3, side=-0.3, up=0.2)


def tide_clerk_second_class(s: Sitting) -> None:
    """Model a clerk with a full pail."""
    b = s.bench
    jacket, sand = clothes(b, "#2f4a3e", "#263d33"), clothes(b, "#b9a684", "#a8946f")
    wear = Outfit(
        jacket, clothes(b, "#e6ddcc"), jacket, s.skin("#ead3c2"), brass(b), hem=1.92, flare=0.48, folds=7,
        depth=0.03, trousers=sand,
        boots=s.skin("#ead3c2"), buttons=5, collar="stand", band=False,
    )  # fmt: skip
    s.dress(
        wear,
        {1: hug_arm(1, (0.42, 2.36, 0.70), curl=0.8), -1: hug_arm(-1, (0.42, 2.36, 0.70), curl=0.8)},
        wide=0.95,
    )
    props.pail(b, (0, 2.30, 0.90), 0.88)
    s.human(Face(
        skin="#ecd2c0", iris="#5d8f84", brows="#26201c", freckles=150, wide=0.92, long=1.07, open_up=0.46,
        open_down=0.40, eye=0.255, part_lips=1.0, lip_full=0.75,
        mouth_wide=0.8, lips="#b9756a", brow_high=0.36, brow_tilt=0.35, lash=0.55, blush="#c9675e",
        gaze=(0, 10), iris_size=0.54, cheeks=0.9,
    ))  # fmt: skip
    w = s.wig("#1d1a19", sheen=0.9)
    w.cap()
    w.crop(190, length=0.42, size=0.05, curl=0.02)
    w.fringe(40, low=0.42, wide=58, size=0.05)
    s.figure()
    s.face(tall=1.95)
    s.detail("pail.jpg", (0, 2.36, 0.9), 1.15, side=-0.2, up=0.42)


def the_harbourmistress_declines(s: Sitting) -> None:
    """Model a woman with a planted umbrella and a flat hat."""
    b = s.bench
    coat, coal = clothes(b, "#6b2430", "#581d28", kind=FELT, rate=60), clothes(b, "#1f1d1e", "#2a2728")
    wear = Outfit(
        coat,
        coal,
        coal,
        s.skin("#5b3a29"),
        brass(b),
        chest=1.22,
        waist=0.46,
        flare=0.98,
        depth=0.07,
        collar="shawl",
        buttons=5,
        belt=coal,
    )
    s.dress(
        wear,
        {1: rod_arm(1, (0.0, 2.02, 0.95), rise=-0.3), -1: rod_arm(-1, (0.0, 2.22, 0.95), rise=-0.3)},
        base="#3b2a22",
        wide=1.25,
    )
    props.umbrella_closed(b, (0, 0.15, 0.95), 2.05)
    s.human(Face(
        skin="#6a4430", blush="#7c2c2c", blush_strength=0.12, lips="#5c2434", brows="#2b2422",
        iris="#2a1a10", white="#e6ddd0", wide=1.06, long=0.98, jaw=1.25, chin=1.35,
        lines=0.45, open_up=0.27, open_down=0.26, lash=0.7, nose_wide=1.3, lip_full=1.15, smile=-0.5,
        brow_tilt=-0.5, brow_thick=0.045, brow_high=0.27, shadow="#3c2230",
    ))  # fmt: skip
    w = s.wig("#77746f", sheen=0.6)
    w.cap(up=0.03)
    w.curls(170, size=0.085, thick=0.030, high=36)
    hats.hat_flat(b, s.head, "#242122")
    s.tall = 6.5
    s.figure()
    s.face(tall=1.75, shift=(0.0, 0.12))


def inspector_of_bells(s: Sitting) -> None:
    """Model a goat that listens to a bell."""
    b = s.bench
    tail, mustard = clothes(b, "#4a4744", "#3b3937", kind=FELT, rate=60), clothes(b, "#b8892b", "#9f7521")
    wear = Outfit(
        tail,
        clothes(b, "#e9dfc9"),
        mustard,
        s.skin("#6f6a66"),
        brass(b),
        open_front=mustard,
        collar="stand",
        flare=0.78,
        depth=0.08,
        hem=0.5,
        trousers=tail,
        band=False,
    )
    s.dress(wear, {1: rod_arm(1, (0.80, 4.28, 0.42), rise=0.5, pole=(1, -1, 0.1)), -1: hang(-1)})
    props.bell(b, s.grips[1]["grip"] + (0.0, -0.38, 0.0), turn(0, 0, -6), 0.70)
    beast = Beast(
        fur="#8a8680", dark="#4a4642", nose_colour="#3a302e", muzzle=(0.62, 0.34, 0.19, 0.24),
        muzzle_wide=1.05, eye=0.20, eye_apart=0.48, eye_yaw=32, iris="#b5772a", pupil="bar",
        pupil_wide=0.42, open_up=0.40, marks=(
            ((0.0, 0.35), (0.16, 0.75), "#e9dfc9", 0.35),
            ((0.0, -0.45), (0.34, 0.22), "#d8cfbc", 0.5),
        ), gaze=(8, -3), brow=0.8,
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(
        b, beast, fur, wide=0.17, tall=0.62, at=(0.70, 0.32, -0.10), tilt=108, yaw=20, point=0.8, cup=1.6
    )
    horn = b.material("#6f6252", "#3f362c", kind=BARK, rate=16, bump=0.35, rough=0.45)
    horns_back(b, horn, long=1.05)
    w = s.wig("#77736c", sheen=0.4)
    w.tuft((0, 0.86, 0.25), (0, 0.7, 0.6), 70, length=0.42, spread=0.12, size=0.022, droop=0.25)
    n = s.marks["nose"]
    w = s.wig("#cfc6b4", sheen=0.4)
    w.tuft(n + (0, -0.25, -0.14), (0, -1, 0.15), 70, length=0.42, spread=0.07, size=0.016, droop=0.0)
    s.tall = 6.7
    s.figure()
    s.face(tall=2.35, shift=(0.05, 0.1))
    s.detail("bell.jpg", s.grips[1]["grip"] + (-0.05, -0.36, 0.0), 1.0, side=-0.25, up=-0.12)


def hare_at_customs(s: Sitting) -> None:
    """Model a hare with a suitcase."""
    b = s.bench
    tweed, cream = (
        clothes(b, "#6f6a52", "#565139", kind=CHECK, width=14),
        clothes(b, "#efe4d0", "#ddd0b8", kind=KNIT, rate=20, bump=0.8),
    )
    wear = Outfit(
        tweed,
        cream,
        cream,
        s.skin("#9c5c38"),
        brass(b),
        hem=0.95,
        flare=0.72,
        depth=0.07,
        trousers=clothes(b, "#4f4a3c"),
        belt=clothes(b, "#5a4632", rate=50),
        collar="shawl",
        buttons=4,
        band=False,
    )
    s.dress(wear, {1: hang(1, out=0.92, y=2.06, curl=1.25), -1: hang(-1, out=0.80)})
    g = s.grips[1]["grip"]
    props.suitcase(b, g + (0.02, -0.34, 0.02), turn(-18, 0, 0), 0.86)
    beast = Beast(
        fur="#a5623a", dark="#3a2014", nose_colour="#b5756d", muzzle=(0.30, 0.40, 0.20, 0.12), eye=0.26,
        eye_apart=0.47, eye_yaw=34, eye_high=0.10, iris="#4a2814", pupil_wide=0.62, iris_size=0.88,
        open_up=0.52, open_down=0.46, nose=(0.085, 0.055, 0.06), skull=(0.72, 0.76, 0.82),
        marks=(
            ((0.47, 0.10), (0.36, 0.34), "#ecd9bd", 0.5),
            ((0.0, -0.42), (0.36, 0.26), "#eadbc4", 0.5),
            ((0.0, 0.75), (0.3, 0.5), "#83482a", 0.7),
        ),
    )  # fmt: skip
    s.beast(beast)
    fur = int(s.marks["skin"][0])
    ear_pair(
        b,
        beast,
        fur,
        wide=0.20,
        tall=1.65,
        at=(0.26, 0.78, -0.12),
        tilt=9,
        yaw=12,
        point=0.55,
        back=-6,
        cup=1.5,
        tip="#2e1a12",
    )
    props_whiskers(s)
    w = s.wig("#b87a50", sheen=0.3)
    for side in (-1, 1):
        w.tuft((side * 0.62, -0.22, 0.20), (side * 0.8, -0.4, 0.3), 46, length=0.30, spread=0.12, size=0.018)
    w.tuft((0, 0.80, 0.40), (0, 0.6, 0.7), 36, length=0.24, spread=0.10, size=0.018)
    s.tall = 7.3
    s.figure()
    s.face(tall=2.5, shift=(0, 0.28))
    s.detail("case.jpg", g + (0.08, -0.28, 0.05), 1.15, side=-0.1)


def props_whiskers(s: Sitting, *, wide: float = 0.14, long: float = 0.62) -> None:
    """Add whiskers at the muzzle."""
    s.bench.frame = s.head
    whiskers(s.bench, s.marks["nose"] + (0, 0.02, 0.10), s.seed, wide=wide, long=long)


def pilot_of_paper_boats(s: Sitting) -> None:
    """Model a young woman in oilskin with a paper boat."""
    b = s.bench
    oil = b.material("#d9a521", "#c8941a", kind=FELT, rate=10, bump=0.05, rough=0.32, mirror=0.045)
    grey = clothes(b, "#59636b", "#4b545c")
    wear = Outfit(
        oil,
        grey,
        oil,
        s.skin("#c49a74"),
        brass(b),
        hem=1.25,
        flare=0.74,
        folds=8,
        depth=0.06,
        trousers=grey,
        boots=clothes(b, "#2b2f33", kind=FELT, rough=0.4),
        collar="round",
        buttons=5,
        band=False,
        sleeve_wide=1.1,
    )
    s.dress(
        wear,
        {
            1: offer_arm(1, (0.20, 2.55, 0.86), inward=0.35, curl=0.25),
            -1: offer_arm(-1, (0.20, 2.55, 0.86), inward=0.35, curl=0.25),
        },
    )
    props.paper_boat(b, (0, 2.73, 1.12), turn(18, 0, 0), 0.78)
    s.human(Face(
        skin="#cda07a", blush="#cc5a48", blush_strength=0.15, lips="#b2574c", brows="#1d1613",
        iris="#76838a", wide=1.08, long=0.95, eye_apart=0.41, cheeks=1.15, smile=0.15, gaze=(0, 6),
        open_up=0.34, lip_full=1.05, mouth_wide=0.88, brow_tilt=-0.1,
    ))  # fmt: skip
    w = s.wig("#191615", sheen=1.2)
    w.cap()
    w.swept((0.15, -0.15, -1.0), 150, bulge=1.06)
    w.plait([(0.25, -0.2, -0.98), (0.95, -0.45, -0.5), (0.62, -1.75, 0.42)], 0.145, 15)
    w.stray(26)
    s.figure()
    s.face(tall=1.75, side=0.6, shift=(0.05, -0.05))
    s.detail("boat.jpg", (0, 2.74, 1.1), 1.0, side=-0.2, up=0.3)


def registrar_of_fogs(s: Sitting) -> None:
    """Model a very old man in a frayed robe, with a bottle."""
    b = s.bench
    fog, lead = (
        clothes(b, "#c9ccc8", "#b4b9b6", sheen=0.5, through=0.15),
        clothes(b, "#9aa0a5", "#888e94", sheen=0.5),
    )
    wear = Outfit(
        fog,
        lead,
        fog,
        s.skin("#d2cec6"),
        lead,
        flare=0.90,
        folds=13,
        depth=0.08,
        collar="shawl",
        buttons=0,
        sleeve_wide=1.25,
        band=False,
    )
    s.dress(
        wear, {1: hug_arm(1, (0.26, 2.72, 0.52), curl=0.8), -1: hug_arm(-1, (0.24, 3.00, 0.56), curl=0.9)}
    )
    props.bottle(b, (0.0, 2.98, 0.66), turn(0, -4, 5), 0.95)
    b.frame = Frame()
    for n, (y, colour) in enumerate(((0.95, fog), (0.60, lead))):
        b.part()
        b.skirt(
            (0, 2.60, 0),
            0.37,
            0.90 - 0.13 * (1 - n),
            2.60 - y,
            colour,
            folds=11 + 2 * n,
            depth=0.08,
            flat=0.87,
            phase=s.seed + n,
            thick=0.016,
            uneven=2.2,
        )
    fringe_threads(s, 0.27, 0.93, 260)
    s.human(Face(
        skin="#d6d2ca", blush="#8f7a90", blush_strength=0.10, lips="#a99699", brows="#f0eee9",
        lashes="#8f8a86", iris="#a9bfca", wide=0.90, long=1.12, hollow=0.65, lines=1.0, open_up=0.26,
        open_down=0.28, lash=0.35, nose=1.2, nose_hook=0.4, lip_full=0.6, cheeks=0.9, shadow="#8c7a94",
        shadow_strength=0.16, brow_tilt=0.3, brow_many=120, brow_thick=0.05, eye=0.235,
    ))  # fmt: skip
    w = s.wig("#e6e4df", sheen=0.6)
    w.cap(back=0.16, up=0.04)
    w.loose(130, length=2.3, wave=0.035, size=0.05, front=52, part=0.0)
    w.stray(30)
    s.figure()
    s.face(tall=2.0)
    s.detail("hem.jpg", (0.1, 0.62, 0.8), 1.35, side=-0.25, up=0.15)


def fringe_threads(s: Sitting, high: float, wide: float, many: int) -> None:
    """Fray a hem into single threads."""
    b = s.bench
    b.frame = Frame()
    yarn = props.thread(b, "#c2c6c4")
    chance = np.random.default_rng(s.seed)
    for _ in range(many):
        a = chance.uniform(0, 6.283)
        r = wide * chance.uniform(0.93, 1.06)
        p = np.array([r * np.cos(a), high + chance.uniform(0, 0.05), 0.86 * r * np.sin(a)])
        q = p + (0.05 * np.cos(a), -chance.uniform(0.04, 0.13), 0.05 * np.sin(a)) + chance.normal(0, 0.018, 3)
        b.part()
        b.tube([p, (p + q) / 2 + chance.normal(0, 0.014, 3), q], [0.006, 0.005, 0.003], yarn)
