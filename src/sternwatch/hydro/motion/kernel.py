"""The compiled loops over steps and rows that move chains through time.

BDF2 in positions and velocities [Hairer Wanner 1996] is of second order, and damps everything faster than the step. A
step whose Newton iterations fail is cut in halves, and so is one in which the tip swings: slack line follows a yaw of
seven seconds a third of a metre too deep in steps of one. Rows of one shape are computed side by side, in batches.
A row's numbers are the same to the last bit whatever the other rows of the call are.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numba import njit

from sternwatch.hydro.chain.cutting import TAUT
from sternwatch.hydro.chain.forces import BODY_FIELDS
from sternwatch.hydro.chain.lanes import (
    WIDTH,
    aligned,
    any_of,
    floor,
    lanes,
    load,
    load_three,
    root,
    select,
    smaller,
    store,
    store_rows,
)
from sternwatch.hydro.chain.rows import ROD_FIELDS, Floats, Ints
from sternwatch.hydro.motion.batch import (
    BA,
    BEFORE,
    BV,
    FROM,
    GOOD,
    KEPT,
    ONWARD,
    OWN,
    PAST,
    PULL,
    PULLED,
    PULLING,
    RATE,
    REST,
    STRIDE,
    TIP,
    H,
    Models,
    Shape,
    States,
    X,
    gather,
    muster,
    scatter,
)
from sternwatch.hydro.motion.newton import FAILED, Effort, newton

HALVINGS: Final = 8
# A step may be this much longer than the one before. Above 1 + sqrt 2 BDF2 is not stable; Euler's method replaces it.
GROWTH: Final = 2.0
# A tip swings when it is accelerated by more [m/s2]: in a yaw of 6 degrees by 0.2, in a turn of 20 m radius by 0.05.
SWINGS: Final = 0.1
# The path of a tip is a parabola only below this [m/s2]: no boat does more, and a jump has no path.
JUMPS: Final = 1.0


class Samples(NamedTuple):
    """What the loop writes at each sample."""

    places: Floats  # of nodes, flat: each row's samples wherever the caller wants them
    at: Ints  # (rows,) where a row's first sample begins
    apart: int  # from a row's sample to its next
    tensions: Floats  # (samples, rows, S)
    status: Ints  # (samples, rows)
    iterations: Ints  # (1,)


@njit(cache=True, error_model="numpy", inline="always")
def _coefficients(h: Any, h1: Any) -> Any:
    """(a0, a1, a2, w): weights of values, newest first, for d/dt at the end of a step h after one of h1.

    ``w`` is h/h1, or 0 where the step has grown too much for BDF2 and Euler's method is used.
    """
    w = h / h1
    second = w <= GROWTH
    a0 = select(second, (1.0 + 2.0 * w) / ((1.0 + w) * h), 1.0 / h)
    a1 = select(second, -(1.0 + w) / h, -1.0 / h)
    a2 = select(second, w * w / ((1.0 + w) * h), 0.0)
    return a0, a1, a2, select(second, w, 0.0)


@njit(cache=True, error_model="numpy")
def _keep(shape: Shape, w: Floats) -> None:
    """Keep the past and the tensions, before the first part of a step is added to them."""
    for k in range(shape.segments + 1):
        at = shape.nodes_at + k * STRIDE
        for j in range(0, 13 * WIDTH, WIDTH):
            store(w, at + KEPT + j, load(w, at + PAST + j))


@njit(cache=True, error_model="numpy")
def _undo(failed: Any, whole: Any, shape: Shape, w: Floats) -> None:
    """Put back what was kept: all where a part failed; where whole, newer places as those of one step before."""
    for k in range(shape.segments + 1):
        at = shape.nodes_at + k * STRIDE
        for j in range(0, 13 * WIDTH, WIDTH):
            store(w, at + PAST + j, select(failed, load(w, at + KEPT + j), load(w, at + PAST + j)))
        for j in range(0, 3 * WIDTH, WIDTH):
            for i in range(0, 12 * WIDTH, 6 * WIDTH):
                to = at + PAST + 3 * WIDTH + i + j
                store(w, to, select(whole, load(w, at + KEPT + i + j), load(w, to)))


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _advance(going: Any, shape: Shape, effort: Effort, w: Floats) -> Any:
    """Advance the lanes in the mask ``going`` by their steps. Iterations of each, or FAILED with the lane unchanged.

    A whole step comes first, unless the tip swings. What fails is taken in halves, each with the history of its own.
    There the tip moves on the parabola through its last two places and the next, or straight where it jumps. Last
    steps' lengths stand in BEFORE afterwards.
    """
    n, start, own = shape.segments, shape.nodes_at, shape.own_at
    dt, h1, rate = load(w, own + H), load(w, own + BEFORE), load(w, own + RATE)
    first = load(w, start + REST)
    square = lanes(0.0)
    for j in range(0, 3 * WIDTH, WIDTH):
        x0, x1 = load(w, start + PAST + j), load(w, start + PAST + 3 * WIDTH + j)
        onward = load(w, own + TIP + j) - x0
        pull = 2.0 * (onward / dt - (x0 - x1) / h1) / (dt + h1)
        store(w, own + FROM + j, x0)
        store(w, own + ONWARD + j, onward)
        store(w, own + PULLING + j, pull)
        square = square + pull * pull
    pulled = root(square)  # how the tip is accelerated over the last step and the next
    swings = (pulled > SWINGS) & (n > TAUT)
    bend = select(pulled < JUMPS, 0.5, lanes(0.0))
    for k in range(n):
        at = start + k * STRIDE
        store(w, at + PULLED, load(w, at + PULL))
    h, before, done, used = select(swings, 0.5 * dt, dt), h1, lanes(0.0), lanes(0.0)
    failed = ~going
    kept = False
    while any_of(going):
        a0, a1, a2, grown = _coefficients(h, before)
        for k in range(n + 1):
            at = start + k * STRIDE
            for j in range(0, 3 * WIDTH, WIDTH):
                x0, x1 = load(w, at + PAST + j), load(w, at + PAST + 3 * WIDTH + j)
                v0, v1 = load(w, at + PAST + 6 * WIDTH + j), load(w, at + PAST + 9 * WIDTH + j)
                store(w, at + BV + j, a1 * x0 + a2 * x1)
                store(w, at + BA + j, a1 * v0 + a2 * v1)
                store(w, at + X + j, x0 + h * (v0 + 0.5 * grown * (v0 - v1)))
            store(w, at + PULL, load(w, at + PULLED))
        share = smaller((done + h) / dt, 1.0)
        whole = h >= dt
        for j in range(0, 3 * WIDTH, WIDTH):
            between = load(w, own + FROM + j) + share * load(w, own + ONWARD + j)
            between = between - bend * load(w, own + PULLING + j) * share * (1.0 - share) * dt * dt
            store(w, start + X + j, select(whole, load(w, own + TIP + j), between))
        store(w, start + REST, first + rate * share * dt)
        got = newton(a0, going, shape, effort, w)
        missed = going & (got < 0.0)
        good = going & ~missed
        if not kept and any_of(good & ~whole):
            _keep(shape, w)
            kept = True
        used = select(good, used + got, used)
        done = select(good, done + h, done)
        before = select(good, h, before)
        for k in range(n + 1):
            at = start + k * STRIDE
            for j in range(0, 3 * WIDTH, WIDTH):
                x, x0, x1 = load(w, at + X + j), load(w, at + PAST + j), load(w, at + PAST + 3 * WIDTH + j)
                v0, v1 = load(w, at + PAST + 6 * WIDTH + j), load(w, at + PAST + 9 * WIDTH + j)
                store(w, at + PAST + j, select(good, x, x0))
                store(w, at + PAST + 3 * WIDTH + j, select(good, x0, x1))
                store(w, at + PAST + 6 * WIDTH + j, select(good, a0 * x + load(w, at + BV + j), v0))
                store(w, at + PAST + 9 * WIDTH + j, select(good, v0, v1))
            store(w, at + PULLED, select(good, load(w, at + PULL), load(w, at + PULLED)))
        # Make parts longer again only where halves stay aligned with the step.
        pairs = 0.5 * floor(done / h + 0.5)
        even = pairs - floor(pairs) < 0.25
        longer = good & even & (2.0 * h <= (dt - done) * (1.0 + 1e-9))
        h = select(longer, 2.0 * h, select(missed, 0.5 * h, h))
        lost = missed & (h < dt * (0.5**HALVINGS))
        failed = failed | lost
        going = going & ~lost & (done < dt * (1.0 - 1e-9))
    # After a step in parts the next one sees whole steps; but where the tip swings, one part follows another.
    whole = ~(failed | swings) & (before < dt)
    if kept:
        _undo(failed & (done > 0.0), whole, shape, w)
    for k in range(n):
        at = start + k * STRIDE
        store(w, at + PULL, load(w, at + PULLED))
    store(w, start + REST, select(failed, first, first + rate * dt))
    store(w, own + BEFORE, select(failed, h1, select(whole, dt, before)))
    return select(failed, FAILED, used)


@njit(cache=True, error_model="numpy", inline="always")
def _aim(tips: Floats, rod_tips: Floats, row: int, lane: int, shape: Shape, w: Floats) -> bool:
    """Put the next places of a row's tips into its lane. Whether they are numbers."""
    good = True
    for j in range(3):
        good = good and np.isfinite(tips[row, j]) and (shape.rod_node < 0 or np.isfinite(rod_tips[row, j]))
        w[shape.own_at + TIP + j * WIDTH + lane] = tips[row, j]
        w[shape.rod_at + (ROD_FIELDS + j) * WIDTH + lane] = rod_tips[row, j]
    return good


@njit(cache=True, error_model="numpy", inline="always")
def _sample(out: Samples, sample: int, members: Ints, begins: Ints, count: int, shape: Shape, w: Floats) -> None:
    """Write where the lanes' chains are now. Nothing is written for nodes that they do not have."""
    n = shape.segments
    for lane in range(count):
        for k in range(n):
            out.tensions[sample, members[lane], k] = w[shape.nodes_at + k * STRIDE + PULL + lane]
    for i in range(n + 1):
        x, y, z = load_three(w, shape.nodes_at + i * STRIDE + PAST)
        # (Lanes left over have the row of the first, whose numbers come last.)
        store_rows(out.places, begins, 1, sample * out.apart + 3 * i, x, y, z)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def run_rows(
    states: States, models: Models, tips: Floats, rod_tips: Floats, dt: Floats, rates: Floats, depths: Floats,
    current: Floats, effort: Effort, every: int, out: Samples,
) -> None:  # fmt: skip
    """Run all rows through all steps in place, batch by batch, with a sample each ``every`` steps.

    ``tips`` and ``rod_tips`` (steps, rows, 3), ``dt`` (steps,), ``rates`` (rows,), ``current`` (1 or rows, k, 2). A
    row that fails adds the lost time to its next step. Its samples say FAILED until it has caught up.
    """
    rows, nodes = states.position.shape[0], states.position.shape[1]
    bodies_at = OWN
    rod_at = bodies_at + models.body.shape[1] * BODY_FIELDS * WIDTH
    current_at = rod_at + (ROD_FIELDS + 3) * WIDTH
    nodes_at = current_at + 4 * depths.shape[0] * WIDTH
    w = np.zeros(nodes_at + nodes * STRIDE + WIDTH)
    own = aligned(w)
    members = np.zeros(WIDTH, np.int64)
    begins = np.zeros(WIDTH, np.int64)  # of the lanes' samples
    failed = np.zeros(WIDTH, np.int64)
    taken = np.zeros(rows, np.bool_)
    for leader in range(rows):
        if taken[leader]:
            continue
        count = muster(models, leader, taken, members)
        shape = Shape(
            models.n_nodes[leader] - 1, models.node_body[leader], models.body[leader], models.rod_node[leader],
            depths, own, own + nodes_at, own + bodies_at, own + rod_at, own + current_at,
        )  # fmt: skip
        for lane in range(WIDTH):
            failed[lane] = 0
            begins[lane] = out.at[members[lane]]
        gather(states, models, rates, current, members, shape, w)
        for s in range(dt.shape[0]):
            for lane in range(WIDTH):
                row = members[lane]
                good = _aim(tips[s], rod_tips[s], row, lane, shape, w)
                w[own + GOOD + lane] = 1.0 if good and lane < count else 0.0
                w[own + H + lane] = dt[s] + states.owed[row]
            store(w, own + GOOD, _advance(load(w, own + GOOD) > 0.0, shape, effort, w))
            for lane in range(count):
                row = members[lane]
                used = w[own + GOOD + lane]
                if used < 0.0:
                    states.owed[row] = w[own + H + lane]
                    failed[lane] = 1
                else:
                    states.owed[row] = 0.0
                    out.iterations[0] += int(used)
            if (s + 1) % every == 0:
                sample = (s + 1) // every - 1
                for lane in range(count):
                    out.status[sample, members[lane]] = failed[lane]
                    failed[lane] = 0
                _sample(out, sample, members, begins, count, shape, w)
        scatter(states, members, count, shape, w)
