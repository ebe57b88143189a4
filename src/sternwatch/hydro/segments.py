"""Distance between two straight segments, at rest and while their ends move.

Kernels on scalars and small views: no allocation, no interpreter lock. The z axis points down; what lies above
the surface (z < 0) is cut off where asked.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
_SUBSTEP_M = 0.5  # relative motion within which the distance is taken to have one minimum in time
_GOLDEN = 0.5 * (3.0 - math.sqrt(5.0))
_FLAT = 1e-12  # squared sine below which two segments are taken as parallel


@njit(**_KERNEL)
def _clamp(value: float) -> float:
    return min(1.0, max(0.0, value))


@njit(**_KERNEL)
def closest_segments(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float,
    rx: float, ry: float, rz: float, sx: float, sy: float, sz: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Squared distance [m²] between segments PQ and RS, and where: (d², s on PQ, u on RS), both in [0, 1].

    The minimum of a convex quadratic on the unit square: the unconstrained one if it lies inside, else the least of
    the four edges (each a point against a segment). Segments of no length are points.
    """
    ax, ay, az = qx - px, qy - py, qz - pz
    bx, by, bz = sx - rx, sy - ry, sz - rz
    wx, wy, wz = px - rx, py - ry, pz - rz
    aa = ax * ax + ay * ay + az * az
    bb = bx * bx + by * by + bz * bz
    ab = ax * bx + ay * by + az * bz
    aw = ax * wx + ay * wy + az * wz
    bw = bx * wx + by * wy + bz * wz
    ww = wx * wx + wy * wy + wz * wz
    det = aa * bb - ab * ab
    if det > _FLAT * aa * bb:
        s = (ab * bw - bb * aw) / det
        u = (aa * bw - ab * aw) / det
        if 0.0 <= s <= 1.0 and 0.0 <= u <= 1.0:
            dx = wx + s * ax - u * bx
            dy = wy + s * ay - u * by
            dz = wz + s * az - u * bz
            return dx * dx + dy * dy + dz * dz, s, u
    best, best_s, best_u = math.inf, 0.0, 0.0
    for edge in range(4):
        if edge == 0:
            s = 0.0
            u = _clamp(bw / bb) if bb > 0.0 else 0.0
        elif edge == 1:
            s = 1.0
            u = _clamp((bw + ab) / bb) if bb > 0.0 else 0.0
        elif edge == 2:
            u = 0.0
            s = _clamp(-aw / aa) if aa > 0.0 else 0.0
        else:
            u = 1.0
            s = _clamp((ab - aw) / aa) if aa > 0.0 else 0.0
        dx = wx + s * ax - u * bx
        dy = wy + s * ay - u * by
        dz = wz + s * az - u * bz
        d2 = dx * dx + dy * dy + dz * dz
        if d2 < best:
            best, best_s, best_u = d2, s, u
    if ww < best:  # both of no length, or rounding
        best, best_s, best_u = ww, 0.0, 0.0
    return best, best_s, best_u


@njit(**_KERNEL)
def wet_part(z0: float, z1: float) -> tuple[float, float]:
    """The part [from, to] of a segment that is not above water, its ends at depths z0 and z1; (1, 0) if none is."""
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
    """As closest_segments, the parts above water left out: (inf, 0, 0) where nothing of one of them is wet."""
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
    p0: Floats,
    p1: Floats,
    q0: Floats,
    q1: Floats,
    r0: Floats,
    r1: Floats,
    s0: Floats,
    s1: Floats,
    tau: float,
    wet: bool,
) -> tuple[float, float, float]:
    """Squared distance of segments PQ and RS at the fraction tau of a step in which their ends go from x0 to x1.

    wet: leave out what is above water.
    """
    k = 1.0 - tau
    px, py, pz = k * p0[0] + tau * p1[0], k * p0[1] + tau * p1[1], k * p0[2] + tau * p1[2]
    qx, qy, qz = k * q0[0] + tau * q1[0], k * q0[1] + tau * q1[1], k * q0[2] + tau * q1[2]
    rx, ry, rz = k * r0[0] + tau * r1[0], k * r0[1] + tau * r1[1], k * r0[2] + tau * r1[2]
    sx, sy, sz = k * s0[0] + tau * s1[0], k * s0[1] + tau * s1[1], k * s0[2] + tau * s1[2]
    if wet:
        d2, s, u = closest_wet(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz)
    else:
        d2, s, u = closest_segments(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz)
    return d2, s, u


@njit(**_KERNEL)
def _shift(p0: Floats, p1: Floats, r0: Floats, r1: Floats) -> float:
    dx = (p1[0] - p0[0]) - (r1[0] - r0[0])
    dy = (p1[1] - p0[1]) - (r1[1] - r0[1])
    dz = (p1[2] - p0[2]) - (r1[2] - r0[2])
    squared: float = dx * dx + dy * dy + dz * dz
    return squared


@njit(**_KERNEL)
def relative_shift(
    p0: Floats, p1: Floats, q0: Floats, q1: Floats, r0: Floats, r1: Floats, s0: Floats, s1: Floats
) -> float:
    """The most by which the distance of two moving segments can change within the step [m].

    Ends move linearly, so every point's shift is a mean of its ends' shifts, and the difference of two such means is
    greatest for some pair of ends.
    """
    widest: float = max(_shift(p0, p1, r0, r1), _shift(p0, p1, s0, s1))
    widest = max(widest, _shift(q0, q1, r0, r1))
    widest = max(widest, _shift(q0, q1, s0, s1))
    shift: float = math.sqrt(widest)
    return shift


@njit(**_KERNEL)
def closest_in_step(
    p0: Floats, p1: Floats, q0: Floats, q1: Floats, r0: Floats, r1: Floats, s0: Floats, s1: Floats,
    shift_m: float, wet: bool, enough_m: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Least distance of two moving segments within a step: (d², tau, s, u).

    shift_m from relative_shift. Distances of enough_m or more are not refined. The step is cut into parts in which
    the segments move at most half a metre against each other; in each the distance is taken to have one minimum (it
    has, exactly, where the segments do not turn: d² is then convex in time), found by parabolas and golden section.
    """
    best, _, _ = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, 0.0, wet)
    best_tau = 0.0
    parts = max(1, math.ceil(shift_m / _SUBSTEP_M))
    left_bound, _, _ = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, 0.0, False)
    for part in range(parts):
        low, high = part / parts, (part + 1) / parts
        right, _, _ = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, high, wet)
        if right < best:
            best, best_tau = right, high
        right_bound = right
        if wet:
            right_bound, _, _ = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, high, False)
        floor = 0.5 * (math.sqrt(left_bound) + math.sqrt(right_bound) - shift_m / parts)
        left_bound = right_bound
        if floor >= enough_m or (floor > 0.0 and floor * floor >= best):
            continue
        # Minimum without derivatives (Brent 1973): x least, w second least, v the one before.
        x = w = v = low + _GOLDEN * (high - low)
        fx, _, _ = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, x, wet)
        fw = fv = fx
        last = before = high - low
        for _ in range(60):
            middle = 0.5 * (low + high)
            near = 1e-10 + 1e-9 * abs(x)
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
            ft, _, _ = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, t, wet)
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
        if fx < best:
            best, best_tau = fx, x
    best, s, u = closest_at(p0, p1, q0, q1, r0, r1, s0, s1, best_tau, wet)
    return best, best_tau, s, u
