"""The bench: solids are placed here one by one and handed to the renderer as arrays."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

import solids as so
import surface as su
from scene import Scene, build_scene, part_distance
from solids import Floats

Point = Sequence[float] | Floats


def linear(colour: str | Sequence[float]) -> Floats:
    """Turn "#rrggbb" into linear light."""
    if not isinstance(colour, str):
        return np.asarray(colour, float)
    code = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def turn(yaw: float = 0, pitch: float = 0, roll: float = 0) -> Floats:
    """Rotate by degrees: yaw to the figure's left, pitch down, roll leftward; columns are axes."""
    a, b, c = np.radians([yaw, pitch, roll])
    about_y = np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(b), -np.sin(b)], [0, np.sin(b), np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return about_y @ about_x @ about_z


def along(direction: Point, hint: Point = (0, 0, 1)) -> Floats:
    """Make a turn whose own upward axis points along a direction."""
    up = np.asarray(direction, float)
    up = up / np.linalg.norm(up)
    side = np.cross(up, hint)
    if np.linalg.norm(side) < 1e-3:
        side = np.cross(up, (1, 0, 0.01))
    side = side / np.linalg.norm(side)
    return np.stack([side, up, np.cross(side, up)], axis=1)


@dataclass(frozen=True)
class Frame:
    """Where a piece of the model has its own coordinates."""

    centre: Floats = field(default_factory=lambda: np.zeros(3))
    axes: Floats = field(default_factory=lambda: np.eye(3))
    size: float = 1.0

    def point(self, p: Point) -> Floats:
        """Take a point from here to the scene."""
        return self.centre + self.size * (self.axes @ np.asarray(p, float))

    def inside(self, p: Point, axes: Floats | None = None, size: float = 1.0) -> "Frame":
        """Set up coordinates within these."""
        return Frame(self.point(p), self.axes @ (np.eye(3) if axes is None else axes), self.size * size)


class Bench:
    """Collects materials, solids and parts."""

    def __init__(self) -> None:
        """Start empty."""
        self.rows: list[Floats] = []
        self.sorts: list[tuple[int, int, int]] = []
        self.parts: list[list[int]] = []
        self.corners: list[Floats] = []
        self.materials: list[Floats] = []
        self.places: list[Floats] = []
        self.faces: list[Floats] = []
        self.irises: list[Floats] = []
        self.spots: list[list[float]] = []
        self.frame = Frame()
        self.count = 0

    def material(
        self, colour: str | Point, second: str | Point | None = None, *, kind: int = 0, rate: float = 20,
        bump: float = 0.3,
        rough: float = 0.6, mirror: float = 0.04, sheen: float = 0.0, warm: float = 0.0, through: float = 0.0,
        metallic: float = 0.0, glow: float = 0.0, width: float = 8, picture: int = 0, place: int = 0,
    ) -> int:  # fmt: skip
        """Mix a material; `rate` is threads (or hairs, pores) to a unit."""
        row = np.zeros(20)
        row[su.COLOUR : su.COLOUR + 3] = linear(colour)
        row[su.SECOND : su.SECOND + 3] = linear(colour) * 0.7 if second is None else linear(second)
        row[su.ROUGH], row[su.MIRROR], row[su.SHEEN], row[su.WARM] = rough, mirror, sheen, warm
        row[su.THROUGH], row[su.KIND], row[su.RATE], row[su.BUMP] = through, kind, rate, bump
        row[su.PICTURE], row[su.PLACE], row[su.METALLIC], row[su.WIDTH] = picture, place, metallic, width
        row[su.EXTRA] = glow
        self.materials.append(row)
        return len(self.materials) - 1

    def place(self, frame: Frame) -> int:
        """Remember a frame for painting."""
        self.places.append(np.concatenate([frame.centre, frame.axes.T.ravel(), [frame.size]]))
        return len(self.places) - 1

    def blush(self, p: Point, radius: float, strength: float, colour: Point = (1.0, 0.55, 0.5)) -> None:
        """Redden skin round a point of the current frame."""
        self.spots.append([*self.frame.point(p), radius * self.frame.size, strength, *colour])

    def part(self) -> None:
        """Begin a part: what follows is modelled in one piece."""
        self.parts.append([len(self.rows), len(self.rows)])

    def _add(
        self,
        kind: int,
        material: int,
        op: int,
        k: float,
        numbers: dict[int, float],
        bound: tuple[Floats, float],
    ) -> int:
        row = np.zeros(so.COLUMNS)
        row[so.BLEND] = k * self.frame.size
        row[so.BOUND : so.BOUND + 3], row[so.BOUND_RADIUS] = bound
        for column, number in numbers.items():
            row[column] = number
        self.rows.append(row)
        self.sorts.append((kind, op, material))
        self.parts[-1][1] = len(self.rows)
        return len(self.rows) - 1

    def wrinkle(self, amount: float, rate: float, phase: float = 0.0) -> None:
        """Fold the surface of the solid made last."""
        s = self.frame.size
        row = self.rows[-1]
        row[so.WRINKLE], row[so.WRINKLE_RATE] = amount * s, rate / s
        row[so.PHASE] = row[so.PHASE] if self.sorts[-1][0] == so.SKIRT else phase
        row[so.BOUND_RADIUS] += 2 * abs(amount) * s

    def _framed(self, p: Point, axes: Floats | None) -> dict[int, float]:
        frame = self.frame.inside(p, axes)
        numbers = dict(enumerate(frame.centre, so.CENTRE))
        numbers.update(enumerate(frame.axes.T.ravel(), so.TURN))
        return numbers

    def ball(
        self,
        p: Point,
        radii: float | Point,
        m: int,
        *,
        k: float = 0,
        op: int = so.JOIN,
        axes: Floats | None = None,
    ) -> int:
        """Add an ellipsoid."""
        r = np.broadcast_to(np.asarray(radii, float), 3) * self.frame.size
        numbers = self._framed(p, axes) | dict(enumerate(r, so.OWN))
        return self._add(so.ELLIPSOID, m, op, k, numbers, (self.frame.point(p), float(r.max())))

    def cone(
        self, a: Point, b: Point, ra: float, rb: float, m: int, *, k: float = 0, op: int = so.JOIN
    ) -> int:
        """Add a round cone from a to b."""
        pa, pb, s = self.frame.point(a), self.frame.point(b), self.frame.size
        numbers = dict(enumerate(pa, 5)) | dict(enumerate(pb, 8)) | {14: ra * s, 15: rb * s}
        reach = float(np.linalg.norm(pb - pa)) / 2 + max(ra, rb) * s
        return self._add(so.CONE, m, op, k, numbers, ((pa + pb) / 2, reach))

    def tube(
        self, points: Sequence[Point], radii: Sequence[float], m: int, *, k: float = 0, op: int = so.JOIN
    ) -> int:
        """Add a tube along a quadratic curve of three points; the middle one pulls."""
        a, b, c = (self.frame.point(p) for p in points)
        if np.linalg.norm(a - 2 * b + c) < 0.02 * np.linalg.norm(a - c) + 1e-5:
            b = b + 0.02 * np.linalg.norm(a - c) * np.array([0.61, 0.53, 0.59]) + 1e-5
        s = self.frame.size
        numbers = dict(enumerate(a, 5)) | dict(enumerate(b, 8)) | dict(enumerate(c, 11))
        numbers |= dict(enumerate([r * s for r in radii], 14)) | {
            17: max(radii) * s + float(np.linalg.norm(a - 2 * b + c)) / 4
        }
        middle = (a + c) / 4 + b / 2
        reach = (
            max(float(np.linalg.norm(q - middle)) for q in (a, c, (a + b) / 2, (b + c) / 2)) + max(radii) * s
        )
        return self._add(so.TUBE, m, op, k, numbers, (middle, reach))

    def box(
        self,
        p: Point,
        half: Point,
        m: int,
        *,
        edge: float = 0.02,
        k: float = 0,
        op: int = so.JOIN,
        axes: Floats | None = None,
    ) -> int:
        """Add a box with rounded edges."""
        s = self.frame.size
        h = np.asarray(half, float) * s
        numbers = self._framed(p, axes) | dict(enumerate(h, so.OWN)) | {20: edge * s}
        return self._add(so.BOX, m, op, k, numbers, (self.frame.point(p), float(np.linalg.norm(h))))

    def ring(
        self,
        p: Point,
        large: float,
        small: float,
        m: int,
        *,
        flat: float = 1,
        k: float = 0,
        op: int = so.JOIN,
        axes: Floats | None = None,
    ) -> int:
        """Add a ring lying flat; `flat` squeezes it from front to back."""
        s = self.frame.size
        numbers = self._framed(p, axes) | {17: large * s, 18: small * s, 19: flat}
        return self._add(
            so.TORUS, m, op, k, numbers, (self.frame.point(p), (large * max(1, flat) + small) * s)
        )

    def skirt(
        self, p: Point, top: float, low: float, height: float, m: int, *, folds: float = 9,
        depth: float = 0.05, flare: float = 1.0,
        thick: float = 0.02, flat: float = 0.85, phase: float = 0.0,
        uneven: float = 1.0, k: float = 0, axes: Floats | None = None,
    ) -> int:  # fmt: skip
        """Hang a cloth from p: radius from top to low over the height."""
        s = self.frame.size
        own = [top * s, low * s, height * s, flare, thick * s, folds, depth * s, flat, uneven]
        numbers = self._framed(p, axes) | dict(enumerate(own, so.OWN)) | {so.PHASE: phase}
        middle = self.frame.inside(p, axes).point((0, -height / 2, 0))
        reach = float(np.hypot(height * 0.56, max(top, low) + 2.2 * depth + thick)) * s
        return self._add(so.SKIRT, m, so.JOIN, k, numbers, (middle, reach))

    def _outline(self, points: Sequence[Point]) -> tuple[int, int]:
        shape = np.asarray(points, float)
        area = float(np.sum(shape[:, 0] * np.roll(shape[:, 1], -1) - np.roll(shape[:, 0], -1) * shape[:, 1]))
        self.corners.append(shape if area > 0 else shape[::-1].copy())
        self.count += len(shape)
        return self.count - len(shape), len(shape)

    def lathe(
        self,
        p: Point,
        profile: Sequence[Point],
        m: int,
        *,
        round_by: float = 0.0,
        k: float = 0,
        op: int = so.JOIN,
        axes: Floats | None = None,
    ) -> int:
        """Turn a closed profile of (radius, height) points about the upright axis."""
        start, count = self._outline(profile)
        s = self.frame.size
        numbers = self._framed(p, axes) | {17: start, 18: count, 19: round_by * s, 20: 1 / s}
        reach = float(np.linalg.norm(np.asarray(profile, float), axis=1).max() + round_by) * s
        return self._add(so.LATHE, m, op, k, numbers, (self.frame.point(p), reach))

    def blade(
        self, p: Point, outline: Sequence[Point], thick: float, m: int, *,
        bend: tuple[float, float] = (0, 0), edge: float = 0.01,
        k: float = 0, op: int = so.JOIN, axes: Floats | None = None,
    ) -> int:  # fmt: skip
        """Cut a flat shape out of a sheet; bend it across and along."""
        start, count = self._outline(outline)
        s = self.frame.size
        far = float(np.linalg.norm(np.asarray(outline, float), axis=1).max())
        steep = 2 * far * max(abs(bend[0]), abs(bend[1]))
        own = {
            17: start,
            18: count,
            19: thick * s,
            20: bend[0] / s,
            21: bend[1] / s,
            22: 1 / s,
            23: edge * s,
            24: 1 / np.sqrt(1 + steep**2),
        }
        reach = (far + thick + edge + far * far * max(abs(bend[0]), abs(bend[1]))) * s
        return self._add(so.BLADE, m, op, k, self._framed(p, axes) | own, (self.frame.point(p), reach))

    def lid(self, p: Point, shape: Point, m: int, *, k: float = 0, axes: Floats | None = None) -> int:
        """Add an eyelid; shape: size, thickness, half width, opening up, down (radians), lift, skews."""
        s = self.frame.size
        own = [shape[0] * s, shape[1] * s, *shape[2:]]
        numbers = self._framed(p, axes) | dict(enumerate(own, so.OWN))
        return self._add(so.LID, m, so.JOIN, k, numbers, (self.frame.point(p), (shape[0] + shape[1]) * s))

    def scene(self) -> Scene:
        """Hand over what has been modelled."""
        corners = np.concatenate(self.corners) if self.corners else np.zeros((1, 2))
        parts = np.array([p for p in self.parts if p[1] > p[0]], np.int32)
        return build_scene(np.array(self.sorts, np.int32), np.array(self.rows), parts, corners)

    def front(self, x: float, y: float, far: float = 3.0) -> float:
        """Find where the part modelled last faces forward, at (x, y) of the current frame."""
        rows, sorts = np.array(self.rows), np.array(self.sorts, np.int32)
        corners = np.concatenate(self.corners) if self.corners else np.zeros((1, 2))
        part = np.array([self.parts[-1]], np.int32)
        z = far
        for _ in range(200):
            d = part_distance(sorts, rows, part, corners, 0, *self.frame.point((x, y, z))) / self.frame.size
            if d < 0.0008:
                return z
            z -= d * 0.8
            if z < -far:
                break
        return 0.0
