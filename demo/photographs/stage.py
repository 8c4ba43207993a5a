"""A sitting: one modelled doll, its backdrop, and the shots to take of it."""

from dataclasses import dataclass, field, replace

import numpy as np

from beasts import Beast, model_beast
from face import Face
from figure import (
    HEAD,
    HEAD_SIZE,
    Arm,
    Outfit,
    bare_skin,
    brass,
    model_arm,
    model_base,
    model_body,
    reach,
    timber,
)
from hair import Wig, hair_material
from head import model_head
from pattern import WOOD
from room import sweep
from sculpt import Bench, Frame, Point, turn
from solids import Floats


@dataclass(frozen=True)
class Shot:
    """Where one photograph is taken from."""

    eye: tuple[float, float, float]
    target: tuple[float, float, float]
    tall: float  # height of what the picture shows, in scene units
    focus: float = 0.0  # nearer than the target by this much
    aperture: float = 0.02


@dataclass
class Sitting:
    """A doll under construction on the stage."""

    seed: int
    paper: str = "#8f8a80"
    second: str | None = None
    head_turn: tuple[float, float, float] = (-10, 3, 2)
    tall: float = 6.4  # how much the whole-figure picture shows
    shots: dict[str, Shot] = field(default_factory=dict)
    room: dict[str, float] = field(default_factory=dict)
    bench: Bench = field(default_factory=Bench)
    grips: dict[int, dict[str, Floats]] = field(default_factory=dict)
    marks: dict[str, Floats] = field(default_factory=dict)
    boards: bool = False
    wide: float = 1.0  # how much wider than usual the head is
    lower: float = 0.0  # how far the head sits lower than a person's

    @property
    def head(self) -> Frame:
        """Give the head's frame."""
        return Frame(np.array(HEAD) - (0, self.lower, 0), turn(*self.head_turn), HEAD_SIZE)

    def floor(self) -> Floats:
        """Give the backdrop's material."""
        return sweep(self.paper, self.second, kind=WOOD) if self.boards else sweep(self.paper, self.second)

    def dress(self, wear: Outfit, arms: dict[int, Arm], *, base: str = "#6b452c", wide: float = 1.15) -> None:
        """Model base, body and arms."""
        model_base(self.bench, timber(self.bench, base), wide=wide, plate=brass(self.bench))
        model_body(self.bench, replace(wear, arms=arms, phase=wear.phase or self.seed * 1.3))
        for side, arm in arms.items():
            self.grips[side] = model_arm(self.bench, side, arm, wear)

    def human(self, face: Face) -> None:
        """Model a human head."""
        self.wide = max(1.0, face.wide)
        self.marks = model_head(self.bench, face, self.head, self.seed)

    def beast(self, beast: Beast) -> None:
        """Model an animal's head."""
        self.lower = self.lower or 0.17
        self.marks = model_beast(self.bench, beast, self.head, self.seed)
        self.bench.frame = self.head

    def wig(self, colour: str, sheen: float = 0.8, rate: float = 70) -> Wig:
        """Take up hair for the head."""
        self.bench.frame = self.head
        wig = Wig(self.bench, hair_material(self.bench, colour, sheen=sheen, rate=rate), self.seed + 9)
        wig.wide = self.wide
        return wig

    def skin(self, colour: str) -> int:
        """Mix skin for the hands."""
        return bare_skin(self.bench, colour)

    def figure(self, name: str = "figure.jpg", *, turn_by: float = 0.0, centre: float | None = None) -> None:
        """Plan the whole-figure picture."""
        y = self.tall / 2 - 0.42 if centre is None else centre
        self.shots[name] = Shot(
            (np.sin(turn_by) * 17, y + 0.7, np.cos(turn_by) * 17), (0, y, 0), self.tall, 0.2, 0.016
        )

    def face(
        self,
        name: str = "face.jpg",
        *,
        tall: float = 1.95,
        side: float = -0.3,
        up: float = 0.05,
        shift: tuple[float, float] = (0, 0),
        focus: float = 0.5,
    ) -> None:
        """Plan the close picture of the face."""
        c = self.head.centre + (shift[0], shift[1] - 0.02, 0.1)
        self.shots[name] = Shot((c[0] + side * 3, c[1] + up * 4, c[2] + 10.5), tuple(c), tall, focus, 0.05)

    def detail(
        self,
        name: str,
        target: Point,
        tall: float,
        *,
        side: float = -0.2,
        up: float = 0.15,
        focus: float = 0.0,
        aperture: float = 0.075,
    ) -> None:
        """Plan a detail."""
        c = np.asarray(target, float)
        way = np.array([side, up, 1.0])
        way /= np.linalg.norm(way)
        eye = c + way * 9
        self.shots[name] = Shot(tuple(eye), tuple(c), tall, focus, aperture)


def hang(side: int, *, out: float = 0.80, y: float = 2.18, z: float = 0.16, curl: float = 0.45) -> Arm:
    """Let an arm hang."""
    return reach(side, (out, y, z), (0.05, -1, 0.2), (-1, 0, 0.15), curl, (0.6, 0, -1))


def rod_arm(
    side: int, rod: Point, *, curl: float = 1.3, rise: float = 0.1, pole: Point = (1, -0.7, -0.5)
) -> Arm:
    """Grip an upright rod that passes through a point (x counted outward)."""
    d, n = np.array([-0.40, rise, 0.91]), np.array([-0.91, 0.0, -0.40])
    d /= np.linalg.norm(d)
    return reach(side, np.asarray(rod, float) - d * 0.215 - n * 0.088, d, n, curl, pole)


def offer_arm(
    side: int, wrist: Point, *, curl: float = 0.35, inward: float = 0.25, pole: Point = (1, -0.8, -0.4)
) -> Arm:
    """Hold out a hand, palm up."""
    return reach(side, wrist, (-inward, 0.12, 1), (-0.1, 1, -0.1), curl, pole)


def hug_arm(side: int, wrist: Point, *, curl: float = 0.5) -> Arm:
    """Lay a hand against something held before the body."""
    return reach(side, wrist, (-0.55, 0.15, 0.85), (-0.8, 0.05, -0.55), curl, (1, -0.35, -0.3))
