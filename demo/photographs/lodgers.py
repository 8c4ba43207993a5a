"""The figures of the series Lodgers, and those that belong to none."""

import math

import numpy as np

import hats
import props
import trinkets
from beasts import Beast
from face import Face
from figure import Arm, Outfit, brass, clothes, reach
from horns import antennae, ear_pair, whiskers
from paint import Canvas
from pattern import BRUSHED, DOTS, FELT, FLORAL, KNIT
from sculpt import Frame, turn
from stage import Sitting, hang, hug_arm, offer_arm, rod_arm
from surface import SHEEN


def snails_landlady(s: Sitting) -> None:
    """Model a wide woman with a snail's shell on her arm."""
    b = s.bench
    moss, cream = clothes(b, "#6b7443", "#858c5c", kind=FLORAL, width=16), clothes(b, "#efe6d3")
    wear = Outfit(
        moss,
        cream,
        moss,
        s.skin("#dcae9d"),
        brass(b),
        chest=1.15,
        waist=0.50,
        flare=1.05,
        folds=10,
        depth=0.08,
        apron=cream,
        collar="round",
        buttons=3,
        hem=0.30,
    )
    s.dress(wear, {1: hug_arm(1, (0.34, 2.50, 0.86), curl=0.9), -1: hang(-1, out=0.98)}, wide=1.25)
    trinkets.shell(b, (0.62, 2.98, 0.72), turn(-12, 0, 6), 0.74)
    s.human(Face(
        skin="#e0b3a2", blush="#c4574f", blush_strength=0.15, lips="#a9544d", brows="#a08a62",
        iris="#5f6a3a", wide=1.14, long=0.94, jaw=1.1, cheeks=1.35, freckles=230, freckle_colour="#a5684a",
        lines=0.55, open_up=0.27,
        open_down=0.29, brow_tilt=-0.35, smile=-0.2, chin=1.1, nose_wide=1.2, lash=0.6, gaze=(0, 8),
    ))  # fmt: skip
    w = s.wig("#c2ac7c", sheen=0.8)
    w.cap()
    w.swept((0.92, -0.02, 0.05), 170, bulge=1.06, sides=(0, 180))
    w.swept((-0.92, -0.02, 0.05), 170, bulge=1.06, sides=(-180, 0))
    for side in (-1, 1):
        for ring in range(5):
            turns = np.linspace(0, 6.6, 9)
            r = 0.29 - 0.055 * ring
            points = [
                np.array([side * (0.98 + 0.03 * ring), -0.04 + r * math.sin(t), 0.06 + r * math.cos(t)])
                for t in turns
            ]
            w.lock(points, [0.05, *([0.06] * 7), 0.04])
    w.stray(26)
    s.tall = 6.3
    s.figure()
    s.face(tall=1.75, shift=(0, -0.02))
    s.detail("shell.jpg", (0.60, 2.98, 0.80), 1.3, side=-0.1)


def lodger_in_a_teacup(s: Sitting) -> None:
    """Model a mouse up to its waist in a teacup."""
    b = s.bench
    cobalt, white = clothes(b, "#2e4a86", "#273f73", kind=FELT, rate=50), clothes(b, "#f1efe8")
    wear = Outfit(
        cobalt,
        white,
        cobalt,
        s.skin("#d9b0a8"),
        brass(b),
        hem=1.9,
        flare=0.52,
        folds=7,
        depth=0.04,
        collar="shawl",
        buttons=0,
        band=False,
        belt=white,
    )
    s.dress(
        wear,
        {1: hug_arm(1, (0.62, 2.52, 0.74), curl=0.8), -1: hang(-1, out=0.92, y=2.50, z=0.45, curl=0.8)},
        base="#5c4331",
        wide=1.3,
    )
    trinkets.teacup(b, (0, 1.55, 0), turn(-25, 0, 0), 2.9, rim="#2e4a86", tea=None, flowers=True)
    china = props.glaze(b, "#f3f0e8")
    props.put(b, (0, 0.30, 0), None, 2.9)
    b.lathe(
        (0, 0, 0),
        [(0, 0), (0.24, 0), (0.52, 0.08), (0.53, 0.10), (0.24, 0.035), (0, 0.03)],
        china,
        round_by=0.008,
    )
    beast = mouse("#8f8a86", "#d9a9a3", "#0c0a0b")
    s.beast(beast)
    mouse_ears(s, beast, torn=0)
    s.tall = 5.9
    s.figure(centre=2.72)
    s.face(tall=2.3, shift=(0, 0.12))


def mouse(fur: str, pink: str, iris: str) -> Beast:
    """Describe a mouse's head."""
    return Beast(
        fur=fur, dark="#3a3331", pink=pink, nose_colour=pink, muzzle=(0.52, 0.36, 0.115, 0.16),
        muzzle_wide=0.9, nose=(0.085, 0.070, 0.065), eye=0.19, eye_apart=0.44, eye_yaw=34, eye_high=0.06,
        iris=iris, inner=iris, pupil_wide=0.5,
        iris_size=0.93, white="#0c0a0a", open_up=0.58, open_down=0.54, skull=(0.76, 0.72, 0.80), cheek=0.42,
        lash=0.35,
        marks=(
            ((0.0, -0.55), (0.40, 0.28), "#cfc8c0" if fur != "#f2eee6" else "#f6f1ea", 0.6),
            ((0.46, 0.06), (0.26, 0.24), "#6f6a67" if fur != "#f2eee6" else "#e6d3cc", 0.9),
        ),
    )  # fmt: skip


def mouse_ears(s: Sitting, beast: Beast, *, torn: int, tall: float = 0.78) -> None:
    """Set a mouse's ears, whiskers and cheek hair."""
    fur = int(s.marks["skin"][0])
    ear_pair(
        s.bench,
        beast,
        fur,
        wide=0.42,
        tall=tall,
        at=(0.52, 0.55, -0.15),
        tilt=38,
        yaw=14,
        point=-0.35,
        cup=0.9,
        torn=torn,
        low=0.0,
    )
    s.bench.frame = s.head
    whiskers(s.bench, s.marks["nose"] + (0, 0.0, 0.04), s.seed, wide=0.10, long=0.70)
    w = s.wig(beast.fur, sheen=0.3)
    for side in (-1, 1):
        w.tuft((side * 0.64, -0.24, 0.16), (side * 0.8, -0.5, 0.2), 46, length=0.24, spread=0.12, size=0.016)
    w.tuft((0, 0.84, 0.25), (0, 0.6, 0.7), 30, length=0.20, spread=0.10, size=0.016)


def egg_sitter(s: Sitting) -> None:
    """Model a man with his arms round an egg."""
    b = s.bench
    brown, straw = (
        clothes(b, "#6d4c36", "#5c3f2d", kind=FELT, rate=50),
        clothes(b, "#d2b36a", kind=KNIT, rate=18, bump=0.7),
    )
    wear = Outfit(
        brown,
        straw,
        brown,
        s.skin("#d0a27e"),
        brass(b, "#7d5a38"),
        chest=1.1,
        waist=0.44,
        hem=1.15,
        flare=0.78,
        depth=0.05,
        trousers=clothes(b, "#4d4a3f"),
        collar="round",
        buttons=4,
        band=False,
    )
    s.dress(wear, {1: egg_arm(1, 2.46), -1: egg_arm(-1, 2.34)}, wide=1.2)
    trinkets.egg(b, (0, 2.20, 0.74), 1.5)
    s.human(Face(
        skin="#d5a883", blush="#b5463a", blush_strength=0.15, lips="#a3614f", brows="#3f2a1c",
        iris="#5f3d22", wide=1.06, long=0.98, jaw=1.3, chin=1.25, nose=1.35, nose_wide=1.35,
        brow_thick=0.055, brow_many=130, brow_tilt=0.85,
        brow_high=0.27, lash=0.4, open_up=0.36, lines=0.3, lip_full=0.8, smile=-0.2, gaze=(0, 14),
        mouth_wide=0.9,
    ))  # fmt: skip
    w = s.wig("#4a3220", sheen=0.7)
    w.cap()
    w.fringe(44, low=0.50, wide=70, size=0.05)
    w.crop(150, length=0.34, low=-24)
    hats.cap_knitted(b, s.head, "#d2b36a")
    s.tall = 6.3
    s.figure()
    s.face("face.jpg", tall=2.1)
    s.detail("hand.jpg", (0.36, 2.44, 1.15), 1.05, side=0.25)


def egg_arm(side: int, high: float) -> Arm:
    """Lay a spread hand on the egg."""
    return reach(side, (0.58, high, 0.98), (-0.72, 0.0, 0.62), (-0.78, -0.12, -0.6), 0.32, (1, -0.4, -0.2))


def beetle_with_good_references(s: Sitting) -> None:
    """Model a beetle in a frock coat that offers a letter."""
    b = s.bench
    plum, white = clothes(b, "#5a2d42", "#4b2436", kind=FELT, rate=55), clothes(b, "#eeebe2")
    shell = b.material(
        "#1c3a31", "#31402a", kind=BRUSHED, rate=5, bump=0.02, rough=0.22, mirror=0.10, sheen=0.3
    )
    wear = Outfit(
        plum,
        white,
        white,
        shell,
        brass(b, "#a4632f"),
        open_front=white,
        hem=0.55,
        flare=0.80,
        depth=0.06,
        trousers=clothes(b, "#2c2628"),
        collar="stand",
        buttons=4,
        band=False,
    )
    s.dress(
        wear, {1: offer_arm(1, (0.46, 2.74, 0.84), curl=0.9), -1: hug_arm(-1, (0.20, 2.78, 0.52), curl=0.5)}
    )
    g = s.grips[1]["grip"]
    trinkets.scroll(b, g + (-0.06, 0.02, 0.04), turn(0, 12, 66), 0.92)
    beast = Beast(
        fur="#1f3b34", dark="#0d1512", muzzle=(0.20, 0.46, 0.30, 0.20), skull=(0.88, 0.84, 0.84),
        nose_colour="#d8cdb4", nose=(0.15, 0.06, 0.06), eye=0.26, eye_apart=0.52, eye_yaw=40, eye_high=0.10,
        iris="#a4632f", inner="#d08a4a",
        pupil_wide=0.16, iris_size=0.92, white="#2c1a10", open_up=0.56, open_down=0.52, lash=0, strokes=0,
        gloss=0.24, mirror=0.10, mouth=True,
    )  # fmt: skip
    s.beast(beast)
    skin = b.materials[int(s.marks["skin"][0])]
    skin[SHEEN] = 0.25
    oil_sheen(s)
    copper = b.material("#a4632f", "#6d3f1c", kind=BRUSHED, rate=10, rough=0.3, mirror=0.4, metallic=0.9)
    b.frame = s.head
    antennae(b, shell, feathered=False, club=copper)
    b.part()
    b.tube(
        [(0, 1.02, -0.10), (0, 0.92, 0.45), (0, 0.50, 0.74)],
        [0.012, 0.014, 0.008],
        props.enamel(b, "#10201b"),
    )
    s.tall = 6.5
    s.figure()
    s.face(tall=2.2, shift=(0, 0.05))
    s.detail("coat.jpg", (0.10, 2.86, 0.6), 1.35, side=-0.1)


def oil_sheen(s: Sitting) -> None:
    """Paint oil colours in thin glazes over the dark head."""
    canvas = Canvas("#000000", s.seed)
    canvas.pixels = s.bench.faces[-1]
    for middle, radii, colour in (
        ((-0.4, 0.5), (0.4, 0.25), "#3f6f86"),
        ((0.35, 0.6), (0.35, 0.2), "#6d4a78"),
        ((0.0, 0.15), (0.2, 0.5), "#7d6a2c"),
        ((0.5, -0.3), (0.3, 0.3), "#2f6f5a"),
        ((-0.5, -0.3), (0.3, 0.3), "#5a3f6d"),
    ):
        canvas.glow(middle, radii, colour, 0.32)
        canvas.wash(middle, radii, colour, 0.12, strokes=50, slant=0.9, length=0.22)


def duke_of_thimbles(s: Sitting) -> None:
    """Model a white mouse crowned with a thimble."""
    b = s.bench
    crimson, ermine = (
        clothes(b, "#8e2230", "#7a1a28", kind=FELT, rate=40, sheen=0.9),
        clothes(b, "#f2eee6", "#2a2424", kind=DOTS, rate=30, width=9),
    )
    wear = Outfit(
        crimson,
        ermine,
        crimson,
        s.skin("#dba9a0"),
        brass(b, "#b5b9bd"),
        flare=1.12,
        folds=9,
        depth=0.10,
        collar="shawl",
        buttons=0,
        sleeve_wide=1.2,
    )
    s.dress(wear, {-1: reach_up(), 1: hang(1, out=0.92)}, base="#4f3324", wide=1.4)
    beast = mouse("#f2eee6", "#dba9a0", "#7a1420")
    s.beast(beast)
    mouse_ears(s, beast, torn=1, tall=0.80)
    b.frame = s.head
    axes = turn(0, -6, -14)
    trinkets.thimble(b, s.head.point((0.10, 0.86, -0.02)), s.head.axes @ axes, 0.52)
    b.frame = Frame()
    b.part()
    pin = brass(b, "#d4d7da", rough=0.15)
    b.cone((-0.42, 0.175, 1.16), (0.02, 0.175, 1.24), 0.010, 0.004, pin)
    b.ball((-0.43, 0.185, 1.158), 0.028, pin)
    s.tall = 6.4
    s.figure()
    s.face(tall=2.3, shift=(0, 0.16))
    s.detail("hem.jpg", (-0.1, 0.42, 1.05), 1.25, side=-0.15, up=0.3)


def reach_up() -> Arm:
    """Raise a small hand."""
    return reach(-1, (0.72, 3.20, 0.62), (0.10, 1, 0.15), (0, -0.1, 1), 0.25, (0.8, -1, -0.2))


def weather_widow(s: Sitting) -> None:
    """Model a woman under an umbrella that rains inside."""
    b = s.bench
    slate, rain = clothes(b, "#55506b", "#48445c"), clothes(b, "#9aa7b3")
    wear = Outfit(
        slate,
        slate,
        slate,
        s.skin("#c29170"),
        brass(b, "#8d8d8b"),
        flare=1.12,
        folds=12,
        depth=0.10,
        collar="stand",
        buttons=7,
        belt=rain,
    )
    s.dress(wear, {1: rod_arm(1, (0.46, 3.02, 0.62), rise=0.1, pole=(1, -1, -0.1)), -1: hang(-1)})
    props.umbrella_open(b, (0.38, 5.75, 0.34), turn(0, -5, -2), "#6d7888", 1.45)
    s.human(Face(
        skin="#c89877", blush="#a8484a", lips="#97393a", brows="#1f1a1a", iris="#4a5058", wide=0.90,
        long=1.10, hollow=0.35, shadow="#5a4460", shadow_strength=0.22, lines=0.4, open_up=0.27, smile=-0.25,
        brow_tilt=0.15,
        lip_full=0.95, nose=1.1,
    ))  # fmt: skip
    w = s.wig("#191618", sheen=1.2)
    w.cap()
    w.swept((0, 1.02, -0.35), 140)
    w.knot((0, 1.05, -0.38), 0.33)
    w.stray(24)
    s.tall = 7.6
    s.figure()
    s.face(tall=2.1, shift=(0, 0.08))
