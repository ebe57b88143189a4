"""Tables of steady states: one chain at many lengths and speeds, each solved from its neighbour. Compiled."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.forces import B_HEIGHT, B_KIND
from sternwatch.hydro.steady.kernel import SOLVED, Rig
from sternwatch.hydro.steady.roots import settle

Array = NDArray[np.float64]

# With less flow past it or less pull, a diver does not hold its line, and its place cannot be trusted.
SLACK_FLOW_M_S: Final = 0.3
SLACK_PULL_N: Final = 1.0


@njit(cache=True, error_model="numpy")
def faults(bodies: Array, body_out: Array) -> tuple[bool, bool]:
    """Whether a board is pulled under and whether a diver is slack, from the kernel's (bodies, 6) report."""
    under = False
    slack = False
    for j in range(bodies.shape[0]):
        kind = int(bodies[j, B_KIND])
        if kind == 2 and body_out[j, 2] > bodies[j, B_HEIGHT]:
            under = True
        if kind == 1 and (body_out[j, 3] < SLACK_FLOW_M_S or body_out[j, 4] < SLACK_PULL_N):
            slack = True
    return under, slack


@njit(cache=True, error_model="numpy", nogil=True)
def fill(
    rig: Rig, tip: Array, lengths: Array, speeds: Array, tolerance: float, numbers: Array, flags: NDArray[np.bool_],
    status: NDArray[np.int64],
) -> None:  # fmt: skip
    """Solve one chain for each of ``lengths`` (m,) of its first line and each of ``speeds`` (k,).

    Overwrites its geometry. Results: ``numbers`` (m, k, 4): depth, astern, abeam of the free end and pull at the tip;
    ``flags`` (m, k, 2): pulled under, slack; ``status`` (m, k).
    """
    n = rig.lines.shape[0]
    end = np.empty(3)
    s = np.empty(6)
    body_out = np.empty((n, 6))
    env = np.zeros(5)
    guess = np.full(2, math.nan)
    first = math.nan  # depth at the first speed of the previous length
    for m in range(lengths.shape[0]):
        rig.geometry[n - 1, 0] = lengths[m]
        guess[0] = first * lengths[m] / lengths[m - 1] if m > 0 and lengths[m - 1] > 0.0 else math.nan
        before = math.nan
        for k in range(speeds.shape[0]):
            env[0] = speeds[k]
            what = settle(rig, env, tip, guess, tolerance, end, s, body_out)
            status[m, k] = what
            if what != SOLVED:
                guess[:] = math.nan
                before = math.nan
                continue
            if k == 0:
                first = end[2]
            # The next speed's depth differs by about as much again.
            guess[0] = end[2]
            if k > 0 and k + 1 < speeds.shape[0] and not math.isnan(before):
                guess[0] += (end[2] - before) * (speeds[k + 1] - speeds[k]) / (speeds[k] - speeds[k - 1])
            before = end[2]
            numbers[m, k, 0] = end[2]
            numbers[m, k, 1] = -end[0]
            numbers[m, k, 2] = end[1]
            numbers[m, k, 3] = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5])
            flags[m, k, 0], flags[m, k, 1] = faults(rig.bodies, body_out)
