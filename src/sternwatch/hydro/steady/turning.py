"""The steady turn: where a chain is when the boat has held one radius and one speed for minutes.

In the frame that turns with the boat the chain is at rest in a flow around the turn's centre, and the centrifugal
force acts on its mass. The water is the same at every bearing from the centre, so only the free end's radius and
depth matter. These two unknowns are followed from a wide turn to the requested one. Only the shape for given unknowns
is compiled: nobody waits for a steady turn on the water.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.model import Chain
from sternwatch.hydro.steady.kernel import NOT_CONVERGED, SOLVED, Rig
from sternwatch.hydro.steady.roots import end_place, shoot
from sternwatch.hydro.steady.rows import RefusedError, checked_speed, pack
from sternwatch.hydro.steady.solver import WHY, Steady, describe, find_end, unknown
from sternwatch.water.properties import Water

Array = NDArray[np.float64]

# Most pieces in which the turn is tightened before giving up.
MOST_PIECES: Final = 40
MAX_MOVES: Final = 20
# The path of solutions was followed for some length and ends: beyond it the shape does not exist.
FOLDED: Final = 3


@njit(cache=True, error_model="numpy")
def _ring_miss(rig: Rig, env: Array, ring: Array, tip: Array, tolerance: float, s: Array, work: Array) -> bool:
    """The miss of the tip's radius and depth, into ``work[0, :2]``. False if there is no shape.

    ``ring``: log of the free end's radius over the boat's, and its depth. ``s`` holds the tip's state.
    """
    centre = env[0] / env[1]
    end = np.empty(3)
    end[0], end[1], end[2] = 0.0, centre * (1.0 - math.exp(ring[0])), ring[1]
    if shoot(rig, env, end, tolerance, s, work[1:]) != SOLVED:
        return False
    wanted = math.sqrt(tip[0] * tip[0] + (tip[1] - centre) * (tip[1] - centre))
    work[0, 0] = math.sqrt(s[0] * s[0] + (s[1] - centre) * (s[1] - centre)) - wanted
    work[0, 1] = s[2] - tip[2]
    return math.isfinite(work[0, 0]) and math.isfinite(work[0, 1])


def end_ring(rig: Rig, env: Array, tip: Array, tolerance: float, ring: Array) -> int:
    """Newton's method for the free end's ``ring`` (log radius ratio, depth) in the turn ``env``, in place."""
    reach = 0.0
    for j in range(rig.lines.shape[0]):
        reach += rig.geometry[j, 0]
    goal = max(1e-11, tolerance) * (reach + 1.0)
    work = np.empty((rig.lines.shape[0] + 1, 6))
    s = np.empty(6)
    trial = np.empty(2)
    jacobian = np.empty((2, 2))
    if not _ring_miss(rig, env, ring, tip, tolerance, s, work):
        return NOT_CONVERGED
    a, b = work[0, 0], work[0, 1]
    for _ in range(MAX_MOVES):
        size = math.sqrt(a * a + b * b)
        if size <= goal:
            return SOLVED
        h = 1e-6
        for i in range(2):
            trial[:] = ring
            trial[i] += h
            if not _ring_miss(rig, env, trial, tip, tolerance, s, work):
                return NOT_CONVERGED
            jacobian[0, i] = (work[0, 0] - a) / h
            jacobian[1, i] = (work[0, 1] - b) / h
        det = jacobian[0, 0] * jacobian[1, 1] - jacobian[0, 1] * jacobian[1, 0]
        if det == 0.0 or not math.isfinite(det):
            return NOT_CONVERGED
        move_q = -(jacobian[1, 1] * a - jacobian[0, 1] * b) / det
        move_z = -(jacobian[0, 0] * b - jacobian[1, 0] * a) / det
        share = min(1.0, 0.7 / (abs(move_q) + 1e-30), 0.3 * reach / (abs(move_z) + 1e-30))
        better = False
        for _halving in range(8):
            trial[0], trial[1] = ring[0] + share * move_q, ring[1] + share * move_z
            if _ring_miss(rig, env, trial, tip, tolerance, s, work):
                now = math.sqrt(work[0, 0] * work[0, 0] + work[0, 1] * work[0, 1])
                if now < size * (1.0 - 0.1 * share):
                    better = True
                    break
            share *= 0.5
        if not better:
            return SOLVED if size <= 100.0 * goal else NOT_CONVERGED
        ring[:] = trial
        a, b = work[0, 0], work[0, 1]
    return NOT_CONVERGED


def _placed(rig: Rig, env: Array, tip: Array, tolerance: float, ring: Array, end: Array) -> None:
    """The free end's place, into ``end``: its ring, turned about the centre until the chain meets the tip."""
    work = np.empty((rig.lines.shape[0] + 1, 6))
    s = np.empty(6)
    _ring_miss(rig, env, ring, tip, tolerance, s, work)
    centre = env[0] / env[1]
    turn = math.atan2(tip[1] - centre, tip[0]) - math.atan2(s[1] - centre, s[0])
    radius = -centre * math.exp(ring[0])
    end[0], end[1], end[2] = -radius * math.sin(turn), centre + radius * math.cos(turn), ring[1]


def _follow(
    rig: Rig, env: Array, tip: Array, goal: Array, by_speed: bool, start: float, tolerance: float, ring: Array
) -> int:
    """Follow the root ``ring`` to the turn ``goal`` = [speed, omega], each piece starting from the last two.

    It goes along the radius, from a wide turn at the full speed, or (``by_speed``) along the speed, from a slow turn
    at the full curvature. ``start`` is the first piece's share of the goal, ``ring`` the guess there.
    """
    before = np.empty(2)
    slope = np.zeros(2)
    trial = np.empty(2)
    factor = 2.0
    known = 0.0
    share = start
    for _ in range(MOST_PIECES):
        trial[:] = ring
        if known > 0.0:
            trial += slope * math.log(share / known)
        env[0] = goal[0] * share if by_speed else goal[0]
        env[1] = goal[1] * share
        if end_ring(rig, env, tip, tolerance, trial) == SOLVED:
            before[:] = ring
            ring[:] = trial
            if known > 0.0:
                slope[:] = (ring - before) / math.log(share / known)
                factor = min(factor * factor, 4.0)
            known = share
            if known >= 1.0:
                return SOLVED
        else:
            factor = math.sqrt(factor)
            if known == 0.0:
                return NOT_CONVERGED
            if factor < 1.005:
                return FOLDED
        share = min(1.0, known * factor)
    return NOT_CONVERGED


def tighten(rig: Rig, env: Array, tip: Array, curvature: float, tolerance: float, end: Array) -> int:
    """Move ``end`` from the straight place to that in a turn of ``curvature`` [1/m, positive to starboard].

    A chain that is long for the radius may have two shapes, neither connected with the straight tow. Then the search
    is for the shape that develops from the chain hanging below a boat that turns slowly.
    """
    reach = 0.0
    for j in range(rig.lines.shape[0]):
        reach += rig.geometry[j, 0]
    goal = np.array([env[0], env[0] * curvature])
    ring = np.empty(2)
    start = min(1.0, 0.3 / (reach + 1.0) / abs(curvature))
    status = NOT_CONVERGED
    for _ in range(3):
        wide = start * curvature
        astern = (tip[0] - end[0]) * wide
        offset = 1.0 - end[1] * wide
        ring[0] = 0.5 * math.log(max(offset * offset - astern * astern, 0.01))
        ring[1] = end[2]
        status = _follow(rig, env, tip, goal, False, start, tolerance, ring)
        if status != NOT_CONVERGED:
            break
        start *= 0.3
    if status != SOLVED:
        ring[0] = 0.5 * math.log(max((1.0 - tip[1] * curvature) ** 2 + (tip[0] * curvature) ** 2, 1e-6))
        ring[1] = tip[2] + reach
        status = _follow(rig, env, tip, goal, True, min(1.0, 0.05 / goal[0]), tolerance, ring)
    if status == FOLDED:
        status = NOT_CONVERGED
    if status == SOLVED:
        _placed(rig, env, tip, tolerance, ring, end)
    return status


def solve_turn(
    chain: Chain,
    speed_m_s: float,
    radius_m: float,
    side: Literal["port", "starboard"],
    *,
    water: Water,
    arc_m: Sequence[float] | Array | None = None,
    tolerance: float = 1e-9,
) -> Steady:
    """The steady state in a turn in still water, in boat axes. The radius is that of the transom's centre.

    ``speed_m_s`` is that of the transom's centre through the water. Depth, astern and abeam are those of the free end
    in the boat's axes at that moment, not along the wake. Raises nothing: without a solution ``why`` says why.
    """
    arcs = None if arc_m is None else np.asarray(arc_m, dtype=float)
    nothing = np.empty(0) if arcs is None else arcs
    try:
        packed = pack(chain, water)
        speed = checked_speed(speed_m_s)
        if not (math.isfinite(radius_m) and radius_m > 0.0):
            raise RefusedError(f"a turn's radius must be positive, not {radius_m} m")
        if side not in ("port", "starboard"):
            raise RefusedError(f"a turn goes to port or starboard, not {side!r}")
    except RefusedError as refused:
        return unknown(chain, nothing, str(refused))
    status, env, end = find_end(packed, speed, tolerance)
    if status == SOLVED and speed > 0.0:
        env[2] = 0.0
        curvature = (1.0 if side == "starboard" else -1.0) / radius_m
        status = tighten(packed.rig, env, packed.tip, curvature, tolerance, end)
        if status == SOLVED and packed.rig.link_at >= 0:
            env[2] = 1.0
            s, body_out = np.empty(6), np.empty((packed.rig.lines.shape[0], 6))
            status = end_place(packed.rig, env, packed.tip, tolerance, end, s, body_out)
    if status != SOLVED:
        return unknown(chain, nothing, WHY[int(status)])
    return describe(chain, packed, env, end, arcs, tolerance)
