"""Colour of what a ray has met: material, paint, glass eyes, and the lamps' reflections."""

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from light import Setting, key_strength, march, room_light
from pattern import (
    BODY,
    EYE,
    FACE,
    HAIR,
    METAL,
    PLASTER,
    WOOD,
    cloud,
    mixture,
    noise,
    ramp,
    relief,
)  # fmt: skip
from scene import Scene
from solids import BLADE, BOX, CONE, LATHE, SKIRT, TUBE, Floats, tube_place

# Columns of a material's row.
COLOUR, SECOND, ROUGH, MIRROR, SHEEN, WARM, THROUGH, KIND = 0, 3, 6, 7, 8, 9, 10, 11
RATE, BUMP, PICTURE, PLACE, METALLIC, WIDTH, EXTRA = 12, 13, 14, 15, 16, 17, 18


class Stuff(NamedTuple):
    """What everything is made of."""

    material: Floats  # one row a material
    place: Floats  # one row a frame: centre, three axes, size
    faces: NDArray[np.float32]  # painted faces: which, row, column, (red, green, blue, gloss)
    irises: NDArray[np.float32]
    spots: Floats  # blushes on skin: centre, radius, strength, colour
    floor: Floats  # the backdrop's own material row


@njit(fastmath=True, cache=True, error_model="numpy")
def grain_place(
    scene: Scene, o: int, x: float, y: float, z: float
) -> tuple[float, float, float, float, float]:
    """Give a solid's own coordinates: (across, along, and the direction called along)."""
    row = scene.solid[o]
    kind = scene.sort[o, 0]
    if kind == TUBE:
        _, t = tube_place(scene.solid, o, x, y, z)
        ax, ay, az = row[5], row[6], row[7]
        bx, by, bz = row[8] - ax, row[9] - ay, row[10] - az
        cx, cy, cz = ax - 2 * row[8] + row[11], ay - 2 * row[9] + row[12], az - 2 * row[10] + row[13]
        px, py, pz = (
            x - (ax + (2 * bx + cx * t) * t),
            y - (ay + (2 * by + cy * t) * t),
            z - (az + (2 * bz + cz * t) * t),
        )
        tx, ty, tz = bx + cx * t, by + cy * t, bz + cz * t
        n = 1.0 / math.sqrt(tx * tx + ty * ty + tz * tz + 1e-12)
        tx, ty, tz = tx * n, ty * n, tz * n
        long = math.sqrt((row[11] - ax) ** 2 + (row[12] - ay) ** 2 + (row[13] - az) ** 2)
        # Any fixed direction will do to count the angle round the curve from.
        ux, uy, uz = ty * 0.62 - tz * 0.48, tz * 0.62 - tx * 0.62, tx * 0.48 - ty * 0.62
        n = 1.0 / math.sqrt(ux * ux + uy * uy + uz * uz + 1e-12)
        ux, uy, uz = ux * n, uy * n, uz * n
        vx, vy, vz = ty * uz - tz * uy, tz * ux - tx * uz, tx * uy - ty * ux
        turn = math.atan2(px * vx + py * vy + pz * vz, px * ux + py * uy + pz * uz)
        wide = max(row[14], row[15], row[16])
        return turn * wide + 3.7 * o, t * long + 0.37 * o, tx, ty, tz
    if kind == CONE:
        bx, by, bz = row[8] - row[5], row[9] - row[6], row[10] - row[7]
        long = math.sqrt(bx * bx + by * by + bz * bz) + 1e-12
        bx, by, bz = bx / long, by / long, bz / long
        px, py, pz = x - row[5], y - row[6], z - row[7]
        h = px * bx + py * by + pz * bz
        px, py, pz = px - bx * h, py - by * h, pz - bz * h
        if abs(by) < 0.9:
            ux, uy, uz = -bz, 0.0, bx
        else:
            ux, uy, uz = 0.0, bz, -by
        n = 1.0 / math.sqrt(ux * ux + uy * uy + uz * uz + 1e-12)
        ux, uy, uz = ux * n, uy * n, uz * n
        vx, vy, vz = by * uz - bz * uy, bz * ux - bx * uz, bx * uy - by * ux
        turn = math.atan2(px * vx + py * vy + pz * vz, px * ux + py * uy + pz * uz)
        return turn * 0.5 * (row[14] + row[15]), h, bx, by, bz
    dx, dy, dz = x - row[5], y - row[6], z - row[7]
    lx = row[8] * dx + row[9] * dy + row[10] * dz
    ly = row[11] * dx + row[12] * dy + row[13] * dz
    lz = row[14] * dx + row[15] * dy + row[16] * dz
    if kind == BLADE:
        return lx, ly, row[11], row[12], row[13]
    if kind == BOX:
        ax, az = abs(lx) / row[17], abs(lz) / row[19]
        if az > ax and az > abs(ly) / row[18]:
            return lx, ly, row[11], row[12], row[13]
        if ax > abs(ly) / row[18]:
            return lz, ly, row[11], row[12], row[13]
        return lz, lx, row[8], row[9], row[10]
    if kind == SKIRT:
        wide = row[17] + (row[18] - row[17]) * min(1.0, max(0.0, -ly / row[19]))
        mid = 0.5 * (row[17] + row[18])
        return math.atan2(lz, lx) * (0.35 * wide + 0.65 * mid), ly, row[11], row[12], row[13]
    rho = math.sqrt(lx * lx + lz * lz)
    wide = 0.5 * (row[17] + row[19]) if kind != LATHE else max(rho, 0.02)
    along = ly if kind != LATHE else ly + rho * 0.5
    return math.atan2(lx, lz) * wide, along, row[11], row[12], row[13]


@njit(fastmath=True, cache=True, error_model="numpy")
def picture_at(pictures: NDArray[np.float32], which: int, u: float, v: float, out: Floats) -> None:
    """Read a painted picture at (u, v) from 0 to 1, v downward."""
    high, wide = pictures.shape[1], pictures.shape[2]
    fx, fy = min(wide - 1.001, max(0.0, u * (wide - 1))), min(high - 1.001, max(0.0, v * (high - 1)))
    i, j = int(fx), int(fy)
    fx, fy = fx - i, fy - j
    for c in range(pictures.shape[3]):
        a = pictures[which, j, i, c] * (1 - fx) + pictures[which, j, i + 1, c] * fx
        b = pictures[which, j + 1, i, c] * (1 - fx) + pictures[which, j + 1, i + 1, c] * fx
        out[c] = a * (1 - fy) + b * fy


@njit(fastmath=True, cache=True, error_model="numpy")
def window_glow(st: Setting, x: float, y: float, z: float, dx: float, dy: float, dz: float) -> float:
    """Give the brightness of the key lamp's soft box seen along a direction."""
    kx, ky, kz = st.key[0] - x, st.key[1] - y, st.key[2] - z
    far = math.sqrt(kx * kx + ky * ky + kz * kz)
    kx, ky, kz = kx / far, ky / far, kz / far
    c = dx * kx + dy * ky + dz * kz
    if c <= 0.1:
        return 0.0
    n = 1.0 / math.sqrt(kx * kx + kz * kz)
    rx, rz = -kz * n, kx * n
    a = (dx * rx + dz * rz) / c
    ux, uy, uz = ky * rz, kz * rx - kx * rz, -ky * rx
    b = (dx * ux + dy * uy + dz * uz) / c
    return (1.0 - ramp(0.24, 0.29, abs(a))) * (1.0 - ramp(0.30, 0.36, abs(b))) * (0.75 - 0.8 * b)


@njit(fastmath=True, cache=True, error_model="numpy")
def mirrored(
    st: Setting, x: float, y: float, z: float, dx: float, dy: float, dz: float, spread: float, out: Floats
) -> None:
    """Give what a smooth surface mirrors from a direction; `spread` blurs it."""
    r, g, b = room_light(st, dx, dy, dz)
    dim = 0.9 - 0.5 * ramp(0.1, -0.6, dy)
    glow = window_glow(st, x, y, z, dx, dy, dz) * 5.0 * (1.0 - ramp(0.0, 0.35, spread))
    # A tall strip on the fill's side.
    side = dx * st.fill[0] + dz * st.fill[2]
    strip = ramp(0.90, 0.95, side) * (1.0 - ramp(0.35, 0.5, abs(dy))) * 0.45
    out[0] = r * dim + glow * st.key_colour[0] * 0.35 + strip
    out[1] = g * dim + glow * st.key_colour[1] * 0.35 + strip
    out[2] = b * dim + glow * st.key_colour[2] * 0.35 + strip


@njit(fastmath=True, cache=True, error_model="numpy")
def gloss(
    nx: float,
    ny: float,
    nz: float,
    vx: float,
    vy: float,
    vz: float,
    lx: float,
    ly: float,
    lz: float,
    rough: float,
) -> float:
    """Give the width-normalised highlight of a lamp (Trowbridge-Reitz, from memory)."""
    hx, hy, hz = vx + lx, vy + ly, vz + lz
    s = 1.0 / math.sqrt(hx * hx + hy * hy + hz * hz + 1e-12)
    nh = max(0.0, (nx * hx + ny * hy + nz * hz) * s)
    nl = max(0.0, nx * lx + ny * ly + nz * lz)
    nv = max(0.05, nx * vx + ny * vy + nz * vz)
    a = rough * rough
    a2 = a * a
    d = nh * nh * (a2 - 1.0) + 1.0
    k = 0.5 * a + 0.1
    shape = 1.0 / ((nl * (1 - k) + k) * (nv * (1 - k) + k) * 4.0)
    return nl * a2 / (3.1416 * d * d) * shape


@njit(fastmath=True, cache=True, error_model="numpy")
def shade_eye(
    scene: Scene, st: Setting, stuff: Stuff, m: int,
    x: float, y: float, z: float, nx: float, ny: float, nz: float,
    dx: float, dy: float, dz: float, key: float, ar: float, ag: float, ab: float, out: Floats,
) -> None:  # fmt: skip
    """Colour a glass eye: white, iris seen through the cornea, and the mirrored window."""
    mat = stuff.material[m]
    f = stuff.place[int(mat[PLACE])]
    size = f[12]
    px, py, pz = x - f[0], y - f[1], z - f[2]
    qx = (f[3] * px + f[4] * py + f[5] * pz) / size
    qy = (f[6] * px + f[7] * py + f[8] * pz) / size
    qz = (f[9] * px + f[10] * py + f[11] * pz) / size
    cosine = -(dx * nx + dy * ny + dz * nz)
    eta = 1.0 / 1.38
    k = 1.0 - eta * eta * (1.0 - cosine * cosine)
    bend = eta * cosine - math.sqrt(max(0.0, k))
    rx, ry, rz = eta * dx + bend * nx, eta * dy + bend * ny, eta * dz + bend * nz
    ex = f[3] * rx + f[4] * ry + f[5] * rz
    ey = f[6] * rx + f[7] * ry + f[8] * rz
    ez = f[9] * rx + f[10] * ry + f[11] * rz
    iris = mat[WIDTH]
    depth = math.sqrt(1.0 - iris * iris) - 0.07
    t = (depth - qz) / ez if ez < -1e-3 else 0.0
    hx, hy = qx + ex * max(0.0, t), qy + ey * max(0.0, t)
    r = math.sqrt(hx * hx + hy * hy) / iris
    wlx, wly, wlz = st.key[0] - x, st.key[1] - y, st.key[2] - z
    n = 1.0 / math.sqrt(wlx * wlx + wly * wly + wlz * wlz)
    wlx, wly, wlz = wlx * n, wly * n, wlz * n
    lamp = max(0.0, nx * wlx + ny * wly + nz * wlz) * key * key_strength(st, x, y, z)
    ir, ig, ib = mat[COLOUR], mat[COLOUR + 1], mat[COLOUR + 2]
    rim = ramp(0.75, 1.0, abs(qx)) + 0.4 * ramp(0.5, 0.9, abs(qy))
    ir, ig, ib = ir * (1 - 0.12 * rim), ig * (1 - 0.30 * rim), ib * (1 - 0.30 * rim)
    er, eg, eb = (
        st.key_colour[0] * lamp * 0.32 + ar,
        st.key_colour[1] * lamp * 0.32 + ag,
        st.key_colour[2] * lamp * 0.32 + ab,
    )
    out[0], out[1], out[2] = ir * er, ig * eg, ib * eb
    if qz > 0 and r < 1.06:
        picture_at(stuff.irises, int(mat[PICTURE]), 0.5 + 0.47 * hx / iris, 0.5 - 0.47 * hy / iris, out)
        # Light gathered by the cornea brightens the iris on the side away from the lamp.
        lx = f[3] * wlx + f[4] * wly + f[5] * wlz
        ly = f[6] * wlx + f[7] * wly + f[8] * wlz
        bright = 0.55 + 0.9 * max(0.0, -(hx * lx + hy * ly) / iris + 0.25)
        cover = 1.0 - ramp(0.96, 1.06, r)
        lr = (st.key_colour[0] * key * 0.32 + ar) * bright * 0.95
        lg = (st.key_colour[1] * key * 0.32 + ag) * bright * 0.95
        lb = (st.key_colour[2] * key * 0.32 + ab) * bright * 0.95
        out[0] = out[0] * lr * cover + ir * er * (1 - cover)
        out[1] = out[1] * lg * cover + ig * eg * (1 - cover)
        out[2] = out[2] * lb * cover + ib * eb * (1 - cover)
    vx, vy, vz = dx + 2 * cosine * nx, dy + 2 * cosine * ny, dz + 2 * cosine * nz
    fresnel = 0.045 + 0.955 * (1.0 - max(0.0, cosine)) ** 5
    seen = np.empty(3)
    mirrored(st, x, y, z, vx, vy, vz, 0.0, seen)
    block = march(scene, x + nx * 0.004, y + ny * 0.004, z + nz * 0.004, vx, vy, vz, 0.004, 2.5, 0.002, 50)
    if block > 0.0:
        seen[0], seen[1], seen[2] = 0.10, 0.07, 0.06
    glow = window_glow(st, x, y, z, vx, vy, vz) * 0.62 if block < 0.0 else 0.0
    for c in range(3):
        out[c] += seen[c] * fresnel + glow * st.key_colour[c]


@njit(fastmath=True, cache=True, error_model="numpy")
def paint_skin(stuff: Stuff, x: float, y: float, z: float, c: Floats) -> None:
    """Lay the blushes over a skin colour."""
    for i in range(len(stuff.spots)):
        s = stuff.spots[i]
        dx, dy, dz = x - s[0], y - s[1], z - s[2]
        d2 = (dx * dx + dy * dy + dz * dz) / (s[3] * s[3])
        if d2 < 1.0:
            w = (1.0 - d2) ** 2 * s[4] * (0.72 + 0.6 * noise(x * 26, y * 9, z * 26))
            for k in range(3):
                c[k] = c[k] * (1 - w) + c[k] * s[5 + k] * w


@njit(fastmath=True, cache=True, error_model="numpy")
def shade(
    scene: Scene, st: Setting, stuff: Stuff, o: int, t: float, pixel: float,
    x: float, y: float, z: float, gx: float, gy: float, gz: float,
    dx: float, dy: float, dz: float, key: float, rim: float, ar: float, ag: float, ab: float, out: Floats,
) -> None:  # fmt: skip
    """Write to `out` the light that comes from a surface point along the ray."""
    m = scene.sort[o, 2] if o >= 0 else -1
    mat = stuff.material[m] if o >= 0 else stuff.floor
    kind = int(mat[KIND])
    if kind == EYE:
        shade_eye(scene, st, stuff, m, x, y, z, gx, gy, gz, dx, dy, dz, key, ar, ag, ab, out)
        return
    if o < 0 and kind == WOOD and gy < 0.9:
        # Behind a bench stands a dim plain wall.
        kind = PLASTER
    if o >= 0:
        u, v, lx, ly, lz = grain_place(scene, o, x, y, z)
    elif gy > 0.7:
        u, v, lx, ly, lz = x, z, 0.0, 0.0, 1.0
    else:
        u, v, lx, ly, lz = x, y, 0.0, 1.0, 0.0
    rate = mat[RATE]
    fade = 1.0 - ramp(0.2, 0.5, pixel * t * rate)
    e = 0.12
    nx, ny, nz = gx, gy, gz
    h0 = relief(kind, u * rate, v * rate, fade)
    k = lx * gx + ly * gy + lz * gz
    tx, ty, tz = lx - gx * k, ly - gy * k, lz - gz * k
    n = 1.0 / math.sqrt(tx * tx + ty * ty + tz * tz + 1e-9)
    tx, ty, tz = tx * n, ty * n, tz * n
    sx, sy, sz = ty * gz - tz * gy, tz * gx - tx * gz, tx * gy - ty * gx
    if mat[BUMP] > 0.0:
        hu = (relief(kind, u * rate + e, v * rate, fade) - h0) / e
        hv = (relief(kind, u * rate, v * rate + e, fade) - h0) / e
        b = mat[BUMP] * (1.0 - 0.8 * ramp(0.3, 1.2, pixel * t * rate))
        sign = 1.0
        nx, ny, nz = (
            gx - b * (hu * sx * sign + hv * tx),
            gy - b * (hu * sy * sign + hv * ty),
            gz - b * (hu * sz * sign + hv * tz),
        )
        n = 1.0 / math.sqrt(nx * nx + ny * ny + nz * nz)
        nx, ny, nz = nx * n, ny * n, nz * n
    w = mixture(kind, u * rate, v * rate, mat[WIDTH])
    hue = np.empty(4)
    for c in range(3):
        hue[c] = mat[COLOUR + c] * (1 - w) + mat[SECOND + c] * w
    rough = mat[ROUGH]
    if kind == FACE or kind == BODY:
        mottle = 0.93 + 0.14 * cloud(x * 5, y * 5, z * 5)
        hue[0], hue[1], hue[2] = (
            mat[COLOUR] * mottle,
            mat[COLOUR + 1] * mottle * (0.985 + 0.02 * mottle),
            mat[COLOUR + 2] * mottle,
        )
        paint_skin(stuff, x, y, z, hue)
    if kind == FACE:
        f = stuff.place[int(mat[PLACE])]
        px, py, pz = x - f[0], y - f[1], z - f[2]
        qx = (f[3] * px + f[4] * py + f[5] * pz) / f[12]
        qy = (f[6] * px + f[7] * py + f[8] * pz) / f[12]
        front = f[9] * gx + f[10] * gy + f[11] * gz
        share = ramp(-0.15, 0.2, front) * ramp(1.24, 1.1, abs(qx)) * ramp(1.24, 1.1, abs(qy))
        if share > 0.0:
            painted = np.empty(4)
            picture_at(stuff.faces, int(mat[PICTURE]), 0.5 + qx / 2.5, 0.5 - qy / 2.5, painted)
            for c in range(3):
                hue[c] = hue[c] * (1 - share) + painted[c] * mottle * share
            rough = rough - share * (painted[3] - 0.5) * 0.7
    elif kind != METAL:
        dirt = 0.9 + 0.2 * cloud(x * 3, y * 3, z * 3)
        for c in range(3):
            hue[c] *= dirt * (1.0 + 0.25 * (h0 - 0.5) * mat[BUMP])
    kx, ky, kz = st.key[0] - x, st.key[1] - y, st.key[2] - z
    n = 1.0 / math.sqrt(kx * kx + ky * ky + kz * kz)
    kx, ky, kz = kx * n, ky * n, kz * n
    jx, jy, jz = st.rim[0] - x, st.rim[1] - y, st.rim[2] - z
    n = 1.0 / math.sqrt(jx * jx + jy * jy + jz * jz)
    jx, jy, jz = jx * n, jy * n, jz * n
    strength = key_strength(st, x, y, z)
    nl = nx * kx + ny * ky + nz * kz
    nr = nx * jx + ny * jy + nz * jz
    lean = 1.0 + 0.5 * ((nx - gx) * 0.3 + (ny - gy) * 0.8 + (nz - gz) * 0.4)
    warm = mat[WARM]
    through = mat[THROUGH]
    vx, vy, vz = -dx, -dy, -dz
    nv = max(0.02, nx * vx + ny * vy + nz * vz)
    metal = mat[METALLIC]
    room = (ar, ag, ab)
    seen = np.empty(3)
    k = 2.0 * (nx * vx + ny * vy + nz * vz)
    mx, my, mz = nx * k - vx, ny * k - vy, nz * k - vz
    mirrored(st, x, y, z, mx, my, mz, rough, seen)
    open_sky = min(1.0, (ar + ag + ab) / (0.6 * (st.above[0] + st.above[1] + st.above[2]) + 0.02))
    f0 = mat[MIRROR]
    fresnel = f0 + (1.0 - f0) * (1.0 - nv) ** 5 * (1.0 - rough) ** 2
    if kind == HAIR:
        hx, hy, hz = vx + kx, vy + ky, vz + kz
        n = 1.0 / math.sqrt(hx * hx + hy * hy + hz * hz)
        th = (lx * hx + ly * hy + lz * hz) * n + 0.16 * (w - 0.5)
        glint = math.sqrt(max(0.0, 1.0 - th * th))
        shine_key = (glint**70 * 0.30 + glint**14 * 0.10) * mat[SHEEN]
        shine_rim = 0.25 * mat[SHEEN] * max(0.0, 1.0 - nv) ** 2
    else:
        shine_key = gloss(nx, ny, nz, vx, vy, vz, kx, ky, kz, rough)
        shine_rim = gloss(nx, ny, nz, vx, vy, vz, jx, jy, jz, max(0.2, rough))
    velvet = mat[SHEEN] * (1.0 - nv) ** 3 if kind != HAIR else 0.0
    for c in range(3):
        wrap = warm * (0.22 if c == 0 else (0.11 if c == 1 else 0.08))
        lamp = max(0.0, (nl + wrap) / (1.0 + wrap)) + through * max(0.0, -nl) * 0.7
        rims = max(0.0, (nr + wrap) / (1.0 + wrap)) + through * max(0.0, -nr) * 0.9
        # Shadow edges on skin keep a little red.
        seen_key = key ** (1.0 - 0.22 * warm) if c == 0 else (key ** (1.0 - 0.08 * warm) if c == 1 else key)
        light_key = st.key_colour[c] * strength * seen_key
        light_rim = st.rim_colour[c] * rim
        spread = (light_key * lamp + light_rim * rims) * 0.3183 + room[c] * max(0.3, lean)
        tint = f0 * (1 - metal) + hue[c] * metal
        if kind == HAIR:
            tint = 0.10 + 0.90 * min(1.0, 1.6 * hue[c])
            spec = light_key * shine_key * max(0.0, nl * 0.7 + 0.3) + light_rim * shine_rim
            out[c] = hue[c] * spread * 1.05 + spec * tint
            continue
        edge = tint + (fresnel - f0) * (1 - metal * 0.5)
        spec = (light_key * shine_key + light_rim * shine_rim) * edge + seen[c] * edge * open_sky * (
            1.0 - 0.6 * rough
        )
        out[c] = (
            hue[c] * mat[EXTRA]
            + hue[c] * (1.0 - 0.92 * metal) * spread
            + spec
            + velvet * (light_key * 0.25 + light_rim * 0.5 + room[c]) * (0.3 + 0.7 * hue[c])
        )
