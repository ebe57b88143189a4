"""Curves of rod lines from a downrigger's rod tip to its release, for every sample of a run."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numba import njit

from sternwatch.hydro.chain.rod_line import rod_curve
from sternwatch.hydro.chain.rows import Floats

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}

POINTS: Final = 6  # the rod tip, where the line enters the water, three between, the release


@njit(**_KERNEL)
def lay(rod: Floats, ball: Floats, tip: Floats, ux: float, uy: float, uz: float, out: Floats) -> None:
    """One curve from the rod tip to the ball in the relative flow u, into out (POINTS, 3).

    It is the catenary of ``chain.rod_line`` between ball and water. Its parameters follow from its end slopes:
    asinh(Y1') - asinh(Y0') = span / a. It is straight above water, and where the flow does not bend it.
    """
    curve = np.empty(8)
    rod_curve(rod, ball, tip, ux, uy, uz, curve)
    wx, wy, wz = curve[3], curve[4], curve[5]
    for c in range(3):
        out[0, c] = tip[c]
        out[1, c] = curve[3 + c]
        out[POINTS - 1, c] = ball[c]
    speed = math.sqrt(ux * ux + uy * uy + uz * uz)
    straight = math.isnan(curve[6]) or speed <= 1e-6
    fx = fy = fz = px = py = pz = span = a = x0 = 0.0
    if not straight:
        fx, fy, fz = -ux / speed, -uy / speed, -uz / speed
        cx, cy, cz = wx - ball[0], wy - ball[1], wz - ball[2]
        along = cx * fx + cy * fy + cz * fz
        px, py, pz = cx - along * fx, cy - along * fy, cz - along * fz
        span = math.sqrt(px * px + py * py + pz * pz)
        bend = math.asinh(curve[7]) - math.asinh(curve[6])
        straight = span <= 1e-6 or bend <= 1e-9
        if not straight:
            px, py, pz = px / span, py / span, pz / span
            a = span / bend
            x0 = -a * math.asinh(curve[6])
    for i in range(2, POINTS - 1):
        # From the water (i = 1) down to the ball.
        share = (POINTS - 1 - i) / (POINTS - 2)
        if straight:
            out[i, 0] = ball[0] + share * (wx - ball[0])
            out[i, 1] = ball[1] + share * (wy - ball[1])
            out[i, 2] = ball[2] + share * (wz - ball[2])
        else:
            across = share * span
            rise = a * (math.cosh((across - x0) / a) - math.cosh(x0 / a))
            out[i, 0] = ball[0] + across * px + rise * fx
            out[i, 1] = ball[1] + across * py + rise * fy
            out[i, 2] = ball[2] + across * pz + rise * fz


@njit(**_KERNEL)
def lay_all(rod: Floats, ball: Floats, tip: Floats, dt: Floats, current: Floats, out: Floats) -> None:
    """Curves of n rod lines at all samples: rod (n, ROD_FIELDS), ball and tip (samples, n, 3), dt (samples - 1,).

    current (samples, n, 3): the water's velocity at the ball. out (samples, n, POINTS, 3). The relative flow is the
    mean of those at ball and tip, with their velocities over the step that ends at the sample.
    """
    for k in range(ball.shape[0]):
        before = max(k - 1, 0)
        h = dt[before]
        for i in range(ball.shape[1]):
            u = np.zeros(3)
            for c in range(3):
                after = k if k > 0 else 1
                moved = ball[after, i, c] - ball[before, i, c] + tip[after, i, c] - tip[before, i, c]
                u[c] = current[k, i, c] - 0.5 * moved / h
            lay(rod[i], ball[k, i], tip[k, i], u[0], u[1], 0.5 * u[2], out[k, i])
