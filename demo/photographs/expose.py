"""From a modelled scene to a developed picture."""

import math
import time
from dataclasses import dataclass

import numpy as np
from numba import njit, prange
from numpy.typing import NDArray
from PIL import Image

from light import (
    Setting,
    backdrop_hit,
    backdrop_normal,
    calm,
    first_hits,
    gather_all,
    march,
    pixel_ray,
    slope,
)
from scene import Scene, owner_at
from solids import Floats, Ints
from surface import KIND, SHEEN, WARM, Stuff, shade


@dataclass(frozen=True)
class Print:
    """How a picture is developed."""

    focus: float  # distance in focus
    aperture: float  # blur in picture heights for something infinitely far
    exposure: float = 0.93
    warmth: float = 0.0
    vignette: float = 0.35
    grain: float = 0.008
    contrast: float = 1.0


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def _shade_all(
    scene: Scene,
    st: Setting,
    stuff: Stuff,
    depth: Floats,
    owner: Ints,
    normal: Floats,
    lit: Floats,
    out: Floats,
) -> None:
    high, wide = depth.shape
    pixel = 2.0 * st.spread / high
    for j in prange(high):
        colour = np.empty(4)
        for i in range(wide):
            dx, dy, dz = pixel_ray(st, i + 0.5, j + 0.5, wide, high)
            t = depth[j, i]
            x, y, z = st.eye[0] + dx * t, st.eye[1] + dy * t, st.eye[2] + dz * t
            shade(
                scene, st, stuff, owner[j, i], t, pixel, x, y, z, normal[j, i, 0], normal[j, i, 1],
                normal[j, i, 2],
                dx, dy, dz, lit[j, i, 0], lit[j, i, 1], lit[j, i, 2], lit[j, i, 3], lit[j, i, 4], colour,
            )  # fmt: skip
            out[j, i, 0], out[j, i, 1], out[j, i, 2] = colour[0], colour[1], colour[2]


@njit(fastmath=True, cache=True, error_model="numpy")
def _is_edge(depth: Floats, kin: Ints, normal: Floats, busy: NDArray[np.bool_], j: int, i: int) -> bool:
    high, wide = depth.shape
    least = 0.8 if kin[j, i] < 0 or not busy[kin[j, i]] else 0.2
    for b in range(-1, 2):
        for a in range(-1, 2):
            y, x = min(high - 1, max(0, j + b)), min(wide - 1, max(0, i + a))
            if kin[y, x] != kin[j, i] or abs(depth[y, x] - depth[j, i]) > 0.004 * depth[j, i]:
                return True
            if kin[j, i] >= 0:
                c = (
                    normal[j, i, 0] * normal[y, x, 0]
                    + normal[j, i, 1] * normal[y, x, 1]
                    + normal[j, i, 2] * normal[y, x, 2]
                )
                if c < least:
                    return True
    return False


@njit(fastmath=True, cache=True, error_model="numpy")
def _kindred(
    depth: Floats,
    kin: Ints,
    normal: Floats,
    j: int,
    i: int,
    t: float,
    m: int,
    nx: float,
    ny: float,
    nz: float,
) -> tuple[int, int]:
    """Choose the neighbouring pixel that lies on the same surface as a point."""
    high, wide = depth.shape
    best = 1e9
    by, bx = j, i
    for b in range(-1, 2):
        for a in range(-1, 2):
            v, u = min(high - 1, max(0, j + b)), min(wide - 1, max(0, i + a))
            c = nx * normal[v, u, 0] + ny * normal[v, u, 1] + nz * normal[v, u, 2]
            off = (
                abs(depth[v, u] - t)
                + 0.15 * (1.0 - c)
                + (0.0 if kin[v, u] == m else 1.0)
                + 0.001 * (a * a + b * b)
            )
            if off < best:
                best = off
                by, bx = v, u
    return by, bx


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def _smooth_edges(
    scene: Scene,
    st: Setting,
    stuff: Stuff,
    depth: Floats,
    kin: Ints,
    normal: Floats,
    lit: Floats,
    busy: NDArray[np.bool_],
    out: Floats,
) -> None:
    """Look again, four times, at pixels where one surface ends and another begins."""
    high, wide = depth.shape
    pixel = 2.0 * st.spread / high
    grain = st.spread / high * 0.5
    for j in prange(high):
        colour = np.empty(4)
        for i in range(wide):
            if not _is_edge(depth, kin, normal, busy, j, i):
                continue
            begin = 1e9
            for b in range(max(0, j - 1), min(high, j + 2)):
                for a in range(max(0, i - 1), min(wide, i + 2)):
                    begin = min(begin, depth[b, a])
            begin -= 0.06
            s0 = s1 = s2 = 0.0
            for n in range(4):
                px = i + (0.125 + 0.25 * ((n * 2 + 1) % 4))
                py = j + 0.125 + 0.25 * n
                dx, dy, dz = pixel_ray(st, px, py, wide, high)
                paper = backdrop_hit(st, st.eye[0], st.eye[1], st.eye[2], dx, dy, dz)
                t = march(
                    scene,
                    st.eye[0],
                    st.eye[1],
                    st.eye[2],
                    dx,
                    dy,
                    dz,
                    begin,
                    paper,
                    grain,
                    160,
                )
                o, m = -1, -1
                if t < 0.0:
                    t = paper
                    ny, nz = backdrop_normal(st, st.eye[1] + dy * t, st.eye[2] + dz * t)
                    nx = 0.0
                x, y, z = st.eye[0] + dx * t, st.eye[1] + dy * t, st.eye[2] + dz * t
                if t != paper:
                    o = owner_at(scene, x, y, z)
                    m = scene.sort[o, 2]
                    nx, ny, nz = slope(scene, x, y, z, max(0.0004, grain * t))
                by, bx = _kindred(depth, kin, normal, np.int64(j), np.int64(i), t, m, nx, ny, nz)
                shade(
                    scene, st, stuff, o, t, pixel, x, y, z, nx, ny, nz, dx, dy, dz,
                    lit[by, bx, 0], lit[by, bx, 1], lit[by, bx, 2], lit[by, bx, 3], lit[by, bx, 4], colour,
                )  # fmt: skip
                # Tame single glints before they are averaged.
                s0 += colour[0] / (1.0 + 0.25 * colour[0])
                s1 += colour[1] / (1.0 + 0.25 * colour[1])
                s2 += colour[2] / (1.0 + 0.25 * colour[2])
            s0, s1, s2 = s0 * 0.25, s1 * 0.25, s2 * 0.25
            out[j, i, 0], out[j, i, 1], out[j, i, 2] = (
                s0 / (1 - 0.25 * s0),
                s1 / (1 - 0.25 * s1),
                s2 / (1 - 0.25 * s2),
            )


@njit(fastmath=True, cache=True, error_model="numpy", parallel=True)
def _blur_depth(picture: Floats, depth: Floats, focus: float, aperture: float) -> Floats:
    """Blur what is out of focus."""
    high, wide = depth.shape
    out = np.empty_like(picture)
    most = 0.016 * high
    for j in prange(high):
        for i in range(wide):
            d = depth[j, i]
            own = min(most, abs(1.0 - focus / d) * aperture * high)
            r, g, b = picture[j, i, 0], picture[j, i, 1], picture[j, i, 2]
            total = 1.0
            angle = 2.4 * ((i * 7 + j * 13) % 17)
            for n in range(1, 57):
                radius = most * math.sqrt(n / 56.0)
                angle += 2.39996
                x = min(wide - 1, max(0, int(i + 0.5 + math.cos(angle) * radius)))
                y = min(high - 1, max(0, int(j + 0.5 + math.sin(angle) * radius)))
                e = depth[y, x]
                size = min(most, abs(1.0 - focus / e) * aperture * high)
                if e > d:
                    size = min(size, own * 1.5)
                w = min(1.0, max(0.0, size - radius + 1.0))
                r += r / total * (1 - w) + picture[y, x, 0] * w
                g += g / total * (1 - w) + picture[y, x, 1] * w
                b += b / total * (1 - w) + picture[y, x, 2] * w
                total += 1.0
            out[j, i, 0], out[j, i, 1], out[j, i, 2] = r / total, g / total, b / total
    return out


def _every_fourth(wide: int, high: int) -> Ints:
    """Mark one pixel of each two by two, a different one each time, with 2."""
    corner = (
        np.random.default_rng(5)
        .integers(0, 4, (high // 2 + 1, wide // 2 + 1))
        .repeat(2, 0)
        .repeat(2, 1)[:high, :wide]
    )
    y, x = np.mgrid[0:high, 0:wide]
    return np.where(corner == (y % 2) * 2 + x % 2, 2, 0).astype(np.int32)


def expose(
    scene: Scene, st: Setting, stuff: Stuff, size: tuple[int, int], how: Print, rays: int = 2
) -> Floats:
    """Render the scene; linear light, (height, width, 3)."""
    wide, high = size
    depth, owner, normal = np.zeros((high, wide)), np.zeros((high, wide), np.int32), np.zeros((high, wide, 3))
    clock = [time.process_time()]
    first_hits(scene, st, wide, high, depth, owner, normal)
    clock.append(time.process_time())
    hue = (stuff.material[:, 0:3] + stuff.material[:, 3:6]) / 2
    lit = np.zeros((high, wide, 5))
    have = _every_fourth(wide, high)
    kin = np.where(owner >= 0, scene.sort[np.maximum(owner, 0), 2], -1).astype(np.int32)
    soft = stuff.material[:, WARM].copy()
    gather_all(scene, st, hue, soft, depth, owner, normal, lit, have, rays)
    first = calm(lit, depth, normal, kin, have, 2 * st.spread / high, 1)
    lonely = have == 2
    gather_all(scene, st, hue, soft, depth, owner, normal, lit, have, rays)
    first[lonely] = lit[lonely]
    lit, have = first, np.ones_like(have)
    clock.append(time.process_time())
    for step in (1, 2, 4, 8, 16):
        lit = calm(lit, depth, normal, kin, have, 2 * st.spread / high, step)
    clock.append(time.process_time())
    out = np.zeros((high, wide, 3))
    _shade_all(scene, st, stuff, depth, owner, normal, lit, out)
    clock.append(time.process_time())
    busy = stuff.material[:, KIND] == 7
    _smooth_edges(scene, st, stuff, depth, kin, normal, lit, busy & (stuff.material[:, SHEEN] >= 0), out)
    clock.append(time.process_time())
    out = _blur_depth(out, depth, how.focus, how.aperture)
    clock.append(time.process_time())
    return out  # , how.focus, how.aperture)


def _soften(picture: Floats, radius: int) -> Floats:
    """Blur by three box passes."""
    for _ in range(3):
        for axis in (0, 1):
            pad = [(0, 0)] * 3
            pad[axis] = (radius + 1, radius)
            total = np.cumsum(np.pad(picture, pad, mode="edge"), axis=axis)
            n = picture.shape[axis]
            upper = np.take(total, range(2 * radius + 1, 2 * radius + 1 + n), axis=axis)
            picture = (upper - np.take(total, range(n), axis=axis)) / (2 * radius + 1)
    return picture


def _enlarge(picture: Floats, size: tuple[int, int]) -> Floats:
    channels = [
        np.asarray(Image.fromarray(picture[..., c].astype(np.float32)).resize(size, Image.Resampling.LANCZOS))
        for c in range(3)
    ]
    return np.stack(channels, axis=-1).astype(float)


def _film_curve(x: Floats) -> Floats:
    """Roll highlights off and lift the toe a little, like slide film scanned (fitted by eye)."""
    return np.clip((x * (2.43 * x + 0.03)) / (x * (2.2 * x + 0.62) + 0.13), 0, 1)


def develop(picture: Floats, size: tuple[int, int], how: Print, seed: int) -> Floats:
    """Enlarge, bloom, vignette, curve and grain; sRGB-encoded values from 0 to 1."""
    chance = np.random.default_rng(seed)
    picture = np.maximum(picture, 0) * how.exposure
    glare = _soften(np.maximum(picture - 0.8, 0).clip(0, 6), max(2, picture.shape[0] // 90))
    veil = _soften(picture.clip(0, 4), max(4, picture.shape[0] // 40))
    picture = picture * 0.965 + veil * 0.035 + glare * np.array([0.10, 0.08, 0.07])
    picture = np.maximum(_enlarge(picture, size), 0)
    wide, high = size
    y, x = np.mgrid[0:high, 0:wide]
    r2 = ((x - wide / 2) ** 2 + (y - high / 2) ** 2) / (wide**2 + high**2) * 4
    picture *= (1 - how.vignette * r2**1.2)[..., None]
    picture *= np.array([1 + how.warmth, 1.0, 1 - how.warmth])
    shown = _film_curve(picture * 0.9) ** (1 / 2.2)
    shown = shown.mean(axis=-1, keepdims=True) * 0.22 + shown * 0.78
    shown = np.clip(0.5 + (shown - 0.5) * how.contrast, 0, 1)
    grey = shown.mean(axis=-1, keepdims=True)
    shown = (
        shown + (1 - grey) ** 3 * np.array([0.012, 0.010, 0.016]) - grey**4 * np.array([0.0, 0.006, 0.022])
    )
    coarse = chance.normal(size=(high // 2 + 1, wide // 2 + 1)).repeat(2, 0).repeat(2, 1)[:high, :wide]
    fine = chance.normal(size=(high, wide))
    coarse = (coarse + np.roll(coarse, 1, 0) + np.roll(coarse, 1, 1) + np.roll(coarse, (1, 1), (0, 1))) / 4
    grain = (0.6 * fine + 0.9 * coarse)[..., None] * how.grain * (0.4 + 1.2 * (grey * (1 - grey)) * 2)
    return np.clip(shown + grain, 0, 1)
