"""The compiled loops over steps and rows that move chains through time.

BDF2 in positions and velocities [Hairer Wanner 1996] is of second order, and damps everything faster than the step. A
step whose Newton iterations fail is cut in halves, and so is one in which the tip swings: slack line follows a yaw of
seven seconds a third of a metre too deep in steps of one. Each row is computed alone, so its numbers do not depend on
the other rows of the call. (The parts are inlined because passing their arrays would cost as much as a fifth of
the work. Positions are read as flat arrays for the same reason.)
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit

from sternwatch.hydro.chain.cutting import TAUT
from sternwatch.hydro.chain.rows import Floats, Ints
from sternwatch.hydro.motion.newton import FAILED, Effort, OneRow, Water, Work, newton

HALVINGS: Final = 8
# A step may be this much longer than the one before. Above 1 + sqrt 2 BDF2 is not stable; Euler's method replaces it.
GROWTH: Final = 2.0
# A tip swings when it is accelerated by more [m/s2]: in a yaw of 6 degrees by 0.2, in a turn of 20 m radius by 0.05.
SWINGS: Final = 0.1
# The path of a tip is a parabola only below this [m/s2]: no boat does more, and a jump has no path.
JUMPS: Final = 1.0


class Past(NamedTuple):
    """A chain's positions and velocities, flat (3 N,), at the last step and at the one before."""

    x0: Floats
    x1: Floats
    v0: Floats
    v1: Floats


class States(NamedTuple):
    """The state of all rows, as in ``State``; changed in place."""

    position: Floats
    before: Floats
    velocity: Floats
    velocity_before: Floats
    tension: Floats
    rest: Floats
    last_step: Floats
    owed: Floats


class Models(NamedTuple):
    """The numbers of all rows, as in ``Rows``."""

    line: Floats
    body: Floats
    node_body: Ints
    n_nodes: Ints
    rod_node: Ints
    rod: Floats


class Samples(NamedTuple):
    """What the loop writes at each sample."""

    positions: Floats  # (samples, rows, N, 3)
    tensions: Floats  # (samples, rows, S)
    status: Ints  # (samples, rows)
    iterations: Ints  # (1,)


class Flat(NamedTuple):
    """Flat views of ``Work``'s x, bv and ba; a chain's past and tensions within a cut step, and its last part."""

    x: Floats
    bv: Floats
    ba: Floats
    sub: Past
    kept: Floats
    last: Floats  # (1,) how long before the new past's first half its second lies


@njit(cache=True, error_model="numpy", inline="always")
def _coefficients(h: float, h1: float) -> tuple[float, float, float, float]:
    """(a0, a1, a2, w): weights of values, newest first, for d/dt at the end of a step h after one of h1.

    ``w`` is h/h1, or 0 where the step has grown too much for BDF2 and Euler's method is used.
    """
    w = h / h1
    if w <= GROWTH:
        return (1.0 + 2.0 * w) / ((1.0 + w) * h), -(1.0 + w) / h, w * w / ((1.0 + w) * h), w
    return 1.0 / h, -1.0 / h, 0.0, 0.0


@njit(cache=True, error_model="numpy", inline="always")
def _guess(past: Past, h: float, h1: float, count: int, flat: Flat) -> None:
    """History terms and first guess (extrapolated) of a step h."""
    _a0, a1, a2, w = _coefficients(h, h1)
    x0, x1, v0, v1 = past
    x, bv, ba = flat.x, flat.bv, flat.ba
    for i in range(count):
        bv[i] = a1 * x0[i] + a2 * x1[i]
    for i in range(count):
        ba[i] = a1 * v0[i] + a2 * v1[i]
    for i in range(count):
        x[i] = x0[i] + h * (v0[i] + 0.5 * w * (v0[i] - v1[i]))


@njit(cache=True, error_model="numpy", inline="always")
def _commit(past: Past, a0: float, count: int, flat: Flat) -> None:
    """Store the solution as the past."""
    x0, x1, v0, v1 = past
    x, bv = flat.x, flat.bv
    for i in range(count):
        x1[i] = x0[i]
    for i in range(count):
        v1[i] = v0[i]
    for i in range(count):
        x0[i] = x[i]
    for i in range(count):
        v0[i] = a0 * x[i] + bv[i]


@njit(cache=True, error_model="numpy", inline="always")
def _pulled(past: Past, h1: float, dt: float, work: Work) -> float:
    """How the tip is accelerated over the last step and the next [m/s2]."""
    square = 0.0
    for j in range(3):
        pull = 2.0 * ((work.tip[j] - past.x0[j]) / dt - (past.x0[j] - past.x1[j]) / h1) / (dt + h1)
        square += pull * pull
    return math.sqrt(square)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _in_parts(
    past: Past, tension: Floats, h1: float, dt: float, rate: float, one: OneRow, water: Water, effort: Effort,
    work: Work, flat: Flat,
) -> int:  # fmt: skip
    """Take a step in parts. Returns the iterations used, or FAILED with ``rest`` as it was.

    The tip moves on the parabola through its last two places and the next, or straight where it jumps. The parts keep
    their own history. At the end ``flat.sub`` has it with the solution, and ``past`` is as it was.
    """
    count = 3 * (one.segments + 1)
    first = one.rest[0]
    sub = flat.sub
    bend = 0.5 if _pulled(past, h1, dt, work) < JUMPS else 0.0
    for kind in range(4):
        for i in range(count):
            sub[kind][i] = past[kind][i]
    for k in range(one.segments):  # (no slices here: numba spends seconds on their error messages)
        flat.kept[k] = tension[k]
    h, before, done, used = 0.5 * dt, h1, 0.0, 0
    while done < dt * (1.0 - 1e-9):
        share = min((done + h) / dt, 1.0)
        _guess(sub, h, before, count, flat)
        for j in range(3):
            onward = work.tip[j] - past.x0[j]
            pull = 2.0 * (onward / dt - (past.x0[j] - past.x1[j]) / h1) / (dt + h1)
            flat.x[j] = past.x0[j] + share * onward - bend * pull * share * (1.0 - share) * dt * dt
        for k in range(one.segments):
            work.tension[k] = flat.kept[k]
        one.rest[0] = first + rate * share * dt
        a0 = _coefficients(h, before)[0]
        got = newton(a0, one, water, effort, work)
        if got == FAILED:
            h *= 0.5
            if h < dt / 2.0**HALVINGS:
                one.rest[0] = first
                return FAILED
            continue
        used += got
        done += h
        before = flat.last[0] = h
        _commit(sub, a0, count, flat)
        for k in range(one.segments):
            flat.kept[k] = work.tension[k]
        # Make parts longer again only where halves stay aligned with the step.
        if 2.0 * h <= (dt - done) * (1.0 + 1e-9) and round(done / h) % 2 == 0:
            h *= 2.0
    return used


@njit(cache=True, error_model="numpy", inline="always")
def _advance(
    past: Past, tension: Floats, h1: float, dt: float, rate: float, one: OneRow, water: Water, effort: Effort,
    work: Work, flat: Flat,
) -> int:  # fmt: skip
    """Advance one row by dt in place, its tip to ``work.tip``. Iterations used, or FAILED with the row unchanged."""
    count = 3 * (one.segments + 1)
    good = True
    for j in range(3):
        good = good and np.isfinite(work.tip[j]) and (one.rod_node < 0 or np.isfinite(work.rod_tip[j]))
    used = FAILED
    if good:
        first = one.rest[0]
        _guess(past, dt, h1, count, flat)
        for j in range(3):
            flat.x[j] = work.tip[j]
        for k in range(one.segments):
            work.tension[k] = tension[k]
        one.rest[0] = first + rate * dt
        a0 = _coefficients(dt, h1)[0]
        swings = one.segments > TAUT and _pulled(past, h1, dt, work) > SWINGS
        if not swings:
            used = newton(a0, one, water, effort, work)
        if used != FAILED:
            _commit(past, a0, count, flat)
            flat.last[0] = dt
        else:
            one.rest[0] = first
            used = _in_parts(past, tension, h1, dt, rate, one, water, effort, work, flat)
            if used != FAILED and swings:  # one part follows another until the tip rests
                for i in range(count):
                    past.x1[i], past.v1[i] = flat.sub.x1[i], flat.sub.v1[i]
                    past.x0[i], past.v0[i] = flat.sub.x0[i], flat.sub.v0[i]
            elif used != FAILED:  # the next whole step sees whole steps
                flat.last[0] = dt
                for i in range(count):
                    past.x1[i], past.v1[i] = past.x0[i], past.v0[i]
                    past.x0[i], past.v0[i] = flat.sub.x0[i], flat.sub.v0[i]
        if used != FAILED:
            for k in range(one.segments):
                tension[k] = work.tension[k]
    return used


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def run_rows(
    states: States, models: Models, tips: Floats, rod_tips: Floats, dt: Floats, rates: Floats, depths: Floats,
    current: Floats, effort: Effort, every: int, out: Samples,
) -> None:  # fmt: skip
    """Run all rows through all steps in place, row by row, with a sample each ``every`` steps.

    ``tips`` and ``rod_tips`` (steps, rows, 3), ``dt`` (steps,), ``rates`` (rows,), ``current`` (1 or rows, k, 2). A
    row that fails adds the lost time to its next step. Its samples say FAILED until it has caught up.
    """
    nodes = states.position.shape[1]
    work = Work(
        np.zeros((nodes, 3)), np.zeros((nodes, 3)), np.zeros((nodes, 3)), np.zeros(nodes), np.zeros(3), np.zeros(3),
        np.zeros((nodes, 12)), np.zeros((nodes, 7)), np.zeros((nodes, 3)), np.zeros(15),
    )  # fmt: skip
    parts = np.zeros((4, 3 * nodes))
    flat = Flat(
        work.x.reshape(-1), work.bv.reshape(-1), work.ba.reshape(-1),
        Past(parts[0], parts[1], parts[2], parts[3]), np.zeros(nodes), np.zeros(1),
    )  # fmt: skip
    for row in range(states.position.shape[0]):
        n = models.n_nodes[row] - 1
        one = OneRow(
            states.rest[row], models.line[row], models.body[row], models.node_body[row], n,
            models.rod_node[row], models.rod[row],
        )  # fmt: skip
        past = Past(
            states.position[row].reshape(-1), states.before[row].reshape(-1),
            states.velocity[row].reshape(-1), states.velocity_before[row].reshape(-1),
        )  # fmt: skip
        tension = states.tension[row]
        water = Water(depths, current[row if current.shape[0] > 1 else 0])
        failed = 0
        for s in range(dt.shape[0]):
            for j in range(3):
                work.tip[j] = tips[s, row, j]
                work.rod_tip[j] = rod_tips[s, row, j]
            h = dt[s] + states.owed[row]
            used = _advance(past, tension, states.last_step[row], h, rates[row], one, water, effort, work, flat)
            if used == FAILED:
                states.owed[row] = h
                failed = 1
            else:
                states.last_step[row] = flat.last[0]
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
                        out.positions[at, row, i, j] = past.x0[3 * min(i, n) + j]
        for i in range(n + 1, nodes):
            for j in range(3):
                past.x0[3 * i + j] = past.x0[3 * n + j]
