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
from typing import Final

import numpy as np
from numba import njit

from sternwatch.hydro.chain.forces import current_at, normal_law
from sternwatch.hydro.chain.rows import R_CN, R_NORMAL, R_PULL, R_RE, Floats

_ROUNDS: Final = 4  # iterations for the wetted end: each reduces its error by the ratio of line in air to line out
_STRAIGHT: Final = 1e-6  # below this ratio of span to a the line counts as straight
_STEEPEST: Final = 3.0  # largest |asinh slope|: under too weak a pull the line would stream aft


@njit(cache=True, error_model="numpy")
def catenary_slopes(across: float, along: float, a: float) -> tuple[float, float]:
    """Y' at the first end (X = 0, Y = 0) and at the second (X = across, Y = along)."""
    half = min(0.5 * across / a, _STEEPEST)
    up = math.exp(half)
    sh, ch = 0.5 * (up - 1.0 / up), 0.5 * (up + 1.0 / up)
    middle = 0.5 * along / (a * sh)
    root = math.sqrt(1.0 + middle * middle)
    return middle * ch - root * sh, middle * ch + root * sh


@njit(cache=True, error_model="numpy")
def rod_flow(
    depths: Floats, current: Floats, depth: float, bx: float, by: float, bz: float, tx: float, ty: float, tz: float
) -> tuple[float, float, float]:
    """The mean relative flow of a rod line, from the velocities of ball (b) and tip (t)."""
    near_x, near_y, _nx, _ny = current_at(depths, current, depth)
    half_x, half_y, _hx, _hy = current_at(depths, current, 0.5 * depth)
    third = 1.0 / 3.0
    return (
        third * (near_x + 2.0 * half_x - 2.0 * bx - tx),
        third * (near_y + 2.0 * half_y - 2.0 * by - ty),
        third * (-2.0 * bz - tz),
    )


@njit(cache=True, error_model="numpy")
def rod_curve(rod: Floats, ball: Floats, tip: Floats, ux: float, uy: float, uz: float, out: Floats) -> None:
    """The curve between ball and rod tip in the relative flow u, into ``out`` (8,).

    out: unit pull on the ball (3), wetted end (3), Y' at the ball and at the wetted end (nan: straight).
    """
    sx, sy, sz = tip[0], tip[1], tip[2]
    speed = math.sqrt(ux * ux + uy * uy + uz * uz)
    surfaced = tip[2] < 0.0 and ball[2] > 0.0
    if surfaced:
        share = ball[2] / (ball[2] - tip[2])
        sx = ball[0] + share * (tip[0] - ball[0])
        sy = ball[1] + share * (tip[1] - ball[1])
        sz = 0.0
    out[6] = out[7] = math.nan
    for _ in range(_ROUNDS if surfaced else 1):
        cx, cy, cz = sx - ball[0], sy - ball[1], sz - ball[2]
        chord = math.sqrt(cx * cx + cy * cy + cz * cz) + 1e-9
        ex, ey, ez = cx / chord, cy / chord, cz / chord
        out[0], out[1], out[2] = ex, ey, ez
        if speed > 1e-3:
            fx, fy, fz = -ux / speed, -uy / speed, -uz / speed
            along = cx * fx + cy * fy + cz * fz
            px, py, pz = cx - along * fx, cy - along * fy, cz - along * fz
            across = math.sqrt(px * px + py * py + pz * pz)
            drag, _slope = normal_law(rod[R_NORMAL], rod[R_CN], rod[R_RE], speed * across / chord + 1e-9)
            # normal_law gives 0.5 rho Cn d times the cross-flow speed.
            a = rod[R_PULL] * across / (drag * chord * speed + 1e-12)
            if across > _STRAIGHT * a and across > 1e-6:
                first, second = catenary_slopes(across, along, a)
                px, py, pz = px / across, py / across, pz / across
                inv = 1.0 / math.sqrt(1.0 + first * first)
                out[0], out[1], out[2] = (px + first * fx) * inv, (py + first * fy) * inv, (pz + first * fz) * inv
                inv = 1.0 / math.sqrt(1.0 + second * second)
                ex, ey, ez = (px + second * fx) * inv, (py + second * fy) * inv, (pz + second * fz) * inv
                out[6], out[7] = first, second
        if surfaced and ez < -0.05:
            # The dry part is straight from the wetted end to the tip.
            back = tip[2] / ez
            sx, sy = tip[0] - back * ex, tip[1] - back * ey
    out[3], out[4], out[5] = sx, sy, sz


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
