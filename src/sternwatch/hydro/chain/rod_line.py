"""The rod's own line to a downrigger release: a neutral line at constant tension in the stream.

Without weight and tangential drag the tension equals the rod's pull everywhere. The normal drag R sin^2 of a uniform
flow of speed U bends the line into a catenary [Zajac 1957]. With X across the flow and Y along it, in their plane,

    Y' = sinh((X - X0) / a),   a = pull / R,   R = 0.5 rho Cn d U^2

Above the surface the line is straight. The curve is exact for a uniform flow and for Cn at the cross-flow of the
chord. In any other flow, the mean flow weights the ball's end most (1 - s/L), as loads on a taut string count
for the slope at its end.
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numba import njit

from sternwatch.hydro.chain.forces import normal_law
from sternwatch.hydro.chain.lanes import any_of, root, select, smaller
from sternwatch.hydro.chain.rows import R_CN, R_NORMAL, R_PULL, R_RE, Floats

_ROUNDS: Final = 4  # iterations for the wetted end: each reduces its error by the ratio of line in air to line out
_STRAIGHT: Final = 1e-6  # below this ratio of span to a the line counts as straight
_NOTHING: Final = 1e-300  # under a root, so that nothing is divided by zero
_STEEPEST: Final = 3.0  # largest |asinh slope|: under too weak a pull the line would stream aft


@njit(cache=True, error_model="numpy", inline="always")
def _power(x: Any) -> Any:
    """e to the power of x, from 0 to ``_STEEPEST``: the series to the twelfth power of an eighth of it."""
    x = 0.125 * x
    up = 1.0 + x * (1.0 / 12.0)
    for k in range(11, 0, -1):
        up = 1.0 + x * up * (1.0 / k)
    up = up * up
    up = up * up
    return up * up


@njit(cache=True, error_model="numpy", inline="always")
def catenary_slopes(across: Any, along: Any, a: Any) -> Any:
    """Y' at the first end (X = 0, Y = 0) and at the second (X = across, Y = along). Numbers or lanes."""
    half = smaller(0.5 * across / a, _STEEPEST)
    up = _power(half)
    sh, ch = 0.5 * (up - 1.0 / up), 0.5 * (up + 1.0 / up)
    middle = 0.5 * along / (a * sh)
    lean = root(1.0 + middle * middle)
    return middle * ch - lean * sh, middle * ch + lean * sh


@njit(cache=True, error_model="numpy")
def curved(rod: Any, ball: Any, tip: Any, flow: Any) -> Any:
    """The curve between ball and rod tip in the relative flow: see ``rod_curve``. Each of numbers or lanes."""
    pull, normal, given, re = rod
    bx, by, bz = ball
    tx, ty, tz = tip
    ux, uy, uz = flow
    speed = root(ux * ux + uy * uy + uz * uz + _NOTHING)
    moving = speed > 1e-3
    surfaced = (tz < 0.0) & (bz > 0.0)
    share = bz / select(surfaced, bz - tz, 1.0)
    sx, sy, sz = bx + share * (tx - bx), by + share * (ty - by), select(surfaced, 0.0, tz)
    sx, sy = select(surfaced, sx, tx), select(surfaced, sy, ty)
    fx, fy, fz = -ux / speed, -uy / speed, -uz / speed
    gx = gy = gz = 0.0 * bx
    first = second = math.nan + gx
    for _ in range(_ROUNDS if any_of(surfaced) else 1):
        cx, cy, cz = sx - bx, sy - by, sz - bz
        chord = root(cx * cx + cy * cy + cz * cz) + 1e-9
        ex, ey, ez = cx / chord, cy / chord, cz / chord
        gx, gy, gz = ex, ey, ez
        along = cx * fx + cy * fy + cz * fz
        px, py, pz = cx - along * fx, cy - along * fy, cz - along * fz
        across = root(px * px + py * py + pz * pz + _NOTHING)
        drag, _slope = normal_law(normal, given, re, speed * across / chord + 1e-9)
        # normal_law gives 0.5 rho Cn d times the cross-flow speed.
        a = pull * across / (drag * chord * speed + 1e-12)
        bent = moving & (across > _STRAIGHT * a) & (across > 1e-6)
        near, far = catenary_slopes(across, along, a)
        px, py, pz = px / across, py / across, pz / across
        inv = 1.0 / root(1.0 + near * near)
        gx, gy = select(bent, (px + near * fx) * inv, gx), select(bent, (py + near * fy) * inv, gy)
        gz = select(bent, (pz + near * fz) * inv, gz)
        inv = 1.0 / root(1.0 + far * far)
        ex, ey = select(bent, (px + far * fx) * inv, ex), select(bent, (py + far * fy) * inv, ey)
        ez = select(bent, (pz + far * fz) * inv, ez)
        first, second = select(bent, near, first), select(bent, far, second)
        # The dry part is straight from the wetted end to the tip.
        rising = surfaced & (ez < -0.05)
        back = tz / select(rising, ez, 1.0)
        sx, sy = select(rising, tx - back * ex, sx), select(rising, ty - back * ey, sy)
    return gx, gy, gz, sx, sy, sz, first, second


@njit(cache=True, error_model="numpy")
def rod_curve(rod: Floats, ball: Floats, tip: Floats, ux: float, uy: float, uz: float, out: Floats) -> None:
    """The curve between ball and rod tip in the relative flow u, into ``out`` (8,).

    out: unit pull on the ball (3), wetted end (3), Y' at the ball and at the wetted end (nan: straight).
    """
    made = curved(
        (rod[R_PULL], rod[R_NORMAL], rod[R_CN], rod[R_RE]), (ball[0], ball[1], ball[2]), (tip[0], tip[1], tip[2]),
        (ux, uy, uz),
    )  # fmt: skip
    for i in range(8):
        out[i] = made[i]


@njit(cache=True, nogil=True, error_model="numpy")
def rod_curves(rod: Floats, balls: Floats, tips: Floats, flows: Floats, out: Floats) -> None:
    """Points of rod lines from tip to ball into ``out`` (m, points, 3); balls, tips and flows (m, 3)."""
    curve = np.empty(8)
    points = out.shape[1]
    for i in range(balls.shape[0]):
        ball, tip = balls[i], tips[i]
        rod_curve(rod, ball, tip, flows[i, 0], flows[i, 1], flows[i, 2], curve)
        speed = math.sqrt(flows[i, 0] ** 2 + flows[i, 1] ** 2 + flows[i, 2] ** 2) + 1e-12
        along = across = 0.0
        for j in range(3):
            along -= (curve[3 + j] - ball[j]) * flows[i, j] / speed
        for j in range(3):
            across += (curve[3 + j] - ball[j] + along * flows[i, j] / speed) ** 2
        across = math.sqrt(across)
        bent = not math.isnan(curve[6])
        first = math.asinh(curve[6]) if bent else 0.0
        grown = math.asinh(curve[7]) - first if bent else 0.0
        start = math.sqrt(1.0 + curve[6] ** 2) if bent else 0.0
        for k in range(points):
            # All points but the tip: evenly across the flow, from the wetted end (k = 1) to the ball.
            share = (points - 1 - k) / max(points - 2, 1)
            for j in range(3):
                straight = curve[3 + j] - ball[j]
                out[i, k, j] = ball[j] + share * straight
                if bent:
                    up = across / grown * (math.cosh(first + share * grown) - start)
                    out[i, k, j] -= (up - share * along) * flows[i, j] / speed
                if k == 0:
                    out[i, k, j] = tip[j]


def rod_line_curves(rod: Floats, balls_m: Floats, tips_m: Floats, flows_m_s: Floats, points: int = 9) -> Floats:
    """(m, points, 3) of a rod line (``Rows.rod`` of its row) from tip to ball, at m moments.

    ``flows_m_s`` (m, 3): the water's velocity relative to it. Where nothing better is known, the boat's, reversed.
    """
    balls, tips, flows = (
        np.ascontiguousarray(a, dtype=np.float64).reshape(-1, 3) for a in (balls_m, tips_m, flows_m_s)
    )
    out = np.empty((balls.shape[0], points, 3))
    rod_curves(np.ascontiguousarray(rod), balls, tips, flows, out)
    return out
