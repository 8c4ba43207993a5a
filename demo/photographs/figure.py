"""Body, hands and clothes of a standing figure, about five and a half units tall with its head."""

import math
from dataclasses import dataclass, field

import numpy as np

from pattern import BAND, BODY, LINEN, METAL, WOOD
from sculpt import Bench, Frame, Point, along, linear
from solids import Floats

NECK = 3.72
SHOULDER = (0.40, 3.36, -0.02)
WAIST = 2.62
HEAD = (0.0, 4.40, 0.06)
HEAD_SIZE = 0.64


@dataclass(frozen=True)
class Arm:
    """Where a hand is and what it does; lengths in scene units."""

    wrist: tuple[float, float, float]
    fingers: tuple[float, float, float]  # the way the fingers point
    palm: tuple[float, float, float]  # the way the palm faces
    curl: float = 0.5  # 0 flat, 1.5 a fist
    pole: tuple[float, float, float] = (1.0, -0.6, -0.7)  # where the elbow goes, x outward


@dataclass(frozen=True)
class Outfit:
    """Which clothes, of which stuff (material numbers)."""

    cloth: int
    trim: int
    under: int
    skin: int
    button: int
    sleeve: int | None = None
    hem: float = 0.22  # height of the lower edge
    flare: float = 0.95  # radius there
    folds: int = 9
    depth: float = 0.085
    waist: float = 0.34
    chest: float = 1.0
    collar: str = "round"  # round, stand, shawl, ruff, none
    buttons: int = 6
    belt: int | None = None
    band: bool = True
    cuff: bool = True
    sleeve_wide: float = 1.0
    trousers: int | None = None
    boots: int | None = None
    apron: int | None = None
    open_front: int | None = None  # a second cloth seen between the coat's edges
    phase: float = 0.0
    arms: dict[int, Arm] = field(default_factory=dict)


def model_base(bench: Bench, wood: int, *, wide: float = 1.15, plate: int | None = None) -> None:
    """Turn the round base the figure stands on."""
    bench.frame = Frame()
    bench.part()
    bench.lathe(
        (0, 0, 0),
        [
            (0, 0),
            (wide, 0),
            (wide, 0.05),
            (wide - 0.05, 0.08),
            (wide - 0.05, 0.12),
            (wide - 0.09, 0.15),
            (0, 0.15),
        ],
        wood,
        round_by=0.012,
    )
    if plate is not None:
        bench.part()
        bench.box((0, 0.075, wide - 0.005), (0.15, 0.028, 0.012), plate, edge=0.006)


def elbow_of(
    shoulder: Floats, wrist: Floats, pole: Floats, upper: float = 0.74, lower: float = 0.70
) -> tuple[Floats, Floats]:
    """Find the elbow, and the wrist as far as the arm reaches."""
    reach = wrist - shoulder
    far = float(np.linalg.norm(reach))
    way = reach / far
    far = min(far, (upper + lower) * 0.985)
    a = (upper**2 - lower**2 + far**2) / (2 * far)
    side = pole - way * float(pole @ way)
    side /= np.linalg.norm(side)
    return shoulder + way * a + side * math.sqrt(max(0.0, upper**2 - a**2)), shoulder + way * far


def model_arm(bench: Bench, side: int, arm: Arm, wear: Outfit) -> dict[str, Floats]:
    """Model an arm in its sleeve and the hand."""
    bench.frame = Frame()
    shoulder = np.array(SHOULDER) * (side * wear.chest, 1, 1)
    elbow, wrist = elbow_of(shoulder, np.array(arm.wrist), np.array(arm.pole) * (side, 1, 1))
    cloth = wear.cloth if wear.sleeve is None else wear.sleeve
    w = wear.sleeve_wide
    fore = (wrist - elbow) / np.linalg.norm(wrist - elbow)
    end = wrist - fore * 0.10
    bench.part()
    bench.cone(shoulder, elbow, 0.20 * w, 0.155 * w, cloth)
    bench.wrinkle(0.016, 7.5, 1.3 + side)
    bench.cone(elbow, end, 0.155 * w, 0.15 * w + 0.03 * (w - 1), cloth, k=0.09)
    bench.wrinkle(0.018, 8.5, 2.1 * side)
    # The sleeve's mouth is hollow.
    bench.ball(
        end + fore * (0.14 * w + 0.02), (0.115 * w, 0.11, 0.115 * w), cloth, k=0.03, op=1, axes=along(fore)
    )
    if wear.cuff:
        bench.part()
        bench.ring(end + fore * 0.075, 0.135 * w, 0.034, wear.trim, axes=along(fore))
        bench.wrinkle(0.006, 16, side)
    bench.part()
    bench.cone(end - fore * 0.1, wrist, 0.075, 0.062, wear.skin)
    return model_hand(
        bench, side, wrist, np.array(arm.fingers, float), np.array(arm.palm, float), arm.curl, wear.skin
    )


def model_hand(
    bench: Bench,
    side: int,
    wrist: Floats,
    fingers: Floats,
    palm: Floats,
    curl: float,
    skin: int,
    size: float = 1.0,
) -> dict[str, Floats]:
    """Model a hand with four jointed fingers and a thumb, joined to the part begun last."""
    d = fingers / np.linalg.norm(fingers)
    n = palm - d * float(palm @ d)
    n /= np.linalg.norm(n)
    s = np.cross(n, d) * side  # towards the thumb
    axes = np.stack([s, d, n], axis=1)
    if np.linalg.det(axes) < 0:
        axes = np.stack([-s, d, n], axis=1)
    z = size
    middle = wrist + d * 0.135 * z
    bench.ball(middle, (0.098 * z, 0.118 * z, 0.052 * z), skin, k=0.05, axes=axes)
    bench.ball(
        middle + s * 0.055 * z - d * 0.03 * z + n * 0.02 * z,
        (0.05 * z, 0.07 * z, 0.045 * z),
        skin,
        k=0.04,
        axes=axes,
    )
    for i, (off, long, thin) in enumerate(
        ((0.070, 0.92, 1.0), (0.024, 1.06, 1.03), (-0.023, 1.0, 1.0), (-0.066, 0.80, 0.88))
    ):
        root = middle + d * (0.10 - 0.012 * (i in (0, 3))) * z + s * off * z
        bend = curl * (0.75 + 0.10 * i)
        spread = s * off * 1.5
        p = root
        for joint, (length, r) in enumerate(((0.105, 0.031), (0.080, 0.0275), (0.062, 0.024))):
            a = bend * (0.55 + 0.75 * joint)
            way = d * math.cos(a) + n * math.sin(a) + spread
            way /= np.linalg.norm(way)
            q = p + way * length * long * z
            bench.cone(p, q, r * thin * z, (r - 0.0035) * thin * z, skin, k=0.016 if joint else 0.026)
            p = q
        bench.blush(p, 0.06 * z, 0.5)
        bench.blush(root - n * 0.03, 0.05 * z, 0.35)
    a = middle + s * 0.085 * z - d * 0.045 * z + n * 0.015 * z
    b = a + (s * 0.62 + d * 0.62 + n * (0.25 + 0.5 * min(curl, 1))) * 0.10 * z
    c = b + (s * (0.25 - 0.5 * min(curl, 1)) + d * 0.75 + n * (0.2 + 0.4 * min(curl, 1))) * 0.085 * z
    bench.cone(a, b, 0.040 * z, 0.032 * z, skin, k=0.03)
    bench.cone(b, c, 0.032 * z, 0.026 * z, skin, k=0.016)
    bench.blush(c, 0.05 * z, 0.5)
    return {
        "hand": middle + d * 0.1 * z,
        "palm": middle + n * 0.055 * z,
        "grip": middle + d * 0.10 * z + n * (0.085 * z),
        "wrist": wrist,
    }


def model_body(bench: Bench, wear: Outfit) -> None:
    """Model torso and clothes."""
    bench.frame = Frame()
    c = wear.chest
    low = wear.hem
    bench.part()
    bench.ball((0, 3.12, 0), (0.42 * c, 0.44, 0.30 * c), wear.cloth)
    bench.cone((-0.30 * c, 3.36, -0.03), (0.30 * c, 3.36, -0.03), 0.17, 0.17, wear.cloth, k=0.16)
    bench.cone((0, 2.95, 0), (0, WAIST, 0), 0.31 * c, wear.waist * 0.93, wear.cloth, k=0.15)
    bench.wrinkle(0.012, 6.5, 0.7)
    bench.skirt(
        (0, WAIST + 0.06, 0), wear.waist, wear.flare, WAIST + 0.06 - low, wear.cloth, folds=wear.folds,
        depth=wear.depth, flare=1.0,
        flat=0.86, phase=wear.phase, thick=0.024, k=0.07,
    )  # fmt: skip
    if wear.band:
        bench.part()
        bench.skirt(
            (0, low + 0.17, 0),
            *_skirt_ring(wear, low + 0.17, low + 0.03),
            0.15,
            wear.trim,
            folds=wear.folds,
            depth=wear.depth,
            flat=0.86,
            phase=wear.phase,
            thick=0.03,
        )
    _model_collar(bench, wear)
    _model_closing(bench, wear)
    if wear.belt is not None:
        bench.part()
        bench.ring((0, WAIST + 0.03, 0), wear.waist + 0.02, 0.052, wear.belt, flat=0.9)
        bench.wrinkle(0.006, 14)
    if wear.trousers is not None:
        _model_legs(bench, wear)
    if wear.apron is not None:
        _model_apron(bench, wear)


def skirt_radius(wear: Outfit, y: float) -> float:
    """Give the mean radius of the skirt at a height."""
    s = (WAIST + 0.06 - y) / (WAIST + 0.06 - wear.hem)
    return wear.waist + (wear.flare - wear.waist) * min(1.0, max(0.0, s))


def _skirt_ring(wear: Outfit, high: float, low: float) -> tuple[float, float]:
    return skirt_radius(wear, high) + 0.012, skirt_radius(wear, low) + 0.012


def _model_collar(bench: Bench, wear: Outfit) -> None:
    if wear.collar == "none":
        return
    bench.part()
    if wear.collar == "stand":
        bench.skirt(
            (0, NECK + 0.08, 0.0), 0.245, 0.30, 0.26, wear.trim, folds=3, depth=0.006, flat=0.95, thick=0.03
        )
    elif wear.collar == "ruff":
        for n in range(2):
            bench.skirt(
                (0, NECK + 0.02 - 0.10 * n, 0.02),
                0.22,
                0.60 + 0.06 * n,
                0.20,
                wear.trim,
                folds=19,
                depth=0.05,
                flat=0.92,
                thick=0.014,
                phase=n * 2.0,
            )
            bench.part()
    elif wear.collar == "shawl":
        bench.ring((0, NECK - 0.14, 0.03), 0.27, 0.115, wear.trim, flat=0.9)
        bench.wrinkle(0.022, 9, 0.4)
        bench.cone((0.05, NECK - 0.25, 0.30), (0.16, NECK - 0.80, 0.36), 0.10, 0.12, wear.trim, k=0.08)
        bench.wrinkle(0.02, 9, 1.4)
    else:
        bench.skirt(
            (0, NECK + 0.0, 0.02),
            0.20,
            0.47,
            0.20,
            wear.trim,
            folds=5,
            depth=0.012,
            flat=0.90,
            thick=0.022,
            phase=1.0,
        )


def _front(wear: Outfit, y: float) -> float:
    if y < WAIST:
        return skirt_radius(wear, y) * 0.86
    t = (y - WAIST) / (3.45 - WAIST)
    return (wear.waist * 0.86) * (1 - t) + 0.25 * wear.chest * t + 0.07 * math.sin(math.pi * min(1.0, t))


def _model_closing(bench: Bench, wear: Outfit) -> None:
    """Sew the front edge, its stitches and the buttons."""
    if wear.open_front is not None:
        bench.part()
        bench.ball((0, 3.08, 0.13), (0.155, 0.42, 0.20 * wear.chest), wear.open_front)
        bench.wrinkle(0.006, 12)
    for n in range(wear.buttons):
        y = 3.40 - 0.155 * n
        z = _front(wear, y)
        bench.part()
        bench.lathe(
            (0.0 if wear.open_front is None else 0.04, y, z + 0.022),
            [(0, -0.012), (0.034, -0.012), (0.044, 0.004), (0.036, 0.016), (0.026, 0.010), (0, 0.008)],
            wear.button,
            round_by=0.004,
            axes=along((0, 0.1, 1)),
        )


def _model_legs(bench: Bench, wear: Outfit) -> None:
    for side in (-1, 1):
        bench.part()
        top, knee, foot = (side * 0.20, 2.3, 0), (side * 0.235, 1.35, 0.05), (side * 0.25, 0.42, 0.0)
        bench.cone(top, knee, 0.25, 0.185, wear.trousers or 0)
        bench.cone(knee, foot, 0.185, 0.175, wear.trousers or 0, k=0.1)
        bench.wrinkle(0.02, 6.5, side * 1.7)
        bench.part()
        boot = wear.boots if wear.boots is not None else wear.trim
        bench.cone((side * 0.25, 0.58, 0.0), (side * 0.25, 0.26, 0.0), 0.13, 0.115, boot)
        bench.ball((side * 0.27, 0.255, 0.14), (0.125, 0.10, 0.24), boot, k=0.09)
        bench.box((side * 0.27, 0.165, 0.10), (0.12, 0.022, 0.26), wear.button, edge=0.02)


def _model_apron(bench: Bench, wear: Outfit) -> None:
    bench.part()
    low = wear.hem + 0.45
    bench.skirt(
        (0, WAIST + 0.02, 0.05), wear.waist + 0.05, skirt_radius(wear, low) + 0.085, WAIST + 0.02 - low,
        wear.apron or 0, folds=wear.folds, depth=wear.depth, flat=0.87, phase=wear.phase, thick=0.014,
    )  # fmt: skip
    half = skirt_radius(wear, low) * 0.46
    bench.box((0, 1.6, 1.0), (half, 1.7, 1.0), wear.apron or 0, edge=0.02, op=2)
    bench.part()
    bench.ring((0, WAIST + 0.02, 0), wear.waist + 0.06, 0.03, wear.apron or 0, flat=0.9)


def clothes(bench: Bench, colour: str, second: str | None = None, kind: int = LINEN, **more: float) -> int:
    """Mix a cloth; threads fine enough to belong to a small figure."""
    numbers = {"rate": 62.0, "bump": 0.34, "rough": 0.85, "mirror": 0.02, "sheen": 0.25, "width": 11.0} | more
    return bench.material(colour, second, kind=kind, **numbers)


def brass(bench: Bench, colour: str = "#b08a45", *, rough: float = 0.3) -> int:
    """Mix a metal with some patina."""
    return bench.material(
        colour, linear(colour) * 0.5, kind=METAL, rate=8, bump=0.05, rough=rough, mirror=0.5, metallic=1.0
    )


def timber(bench: Bench, colour: str = "#6b452c", second: str = "#3b2416") -> int:
    """Mix a waxed wood."""
    return bench.material(colour, second, kind=WOOD, rate=11, bump=0.05, rough=0.42, mirror=0.04)


def braid(bench: Bench, colour: str, second: str) -> int:
    """Mix an embroidered band."""
    return bench.material(colour, second, kind=BAND, rate=14, bump=0.25, rough=0.8, mirror=0.02, sheen=0.1)


def bare_skin(bench: Bench, colour: str, *, painted: bool = True) -> int:
    """Mix skin for hands and necks."""
    return bench.material(
        colour, kind=BODY, rate=42, bump=0.05, rough=0.55, mirror=0.035, warm=1.0 if painted else 0.35
    )


def reach(
    side: int, wrist: Point, fingers: Point, palm: Point, curl: float = 0.5, pole: Point = (1.0, -0.6, -0.7)
) -> Arm:
    """Set an arm with x counted outward from the body's middle."""
    flip = np.array([side, 1, 1])
    w, f, p = (tuple(float(v) for v in np.asarray(q, float) * flip) for q in (wrist, fingers, palm))
    return Arm(w, f, p, curl, tuple(float(v) for v in pole))  # type: ignore[arg-type]
