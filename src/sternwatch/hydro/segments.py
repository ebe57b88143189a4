"""Distance between two straight segments, at rest and while their ends move.

Kernels on scalars and small views: no allocation, no interpreter lock. The z axis points down; what lies above
the surface (z < 0) is cut off where asked.
"""

from __future__ import annotations

import math
from typing import Any

from numba import njit

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
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
        return closest_segments(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz)
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
