"""A batch: chains of one shape, each in a lane of one flat scratch.

A shape is where nodes, bodies and rod line are. Members of a rod have the same, with numbers of their own.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.forces import B_KIND, B_LIFT, BODY_FIELDS, LINE_FIELDS
from sternwatch.hydro.chain.lanes import (
    WIDTH,
    lanes,
    load,
    load_rows,
    load_three,
    select,
    store,
    store_rows,
    store_three,
)
from sternwatch.hydro.chain.rows import ROD_FIELDS, Floats, Ints

Bools = NDArray[np.bool_]

# The scratch is one flat array of rows of lanes. A node's numbers lie together; segment k's are with node k.
X: Final = 0 * WIDTH  # place: guess and solution (3)
BV: Final = 3 * WIDTH  # velocity is a0 x + bv (3)
BA: Final = 6 * WIDTH  # acceleration is a0 velocity + ba (3)
PULL: Final = 9 * WIDTH  # tension: guess and solution
REST: Final = 10 * WIDTH  # unstretched length
LINE: Final = 11 * WIDTH  # the line's numbers
FACTOR: Final = LINE + LINE_FIELDS * WIDTH  # M^-1 U, M^-1 and L by rows, and M^-1 r (30)
SEG: Final = FACTOR + 30 * WIDTH  # tangent and stiffness as factored, gap, and tension before the last move (6)
MOVE: Final = SEG + 6 * WIDTH  # the last move (3)
PAST: Final = MOVE + 3 * WIDTH  # places at the last step, at the one before, and velocities at both (12)
PULLED: Final = PAST + 12 * WIDTH  # tension after the last part of the step
KEPT: Final = PULLED + WIDTH  # past and tension at the beginning of a step in parts (13)
STRIDE: Final = KEPT + 13 * WIDTH  # from one node to the next

# A batch's own numbers come first.
TIP: Final = 0
H: Final = 3 * WIDTH  # length of the step
BEFORE: Final = 4 * WIDTH  # of the one before
RATE: Final = 5 * WIDTH  # of the first segment [m/s]
GOOD: Final = 6 * WIDTH  # whether to step at all; then the iterations used
FROM: Final = 7 * WIDTH  # the tip's place before the step (3)
ONWARD: Final = 10 * WIDTH  # its way (3)
PULLING: Final = 13 * WIDTH  # its acceleration (3)
OWN: Final = 16 * WIDTH


class Shape(NamedTuple):
    """What the chains of a batch have in common, and where their numbers lie in the scratch."""

    segments: int
    node_body: Ints  # (N,) index of a node's body, or -1
    body: Floats  # of one of the chains, for what bodies these are
    rod_node: int
    depths: Floats  # (k,) of the current's profile
    own_at: int  # the batch's own numbers
    nodes_at: int  # node 0
    bodies_at: int  # the first body's numbers
    rod_at: int  # the rod line's numbers, then its tip (3)
    current_at: int  # at each depth: velocity north and east, and its slopes to the next depth (4)


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


@njit(cache=True, error_model="numpy")
def _alike(models: Models, a: int, b: int) -> bool:
    """Whether two rows are chains of one shape."""
    if models.n_nodes[a] != models.n_nodes[b] or models.rod_node[a] != models.rod_node[b]:
        return False
    for i in range(models.n_nodes[a]):
        if models.node_body[a, i] != models.node_body[b, i]:
            return False
    for i in range(models.body.shape[1]):
        if models.body[a, i, B_KIND] != models.body[b, i, B_KIND]:
            return False
        if (models.body[a, i, B_LIFT] != 0.0) != (models.body[b, i, B_LIFT] != 0.0):
            return False
    return True


@njit(cache=True, error_model="numpy", inline="always")
def muster(models: Models, leader: int, taken: Bools, members: Ints) -> int:
    """Take as many rows of the leader's shape as there are lanes. How many; the leader stands in lanes left over."""
    count, row = 0, leader
    while row < taken.shape[0] and count < WIDTH:
        if not taken[row] and _alike(models, leader, row):
            taken[row] = True
            members[count] = row
            count += 1
        row += 1
    for lane in range(count, WIDTH):
        members[lane] = leader
    return count


@njit(cache=True, error_model="numpy")
def gather(
    states: States, models: Models, rates: Floats, water: Floats, members: Ints, shape: Shape, w: Floats
) -> None:
    """Put the rows' numbers into their lanes; ``water`` is the current (1 or rows, k, 2)."""
    for lane in range(WIDTH):
        row = members[lane]
        w[shape.own_at + RATE + lane] = rates[row]
        w[shape.own_at + BEFORE + lane] = states.last_step[row]
        for i in range(models.body.shape[1]):
            for j in range(BODY_FIELDS):
                w[shape.bodies_at + (i * BODY_FIELDS + j) * WIDTH + lane] = models.body[row, i, j]
        for j in range(ROD_FIELDS):
            w[shape.rod_at + j * WIDTH + lane] = models.rod[row, j]
        flowing = row if water.shape[0] > 1 else 0
        for i in range(shape.depths.shape[0]):
            for j in range(2):
                to = shape.current_at + (4 * i + j) * WIDTH + lane
                w[to] = water[flowing, i, j]
                if i > 0:
                    step = shape.depths[i] - shape.depths[i - 1]
                    w[to - 2 * WIDTH] = (water[flowing, i, j] - water[flowing, i - 1, j]) / step
    n, nodes = shape.segments, states.position.shape[1]
    for i in range(n + 1):
        to = shape.nodes_at + i * STRIDE + PAST
        _take(states.position, members, nodes, i, n, w, to)
        _take(states.before, members, nodes, i, n, w, to + 3 * WIDTH)
        _take(states.velocity, members, nodes, i, n, w, to + 6 * WIDTH)
        _take(states.velocity_before, members, nodes, i, n, w, to + 9 * WIDTH)
    for i in range(n):
        at = shape.nodes_at + i * STRIDE
        for j in range(0, LINE_FIELDS, 4):
            a, b, c, d = load_rows(models.line, members, (nodes - 1) * LINE_FIELDS, i * LINE_FIELDS + j)
            to = at + LINE + j * WIDTH
            store_three(w, to, a, b, c)
            store(w, to + 3 * WIDTH, d)
        for lane in range(WIDTH):
            w[at + PULL + lane] = states.tension[members[lane], i]
            w[at + REST + lane] = states.rest[members[lane], i]


@njit(cache=True, error_model="numpy", inline="always")
def _take(places: Floats, members: Ints, nodes: int, i: int, last: int, w: Floats, to: int) -> None:
    """Put x, y and z of the rows' node i into lanes. Four numbers are read, of the last node from one before."""
    a, b, c, d = load_rows(places, members, 3 * nodes, 3 * i - (1 if i == last else 0))
    if i == last:
        a, b, c = b, c, d
    store_three(w, to, a, b, c)


@njit(cache=True, error_model="numpy")
def scatter(states: States, members: Ints, count: int, shape: Shape, w: Floats) -> None:
    """Put the lanes' states back into their rows. Padding nodes are at the last real one."""
    n, nodes = shape.segments, states.position.shape[1]
    for lane in range(count):
        row = members[lane]
        states.last_step[row] = w[shape.own_at + BEFORE + lane]
        states.rest[row, 0] = w[shape.nodes_at + REST + lane]
        for i in range(n):
            states.tension[row, i] = w[shape.nodes_at + i * STRIDE + PULL + lane]
    for i in range(nodes):
        at = shape.nodes_at + min(i, n) * STRIDE + PAST
        # (Lanes left over have the row of the first, whose numbers come last.)
        put(states.position, members, nodes, i, w, at)
        if i <= n:
            put(states.before, members, nodes, i, w, at + 3 * WIDTH)
            put(states.velocity, members, nodes, i, w, at + 6 * WIDTH)
            put(states.velocity_before, members, nodes, i, w, at + 9 * WIDTH)


@njit(cache=True, error_model="numpy", inline="always")
def put(places: Floats, members: Ints, nodes: int, i: int, w: Floats, at: int) -> None:
    """Put the lanes' x, y and z at ``at`` into their rows' node i."""
    x, y, z = load_three(w, at)
    store_rows(places, members, 3 * nodes, 3 * i, x, y, z)


@njit(cache=True, error_model="numpy", inline="always")
def current(shape: Shape, w: Floats, z: Any) -> Any:
    """Water velocity (north, east) at depths z and its slope; constant beyond the profile's ends."""
    count, at = shape.depths.shape[0], shape.current_at
    if count == 0:
        return lanes(0.0), lanes(0.0), lanes(0.0), lanes(0.0)
    wx, wy, sx, sy = load(w, at), load(w, at + WIDTH), lanes(0.0), lanes(0.0)
    for i in range(count - 1):
        top, foot = shape.depths[i], shape.depths[i + 1]
        within, under = (z > top) & (z < foot), z >= foot
        down = z - top
        slope_x, slope_y = load(w, at + 2 * WIDTH), load(w, at + 3 * WIDTH)
        here_x, here_y = load(w, at) + slope_x * down, load(w, at + WIDTH) + slope_y * down
        at = at + 4 * WIDTH
        wx = select(within, here_x, select(under, load(w, at), wx))
        wy = select(within, here_y, select(under, load(w, at + WIDTH), wy))
        sx, sy = select(within, slope_x, select(under, 0.0, sx)), select(within, slope_y, select(under, 0.0, sy))
    return wx, wy, sx, sy
