"""Finds the place of a towed chain's free end for which its inner end meets the rod tip. Compiled.

Straight astern only the end's depth matters, because the water is the same everywhere at one level. That is one
scalar root, always bracketed: a chain of length L cannot reach farther than L. In a turn, or with a rod's line on
the ball, the place itself matters: three unknowns, by Newton's method from the straight solution.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.forces import B_KIND
from sternwatch.hydro.steady.kernel import NOT_CONVERGED, SOLVED, SURFACE_FILMS_M, Rig, integrate

Array = NDArray[np.float64]

BOARD: Final = 2  # BodyKind.BOARD
MAX_TRIALS: Final = 120
MAX_MOVES: Final = 40
# Below this speed a board's line is slack and the board may be anywhere. It is taken to rest where this speed leaves
# it. The line behind it hangs straight down, within a millimetre or two.
CREEPING_M_S: Final = 0.02


@njit(cache=True, error_model="numpy")
def shoot(rig: Rig, env: Array, end: Array, tolerance: float, s: Array, body_out: Array) -> int:
    """Integrate from the free end at ``end`` (3,) with nothing outboard. Leaves the tip's state in ``s`` (6,)."""
    for i in range(3):
        s[i] = end[i]
        s[3 + i] = 0.0
    entry = np.empty(3)
    return integrate(
        rig, env, s, tolerance,
        np.empty(0), np.empty((0, 3)), np.empty(0), body_out, entry,
    )  # fmt: skip


@njit(cache=True, error_model="numpy")
def end_depth(
    rig: Rig, env: Array, tip_depth: float, guess: Array, tolerance: float, end: Array, s: Array, body_out: Array
) -> int:
    """Depth of the free end [m] for which the inner end is at ``tip_depth``. Writes the end's place to ``end``.

    The rod's own line, if any, must be off (``env``). A safeguarded secant searches within the chain's reach. It
    starts from ``guess`` = [depth, slope of the miss over depth], nan where unknown, and leaves the slope there.
    On return ``end`` is the end's place, with x and y measured from the tip; ``s`` and ``body_out`` are the kernel's
    results for it.
    """
    reach = 0.0
    for j in range(rig.lines.shape[0]):
        reach += rig.geometry[j, 0]
    low, high = tip_depth - 1.5 * reach, tip_depth + 1.5 * reach
    z = guess[0] if low < guess[0] < high else tip_depth + 0.5 * reach
    slope = guess[1]
    goal = max(1e-12, tolerance) * (reach + 1.0)
    z_before = math.nan
    off_before = math.nan
    slow = 0
    for _ in range(MAX_TRIALS):
        end[0], end[1], end[2] = 0.0, 0.0, z
        status = shoot(rig, env, end, tolerance, s, body_out)
        if status != SOLVED:
            return status
        off = s[2] - tip_depth
        end[0], end[1] = -s[0], -s[1]
        if abs(off) <= goal:
            return SOLVED
        if high - low <= 1e-14 * (abs(z) + 1.0):
            # The adaptive step makes the miss jump a little; a larger jump is a fold in the shape.
            return SOLVED if abs(off) <= 100.0 * tolerance * (reach + 1.0) else NOT_CONVERGED
        if off > 0.0:
            high = min(high, z)
        else:
            low = max(low, z)
        if not math.isnan(z_before) and z != z_before:
            slope = guess[1] = (off - off_before) / (z - z_before)
            slow = slow + 1 if abs(off) > 0.3 * abs(off_before) else 0
        if not slope > 0.05:
            slope = 1.0
        z_before, off_before = z, off
        z -= off / slope
        if not low < z < high or slow >= 3:
            z = 0.5 * (low + high)
            slow = 0
    return NOT_CONVERGED


@njit(cache=True, error_model="numpy")
def _miss(
    rig: Rig, env: Array, tip: Array, tolerance: float, end: Array, s: Array, body_out: Array, miss: Array
) -> float:
    """How far the inner end misses the tip, into ``miss`` (3,). Returns its size, or infinity without a solution."""
    status = shoot(rig, env, end, tolerance, s, body_out)
    if status != SOLVED:
        return np.inf
    for i in range(3):
        miss[i] = s[i] - tip[i]
    return math.sqrt(miss[0] * miss[0] + miss[1] * miss[1] + miss[2] * miss[2])


@njit(cache=True, error_model="numpy")
def _solve(a: Array, miss: Array, move: Array) -> float:
    """The move (3,) with a move = -miss, by cofactors (numba takes seconds to compile LAPACK's). The determinant."""
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        move[i] = 0.0
        for r in range(3):
            n, m = (r + 1) % 3, (r + 2) % 3
            move[i] -= (a[n, j] * a[m, k] - a[n, k] * a[m, j]) * miss[r]
    det = 0.0
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        det += a[0, i] * (a[1, j] * a[2, k] - a[1, k] * a[2, j])
    for i in range(3):
        move[i] /= det
    return det


@njit(cache=True, error_model="numpy", inline="always")
def _copy(place: Array, to: Array) -> None:
    for i in range(3):
        to[i] = place[i]


@njit(cache=True, error_model="numpy")
def _differences(
    rig: Rig, env: Array, tip: Array, tolerance: float, end: Array, h: float, miss: Array,
    s: Array, body_out: Array, trial: Array, trial_miss: Array, jacobian: Array,
) -> bool:  # fmt: skip
    """The derivatives of the miss at ``end``, where it is ``miss``, by steps of ``h`` [m]. False where one fails."""
    known = True
    for i in range(3):
        _copy(end, trial)
        trial[i] += h
        known = known and math.isfinite(_miss(rig, env, tip, tolerance, trial, s, body_out, trial_miss))
        for j in range(3):
            jacobian[j, i] = (trial_miss[j] - miss[j]) / h
    return known


@njit(cache=True, error_model="numpy")
def _learn(jacobian: Array, share: float, move: Array, before: Array, after: Array) -> None:
    """The rank-one update after a share of a move, from the miss before to that after it."""
    square = share * share * (move[0] * move[0] + move[1] * move[1] + move[2] * move[2])
    for i in range(3):
        gap = after[i] - before[i]
        for j in range(3):
            gap -= jacobian[i, j] * share * move[j]
        for j in range(3):
            jacobian[i, j] += gap * share * move[j] / square


@njit(cache=True, error_model="numpy")
def end_place(rig: Rig, env: Array, tip: Array, tolerance: float, end: Array, s: Array, body_out: Array) -> int:
    """Place of the free end for which the inner end is at ``tip`` (3,). ``end``: the first guess, then the root.

    ``s`` and ``body_out`` are the kernel's results for the root.

    Newton's method with halved steps and a difference Jacobian, which is computed again when rank-one updates of it
    (Broyden 1965) no longer help.
    """
    reach = 0.0
    for j in range(rig.lines.shape[0]):
        reach += rig.geometry[j, 0]
    goal = max(1e-11, tolerance) * (reach + 1.0)
    miss = np.empty(3)
    trial = np.empty(3)
    trial_miss = np.empty(3)
    jacobian = np.empty((3, 3))
    move = np.empty(3)
    size = _miss(rig, env, tip, tolerance, end, s, body_out, miss)
    fresh = False
    known = False
    for _ in range(MAX_MOVES):
        if size <= goal:
            return SOLVED
        if not math.isfinite(size):
            return NOT_CONVERGED
        if not known:
            h = max(1e-5, 1e-3 * min(size, 1.0))
            if not _differences(rig, env, tip, tolerance, end, h, miss, s, body_out, trial, trial_miss, jacobian):
                return NOT_CONVERGED
            fresh, known = True, True
        if abs(_solve(jacobian, miss, move)) < 1e-12:
            return NOT_CONVERGED
        length = math.sqrt(move[0] * move[0] + move[1] * move[1] + move[2] * move[2])
        if length > 0.5 * reach:
            for i in range(3):
                move[i] *= 0.5 * reach / length
        share = 1.0
        better = False
        for _halving in range(12 if fresh else 1):
            for i in range(3):
                trial[i] = end[i] + share * move[i]
            trial_size = _miss(rig, env, tip, tolerance, trial, s, body_out, trial_miss)
            if trial_size < (0.5 if not fresh else 1.0 - 0.1 * share) * size:
                better = True
                break
            share *= 0.5
        if not better:
            if fresh:
                return SOLVED if size <= 100.0 * goal else NOT_CONVERGED
            known = False
            continue
        _learn(jacobian, share, move, miss, trial_miss)
        _copy(trial, end)
        _copy(trial_miss, miss)
        size = trial_size
        fresh = False
    return NOT_CONVERGED


@njit(cache=True, error_model="numpy", nogil=True)
def settle(
    rig: Rig, env: Array, tip: Array, guess: Array, tolerance: float, end: Array, s: Array, body_out: Array
) -> int:
    """Place of the free end of a chain towed straight ahead at ``env[0]``, into ``end``; see ``end_depth``.

    On return ``env`` holds the solution's values; with a board, a speed of at least CREEPING_M_S.
    """
    status = NOT_CONVERGED
    for k in range(rig.bodies.shape[0]):
        if rig.bodies[k, B_KIND] == BOARD and abs(env[0]) < CREEPING_M_S:
            env[0] = CREEPING_M_S
    for film in SURFACE_FILMS_M:
        env[1], env[2], env[3] = 0.0, 0.0, film
        status = end_depth(rig, env, tip[2], guess, tolerance, end, s, body_out)
        if status == NOT_CONVERGED:
            status = end_depth(rig, env, tip[2], guess, 0.01 * tolerance, end, s, body_out)
        end[0] += tip[0]
        end[1] += tip[1]
        if status == SOLVED and rig.link_at >= 0:
            env[2] = 1.0
            status = end_place(rig, env, tip, tolerance, end, s, body_out)
        if status == SOLVED:
            break
    return status
