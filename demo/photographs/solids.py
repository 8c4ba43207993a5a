"""Distances to the simple solids a figure is modelled from; compiled, scalars in and scalars out."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]

ELLIPSOID, CONE, TUBE, BOX, TORUS, SKIRT, LID, LATHE, BLADE, HALF = range(10)
JOIN, CARVE, KEEP = range(3)

# Columns of a solid's row: what every kind shares, then its own numbers from OWN on.
BLEND, BOUND, BOUND_RADIUS, CENTRE, TURN, OWN = 0, 1, 4, 5, 8, 17
WRINKLE, WRINKLE_RATE, PHASE = 29, 30, 31
COLUMNS = 32


@njit(fastmath=True, cache=True, error_model="numpy")
def smooth_least(a: float, b: float, k: float) -> float:
    """Join two distances with a fillet of width k."""
    h = k - abs(a - b)
    if h <= 0.0 or k <= 0.0:
        return min(a, b)
    return min(a, b) - h * h * 0.25 / k


@njit(fastmath=True, cache=True, error_model="numpy")
def tube_place(solid: Floats, i: int, x: float, y: float, z: float) -> tuple[float, float]:
    """Find the nearest point of a quadratic curve: (squared distance, place along it from 0 to 1)."""
    ax, ay, az = solid[i, 5], solid[i, 6], solid[i, 7]
    bx, by, bz = solid[i, 8] - ax, solid[i, 9] - ay, solid[i, 10] - az
    cx, cy, cz = (
        ax - 2.0 * solid[i, 8] + solid[i, 11],
        ay - 2.0 * solid[i, 9] + solid[i, 12],
        az - 2.0 * solid[i, 10] + solid[i, 13],
    )
    dx, dy, dz = ax - x, ay - y, az - z
    kk = 1.0 / (cx * cx + cy * cy + cz * cz)
    kx = kk * (bx * cx + by * cy + bz * cz)
    ky = kk * (2.0 * (bx * bx + by * by + bz * bz) + dx * cx + dy * cy + dz * cz) / 3.0
    kz = kk * (dx * bx + dy * by + dz * bz)
    p = ky - kx * kx
    q = kx * (2.0 * kx * kx - 3.0 * ky) + kz
    h = q * q + 4.0 * p * p * p
    if h >= 0.0:
        h = math.sqrt(h)
        u = 0.5 * (h - q)
        v = 0.5 * (-h - q)
        t = math.copysign(abs(u) ** (1.0 / 3.0), u) + math.copysign(abs(v) ** (1.0 / 3.0), v) - kx
        t = min(1.0, max(0.0, t))
        ex, ey, ez = dx + (2 * bx + cx * t) * t, dy + (2 * by + cy * t) * t, dz + (2 * bz + cz * t) * t
        return ex * ex + ey * ey + ez * ez, t
    w = math.sqrt(-p)
    v = math.acos(min(1.0, max(-1.0, q / (p * w * 2.0)))) / 3.0
    m, n = math.cos(v), math.sin(v) * 1.7320508
    t = min(1.0, max(0.0, 2.0 * m * w - kx))
    s = min(1.0, max(0.0, (-n - m) * w - kx))
    ex, ey, ez = dx + (2 * bx + cx * t) * t, dy + (2 * by + cy * t) * t, dz + (2 * bz + cz * t) * t
    fx, fy, fz = dx + (2 * bx + cx * s) * s, dy + (2 * by + cy * s) * s, dz + (2 * bz + cz * s) * s
    first = ex * ex + ey * ey + ez * ez
    second = fx * fx + fy * fy + fz * fz
    if first < second:
        return first, t
    return second, s


@njit(fastmath=True, cache=True, error_model="numpy")
def outline_distance(outlines: Floats, start: int, count: int, x: float, y: float) -> float:
    """Measure the signed distance to a closed polygon."""
    px, py = outlines[start, 0], outlines[start, 1]
    best = (x - px) ** 2 + (y - py) ** 2
    sign = 1.0
    jx, jy = outlines[start + count - 1, 0], outlines[start + count - 1, 1]
    for i in range(start, start + count):
        ix, iy = outlines[i, 0], outlines[i, 1]
        ex, ey = jx - ix, jy - iy
        wx, wy = x - ix, y - iy
        t = min(1.0, max(0.0, (wx * ex + wy * ey) / (ex * ex + ey * ey + 1e-18)))
        gx, gy = wx - ex * t, wy - ey * t
        best = min(best, gx * gx + gy * gy)
        c1, c2, c3 = y >= iy, y < jy, ex * wy > ey * wx
        if (c1 and c2 and c3) or (not c1 and not c2 and not c3):
            sign = -sign
        jx, jy = ix, iy
    return sign * math.sqrt(best)


@njit(fastmath=True, cache=True, error_model="numpy")
def cone_distance(solid: Floats, i: int, x: float, y: float, z: float) -> float:
    """Measure to a round cone: two balls of different size and what lies between."""
    ax, ay, az = solid[i, 5], solid[i, 6], solid[i, 7]
    bx, by, bz = solid[i, 8] - ax, solid[i, 9] - ay, solid[i, 10] - az
    r1, r2 = solid[i, 14], solid[i, 15]
    l2 = bx * bx + by * by + bz * bz
    rr = r1 - r2
    a2 = l2 - rr * rr
    il2 = 1.0 / l2
    px, py, pz = x - ax, y - ay, z - az
    h = px * bx + py * by + pz * bz
    k = h - l2
    qx, qy, qz = px * l2 - bx * h, py * l2 - by * h, pz * l2 - bz * h
    x2 = qx * qx + qy * qy + qz * qz
    y2 = h * h * l2
    z2 = k * k * l2
    s = math.copysign(1.0, rr) * rr * rr * x2
    if math.copysign(1.0, k) * a2 * z2 > s:
        return math.sqrt(x2 + z2) * il2 - r2
    if math.copysign(1.0, h) * a2 * y2 < s:
        return math.sqrt(x2 + y2) * il2 - r1
    return (math.sqrt(x2 * a2 * il2) + h * rr) * il2 - r1


@njit(fastmath=True, cache=True, error_model="numpy")
def skirt_distance(solid: Floats, i: int, x: float, y: float, z: float) -> float:
    """Measure to a hanging cloth: a flared shell with folds, open at both ends."""
    top, low, height, flare = solid[i, 17], solid[i, 18], solid[i, 19], solid[i, 20]
    thick, folds, depth, flat, phase = solid[i, 21], solid[i, 22], solid[i, 23], solid[i, 24], solid[i, 31]
    z = z / flat
    rho = math.sqrt(x * x + z * z) + 1e-9
    angle = math.atan2(z, x)
    s = min(1.2, max(0.0, -y / height))
    swing = math.sin(
        folds * angle
        + phase
        + 0.9 * math.sin(2.0 * angle + phase * 1.7)
        + 0.5 * s * math.sin(phase * 3 + angle)
    )
    swing += 0.45 * math.sin(math.floor(folds * 0.62) * angle + 2.1 * phase)
    swing += 0.3 * math.sin(math.floor(folds * 1.7) * angle - phase + 1.3 * s)
    radius = top + (low - top) * s**flare + depth * swing * (0.12 + s**0.8)
    d = abs(rho - radius) - thick
    hem = height * (1.0 + solid[i, 25] * math.sin(3.0 * angle + phase) * 0.03 + 0.012 * swing)
    cut = max(y, -y - hem)
    slope = 1.0 + folds * depth / (radius + 0.15) * 0.9 + abs(low - top) / height * 0.35
    return smooth_least(-d / slope, -cut, 0.02) * -1.0 * min(1.0, flat)


@njit(fastmath=True, cache=True, error_model="numpy")
def lid_distance(solid: Floats, i: int, x: float, y: float, z: float) -> float:
    """Measure to an eyelid: a shell round the eyeball with an almond opening."""
    size, thick, wide, up, down, lift = (
        solid[i, 17],
        solid[i, 18],
        solid[i, 19],
        solid[i, 20],
        solid[i, 21],
        solid[i, 22],
    )
    rho = math.sqrt(x * x + y * y + z * z) + 1e-9
    shell = abs(rho - size) - thick
    if z < 0.0:
        return max(shell, -z * 0.5)
    u = math.atan2(x, max(z, 1e-6)) / wide
    v = math.asin(min(1.0, max(-1.0, y / rho)))
    bow = 1.0 - u * u
    middle = lift * u
    high = middle + up * (bow * (1.0 + solid[i, 23] * u) if bow > 0.0 else bow)
    low = middle - down * (bow * (1.0 + solid[i, 24] * u) if bow > 0.0 else bow)
    slope = 1.0 + abs(u) * max(up, down) / wide * 1.4
    opening = min(high - v, v - low) * size / slope
    return -smooth_least(-shell, -opening, thick * 1.6)


@njit(fastmath=True, cache=True, error_model="numpy")
def solid_distance(kind: int, solid: Floats, i: int, outlines: Floats, x: float, y: float, z: float) -> float:
    """Measure to one solid, whichever kind it is."""
    if kind == CONE:
        d = cone_distance(solid, i, x, y, z)
    elif kind == TUBE:
        squared, t = tube_place(solid, i, x, y, z)
        d = math.sqrt(squared) - (
            solid[i, 14] * (1 - t) * (1 - t) + 2 * solid[i, 15] * t * (1 - t) + solid[i, 16] * t * t
        )
    else:
        dx, dy, dz = x - solid[i, 5], y - solid[i, 6], z - solid[i, 7]
        lx = solid[i, 8] * dx + solid[i, 9] * dy + solid[i, 10] * dz
        ly = solid[i, 11] * dx + solid[i, 12] * dy + solid[i, 13] * dz
        lz = solid[i, 14] * dx + solid[i, 15] * dy + solid[i, 16] * dz
        if kind == ELLIPSOID:
            ex, ey, ez = lx / solid[i, 17], ly / solid[i, 18], lz / solid[i, 19]
            k0 = math.sqrt(ex * ex + ey * ey + ez * ez)
            fx, fy, fz = ex / solid[i, 17], ey / solid[i, 18], ez / solid[i, 19]
            k1 = math.sqrt(fx * fx + fy * fy + fz * fz) + 1e-12
            d = k0 * (k0 - 1.0) / k1 if k0 > 1e-3 else -min(solid[i, 17], solid[i, 18], solid[i, 19])
        elif kind == BOX:
            r = solid[i, 20]
            qx, qy, qz = abs(lx) - solid[i, 17] + r, abs(ly) - solid[i, 18] + r, abs(lz) - solid[i, 19] + r
            ox, oy, oz = max(qx, 0.0), max(qy, 0.0), max(qz, 0.0)
            d = math.sqrt(ox * ox + oy * oy + oz * oz) + min(max(qx, qy, qz), 0.0) - r
        elif kind == TORUS:
            w = math.sqrt(lx * lx + (lz / solid[i, 19]) ** 2) - solid[i, 17]
            d = (math.sqrt(w * w + ly * ly) - solid[i, 18]) * min(1.0, solid[i, 19])
        elif kind == SKIRT:
            d = skirt_distance(solid, i, lx, ly, lz)
        elif kind == LID:
            d = lid_distance(solid, i, lx, ly, lz)
        elif kind == LATHE:
            rho = math.sqrt(lx * lx + lz * lz)
            d = (
                outline_distance(
                    outlines, int(solid[i, 17]), int(solid[i, 18]), rho * solid[i, 20], ly * solid[i, 20]
                )
                / solid[i, 20]
                - solid[i, 19]
            )
        elif kind == BLADE:
            lz -= solid[i, 20] * lx * lx + solid[i, 21] * ly * ly
            s = solid[i, 22]
            w = outline_distance(outlines, int(solid[i, 17]), int(solid[i, 18]), lx * s, ly * s) / s
            h = abs(lz) - solid[i, 19]
            d = min(max(w, h), 0.0) + math.sqrt(max(w, 0.0) ** 2 + max(h, 0.0) ** 2) - solid[i, 23]
            d *= solid[i, 24]
        else:
            d = ly
    amount = solid[i, WRINKLE]
    if amount != 0.0 and abs(d) < 4.0 * abs(amount):
        f, e = solid[i, WRINKLE_RATE], solid[i, PHASE]
        wx = x + 0.35 / f * math.sin(f * 1.3 * y + e) + 0.2 / f * math.sin(f * 2.1 * z - e)
        wy = y + 0.30 / f * math.sin(f * 1.1 * z + 2 * e)
        fold = math.sin(f * (wx + 0.6 * z) + e) * math.sin(f * 0.7 * (wy - 0.5 * x) - e)
        fold += 0.5 * math.sin(f * 1.9 * (wy + 0.4 * wx) + 3 * e) * math.sin(f * 1.5 * z + e)
        d += amount * fold
        d *= 1.0 / (1.0 + 1.6 * abs(amount) * f)
    return d
