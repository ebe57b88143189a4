"""Distance between two straight segments, at rest and while their ends move.

Kernels on scalars and small views: no allocation, no interpreter lock. The z axis points down. Only closest_wet
cuts off what is above the surface (z < 0).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
_SUBSTEP_M = 0.5  # within this relative motion the distance is assumed to have one minimum in time
_GOLDEN = 0.5 * (3.0 - math.sqrt(5.0))
_FLAT = 1e-12  # two segments count as parallel below this squared sine


@njit(**_KERNEL)
def _clamp(value: float) -> float:
    return min(1.0, max(0.0, value))


@njit(**_KERNEL)
def closest_segments(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float,
    rx: float, ry: float, rz: float, sx: float, sy: float, sz: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Squared distance [m²] between segments PQ and RS, and where: (d², s on PQ, u on RS), both in [0, 1].

    Alternating clamps find the minimum of a convex quadratic on the unit square (Ericson 2005, Real-Time Collision
    Detection, 5.1.9). For parallel lines, one of the nearest places. Segments of no length are points.
    """
    ax, ay, az = qx - px, qy - py, qz - pz
    bx, by, bz = sx - rx, sy - ry, sz - rz
    wx, wy, wz = px - rx, py - ry, pz - rz
    aa = ax * ax + ay * ay + az * az
    bb = bx * bx + by * by + bz * bz
    ab = ax * bx + ay * by + az * bz
    aw = ax * wx + ay * wy + az * wz
    bw = bx * wx + by * wy + bz * wz
    det = aa * bb - ab * ab
    s = 0.0
    if det > _FLAT * aa * bb:
        s = _clamp((ab * bw - bb * aw) / det)
    u = 0.0
    if bb > 0.0:
        u = (ab * s + bw) / bb
    if not 0.0 <= u <= 1.0:
        u = _clamp(u)
        s = 0.0
    if (s == 0.0 or u in (0.0, 1.0)) and aa > 0.0:
        s = _clamp((ab * u - aw) / aa)
    dx = wx + s * ax - u * bx
    dy = wy + s * ay - u * by
    dz = wz + s * az - u * bz
    return dx * dx + dy * dy + dz * dz, s, u


@njit(**_KERNEL)
def wet_part(z0: float, z1: float) -> tuple[float, float]:
    """The part [from, to] of a segment that is not above water; its ends are at depths z0 and z1; (1, 0): none."""
    if z0 >= 0.0 and z1 >= 0.0:
        return 0.0, 1.0
    if z0 < 0.0 and z1 < 0.0:
        return 1.0, 0.0
    cut = z0 / (z0 - z1)
    if z0 < 0.0:
        return cut, 1.0
    return 0.0, cut


@njit(**_KERNEL)
def closest_wet(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float,
    rx: float, ry: float, rz: float, sx: float, sy: float, sz: float,
) -> tuple[float, float, float]:  # fmt: skip
    """As closest_segments, without the parts above water: (inf, 0, 0) where one of them is wholly dry."""
    if pz >= 0.0 and qz >= 0.0 and rz >= 0.0 and sz >= 0.0:
        d2, s, u = closest_segments(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz)
        return d2, s, u
    a0, a1 = wet_part(pz, qz)
    b0, b1 = wet_part(rz, sz)
    if a0 > a1 or b0 > b1:
        return math.inf, 0.0, 0.0
    ax, ay, az = qx - px, qy - py, qz - pz
    bx, by, bz = sx - rx, sy - ry, sz - rz
    d2, s, u = closest_segments(
        px + a0 * ax, py + a0 * ay, pz + a0 * az, px + a1 * ax, py + a1 * ay, pz + a1 * az,
        rx + b0 * bx, ry + b0 * by, rz + b0 * bz, rx + b1 * bx, ry + b1 * by, rz + b1 * bz,
    )  # fmt: skip
    return d2, a0 + s * (a1 - a0), b0 + u * (b1 - b0)


@njit(**_KERNEL)
def closest_at(
    xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int, tau: float
) -> tuple[float, float, float, float]:
    """Two elements at the fraction tau of the step from sample k to k + 1: (d², s, u, d(d²)/dtau).

    xa, xb (samples, nodes, 3); elements from node i0 to i1 of a, j0 to j1 of b. The slope is nan where the two are
    parallel: the nearest place jumps there.
    """
    m = 1.0 - tau
    n = k + 1
    px, py, pz = (
        m * xa[k, i0, 0] + tau * xa[n, i0, 0],
        m * xa[k, i0, 1] + tau * xa[n, i0, 1],
        m * xa[k, i0, 2] + tau * xa[n, i0, 2],
    )
    qx, qy, qz = (
        m * xa[k, i1, 0] + tau * xa[n, i1, 0],
        m * xa[k, i1, 1] + tau * xa[n, i1, 1],
        m * xa[k, i1, 2] + tau * xa[n, i1, 2],
    )
    rx, ry, rz = (
        m * xb[k, j0, 0] + tau * xb[n, j0, 0],
        m * xb[k, j0, 1] + tau * xb[n, j0, 1],
        m * xb[k, j0, 2] + tau * xb[n, j0, 2],
    )
    sx, sy, sz = (
        m * xb[k, j1, 0] + tau * xb[n, j1, 0],
        m * xb[k, j1, 1] + tau * xb[n, j1, 1],
        m * xb[k, j1, 2] + tau * xb[n, j1, 2],
    )
    d2, s, u = closest_segments(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz)
    # By the envelope theorem the slope is that of the distance between the two present nearest points.
    a, b = 1.0 - s, 1.0 - u
    dx = a * px + s * qx - b * rx - u * sx
    dy = a * py + s * qy - b * ry - u * sy
    dz = a * pz + s * qz - b * rz - u * sz
    vx = a * (xa[n, i0, 0] - xa[k, i0, 0]) + s * (xa[n, i1, 0] - xa[k, i1, 0])
    vy = a * (xa[n, i0, 1] - xa[k, i0, 1]) + s * (xa[n, i1, 1] - xa[k, i1, 1])
    vz = a * (xa[n, i0, 2] - xa[k, i0, 2]) + s * (xa[n, i1, 2] - xa[k, i1, 2])
    vx -= b * (xb[n, j0, 0] - xb[k, j0, 0]) + u * (xb[n, j1, 0] - xb[k, j1, 0])
    vy -= b * (xb[n, j0, 1] - xb[k, j0, 1]) + u * (xb[n, j1, 1] - xb[k, j1, 1])
    vz -= b * (xb[n, j0, 2] - xb[k, j0, 2]) + u * (xb[n, j1, 2] - xb[k, j1, 2])
    slope = 2.0 * (dx * vx + dy * vy + dz * vz)
    tx, ty, tz = qx - px, qy - py, qz - pz
    wx, wy, wz = sx - rx, sy - ry, sz - rz
    cx, cy, cz = ty * wz - tz * wy, tz * wx - tx * wz, tx * wy - ty * wx
    if (
        i0 != i1
        and j0 != j1
        and cx * cx + cy * cy + cz * cz < 1e-8 * (tx * tx + ty * ty + tz * tz) * (wx * wx + wy * wy + wz * wz)
    ):
        slope = math.nan
    return d2, s, u, slope


@njit(**_KERNEL)
def required(start: float, full: float, arc: float, reach: float) -> float:
    """Required distance [m]: start at the tips, growing linearly to full where the larger arc is at reach."""
    if reach <= 0.0 or arc >= reach:
        return full
    return start + (full - start) * arc / reach


@njit(**_KERNEL)
def apart(xa: Floats, i0: int, i1: int, xb: Floats, j0: int, j1: int) -> float:
    """A lower bound [m] on the distance of two elements: between spheres around them."""
    between = along_a = along_b = 0.0
    for c in range(3):
        a, b = xa[i1, c] - xa[i0, c], xb[j1, c] - xb[j0, c]
        d = (xa[i0, c] + 0.5 * a) - (xb[j0, c] + 0.5 * b)
        between += d * d
        along_a += a * a
        along_b += b * b
    least: float = math.sqrt(between) - 0.5 * (math.sqrt(along_a) + math.sqrt(along_b))
    return least


@njit(**_KERNEL)
def _shift(xa: Floats, xb: Floats, k: int, i: int, j: int) -> float:
    dx = (xa[k + 1, i, 0] - xa[k, i, 0]) - (xb[k + 1, j, 0] - xb[k, j, 0])
    dy = (xa[k + 1, i, 1] - xa[k, i, 1]) - (xb[k + 1, j, 1] - xb[k, j, 1])
    dz = (xa[k + 1, i, 2] - xa[k, i, 2]) - (xb[k + 1, j, 2] - xb[k, j, 2])
    squared: float = dx * dx + dy * dy + dz * dz
    return squared


@njit(**_KERNEL)
def relative_shift(xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int) -> float:
    """The largest possible change of the distance of two moving elements within the step [m].

    Ends move linearly, so every point's shift is a mean of its ends' shifts. The difference of two such means is
    greatest for some pair of ends.
    """
    widest: float = max(_shift(xa, xb, k, i0, j0), _shift(xa, xb, k, i0, j1))
    widest = max(widest, _shift(xa, xb, k, i1, j0))
    widest = max(widest, _shift(xa, xb, k, i1, j1))
    shift: float = math.sqrt(widest)
    return shift


@njit(**_KERNEL)
def closest_in_step(
    xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int,
    end: tuple[float, float, float, float], shift_m: float, enough_m: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Least distance of two moving elements within a step: (d², tau, s, u).

    end from closest_at at the step's end, shift_m from relative_shift. Distances of enough_m or more are not refined.
    The step is cut into parts in which the elements move at most half a metre relative to each other. In each part
    the distance is assumed to have one minimum (exact where the elements do not turn: d² is then convex in time). It
    is searched for only where d² falls at the part's start and rises at its end.
    """
    before, s, u, fall = closest_at(xa, xb, k, i0, i1, j0, j1, 0.0)
    best, best_tau = before, 0.0
    parts = max(1, math.ceil(shift_m / _SUBSTEP_M))
    for part in range(parts):
        low, high = part / parts, (part + 1) / parts
        right, right_s, right_u, rise = end if part == parts - 1 else closest_at(xa, xb, k, i0, i1, j0, j1, high)
        if right < best:
            best, best_tau, s, u = right, high, right_s, right_u
        floor = 0.5 * (math.sqrt(before) + math.sqrt(right) - shift_m / parts)
        monotone = fall >= 0.0 or rise <= 0.0  # false where a slope is nan
        before, fall = right, rise
        if monotone or floor >= enough_m or (floor > 0.0 and floor * floor >= best):
            continue
        tau, least = _dip(xa, xb, k, i0, i1, j0, j1, low, high)
        if least < best:
            best_tau = tau
            best, s, u, _ = closest_at(xa, xb, k, i0, i1, j0, j1, tau)
    return best, best_tau, s, u


@njit(**_KERNEL)
def _dip(
    xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int, low: float, high: float
) -> tuple[float, float]:
    """Minimum of d² for tau in [low, high] without derivatives (Brent 1973, ch. 5): (tau, d²)."""
    x = w = v = low + _GOLDEN * (high - low)
    fx, _, _, _ = closest_at(xa, xb, k, i0, i1, j0, j1, x)
    fw = fv = fx
    last = before = high - low
    for _ in range(60):
        middle = 0.5 * (low + high)
        near = 1e-9 + 1e-9 * abs(x)
        if abs(x - middle) <= 2.0 * near - 0.5 * (high - low):
            break
        golden = True
        if abs(before) > near:
            a = (x - w) * (fx - fv)
            b = (x - v) * (fx - fw)
            top = (x - v) * b - (x - w) * a
            below = 2.0 * (b - a)
            if below > 0.0:
                top = -top
            below = abs(below)
            if abs(top) < abs(0.5 * below * before) and below * (low - x) < top < below * (high - x):
                before, last = last, top / below
                golden = False
                if x + last - low < 2.0 * near or high - x - last < 2.0 * near:
                    last = near if x < middle else -near
        if golden:
            before = (high if x < middle else low) - x
            last = _GOLDEN * before
        step = last if abs(last) >= near else (near if last > 0.0 else -near)
        t = x + step
        ft, _, _, _ = closest_at(xa, xb, k, i0, i1, j0, j1, t)
        if ft <= fx:
            if t < x:
                high = x
            else:
                low = x
            v, fv, w, fw, x, fx = w, fw, x, fx, t, ft
        else:
            if t < x:
                low = t
            else:
                high = t
            if ft <= fw or w == x:
                v, fv, w, fw = w, fw, t, ft
            elif ft <= fv or v in (x, w):
                v, fv = t, ft
    return x, fx
