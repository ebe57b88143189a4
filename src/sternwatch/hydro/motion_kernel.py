"""Chains through time: the compiled loops over steps and rows.

BDF2 in positions and velocities [Hairer Wanner 1996]: second order, and damping whatever is faster than the step. A
step whose Newton iterations fail is cut in halves. Each row is computed by itself, so that its numbers do not depend
on who else is in the call.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numba import njit

from sternwatch.hydro.motion_newton import FAILED, Effort, OneRow, Water, Work, newton
from sternwatch.hydro.rows import Floats, Ints

HALVINGS: Final = 8
# A step may be this much longer than the one before; beyond 1 + sqrt 2 BDF2 is not stable, and Euler steps in.
GROWTH: Final = 2.0


class Past(NamedTuple):
    """Where a chain was: positions and velocities (N, 3) at the last step and at the one before."""

    x0: Floats
    x1: Floats
    v0: Floats
    v1: Floats


class States(NamedTuple):
    """All rows' state, as in ``State``; changed in place."""

    position: Floats
    before: Floats
    velocity: Floats
    velocity_before: Floats
    tension: Floats
    rest: Floats
    last_step: Floats
    owed: Floats


class Models(NamedTuple):
    """All rows' numbers, as in ``Rows``."""

    line: Floats
    body: Floats
    node_body: Ints
    n_nodes: Ints
    rod_node: Ints
    rod: Floats


class Samples(NamedTuple):
    """What the loop writes every so many steps."""

    positions: Floats  # (samples, rows, N, 3)
    tensions: Floats  # (samples, rows, S)
    status: Ints  # (samples, rows)
    iterations: Ints  # (1,)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _attempt(
    past: Past, h: float, h1: float, tip: Floats, x: Floats, v: Floats, tension: Floats, one: OneRow, water: Water,
    rod_tip: Floats, effort: Effort, work: Work,
) -> int:  # fmt: skip
    """One step of length h, after one of h1, to x, v and tension (in: as it was)."""
    bv, ba = work.nodes[2], work.nodes[3]
    x0, x1, v0, v1 = past
    w = h / h1
    if w <= GROWTH:
        a0 = (1.0 + 2.0 * w) / ((1.0 + w) * h)
        a1 = -(1.0 + w) / h
        a2 = w * w / ((1.0 + w) * h)
    else:
        a0, a1, a2, w = 1.0 / h, -1.0 / h, 0.0, 0.0
    for i in range(one.segments + 1):
        for j in range(3):
            bv[i, j] = a1 * x0[i, j] + a2 * x1[i, j]
            ba[i, j] = a1 * v0[i, j] + a2 * v1[i, j]
            x[i, j] = x0[i, j] + h * (v0[i, j] + 0.5 * w * (v0[i, j] - v1[i, j]))
    for j in range(3):
        x[0, j] = tip[j]
    used = newton(x, tension, bv, ba, a0, one, water, rod_tip, effort, work)
    if used != FAILED:
        for i in range(one.segments + 1):
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
    past: Past, tension: Floats, h1: float, dt: float, rate: float, tip: Floats, one: OneRow, water: Water,
    rod_tip: Floats, effort: Effort, work: Work,
) -> int:  # fmt: skip
    """One row on by dt, in place; iterations used, or FAILED with the row as it was."""
    n = one.segments
    rest = one.rest
    x, v = work.nodes[0], work.nodes[1]
    trial, kept = work.loads[0], work.loads[1]
    for i in range(3):
        if not np.isfinite(tip[i]) or (one.rod_node >= 0 and not np.isfinite(rod_tip[i])):
            return FAILED
    first = rest[0]
    whole = True
    sub = Past(work.nodes[4], work.nodes[5], work.nodes[6], work.nodes[7])
    end = work.nodes[8, 0]
    h, before, done, used = dt, h1, 0.0, 0
    for k in range(n):
        trial[k] = tension[k]
        kept[k] = tension[k]
    while done < dt * (1.0 - 1e-9):
        # Parts of a step have a history of their own, so that the next whole step sees whole ones; the tip goes
        # straight from one end to the other.
        share = (done + h) / dt
        for j in range(3):
            end[j] = past.x0[0, j] + share * (tip[j] - past.x0[0, j]) if share < 1.0 else tip[j]
        rest[0] = first + rate * (done + h)
        got = _attempt(past if whole else sub, h, before, end, x, v, trial, one, water, rod_tip, effort, work)
        if got == FAILED:
            h *= 0.5
            if h < dt / 2.0**HALVINGS:
                rest[0] = first
                return FAILED
            if whole:
                whole = False
                _copy(past.x0, sub.x0, n + 1)
                _copy(past.x1, sub.x1, n + 1)
                _copy(past.v0, sub.v0, n + 1)
                _copy(past.v1, sub.v1, n + 1)
            for k in range(n):
                trial[k] = kept[k]
            continue
        used += got
        done += h
        if whole:
            break
        _copy(sub.x0, sub.x1, n + 1)
        _copy(x, sub.x0, n + 1)
        _copy(sub.v0, sub.v1, n + 1)
        _copy(v, sub.v0, n + 1)
        for k in range(n):
            kept[k] = trial[k]
        before = h
        # Longer again only where halves stay aligned with the step.
        if 2.0 * h <= (dt - done) * (1.0 + 1e-9) and round(done / h) % 2 == 0:
            h *= 2.0
    _copy(past.x0, past.x1, n + 1)
    _copy(x, past.x0, n + 1)
    _copy(past.v0, past.v1, n + 1)
    _copy(v, past.v0, n + 1)
    for k in range(n):
        tension[k] = trial[k]
    return used


@njit(cache=True, nogil=True, error_model="numpy")
def run_rows(
    states: States, models: Models, tips: Floats, rod_tips: Floats, dt: Floats, rates: Floats, depths: Floats,
    current: Floats, effort: Effort, every: int, out: Samples,
) -> None:  # fmt: skip
    """All rows through all steps, row by row, in place; a sample each ``every`` steps.

    ``tips`` and ``rod_tips`` (steps, rows, 3), ``dt`` (steps,), ``rates`` (rows,), ``current`` (1 or rows, k, 2). A
    row that failed owes the time and tries it with its next step; its samples say so until it has caught up.
    """
    nodes = states.position.shape[1]
    work = Work(
        np.zeros((9, nodes, 3)), np.zeros((2, nodes)), np.zeros((nodes, 12)), np.zeros((nodes, 7)),
        np.zeros((nodes, 3)), np.zeros(15),
    )  # fmt: skip
    for row in range(states.position.shape[0]):
        n = models.n_nodes[row] - 1
        one = OneRow(
            states.rest[row], models.line[row], models.body[row], models.node_body[row], n,
            models.rod_node[row], models.rod[row],
        )  # fmt: skip
        past = Past(states.position[row], states.before[row], states.velocity[row], states.velocity_before[row])
        tension = states.tension[row]
        water = Water(depths, current[row if current.shape[0] > 1 else 0])
        failed = 0
        for s in range(dt.shape[0]):
            h = dt[s] + states.owed[row]
            used = advance(
                past, tension, states.last_step[row], h, rates[row], tips[s, row], one, water, rod_tips[s, row],
                effort, work,
            )  # fmt: skip
            if used == FAILED:
                states.owed[row] = h
                failed = 1
            else:
                states.last_step[row] = h
                states.owed[row] = 0.0
                out.iterations[0] += used
            if (s + 1) % every == 0:
                at = (s + 1) // every - 1
                out.status[at, row] = failed
                failed = 0
                for k in range(n):
                    out.tensions[at, row, k] = tension[k]
                for i in range(nodes):
                    for j in range(3):
                        out.positions[at, row, i, j] = past.x0[min(i, n), j]
        for i in range(n + 1, nodes):
            for j in range(3):
                past.x0[i, j] = past.x0[n, j]
