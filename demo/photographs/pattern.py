"""What surfaces are made of close up: threads, hair, grain; a relief and a mix of two colours."""

import math

import numpy as np
from numba import njit

(
    PLAIN, LINEN, KNIT, STRIPES, CHECK, DOTS, FLORAL, HAIR, WOOD, FELT, FEATHER, SPECKLE,
    VELVET, SCALLOP, PRINT, WARTS, FACE, EYE, METAL, BODY, BAND, BARK, DIAMOND, BRUSHED, PLASTER,
) = range(25)  # fmt: skip


@njit(fastmath=True, cache=True, error_model="numpy")
def lattice(a: int, b: int, c: int) -> float:
    """Hash a lattice point to a number from 0 to 1."""
    h = np.uint32(a * 374761393 + b * 668265263 + c * 1440662683)
    h = np.uint32((h ^ (h >> np.uint32(13))) * np.uint32(1274126177))
    h = h ^ (h >> np.uint32(16))
    return float(h) / 4294967296.0


@njit(fastmath=True, cache=True, error_model="numpy")
def noise(x: float, y: float, z: float) -> float:
    """Give smooth noise from 0 to 1."""
    fx, fy, fz = math.floor(x), math.floor(y), math.floor(z)
    ix, iy, iz = int(fx), int(fy), int(fz)
    x, y, z = x - fx, y - fy, z - fz
    x, y, z = x * x * (3 - 2 * x), y * y * (3 - 2 * y), z * z * (3 - 2 * z)
    a = lattice(ix, iy, iz) * (1 - x) + lattice(ix + 1, iy, iz) * x
    b = lattice(ix, iy + 1, iz) * (1 - x) + lattice(ix + 1, iy + 1, iz) * x
    c = lattice(ix, iy, iz + 1) * (1 - x) + lattice(ix + 1, iy, iz + 1) * x
    d = lattice(ix, iy + 1, iz + 1) * (1 - x) + lattice(ix + 1, iy + 1, iz + 1) * x
    return (a * (1 - y) + b * y) * (1 - z) + (c * (1 - y) + d * y) * z


@njit(fastmath=True, cache=True, error_model="numpy")
def cloud(x: float, y: float, z: float) -> float:
    """Give noise of three octaves, about 0 to 1."""
    return (
        0.55 * noise(x, y, z)
        + 0.3 * noise(x * 2.1, y * 2.1, z * 2.1)
        + 0.15 * noise(x * 4.3, y * 4.3, z * 4.3)
    )


@njit(fastmath=True, cache=True, error_model="numpy")
def ramp(a: float, b: float, x: float) -> float:
    """Go from 0 at a to 1 at b, gently."""
    t = min(1.0, max(0.0, (x - a) / (b - a)))
    return t * t * (3.0 - 2.0 * t)


@njit(fastmath=True, cache=True, error_model="numpy")
def weave(u: float, v: float) -> float:
    """Give the height of a plain weave, one thread a unit."""
    cu, cv = math.floor(u), math.floor(v)
    fu, fv = u - cu - 0.5, v - cv - 0.5
    warp = 1.0 - 4.0 * fu * fu
    weft = 1.0 - 4.0 * fv * fv
    over = (int(cu) + int(cv)) % 2 == 0
    thick = 0.75 + 0.5 * lattice(int(cu), 7, 1) if over else 0.75 + 0.5 * lattice(int(cv), 3, 2)
    return thick * (warp * (1.0 - fv * fv * 2) if over else weft * (1.0 - fu * fu * 2))


@njit(fastmath=True, cache=True, error_model="numpy")
def stitch(u: float, v: float) -> float:
    """Give the height of stocking stitch, one stitch a unit."""
    cu = math.floor(u)
    fu = u - cu - 0.5
    w = v + abs(fu) * 0.9
    fw = w - math.floor(w) - 0.5
    side = 1.0 - abs(abs(fu) - 0.25) * 4.0
    return max(0.0, side) * (1.0 - 3.2 * fw * fw)


@njit(fastmath=True, cache=True, error_model="numpy")
def relief(kind: int, u: float, v: float, fade: float) -> float:
    """Give the height of a material's fine relief, about 0 to 1."""
    if kind == LINEN or kind == STRIPES or kind == CHECK or kind == DOTS or kind == FLORAL or kind == DIAMOND:
        return weave(u, v) * fade + 0.9 * noise(u * 0.08, v * 0.08, 3.0)
    if kind == KNIT:
        return stitch(u, v) * fade * 1.6
    if kind == HAIR:
        bend = 0.6 * noise(v * 0.22, u * 0.05, 1.0)
        return 0.6 * noise((u + bend) * 1.0, v * 0.05, 5.0) + 0.4 * fade * noise(
            (u + bend) * 2.7, v * 0.09, 9.0
        )
    if kind == WOOD:
        return 0.5 * noise(u * 1.0, v * 0.06, 2.0) + 0.4 * noise(u * 3.0, v * 0.1, 4.0) * fade
    if kind == FELT:
        return 0.6 * noise(u * 0.7 + noise(v, u, 1.0) * 2, v * 0.7, 2.0) + 0.5 * fade * noise(
            u * 2.0, v * 0.5 + 2 * noise(u, v, 8.0), 4.0
        )
    if kind == VELVET:
        return 0.7 * noise(u * 0.3, v * 0.3, 6.0) + 0.3 * fade * noise(u * 2, v * 2, 1.0)
    if kind == FEATHER:
        return 0.7 * math.sin((abs(u) * 0.9 + v * 0.8) * 2.2 + 1.5 * noise(u * 0.3, v * 0.3, 1.0)) * fade
    if kind == SCALLOP:
        row = math.floor(v)
        fu = u + 0.5 * (int(row) % 2) + 0.2 * (lattice(int(row), 5, 1) - 0.5)
        fu = fu - math.floor(fu) - 0.5
        fv = v - row
        r = math.sqrt(fu * fu * 3.2 + fv * fv)
        return 0.9 * (1.0 - r) if r < 1.0 else 0.9 * (1.2 - r * 0.5)
    if kind == WARTS:
        h = 0.25 * noise(u * 2.2, v * 2.2, 1.0)
        for a in range(-1, 2):
            for b in range(-1, 2):
                cu, cv = int(math.floor(u)) + a, int(math.floor(v)) + b
                qx, qy = cu + lattice(cu, cv, 1) - u, cv + lattice(cu, cv, 2) - v
                r = 0.22 + 0.28 * lattice(cu, cv, 3)
                h = max(h, 1.1 * (1.0 - ramp(0.0, r, math.sqrt(qx * qx + qy * qy))))
        return h
    if kind == BARK:
        return 0.8 * noise(u * 0.8 + noise(u, v, 3.0), v * 0.16, 1.0) + 0.35 * noise(u * 2.6, v * 0.8, 5.0)
    if kind == BRUSHED or kind == METAL:
        return 0.4 * noise(u * 1.4, v * 0.09, 2.0) * fade + 0.25 * noise(u * 0.3, v * 0.2, 7.0)
    if kind == BAND:
        return 0.8 * weave(u * 2.0, v * 2.0) * fade + 0.8 * ramp(0.30, 0.1, abs(v - math.floor(v) - 0.5))
    if kind == BODY or kind == FACE:
        return 0.35 * noise(u, v, 1.5) + 0.25 * fade * noise(u * 2.7, v * 2.7, 4.0)
    if kind == SPECKLE or kind == PLASTER:
        return 0.5 * cloud(u * 0.5, v * 0.5, 2.0) + 0.2 * fade * noise(u * 2.0, v * 2.0, 3.0)
    return 0.15 * noise(u, v, 1.0)


@njit(fastmath=True, cache=True, error_model="numpy")
def petal(u: float, v: float, many: float) -> float:
    """Give 1 inside a small printed blossom round the origin, 0 outside."""
    r = math.sqrt(u * u + v * v)
    edge = 0.22 + 0.07 * math.cos(many * math.atan2(v, u))
    return 1.0 - ramp(edge - 0.03, edge + 0.03, r)


@njit(fastmath=True, cache=True, error_model="numpy")
def mixture(kind: int, u: float, v: float, width: float) -> float:
    """Give the share of the second colour; `width` is the print's repeat in threads."""
    if kind == STRIPES:
        s = u / width
        f = s - math.floor(s)
        thin = ramp(0.66, 0.69, f) * (1 - ramp(0.74, 0.77, f))
        return max(ramp(0.02, 0.05, f) * (1 - ramp(0.38, 0.42, f)), thin)
    if kind == CHECK:
        a, b = u / width, v / width
        return 0.5 * (ramp(0.0, 0.05, a - math.floor(a)) * (1 - ramp(0.5, 0.55, a - math.floor(a)))) + 0.5 * (
            ramp(0.0, 0.05, b - math.floor(b)) * (1 - ramp(0.5, 0.55, b - math.floor(b)))
        )
    if kind == DOTS:
        b = v / width
        row = math.floor(b)
        a = u / width + 0.5 * (int(row) % 2)
        x, y = a - math.floor(a) - 0.5, b - row - 0.5
        return 1.0 - ramp(0.17, 0.22, math.sqrt(x * x + y * y))
    if kind == DIAMOND:
        a, b = (u + 0.6 * v) / width, (u - 0.6 * v) / width
        return 1.0 if (int(math.floor(a)) + int(math.floor(b))) % 2 == 0 else 0.0
    if kind == FLORAL:
        a, b = u / width, v / width
        cu, cv = math.floor(a), math.floor(b)
        jx, jy = 0.5 * (lattice(int(cu), int(cv), 1) - 0.5), 0.5 * (lattice(int(cu), int(cv), 2) - 0.5)
        turn = 6.28 * lattice(int(cu), int(cv), 3)
        x, y = a - cu - 0.5 - jx, b - cv - 0.5 - jy
        c, s = math.cos(turn), math.sin(turn)
        x, y = c * x + s * y, -s * x + c * y
        leaf = (1 - ramp(0.03, 0.06, abs(y - 0.25 * x * x))) * (
            ramp(0.2, 0.24, abs(x)) * (1 - ramp(0.40, 0.46, abs(x)))
        )
        return max(petal(x, y, 5.0), 0.55 * leaf)
    if kind == KNIT:
        return ramp(0.42, 0.58, noise(u * 0.3, v * 0.3, 2.0)) * 0.4
    if kind == HAIR:
        return 0.75 * noise(u * 0.8, v * 0.03, 5.0) + 0.25 * noise(u * 2.4, v * 0.05, 9.0)
    if kind == WOOD:
        ring = u * 0.5 + 2.2 * noise(u * 0.12, v * 0.012, 2.0)
        return 0.6 * (0.5 + 0.5 * math.sin(ring * 4.0)) * noise(u * 0.5, v * 0.05, 6.0) + 0.45 * noise(
            u * 2.5, v * 0.07, 4.0
        )
    if kind == FELT:
        return 0.6 * cloud(u * 0.12, v * 0.12, 5.0) + 0.4 * noise(u * 1.3, v * 0.6, 2.0)
    if kind == FEATHER:
        return 0.5 + 0.5 * math.sin(v * 0.55 + 1.2 * noise(u * 0.4, v * 0.2, 3.0))
    if kind == SPECKLE:
        return ramp(0.66, 0.72, noise(u * 1.6, v * 1.6, 8.0)) + 0.25 * cloud(u * 0.2, v * 0.2, 1.0)
    if kind == SCALLOP:
        row = math.floor(v)
        fu = u + 0.5 * (int(row) % 2)
        fu = fu - math.floor(fu) - 0.5
        fv = v - row
        r = math.sqrt(fu * fu * 3.2 + fv * fv)
        return ramp(0.55, 0.98, r) * 0.9
    if kind == PRINT:
        line = math.floor(v)
        f = v - line
        word = noise(u * 0.9, line * 3.7, 1.0) * (noise(u * 3.1, line * 1.9, 4.0) > 0.3)
        return 0.75 * ramp(0.35, 0.45, word) * ramp(0.3, 0.4, f) * (1 - ramp(0.62, 0.72, f))
    if kind == BAND:
        f = v - math.floor(v) - 0.5
        zig = abs((u * 0.5 - math.floor(u * 0.5)) - 0.5) - 0.25
        return 1.0 - ramp(0.05, 0.09, abs(f - zig * 0.9))
    if kind == METAL:
        return ramp(0.45, 0.75, cloud(u * 0.25, v * 0.25, 3.0))
    if kind == WARTS:
        return ramp(0.4, 0.7, cloud(u * 0.35, v * 0.35, 6.0))
    if kind == BARK:
        return noise(u * 0.8 + noise(u, v, 3.0), v * 0.16, 1.0)
    if kind == BRUSHED:
        return 0.6 * noise(u * 1.4, v * 0.09, 2.0) + 0.4 * cloud(u * 0.15, v * 0.1, 5.0)
    if kind == PLASTER:
        return 0.7 * cloud(u * 0.05, v * 0.05, 5.0) + 0.3 * cloud(u * 0.3, v * 0.3, 2.0)
    return 0.5 * cloud(u * 0.25, v * 0.25, 4.0)
