"""Rays: from the camera to the scene, and from a surface to the lamps and the room."""

import math
from typing import NamedTuple

import numpy as np
from numba import njit, prange

from scene import Scene, distance, owner_at
from solids import Floats, Ints


class Setting(NamedTuple):
    """Camera, lamps and paper sweep; lengths in the scene's unit, colours linear."""

    eye: Floats  # where the camera stands
    frame: Floats  # rows: right, up, forward
    spread: float  # half the picture's height over the distance
    key: Floats  # position of the key lamp
    key_size: float
    key_colour: Floats
    aim: Floats  # where key and rim point
    rim: Floats
    rim_colour: Floats
    fill: Floats  # direction to the fill card
    fill_colour: Floats
    above: Floats  # light of the room from above
    below: Floats
    wall: float  # z of the backdrop's wall
    sweep: float  # radius of its bend
    paper: Floats  # backdrop colour
    snoot: float  # how fast the key falls off away from its axis


@njit(fastmath=True, cache=True, error_model="numpy")
def chance(a: int, b: int, c: int) -> float:
    """Hash three integers to a number from 0 to 1."""
    h = np.uint32(a * 374761393 + b * 668265263 + c * 2147483647 + 12345)
    h = np.uint32((h ^ (h >> np.uint32(13))) * np.uint32(1274126177))
    h = np.uint32((h ^ (h >> np.uint32(15))) * np.uint32(2246822519))
    h = h ^ (h >> np.uint32(16))
    return float(h) / 4294967296.0


@njit(fastmath=True, cache=True, error_model="numpy")
def backdrop_hit(st: Setting, ox: float, oy: float, oz: float, dx: float, dy: float, dz: float) -> float:
    """Find how far along a ray the paper sweep lies."""
    bend_z, bend_y = st.wall + st.sweep, st.sweep
    if dy < -1e-9:
        t = -oy / dy
        if t > 0 and oz + dz * t >= bend_z:
            return t
    a = dy * dy + dz * dz
    py, pz = oy - bend_y, oz - bend_z
    b = py * dy + pz * dz
    c = py * py + pz * pz - st.sweep * st.sweep
    h = b * b - a * c
    if h > 0 and a > 1e-12:
        t = (-b + math.sqrt(h)) / a
        if t > 0 and oy + dy * t <= bend_y and oz + dz * t <= bend_z:
            return t
    if dz < -1e-9:
        t = (st.wall - oz) / dz
        if t > 0 and oy + dy * t >= 0.0:
            return t
    return 60.0


@njit(fastmath=True, cache=True, error_model="numpy")
def backdrop_normal(st: Setting, y: float, z: float) -> tuple[float, float]:
    """Give (y, z) of the sweep's normal."""
    if z >= st.wall + st.sweep:
        return 1.0, 0.0
    if y >= st.sweep:
        return 0.0, 1.0
    ny, nz = st.sweep - y, st.wall + st.sweep - z
    s = 1.0 / math.sqrt(ny * ny + nz * nz + 1e-12)
    return ny * s, nz * s


@njit(fastmath=True, cache=True, error_model="numpy")
def march(
    scene: Scene,
    ox: float,
    oy: float,
    oz: float,
    dx: float,
    dy: float,
    dz: float,
    begin: float,
    end: float,
    grain: float,
    most: int,
) -> float:
    """Follow a ray to the figure; the distance, or -1 when it passes by."""
    near, away = begin, end
    for axis in range(3):
        o = ox if axis == 0 else (oy if axis == 1 else oz)
        d = dx if axis == 0 else (dy if axis == 1 else dz)
        side = scene.cell * scene.side[axis]
        if abs(d) < 1e-9:
            if o < scene.origin[axis] or o > scene.origin[axis] + side:
                return -1.0
            continue
        a, b = (scene.origin[axis] - o) / d, (scene.origin[axis] + side - o) / d
        near, away = max(near, min(a, b)), min(away, max(a, b))
    t = near + 1e-5
    for _ in range(most):
        if t >= away:
            return -1.0
        d = distance(scene, ox + dx * t, oy + dy * t, oz + dz * t)
        if d < grain * t:
            return t
        t += max(d * 0.93, grain * t * 0.6)
    return -1.0 if most < 100 else t


@njit(fastmath=True, cache=True, error_model="numpy")
def slope(scene: Scene, x: float, y: float, z: float, e: float) -> tuple[float, float, float]:
    """Take the surface's normal by four probes."""
    a = distance(scene, x + e, y - e, z - e)
    b = distance(scene, x - e, y - e, z + e)
    c = distance(scene, x - e, y + e, z - e)
    d = distance(scene, x + e, y + e, z + e)
    nx, ny, nz = a - b - c + d, -a - b + c + d, -a + b - c + d
    s = 1.0 / math.sqrt(nx * nx + ny * ny + nz * nz + 1e-20)
    return nx * s, ny * s, nz * s


@njit(fastmath=True, cache=True, error_model="numpy")
def key_strength(st: Setting, x: float, y: float, z: float) -> float:
    """Give how much of the key lamp's light arrives, its shape and distance only."""
    ax, ay, az = st.aim[0] - st.key[0], st.aim[1] - st.key[1], st.aim[2] - st.key[2]
    whole = math.sqrt(ax * ax + ay * ay + az * az)
    px, py, pz = x - st.key[0], y - st.key[1], z - st.key[2]
    far = math.sqrt(px * px + py * py + pz * pz)
    c = (ax * px + ay * py + az * pz) / (whole * far)
    fall = math.exp(-st.snoot * (1.0 - c) * (1.0 - c) * 40.0)
    return fall * (whole / far) ** 2


@njit(fastmath=True, cache=True, error_model="numpy")
def room_light(st: Setting, dx: float, dy: float, dz: float) -> tuple[float, float, float]:
    """Give the dim light of the room from a direction."""
    u = 0.5 + 0.5 * dy
    f = max(0.0, dx * st.fill[0] + dy * st.fill[1] + dz * st.fill[2]) ** 3
    r = st.below[0] * (1 - u) + st.above[0] * u + st.fill_colour[0] * f
    g = st.below[1] * (1 - u) + st.above[1] * u + st.fill_colour[1] * f
    b = st.below[2] * (1 - u) + st.above[2] * u + st.fill_colour[2] * f
    return r, g, b


@njit(fastmath=True, cache=True, error_model="numpy")
def clear_way(
    scene: Scene, x: float, y: float, z: float, tx: float, ty: float, tz: float, begin: float
) -> float:
    """Say 1 when nothing stands between a point and a target, else 0."""
    dx, dy, dz = tx - x, ty - y, tz - z
    far = math.sqrt(dx * dx + dy * dy + dz * dz)
    t = march(scene, x, y, z, dx / far, dy / far, dz / far, begin, min(far, 6.0), 0.0012, 60)
    return 1.0 if t < 0.0 else 0.0


@njit(fastmath=True, cache=True, error_model="numpy")
def gather(
    scene: Scene, st: Setting, hue: Floats, x: float, y: float, z: float, nx: float, ny: float, nz: float,
    lift: float, px: int, py: int, rays: int,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Ask lamps and room: (key seen, rim seen, red, green, blue of the room's light)."""
    key = rim = ar = ag = ab = 0.0
    shift_a, shift_b = chance(px, py, 1), chance(px, py, 2)
    ox, oy, oz = x + nx * lift, y + ny * lift, z + nz * lift
    if abs(nx) > 0.6:
        ux, uy, uz = -nz, 0.0, nx
    else:
        ux, uy, uz = 0.0, nz, -ny
    s = 1.0 / math.sqrt(ux * ux + uy * uy + uz * uz)
    ux, uy, uz = ux * s, uy * s, uz * s
    vx, vy, vz = ny * uz - nz * uy, nz * ux - nx * uz, nx * uy - ny * ux
    for i in range(rays):
        a = (shift_a + i * 0.7548776662) % 1.0
        b = (shift_b + i * 0.5698402910) % 1.0
        turn = 6.2831853 * b
        r = math.sqrt(a) * st.key_size
        kx = st.key[0] + r * math.cos(turn)
        ky = st.key[1] + r * math.sin(turn)
        kz = st.key[2] + r * math.sin(turn + 1.0)
        if (kx - x) * nx + (ky - y) * ny + (kz - z) * nz > -0.35:
            key += clear_way(scene, ox, oy, oz, kx, ky, kz, 0.004)
        c = math.sqrt(1.0 - a)
        r = math.sqrt(a)
        turn = 6.2831853 * ((b + 0.37) % 1.0)
        p, q = r * math.cos(turn), r * math.sin(turn)
        dx, dy, dz = ux * p + vx * q + nx * c, uy * p + vy * q + ny * c, uz * p + vz * q + nz * c
        t = march(scene, ox, oy, oz, dx, dy, dz, 0.003, 1.8, 0.0025, 28)
        if t > 0.0:
            o = owner_at(scene, ox + dx * t, oy + dy * t, oz + dz * t)
            m = scene.sort[o, 2]
            glow = 0.16 + 0.22 * max(0.0, -dx * 0.4 - dy * 0.2)
            ar += hue[m, 0] * glow
            ag += hue[m, 1] * glow
            ab += hue[m, 2] * glow
        elif dy < -0.05 and oy < 6.0:
            wide = backdrop_hit(st, ox, oy, oz, dx, dy, dz)
            lit = 0.5 * key_strength(st, ox + dx * wide, oy + dy * wide, oz + dz * wide)
            ar += st.paper[0] * lit * st.key_colour[0] * 0.33
            ag += st.paper[1] * lit * st.key_colour[1] * 0.33
            ab += st.paper[2] * lit * st.key_colour[2] * 0.33
        else:
            er, eg, eb = room_light(st, dx, dy, dz)
            ar += er
            ag += eg
            ab += eb
    if (st.rim[0] - x) * nx + (st.rim[1] - y) * ny + (st.rim[2] - z) * nz > 0.0:
        jx, jy = (shift_b - 0.5) * 1.6, (shift_a - 0.5) * 2.4
        rim = clear_way(scene, ox, oy, oz, st.rim[0] + jx, st.rim[1] + jy, st.rim[2], 0.004)
    n = 1.0 / rays
    return key * n, rim, ar * n, ag * n, ab * n


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def first_hits(
    scene: Scene, st: Setting, wide: int, high: int, depth: Floats, owner: Ints, normal: Floats
) -> None:
    """Send one ray through each pixel; owner is -1 on the backdrop."""
    block = 8
    across = (wide + block - 1) // block
    begin = np.zeros(((high + block - 1) // block, across))
    for j in prange(len(begin)):
        for i in range(across):
            begin[j, i] = free_way(scene, st, (i + 0.5) * block, (j + 0.5) * block, wide, high, block)
    for j in prange(high):
        for i in range(wide):
            dx, dy, dz = pixel_ray(st, i + 0.5, j + 0.5, wide, high)
            paper = backdrop_hit(st, st.eye[0], st.eye[1], st.eye[2], dx, dy, dz)
            grain = st.spread / high * 0.7
            t = march(
                scene,
                st.eye[0],
                st.eye[1],
                st.eye[2],
                dx,
                dy,
                dz,
                begin[j // block, i // block],
                paper,
                grain,
                160,
            )
            if t < 0.0:
                depth[j, i] = paper
                owner[j, i] = -1
                y, z = st.eye[1] + dy * paper, st.eye[2] + dz * paper
                ny, nz = backdrop_normal(st, y, z)
                normal[j, i, 0], normal[j, i, 1], normal[j, i, 2] = 0.0, ny, nz
                continue
            x, y, z = st.eye[0] + dx * t, st.eye[1] + dy * t, st.eye[2] + dz * t
            depth[j, i] = t
            owner[j, i] = owner_at(scene, x, y, z)
            nx, ny, nz = slope(scene, x, y, z, max(0.0004, grain * t * 0.8))
            normal[j, i, 0], normal[j, i, 1], normal[j, i, 2] = nx, ny, nz


@njit(fastmath=True, cache=True, error_model="numpy")
def free_way(scene: Scene, st: Setting, i: float, j: float, wide: int, high: int, block: int) -> float:
    """Measure how far a whole block of pixels looks before anything comes near."""
    dx, dy, dz = pixel_ray(st, i, j, wide, high)
    cone = 2.0 * st.spread / high * block * 0.75
    t = 0.0
    for _ in range(90):
        d = distance(scene, st.eye[0] + dx * t, st.eye[1] + dy * t, st.eye[2] + dz * t) - cone * t
        if d < 0.01 or t > 40.0:
            return max(0.0, t - 0.01)
        t += d * 0.9
    return t


@njit(fastmath=True, cache=True, error_model="numpy")
def pixel_ray(st: Setting, i: float, j: float, wide: int, high: int) -> tuple[float, float, float]:
    """Give the direction of the ray through a point of the picture."""
    s = 2.0 * st.spread / high
    a, b = (i - 0.5 * wide) * s, (0.5 * high - j) * s
    f = st.frame
    dx = f[0, 0] * a + f[1, 0] * b + f[2, 0]
    dy = f[0, 1] * a + f[1, 1] * b + f[2, 1]
    dz = f[0, 2] * a + f[1, 2] * b + f[2, 2]
    n = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz)
    return dx * n, dy * n, dz * n


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def gather_all(
    scene: Scene,
    st: Setting,
    hue: Floats,
    soft: Floats,
    depth: Floats,
    owner: Ints,
    normal: Floats,
    lit: Floats,
    have: Ints,
    rays: int,
) -> None:
    """Fill `lit` with what lamps and room give the pixels marked 2 in `have`, still grainy."""
    high, wide = depth.shape
    for j in prange(high):
        for i in range(wide):
            if have[j, i] != 2:
                continue
            have[j, i] = 1
            dx, dy, dz = pixel_ray(st, i + 0.5, j + 0.5, wide, high)
            t = depth[j, i]
            x, y, z = st.eye[0] + dx * t, st.eye[1] + dy * t, st.eye[2] + dz * t
            o = owner[j, i]
            lift = 0.002 if o < 0 else 0.003 + soft[scene.sort[o, 2]] * 0.012
            nx, ny, nz = normal[j, i, 0], normal[j, i, 1], normal[j, i, 2]
            k, r, ar, ag, ab = gather(scene, st, hue, x, y, z, nx, ny, nz, lift, i, j, rays)
            lit[j, i, 0], lit[j, i, 1] = k, r
            lit[j, i, 2], lit[j, i, 3], lit[j, i, 4] = ar, ag, ab


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def calm(
    lit: Floats, depth: Floats, normal: Floats, kin: Ints, have: Ints, pixel: float, step: int
) -> Floats:
    """Average the gathered light over neighbours on the same surface, `step` pixels apart."""
    high, wide = depth.shape
    out = np.empty_like(lit)
    for j in prange(high):
        for i in range(wide):
            total = 0.0
            s0 = s1 = s2 = s3 = s4 = 0.0
            d0 = depth[j, i]
            n0, n1, n2 = normal[j, i, 0], normal[j, i, 1], normal[j, i, 2]
            reach = 1.0 / (pixel * d0 * step * 3.0 + 1e-9)
            for b in range(-2, 3):
                y = j + b * step
                if y < 0 or y >= high:
                    continue
                for a in range(-2, 3):
                    x = i + a * step
                    if x < 0 or x >= wide or kin[y, x] != kin[j, i] or have[y, x] == 0:
                        continue
                    c = n0 * normal[y, x, 0] + n1 * normal[y, x, 1] + n2 * normal[y, x, 2]
                    if c <= 0.5:
                        continue
                    c = c * c
                    c = c * c
                    c = c * c
                    w = c * c * math.exp(-abs(depth[y, x] - d0) * reach)
                    w *= 0.375 if a == 0 else (0.25 if abs(a) == 1 else 0.0625)
                    w *= 0.375 if b == 0 else (0.25 if abs(b) == 1 else 0.0625)
                    total += w
                    s0 += w * lit[y, x, 0]
                    s1 += w * lit[y, x, 1]
                    s2 += w * lit[y, x, 2]
                    s3 += w * lit[y, x, 3]
                    s4 += w * lit[y, x, 4]
            if total < 1e-6:
                have[j, i] = 2
                continue
            n = 1.0 / total
            out[j, i, 0], out[j, i, 1] = s0 * n, s1 * n
            out[j, i, 2], out[j, i, 3], out[j, i, 4] = s2 * n, s3 * n, s4 * n
    return out
