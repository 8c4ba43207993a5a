"""Hair: locks, knots, curls, plaits and fringes on a head."""

import math
from collections.abc import Sequence

import numpy as np

from pattern import HAIR
from sculpt import Bench, Point, linear
from solids import Floats

CROWN = np.array([0.0, 0.27, -0.12])
SPAN = np.array([0.87, 0.85, 0.93])


def hair_material(bench: Bench, colour: str, *, sheen: float = 0.8, rate: float = 70) -> int:
    """Mix a hair colour with darker strands in it."""
    light = linear(colour)
    return bench.material(light * 1.12, light * 0.42, kind=HAIR, rate=rate, bump=0.5, rough=0.5, sheen=sheen)


def scalp(side: float, rise: float, lift: float = 1.0) -> Floats:
    """Give a point on the skull; side and rise in degrees, 0 is straight ahead, 90 up; lift 1 on the skin."""
    a, b = math.radians(side), math.radians(rise)
    way = np.array([math.sin(a) * math.cos(b), math.sin(b), math.cos(a) * math.cos(b)])
    return CROWN + SPAN * way * lift


class Wig:
    """Places hair on one head; points in head units."""

    def __init__(self, bench: Bench, material: int, seed: int) -> None:
        """Remember the bench and the hair."""
        self.bench, self.hair, self.chance = bench, material, np.random.default_rng(abs(seed))
        self.wide = 1.0  # how much wider than usual the head is

    def lock(self, points: Sequence[Point], radii: Sequence[float]) -> None:
        """Lay one lock along points (rounded between them) with the radii at them."""
        p = [np.asarray(q, float) * (self.wide, 1, 1) for q in points]
        self.bench.part()
        if len(p) == 3:
            self.bench.tube(p, radii[:3], self.hair)
            return
        for n in range(1, len(p) - 1):
            a = p[0] if n == 1 else (p[n - 1] + p[n]) / 2
            b = p[-1] if n == len(p) - 2 else (p[n] + p[n + 1]) / 2
            ra = radii[0] if n == 1 else (radii[n - 1] + radii[n]) / 2
            rb = radii[-1] if n == len(p) - 2 else (radii[n] + radii[n + 1]) / 2
            self.bench.tube([a, p[n], b], [ra, radii[n], rb], self.hair, k=0.01 if n > 1 else 0)

    def cap(self, back: float = 0.10, up: float = 0.075, grow: float = 0.0) -> None:
        """Cover the skull behind the hairline."""
        self.bench.part()
        self.bench.ball(
            CROWN + (0, up, -back), SPAN * (1.0 + grow) * np.array([1.01 * self.wide, 0.99, 0.98]), self.hair
        )

    def swept(
        self,
        meet: Point,
        many: int = 130,
        *,
        low: float = -12,
        spread: float = 0.1,
        size: float = 0.05,
        front: float = 57,
        bulge: float = 1.07,
        sides: tuple[float, float] = (-180, 180),
    ) -> None:
        """Draw the hair from the hairline all round up to where it is tied."""
        meet = np.asarray(meet, float)
        for n in range(many):
            side = -180 + 360 * (n + self.chance.uniform(0, 0.8)) / many
            if not sides[0] <= side <= sides[1]:
                continue
            rise = front - (front - low) * min(1.0, abs(side) / 105) ** 0.85 + self.chance.normal(0, 1.5)
            if abs(side) > 105:
                rise = low - (abs(side) - 105) / 75 * 16
            end = meet + self.chance.normal(0, spread, 3)
            a, grow = scalp(side, rise, 0.95), bulge + self.chance.normal(0, 0.012)
            first, last = (a - CROWN) / SPAN, (end - CROWN) / SPAN
            first, last = first / np.linalg.norm(first), last / np.linalg.norm(last)
            # Over the crown rather than through the skull when it is tied on the far side.
            arch = np.array([0, 0.7 * max(0.0, 0.4 - float(first @ last)), 0])
            points = [a]
            for t in (0.2, 0.45, 0.75):
                way = first * (1 - t) + last * t + arch * t * (1 - t) * 4
                points.append(CROWN + SPAN * way / np.linalg.norm(way) * grow)
            self.lock([*points, end], [size * 0.2, size * 0.75, size, size, size * 0.8])

    def knot(self, p: Point, size: float, turns: int = 9, *, tall: float = 1.0) -> None:
        """Wind a bun out of locks."""
        p = np.asarray(p, float)
        self.bench.part()
        self.bench.ball(p, (size * 0.85, size * 0.85 * tall, size * 0.85), self.hair)
        for _ in range(turns * 3):
            axis = self.chance.normal(size=3) + (0, 1.2, 0)
            axis /= np.linalg.norm(axis)
            u = np.cross(axis, self.chance.normal(size=3))
            u /= np.linalg.norm(u)
            v = np.cross(axis, u)
            high = self.chance.uniform(-0.55, 0.75)
            r = size * math.sqrt(max(0.1, 1 - high * high)) * 0.92
            turn = np.linspace(0, self.chance.uniform(1.8, 3.0), 5)
            stretch = np.array([1, tall, 1])
            points = [
                p + (axis * high * size + (u * math.cos(t) + v * math.sin(t)) * r) * stretch for t in turn
            ]
            w = size * self.chance.uniform(0.13, 0.2)
            self.lock(points, [w * 0.3, w, w, w, w * 0.3])

    def loose(
        self,
        many: int = 110,
        *,
        length: float = 1.6,
        wave: float = 0.06,
        size: float = 0.06,
        part: float = 0.06,
        front: float = 40,
        out: float = 1.0,
    ) -> None:
        """Let hair fall from a parting to both sides and the back."""
        for n in range(many):
            side = (-1 if n % 2 else 1) * (front + (178 - front) * self.chance.uniform(0, 1) ** 0.9)
            t = (abs(side) - front) / (178 - front)
            root = np.array([part + self.chance.normal(0, 0.02), 0, 0]) + scalp(
                0, 66 + 62 * t + self.chance.normal(0, 2), 1.0
            )
            temple = scalp(side, 26 + self.chance.normal(0, 7), 1.09 + self.chance.uniform(0, 0.05))
            top = (root + temple) / 2
            top = CROWN + (top - CROWN) / np.linalg.norm((top - CROWN) / SPAN) * (
                1.13 + self.chance.normal(0, 0.02)
            )
            ear = scalp(side, -22, 1.10 + 0.04 * out + self.chance.normal(0, 0.03))
            fall = length * self.chance.uniform(0.75, 1.05)
            points = [root, top, temple, ear]
            for k in range(1, 5):
                drift = self.chance.normal(0, wave, 3) * (1, 0.2, 1)
                inward = 1 - 0.10 * k * min(1.0, fall / 1.4)
                points.append(
                    np.array([ear[0] * inward, ear[1] - fall * k / 4, ear[2] * inward - 0.02 * k]) + drift
                )
            w = size * self.chance.uniform(0.7, 1.2)
            self.lock(points, [w * 0.4, w * 0.8, w, w, w, w * 0.9, w * 0.6, w * 0.1])

    def crop(
        self,
        many: int = 170,
        *,
        length: float = 0.3,
        size: float = 0.045,
        low: float = -8,
        front: float = 58,
        curl: float = 0.04,
        forward: float = 0.0,
    ) -> None:
        """Cover the skull with short locks combed down from the crown."""
        for _ in range(many):
            side = self.chance.uniform(-180, 180)
            edge = front - (front - low) * min(1.0, abs(side) / 95) ** 0.9
            edge = edge if abs(side) < 95 else low - (abs(side) - 95) / 85 * 22
            rise = self.chance.uniform(edge + 9, 90)
            a = scalp(side, rise, 0.99)
            down = length * self.chance.uniform(0.6, 1.1) / 0.87 * 57
            drift = self.chance.normal(0, 8)
            b = scalp(side + drift * 0.5, rise - down * 0.5, 1.07 + self.chance.normal(0, 0.02))
            c = scalp(
                side + drift,
                max(rise - down, edge - 3 - forward * 20 * (abs(side) < 60)),
                1.045 + self.chance.normal(0, 0.02),
            ) + self.chance.normal(0, curl, 3)
            self.lock([a, b, c], [size * 0.5, size, size * 0.12])

    def curls(
        self,
        many: int = 150,
        *,
        size: float = 0.11,
        low: float = -14,
        front: float = 60,
        thick: float = 0.036,
        lift: float = 1.05,
        high: float = 90,
    ) -> None:
        """Cover the skull with small rings of hair."""
        for n in range(many):
            rise = math.degrees(math.asin(1 - 1.35 * (n + 0.5) / many))
            side = (n * 137.508 + self.chance.normal(0, 5)) % 360 - 180
            edge = front - (front - low) * min(1.0, abs(side) / 90) ** 0.85
            if rise > high or rise < (edge if abs(side) < 90 else low - (abs(side) - 90) / 90 * 20):
                continue
            p = scalp(side, rise, lift + self.chance.uniform(-0.01, 0.05))
            out = (p - CROWN) / np.linalg.norm(p - CROWN)
            u = np.cross(out, self.chance.normal(size=3))
            u /= np.linalg.norm(u)
            v = np.cross(out, u)
            r = size * self.chance.uniform(0.7, 1.2)
            turns = np.linspace(0, 6.6, 8)
            points = [
                p + (u * math.cos(t) + v * math.sin(t)) * r * (1 - 0.075 * t) + out * r * 0.12 * t
                for t in turns
            ]
            self.lock(points, [thick * 0.6, *([thick] * 6), thick * 0.3])

    def plait(self, points: Sequence[Point], size: float, links: int = 16) -> None:
        """Braid three locks along a path."""
        p = [np.asarray(q, float) for q in points]
        t = np.linspace(0, 1, links * 3 + 1)[:, None]
        line = p[0] * (1 - t) ** 2 + 2 * p[1] * t * (1 - t) + p[2] * t**2
        for strand in range(3):
            phase = strand * 2.0944
            path = []
            for n, q in enumerate(line):
                a = n * 2.0944 * 0.55 + phase
                w = size * (1.0 - 0.35 * n / len(line))
                path.append(q + np.array([math.sin(a) * w, 0, math.sin(2 * a) * w * 0.55]))
            self.lock(path, [size * 0.62 * (1 - 0.4 * n / len(path)) for n in range(len(path))])
        end = line[-1]
        for _ in range(9):
            tip = end + self.chance.normal(0, 0.05, 3) + (0, -0.24, 0)
            self.lock(
                [end, (end + tip) / 2 + self.chance.normal(0, 0.03, 3), tip], [size * 0.3, size * 0.28, 0.004]
            )

    def stray(self, many: int = 36, *, length: float = 0.26, thin: float = 0.0028) -> None:
        """Let single hairs stand off."""
        for _ in range(many):
            side, rise = self.chance.uniform(-180, 180), self.chance.uniform(5, 88)
            if abs(side) < 75 and rise < 60:
                continue
            a = scalp(side, rise, 1.06)
            out = (a - CROWN) / np.linalg.norm(a - CROWN)
            b = a + out * length * 0.3 + self.chance.normal(0, 0.1, 3)
            c = b + out * length * 0.15 + self.chance.normal(0, 0.16, 3)
            self.lock([a, b, c], [thin, thin, thin * 0.4])

    def fringe(self, many: int = 34, *, low: float = 0.34, wide: float = 56, size: float = 0.055) -> None:
        """Hang a flat fringe over the forehead."""
        for n in range(many):
            side = -wide + 2 * wide * (n + self.chance.uniform(0, 0.7)) / many
            a = scalp(side * 0.5, 78, 1.03)
            b = scalp(side * 0.95, 50, 1.13)
            c = scalp(side, 12 + self.chance.normal(0, 2), 1.06)
            c[1] = low + 0.05 * abs(side) / wide + self.chance.normal(0, 0.02)
            w = size * self.chance.uniform(0.7, 1.15)
            self.lock([a, b, c], [w * 0.6, w, w * 0.14])

    def tuft(
        self,
        p: Point,
        way: Point,
        many: int,
        *,
        length: float,
        spread: float,
        size: float = 0.02,
        droop: float = 0.1,
    ) -> None:
        """Set a bunch of short hairs at a point."""
        p, way = np.asarray(p, float), np.asarray(way, float) / np.linalg.norm(way)
        for _ in range(many):
            root = p + self.chance.normal(0, spread * 0.5, 3)
            tip = root + way * length * self.chance.uniform(0.6, 1.1) + self.chance.normal(0, spread, 3)
            mid = (root + tip) / 2 + self.chance.normal(0, spread * 0.3, 3) + (0, droop * length, 0)
            self.lock([root, mid, tip], [size * 0.8, size, size * 0.12])
