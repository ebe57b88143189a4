"""Chains through time: the compiled loops over steps and rows.

BDF2 in positions and velocities, second order and damping whatever is faster than the step. A step whose Newton
iterations fail is cut in halves. Each row is computed by itself, so nothing depends on who else is in the call.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit

from sternwatch.hydro.motion_newton import FAILED, newton
from sternwatch.hydro.rows import Floats, Ints

HALVINGS: Final = 8
# A step may be this much longer than the one before; beyond, BDF2 would not be stable (1 + sqrt 2) and Euler steps in.
GROWTH: Final = 2.0


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _attempt(
    x0: Floats,
    x1: Floats,
    v0: Floats,
    v1: Floats,
    h: float,
    h1: float,
    tip: Floats,
    x: Floats,
    v: Floats,
    tension: Floats,
    bv: Floats,
    ba: Floats,
    rest: Floats,
    line: Floats,
    body: Floats,
    node_body: Ints,
    n: int,
    depths: Floats,
    current: Floats,
    rod_node: int,
    rod: Floats,
    rod_tip: Floats,
    limit: int,
    factor: Floats,
    seg: Floats,
    move: Floats,
    jac: Floats,
) -> int:
    """One step of length h from x0, v0 (and x1, v1, h1 before) to x, v. ``tension`` in: as it was."""
    w = h / h1
    if w <= GROWTH:
        a0 = (1.0 + 2.0 * w) / ((1.0 + w) * h)
        a1 = -(1.0 + w) / h
        a2 = w * w / ((1.0 + w) * h)
    else:
        a0, a1, a2, w = 1.0 / h, -1.0 / h, 0.0, 0.0
    for i in range(n + 1):
        for j in range(3):
            bv[i, j] = a1 * x0[i, j] + a2 * x1[i, j]
            ba[i, j] = a1 * v0[i, j] + a2 * v1[i, j]
            x[i, j] = x0[i, j] + h * (v0[i, j] + 0.5 * w * (v0[i, j] - v1[i, j]))
    for j in range(3):
        x[0, j] = tip[j]
    used = newton(
        x, tension, bv, ba, rest, line, body, node_body, n, a0, depths, current, rod_node, rod, rod_tip, limit,
        factor, seg, move, jac,
    )  # fmt: skip
    if used != FAILED:
        for i in range(n + 1):
            for j in range(3):
                v[i, j] = a0 * x[i, j] + bv[i, j]
    return used


@njit(cache=True, error_model="numpy")
def _copy(source: Floats, target: Floats, count: int) -> None:
    for i in range(count):
        for j in range(3):
            target[i, j] = source[i, j]


@njit(cache=True, error_model="numpy")
def advance(
    x0: Floats,
    x1: Floats,
    v0: Floats,
    v1: Floats,
    tension: Floats,
    rest: Floats,
    h1: float,
    dt: float,
    rate: float,
    tip: Floats,
    line: Floats,
    body: Floats,
    node_body: Ints,
    n: int,
    depths: Floats,
    current: Floats,
    rod_node: int,
    rod: Floats,
    rod_tip: Floats,
    limit: int,
    work: Floats,  # (10, N, 3)
    loads: Floats,  # (2, S)
    factor: Floats,
    seg: Floats,
    jac: Floats,
) -> int:
    """One row on by dt, in place; iterations used, or FAILED with the row as it was."""
    x, v, bv, ba, move = work[0], work[1], work[2], work[3], work[4]
    trial, kept = loads[0], loads[1]
    for i in range(3):
        if not np.isfinite(tip[i]) or (rod_node >= 0 and not np.isfinite(rod_tip[i])):
            return FAILED
    first = rest[0]
    for k in range(n):
        trial[k] = tension[k]
    rest[0] = first + rate * dt
    used = _attempt(
        x0, x1, v0, v1, dt, h1, tip, x, v, trial, bv, ba, rest, line, body, node_body, n, depths, current,
        rod_node, rod, rod_tip, limit, factor, seg, move, jac,
    )  # fmt: skip
    if used == FAILED:
        # In parts, the tip going straight; their own history stays here, so that the next step sees whole ones.
        p0, p1, q0, q1, part = work[5], work[6], work[7], work[8], work[9]
        _copy(x0, p0, n + 1)
        _copy(x1, p1, n + 1)
        _copy(v0, q0, n + 1)
        _copy(v1, q1, n + 1)
        for k in range(n):
            kept[k] = tension[k]
        h, before, done, used = 0.5 * dt, h1, 0.0, 0
        while done < dt * (1.0 - 1e-9):
            share = (done + h) / dt
            for j in range(3):
                part[0, j] = x0[0, j] + share * (tip[j] - x0[0, j])
            for k in range(n):
                trial[k] = kept[k]
            rest[0] = first + rate * (done + h)
            got = _attempt(
                p0, p1, q0, q1, h, before, part[0], x, v, trial, bv, ba, rest, line, body, node_body, n, depths,
                current, rod_node, rod, rod_tip, limit, factor, seg, move, jac,
            )  # fmt: skip
            if got == FAILED:
                h *= 0.5
                if h < dt / 2.0**HALVINGS:
                    rest[0] = first
                    return FAILED
                continue
            used += got
            done += h
            _copy(p0, p1, n + 1)
            _copy(x, p0, n + 1)
            _copy(q0, q1, n + 1)
            _copy(v, q0, n + 1)
            for k in range(n):
                kept[k] = trial[k]
            before = h
            # Longer again only where halves stay aligned with the step.
            if 2.0 * h <= dt - done + 1e-9 * dt and round(done / h) % 2 == 0:
                h *= 2.0
    _copy(x0, x1, n + 1)
    _copy(x, x0, n + 1)
    _copy(v0, v1, n + 1)
    _copy(v, v0, n + 1)
    for k in range(n):
        tension[k] = trial[k]
    return used


@njit(cache=True, nogil=True, error_model="numpy")
def step_rows(
    position: Floats,
    before: Floats,
    velocity: Floats,
    velocity_before: Floats,
    tension: Floats,
    rest: Floats,
    last_step: Floats,
    owed: Floats,
    tips: Floats,
    rates: Floats,
    dt: float,
    line: Floats,
    body: Floats,
    node_body: Ints,
    n_nodes: Ints,
    depths: Floats,
    current: Floats,
    rod_node: Ints,
    rod: Floats,
    rod_tips: Floats,
    limit: int,
    status: Ints,
) -> None:
    """All rows on by dt in place; ``status`` 0 or 1. A row that failed owes the time and tries it with the next step."""
    nodes = position.shape[1]
    work = np.empty((10, nodes, 3))
    loads = np.empty((2, nodes))
    factor = np.empty((nodes, 12))
    seg = np.empty((nodes, 7))
    jac = np.empty(15)
    own_current = current.shape[0] > 1
    for row in range(position.shape[0]):
        h = dt + owed[row]
        used = advance(
            position[row], before[row], velocity[row], velocity_before[row], tension[row], rest[row],
            last_step[row], h, rates[row], tips[row], line[row], body[row], node_body[row], n_nodes[row] - 1,
            depths, current[row if own_current else 0], rod_node[row], rod[row], rod_tips[row], limit,
            work, loads, factor, seg, jac,
        )  # fmt: skip
        if used == FAILED:
            owed[row] = h
            status[row] = 1
            continue
        last_step[row] = h
        owed[row] = 0.0
        status[row] = 0
        n = n_nodes[row] - 1
        for i in range(n + 1, nodes):
            for j in range(3):
                position[row, i, j] = position[row, n, j]


@njit(cache=True, nogil=True, error_model="numpy")
def run_rows(
    position: Floats,
    before: Floats,
    velocity: Floats,
    velocity_before: Floats,
    tension: Floats,
    rest: Floats,
    last_step: Floats,
    owed: Floats,
    tips: Floats,  # (steps, rows, 3)
    dt: Floats,  # (steps,)
    every: int,
    line: Floats,
    body: Floats,
    node_body: Ints,
    n_nodes: Ints,
    depths: Floats,
    current: Floats,
    rod_node: Ints,
    rod: Floats,
    rod_tips: Floats,  # (steps, rows, 3)
    limit: int,
    positions: Floats,  # (samples, rows, N, 3) out
    tensions: Floats,  # (samples, rows, S) out
    status: Ints,  # (samples, rows) out
    counts: Ints,  # (1,) out: Newton iterations in all
) -> None:
    """All rows through all steps, row by row, a sample each ``every`` steps; the state is changed."""
    nodes = position.shape[1]
    work = np.empty((10, nodes, 3))
    loads = np.empty((2, nodes))
    factor = np.empty((nodes, 12))
    seg = np.empty((nodes, 7))
    jac = np.empty(15)
    own_current = current.shape[0] > 1
    for row in range(position.shape[0]):
        n = n_nodes[row] - 1
        failed = 0
        for s in range(dt.shape[0]):
            h = dt[s] + owed[row]
            used = advance(
                position[row], before[row], velocity[row], velocity_before[row], tension[row], rest[row],
                last_step[row], h, 0.0, tips[s, row], line[row], body[row], node_body[row], n,
                depths, current[row if own_current else 0], rod_node[row], rod[row], rod_tips[s, row], limit,
                work, loads, factor, seg, jac,
            )  # fmt: skip
            if used == FAILED:
                owed[row] = h
                failed = 1
            else:
                last_step[row] = h
                owed[row] = 0.0
                counts[0] += used
            if (s + 1) % every == 0:
                sample = (s + 1) // every - 1
                status[sample, row] = failed
                failed = 0
                for k in range(n):
                    tensions[sample, row, k] = tension[row, k]
                for i in range(nodes):
                    at = min(i, n)
                    for j in range(3):
                        positions[sample, row, i, j] = position[row, at, j]
