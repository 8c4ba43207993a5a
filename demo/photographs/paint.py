"""Face paint: brush strokes, hairs and dots laid on a flat canvas that is projected on the head."""

import math
from collections.abc import Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray

from pattern import noise
from sculpt import linear
from solids import Floats

REACH = 1.25  # the canvas spans this far from the middle of the face, in head units
PIXELS = 2200


@njit(fastmath=True, cache=True, error_model="numpy")
def _stroke(
    canvas: NDArray[np.float32],
    points: Floats,
    widths: Floats,
    colour: Floats,
    alpha: float,
    bristle: float,
    soft: float,
    gloss: float,
    seed: float,
) -> None:
    """Lay one stroke; points in pixels, bristle 0 smooth to 1 dry."""
    reach = widths.max() * (1.0 + soft) + 2.0
    x0, x1 = (
        max(0, int(points[:, 0].min() - reach)),
        min(canvas.shape[1] - 1, int(points[:, 0].max() + reach)),
    )
    y0, y1 = (
        max(0, int(points[:, 1].min() - reach)),
        min(canvas.shape[0] - 1, int(points[:, 1].max() + reach)),
    )
    many = len(points) - 1
    for j in range(y0, y1 + 1):
        for i in range(x0, x1 + 1):
            best, across, place, run = 1e18, 0.0, 0.0, 0.0
            length = 0.0
            for n in range(many):
                ax, ay = points[n, 0], points[n, 1]
                bx, by = points[n + 1, 0] - ax, points[n + 1, 1] - ay
                l2 = bx * bx + by * by + 1e-9
                t = min(1.0, max(0.0, ((i - ax) * bx + (j - ay) * by) / l2))
                ex, ey = i - ax - bx * t, j - ay - by * t
                d = ex * ex + ey * ey
                size = math.sqrt(l2)
                if d < best:
                    best = d
                    across = (bx * ey - by * ex) / size
                    place = (n + t) / many
                    run = length + t * size
                length += size
            k = place * (len(widths) - 1)
            a = min(len(widths) - 2, int(k))
            wide = widths[a] * (1 - (k - a)) + widths[a + 1] * (k - a) + 1e-3
            d = math.sqrt(best)
            edge = max(1.0, soft * wide)
            cover = min(1.0, max(0.0, (wide - d) / edge + 0.5))
            if cover <= 0.0:
                continue
            cover = cover * cover * (3 - 2 * cover)
            if bristle > 0.0:
                hair = (
                    noise(across * 0.22 + 50.0, run * 0.018, seed) * 0.65
                    + noise(across * 0.6 + 9.0, run * 0.03, seed + 3.0) * 0.35
                )
                cover *= min(1.0, max(0.0, 1.0 + bristle * 3.0 * (hair - 0.52)))
            cover *= alpha
            for c in range(3):
                canvas[j, i, c] += (colour[c] - canvas[j, i, c]) * cover
            canvas[j, i, 3] += (gloss - canvas[j, i, 3]) * cover


class Canvas:
    """A face to paint on; points in head units, x to the viewer's right, y up."""

    def __init__(self, ground: str | Floats, seed: int) -> None:
        """Prime with the skin's colour."""
        self.ground = linear(ground)
        self.pixels = np.empty((PIXELS, PIXELS, 4), np.float32)
        self.pixels[..., :3] = self.ground
        self.pixels[..., 3] = 0.5
        self.chance = np.random.default_rng(seed)

    def stroke(
        self, points: Sequence[Sequence[float]] | Floats, widths: Sequence[float], colour: str | Floats,
        alpha: float = 1.0, *,
        bristle: float = 0.0, soft: float = 0.4, gloss: float = 0.5,
    ) -> None:  # fmt: skip
        """Lay a stroke along points."""
        scale = PIXELS / (2 * REACH)
        p = np.asarray(points, float)
        spots = np.stack([(p[:, 0] + REACH) * scale, (REACH - p[:, 1]) * scale], axis=1)
        seed = float(self.chance.uniform(0, 500))
        _stroke(
            self.pixels,
            spots,
            np.asarray(widths, float) * scale,
            linear(colour),
            alpha,
            bristle,
            soft,
            gloss,
            seed,
        )

    def curve(self, points: Sequence[Sequence[float]], count: int = 9) -> Floats:
        """Sample a quadratic curve."""
        a, b, c = (np.asarray(p, float) for p in points)
        t = np.linspace(0, 1, count)[:, None]
        return a * (1 - t) ** 2 + 2 * b * t * (1 - t) + c * t**2

    def wash(
        self, middle: Sequence[float], radii: Sequence[float], colour: str | Floats, alpha: float, *,
        strokes: int = 60,
        slant: float = 0.5, length: float = 0.16, width: float = 0.022, bristle: float = 0.8,
    ) -> None:  # fmt: skip
        """Build up a soft area out of many short, thin strokes, denser in the middle."""
        for _ in range(strokes):
            dx, dy = self.chance.normal(0, 0.42, 2).clip(-1, 1)
            x, y = middle[0] + dx * radii[0], middle[1] + dy * radii[1]
            a = slant + self.chance.normal(0, 0.22)
            n = length * self.chance.uniform(0.6, 1.3)
            bow = self.chance.normal(0, 0.14) * n
            ends = np.array(
                [[-math.cos(a), -math.sin(a)], [math.sin(a), -math.cos(a)], [math.cos(a), math.sin(a)]]
            ) * np.array([[n / 2], [bow], [n / 2]])
            w = width * self.chance.uniform(0.6, 1.5)
            fade = max(0.15, 1.0 - 0.6 * math.hypot(dx, dy))
            self.stroke(
                self.curve([(x, y) + e for e in ends], 6),
                [w * 0.5, w, w * 0.8, w * 0.3],
                colour,
                alpha * fade,
                bristle=bristle,
                soft=1.0,
            )

    def glow(
        self, middle: Sequence[float], radii: Sequence[float], colour: str | Floats, alpha: float
    ) -> None:
        """Tint an area with a soft sponge."""
        scale = PIXELS / (2 * REACH)
        far = 2.6 * np.asarray(radii, float)
        x0, x1 = np.clip(
            [(middle[0] - far[0] + REACH) * scale, (middle[0] + far[0] + REACH) * scale], 0, PIXELS
        ).astype(int)
        y0, y1 = np.clip(
            [(REACH - middle[1] - far[1]) * scale, (REACH - middle[1] + far[1]) * scale], 0, PIXELS
        ).astype(int)
        y, x = np.mgrid[y0:y1, x0:x1].astype(np.float32) / scale
        away = ((x - REACH - middle[0]) / radii[0]) ** 2 + ((REACH - y - middle[1]) / radii[1]) ** 2
        w = (alpha * np.exp(-away))[..., None].astype(np.float32)
        area = self.pixels[y0:y1, x0:x1, :3]
        area += (linear(colour).astype(np.float32) - area) * w

    def hairs(
        self, path: Sequence[Sequence[float]], colour: str, *, many: int = 70, length: float = 0.11,
        width: float = 0.0045,
        thick: float = 0.03, lean: float = 0.5, alpha: float = 0.75, side: float = 1.0,
    ) -> None:  # fmt: skip
        """Draw an eyebrow of single hairs along a curve."""
        line = self.curve(path, 40)
        for n in range(many):
            t = (n + self.chance.uniform(0, 1)) / many
            p = line[min(39, int(t * 39))]
            q = line[min(39, int(t * 39) + 1)] if t < 0.97 else 2 * line[39] - line[38]
            way = (q - p) / (np.linalg.norm(q - p) + 1e-9)
            up = np.array([-way[1], way[0]]) * side
            grow = way * math.cos(lean * (1.25 - 1.1 * t)) + up * math.sin(lean * (1.25 - 1.1 * t))
            root = p + up * self.chance.normal(-0.3, 0.45) * thick * (1.1 - 0.75 * t)
            size = length * self.chance.uniform(0.6, 1.1) * (1.0 - 0.45 * t)
            tip = root + grow * size
            mid = (root + tip) / 2 + up * size * 0.10
            w = width * self.chance.uniform(0.7, 1.2)
            self.stroke(
                self.curve([root, mid, tip], 6),
                [w * 0.8, w, w * 0.25],
                colour,
                alpha * self.chance.uniform(0.5, 1),
                soft=0.7,
            )

    def dots(
        self,
        middle: Sequence[float],
        radii: Sequence[float],
        colour: str,
        many: int,
        *,
        size: float = 0.009,
        alpha: float = 0.5,
    ) -> None:
        """Sprinkle freckles."""
        for _ in range(many):
            x, y = middle + self.chance.normal(0, 0.5, 2) * radii
            w = size * self.chance.uniform(0.4, 1.25)
            dx, dy = self.chance.normal(0, 0.35, 2) * w
            self.stroke(
                [(x, y), (x + dx, y + dy)],
                [w, w * 0.8],
                colour,
                alpha * self.chance.uniform(0.35, 1),
                soft=0.9,
            )
