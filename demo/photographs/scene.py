"""The modelled scene as arrays, and the grid that tells a ray which parts are near."""

import math
from typing import NamedTuple

import numpy as np
from numba import njit, prange

from solids import (
    BLEND,
    BOUND,
    BOUND_RADIUS,
    CARVE,
    ELLIPSOID,
    JOIN,
    TUBE,
    Floats,
    Ints,
    smooth_least,
    solid_distance,
)

FINE = 7  # fine cells along the edge of a coarse one
CELLS = 1_300_000  # about how many fine cells a grid has


class Scene(NamedTuple):
    """Everything a ray can meet besides the backdrop."""

    sort: Ints  # one row a solid: kind, operation, material
    solid: Floats  # one row a solid: see solids.py
    part: Ints  # one row a part: first solid, one past the last
    outlines: Floats  # corner points of all polygons
    origin: Floats  # lower corner of the grid
    cell: float  # edge of a fine cell
    side: Ints  # fine cells along each axis
    start: Ints  # for each fine cell: where its list of solids begins
    listed: Ints  # the lists, one after another
    far: Floats  # distance at the middle of each fine cell; negative where the list must be asked


@njit(fastmath=True, cache=True, error_model="numpy")
def part_distance(
    sort: Ints, solid: Floats, part: Ints, outlines: Floats, g: int, x: float, y: float, z: float
) -> float:
    """Measure to one part: its solids joined, carved and kept in order."""
    acc = 1e9
    for i in range(part[g, 0], part[g, 1]):
        k = solid[i, BLEND]
        op = sort[i, 1]
        dx, dy, dz = x - solid[i, 1], y - solid[i, 2], z - solid[i, 3]
        if op == JOIN:
            reach = acc + k + solid[i, BOUND_RADIUS]
            # An ellipsoid's distance is an estimate that may be less than that to the ball round it.
            if (
                sort[i, 0] != ELLIPSOID
                and acc < 1e8
                and (reach < 0.0 or dx * dx + dy * dy + dz * dz > reach * reach)
            ):
                continue
            acc = smooth_least(acc, solid_distance(sort[i, 0], solid, i, outlines, x, y, z), k)
        elif op == CARVE:
            reach = k - acc + solid[i, BOUND_RADIUS] * 1.5
            if reach < 0.0 or dx * dx + dy * dy + dz * dz > reach * reach:
                continue
            acc = -smooth_least(-acc, solid_distance(sort[i, 0], solid, i, outlines, x, y, z), k)
        else:
            acc = -smooth_least(-acc, -solid_distance(sort[i, 0], solid, i, outlines, x, y, z), k)
    return acc


@njit(fastmath=True, cache=True, error_model="numpy")
def tube_least(solid: Floats, i: int, x: float, y: float, z: float) -> float:
    """Give a quick lower bound of the distance to a tube: its chord, and how far it bows."""
    ax, ay, az = solid[i, 5], solid[i, 6], solid[i, 7]
    bx, by, bz = solid[i, 11] - ax, solid[i, 12] - ay, solid[i, 13] - az
    px, py, pz = x - ax, y - ay, z - az
    t = min(1.0, max(0.0, (px * bx + py * by + pz * bz) / (bx * bx + by * by + bz * bz + 1e-12)))
    px, py, pz = px - bx * t, py - by * t, pz - bz * t
    return math.sqrt(px * px + py * py + pz * pz) - solid[i, 17]


@njit(fastmath=True, cache=True, error_model="numpy")
def part_solids(
    sort: Ints,
    solid: Floats,
    part: Ints,
    outlines: Floats,
    g: int,
    x: float,
    y: float,
    z: float,
    room: float,
    chosen: Ints,
) -> int:
    """Choose the solids of a part that shape it within `room` of a point; returns how many."""
    acc = 1e9
    many = 0
    for i in range(part[g, 0], part[g, 1]):
        k = solid[i, BLEND]
        op = sort[i, 1]
        d = solid_distance(sort[i, 0], solid, i, outlines, x, y, z)
        if op == JOIN:
            if d - acc - k > room:
                continue
            if acc - d - k > room:
                many = 0
            acc = smooth_least(acc, d, k)
        elif op == CARVE:
            if d + acc - k > room:
                continue
            acc = -smooth_least(-acc, d, k)
        else:
            acc = -smooth_least(-acc, -d, k)
        chosen[many] = i
        many += 1
    return many


@njit(fastmath=True, cache=True, error_model="numpy")
def distance(scene: Scene, x: float, y: float, z: float) -> float:
    """Measure how far a ray may safely go from here."""
    sx, sy, sz = scene.side[0], scene.side[1], scene.side[2]
    fx, fy, fz = (
        (x - scene.origin[0]) / scene.cell,
        (y - scene.origin[1]) / scene.cell,
        (z - scene.origin[2]) / scene.cell,
    )
    if fx < 0 or fy < 0 or fz < 0 or fx >= sx or fy >= sy or fz >= sz:
        ox = max(-fx, fx - sx, 0.0)
        oy = max(-fy, fy - sy, 0.0)
        oz = max(-fz, fz - sz, 0.0)
        return (math.sqrt(ox * ox + oy * oy + oz * oz) + 0.6) * scene.cell
    ix, iy, iz = int(fx), int(fy), int(fz)
    c = (ix * sy + iy) * sz + iz
    if scene.far[c] > 0.0:
        ex, ey, ez = fx - ix - 0.5, fy - iy - 0.5, fz - iz - 0.5
        return scene.far[c] - math.sqrt(ex * ex + ey * ey + ez * ez) * scene.cell
    return listed_distance(scene, c, x, y, z)


@njit(fastmath=True, cache=True, error_model="numpy")
def listed_distance(scene: Scene, c: int, x: float, y: float, z: float) -> float:
    """Measure to the solids listed for a cell; a part's first solid is written as -1 - index."""
    best = acc = 1e9
    for j in range(scene.start[c], scene.start[c + 1]):
        i = scene.listed[j]
        if i < 0:
            i = -1 - i
            best = min(best, acc)
            acc = 1e9
        k = scene.solid[i, BLEND]
        op = scene.sort[i, 1]
        if scene.sort[i, 0] == TUBE and op == JOIN and acc > 1e8 and best < 1e8:
            least = tube_least(scene.solid, i, x, y, z)
            if least > best + 0.05:
                acc = least
                continue
        if op == JOIN:
            acc = smooth_least(
                acc, solid_distance(scene.sort[i, 0], scene.solid, i, scene.outlines, x, y, z), k
            )
        elif op == CARVE:
            acc = -smooth_least(
                -acc, solid_distance(scene.sort[i, 0], scene.solid, i, scene.outlines, x, y, z), k
            )
        else:
            acc = -smooth_least(
                -acc, -solid_distance(scene.sort[i, 0], scene.solid, i, scene.outlines, x, y, z), k
            )
    return min(best, acc)


@njit(fastmath=True, cache=True, error_model="numpy")
def owner_at(scene: Scene, x: float, y: float, z: float) -> int:
    """Name the solid whose skin is nearest."""
    sx, sy, sz = scene.side[0], scene.side[1], scene.side[2]
    ix = min(sx - 1, max(0, int((x - scene.origin[0]) / scene.cell)))
    iy = min(sy - 1, max(0, int((y - scene.origin[1]) / scene.cell)))
    iz = min(sz - 1, max(0, int((z - scene.origin[2]) / scene.cell)))
    c = (ix * sy + iy) * sz + iz
    best = acc = 1e9
    owner = best_owner = 0
    for j in range(scene.start[c], scene.start[c + 1]):
        i = scene.listed[j]
        if i < 0:
            i = -1 - i
            if acc < best:
                best, best_owner = acc, owner
            acc = 1e9
        k = scene.solid[i, BLEND]
        d = solid_distance(scene.sort[i, 0], scene.solid, i, scene.outlines, x, y, z)
        op = scene.sort[i, 1]
        if op == JOIN:
            if d < acc:
                owner = i
            acc = smooth_least(acc, d, k)
        elif op == CARVE:
            acc = -smooth_least(-acc, d, k)
        else:
            acc = -smooth_least(-acc, -d, k)
    if acc < best:
        best_owner = owner
    return best_owner


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def _fine_lists(
    sort: Ints,
    solid: Floats,
    part: Ints,
    outlines: Floats,
    origin: Floats,
    cell: float,
    side: Ints,
    ball: Floats,
    counts: Ints,
    far: Floats,
    start: Ints,
    listed: Ints,
) -> None:
    """Fill counts and far distances; with a non-empty `listed`, write the lists instead."""
    parts = len(part)
    by, bz = side[1] // FINE, side[2] // FINE
    big = cell * FINE
    writing = len(listed) > 0
    for c in prange(side[0] * side[1] * side[2] // FINE**3):
        cx, cy, cz = c // (by * bz), (c // bz) % by, c % bz
        mx, my, mz = origin[0] + (cx + 0.5) * big, origin[1] + (cy + 0.5) * big, origin[2] + (cz + 0.5) * big
        lower = np.empty(parts)
        chosen = np.empty(len(sort), np.int32)
        upper = 1e9
        for g in range(parts):
            lower[g] = part_distance(sort, solid, part, outlines, g, mx, my, mz)
            upper = min(upper, lower[g])
        # Nothing of the figure in here or near: the distance from the middle serves every fine cell.
        empty = upper > big * 1.1
        reach = upper + 1.75 * big * 1.15
        near = np.nonzero(lower < reach)[0]
        last = 0
        for f in range(FINE * FINE * FINE):
            ix, iy, iz = cx * FINE + f // (FINE * FINE), cy * FINE + (f // FINE) % FINE, cz * FINE + f % FINE
            x, y, z = (
                origin[0] + (ix + 0.5) * cell,
                origin[1] + (iy + 0.5) * cell,
                origin[2] + (iz + 0.5) * cell,
            )
            index = (ix * side[1] + iy) * side[2] + iz
            if empty:
                off = math.sqrt((x - mx) ** 2 + (y - my) ** 2 + (z - mz) ** 2)
                far[index] = (upper - off) * 0.92 if upper - off > 2.0 * cell else 2.0 * cell
                continue
            if writing and far[index] > 0.0:
                continue
            least = 1e9
            if len(near) > 0:
                g = near[last]
                bound = (
                    math.sqrt((x - ball[g, 0]) ** 2 + (y - ball[g, 1]) ** 2 + (z - ball[g, 2]) ** 2)
                    - ball[g, 3]
                )
                least = max(bound, part_distance(sort, solid, part, outlines, g, x, y, z))
            for j in range(len(near)):
                g = near[j]
                bound = (
                    math.sqrt((x - ball[g, 0]) ** 2 + (y - ball[g, 1]) ** 2 + (z - ball[g, 2]) ** 2)
                    - ball[g, 3]
                )
                if bound > least + 2.3 * cell:
                    lower[j] = bound
                    continue
                # A flat ellipsoid's estimate can fall below the ball's; both passes must agree.
                lower[j] = max(bound, part_distance(sort, solid, part, outlines, g, x, y, z))
                if lower[j] < least:
                    least = lower[j]
                    last = j
            if least > 1.9 * cell:
                far[index] = least * 0.92
                continue
            far[index] = -1.0
            here = 0
            for j in range(len(near)):
                if lower[j] < least + 1.75 * cell * 1.25:
                    many = part_solids(
                        sort, solid, part, outlines, near[j], x, y, z, 1.75 * cell * 1.35, chosen
                    )
                    if writing:
                        for n in range(many):
                            listed[start[index] + here + n] = chosen[n] if n > 0 else -1 - chosen[0]
                    here += many
            counts[index] = here


def _ball_round(rows: Floats) -> Floats:
    """Put a ball round several solids."""
    middle = rows[:, BOUND : BOUND + 3].mean(axis=0)
    away = (
        np.linalg.norm(rows[:, BOUND : BOUND + 3] - middle, axis=1) + rows[:, BOUND_RADIUS] + rows[:, BLEND]
    )
    return np.append(middle, away.max())


def build_scene(sort: Ints, solid: Floats, part: Ints, outlines: Floats) -> Scene:
    """Arrange solids into a scene with its grid."""
    low = (solid[:, BOUND : BOUND + 3] - solid[:, [BOUND_RADIUS]])[sort[:, 1] == JOIN].min(axis=0)
    high = (solid[:, BOUND : BOUND + 3] + solid[:, [BOUND_RADIUS]])[sort[:, 1] == JOIN].max(axis=0)
    span = (high - low) * 1.02 + 1e-3
    cell = float((span.prod() / CELLS) ** (1 / 3))
    side = (np.ceil(span / (cell * FINE)) * FINE).astype(np.int32)
    origin = (low + high) / 2 - side * cell / 2
    cells = int(side.prod())
    ball = np.array([_ball_round(solid[a:b]) for a, b in part])
    counts = np.zeros(cells, np.int32)
    far = np.zeros(cells)
    nothing = np.zeros(0, np.int32)
    _fine_lists(sort, solid, part, outlines, origin, cell, side, ball, counts, far, nothing, nothing)
    start = np.zeros(cells + 1, np.int32)
    start[1:] = np.cumsum(counts)
    listed = np.zeros(max(1, int(start[-1])), np.int32)
    _fine_lists(sort, solid, part, outlines, origin, cell, side, ball, counts, far, start, listed)
    return Scene(sort, solid, part, outlines, origin, cell, side, start, listed, far)
