"""Lets line out and reels it in: the first Line changes length at the tip and gets new nodes along its curve.

The number of segments stays, so that rows keep their place in the arrays. Unstretched length, and so mass, stays
exact. Cubics follow the curve through the old nodes. Nothing beyond the first Line changes.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit

from sternwatch.hydro.chain.rows import Floats, Ints

Curves = tuple[Floats, Floats, Floats, Floats]

SHORTEST_M: Final = 0.5  # of the first Line; a rod reeled in farther is in
# Limits of the first segment, relative to the mean of its Line's others.
SMALLEST: Final = 0.5
LARGEST: Final = 2.0


@njit(cache=True, nogil=True, error_model="numpy")
def moved(old_m: Floats, new_m: Floats, curve: Floats) -> Floats:
    """Interpolate ``curve`` (len(old), 3) from arcs ``old_m`` to ``new_m``, (len(new), 3); cubics, exact at old arcs.

    Both arcs ascend. Of a longer curve only the first nodes count.

    The slope at a node is that of the parabola through it and its neighbours [Catmull Rom 1974, spacing uneven].
    """
    last = len(old_m) - 1
    slopes = np.empty((last + 1, 3))
    for axis in range(3):
        slopes[0, axis] = (curve[1, axis] - curve[0, axis]) / (old_m[1] - old_m[0])
        slopes[last, axis] = (curve[last, axis] - curve[last - 1, axis]) / (old_m[last] - old_m[last - 1])
        for i in range(1, last):
            before, after = old_m[i] - old_m[i - 1], old_m[i + 1] - old_m[i]
            behind = (curve[i, axis] - curve[i - 1, axis]) / before
            ahead = (curve[i + 1, axis] - curve[i, axis]) / after
            slopes[i, axis] = (after * behind + before * ahead) / (before + after)
    made = np.empty((len(new_m), 3))
    k = 0
    for n in range(len(new_m)):
        while k < last - 1 and new_m[n] >= old_m[k + 1]:
            k += 1
        h = old_m[k + 1] - old_m[k]
        t = min(max((new_m[n] - old_m[k]) / h, 0.0), 1.0)
        u = 1.0 - t
        for axis in range(3):
            made[n, axis] = (
                (1.0 + 2.0 * t) * u * u * curve[k, axis]
                + h * t * u * u * slopes[k, axis]
                + t * t * (3.0 - 2.0 * t) * curve[k + 1, axis]
                - h * u * t * t * slopes[k + 1, axis]
            )
    return made


@njit(cache=True, nogil=True, error_model="numpy")
def relay(segments: int, rest_m: Floats, tension_N: Floats, curves: Curves, new_rest_m: Floats) -> None:
    """Move the first Line's nodes of one row to new unstretched lengths with the same sum, in place.

    ``curves``: positions and velocities (N, 3), each moved along its own curve.
    """
    old, new = np.zeros(segments + 1), np.zeros(segments + 1)
    for k in range(segments):
        old[k + 1], new[k + 1] = old[k] + rest_m[k], new[k] + new_rest_m[k]
    # (Loops instead of slices and np.interp: numba takes seconds to compile those.)
    for curve in curves:
        made = moved(old, new, curve)
        for k in range(1, segments):
            for axis in range(3):
                curve[k, axis] = made[k, axis]
    before = tension_N[:segments].copy()
    i = 0
    for k in range(segments):
        middle = 0.5 * (new[k] + new[k + 1])
        while i < segments - 1 and middle > 0.5 * (old[i + 1] + old[i + 2]):
            i += 1
        low = 0.5 * (old[i] + old[i + 1])
        if middle <= low or i == segments - 1:
            tension_N[k] = before[i]
        else:
            high = 0.5 * (old[i + 1] + old[i + 2])
            tension_N[k] = before[i] + (before[i + 1] - before[i]) * (middle - low) / (high - low)
    for k in range(segments):
        rest_m[k] = new_rest_m[k]


@njit(cache=True, nogil=True, error_model="numpy")
def _wanted(segments: int, rest_m: Floats, change_m: float) -> tuple[float, float, float]:
    """The allowed change of the first segment, and the length for new nodes before it; 0: keep the nodes.

    The change is limited so that the first Line does not become shorter than SHORTEST_M.
    """
    total = 0.0
    for k in range(segments):
        total += rest_m[k]
    change = max(change_m, min(SHORTEST_M - total, 0.0))
    if segments == 1:
        return change, 0.0, 0.0
    others = (total - rest_m[0]) / (segments - 1)
    if SMALLEST * others <= rest_m[0] + change <= LARGEST * others:
        return change, 0.0, 0.0
    each = (total + change) / segments
    if each - change < SMALLEST * each:
        # Much line in one step: space the nodes evenly now, and once more after it.
        return change, total / segments, total / segments
    return change, each - change, each


@njit(cache=True, nogil=True, error_model="numpy")
def prepare(
    first_segments: Ints, rest_m: Floats, tension_N: Floats, curves: Curves, rates_m_s: Floats,
    seconds: Floats,
) -> None:  # fmt: skip
    """Make new nodes where needed, before each row's first segment changes at its rate for the given seconds (n,).

    ``curves``: positions and velocities (n, N, 3). Rates are reduced where a first Line would become too short.
    """
    positions, before, velocities, velocities_before = curves
    for row in range(len(rates_m_s)):
        if rates_m_s[row] == 0.0:
            continue
        segments = first_segments[row]
        change, first, each = _wanted(segments, rest_m[row], rates_m_s[row] * seconds[row])
        rates_m_s[row] = change / seconds[row]
        if each > 0.0:
            lengths = np.empty(segments)
            for k in range(segments):
                lengths[k] = each
            lengths[0] = first
            own = (positions[row], before[row], velocities[row], velocities_before[row])
            relay(segments, rest_m[row], tension_N[row], own, lengths)


def scale_first_line(segments: int, last: int, factor: float, curves: Curves) -> None:
    """Scale the first Line's curve from the tip by ``factor``; the rest of the chain moves with it. In place."""
    for curve in curves:
        shift = (factor - 1.0) * (curve[segments] - curve[0])
        curve[1:segments] = curve[0] + factor * (curve[1:segments] - curve[0])
        curve[segments : last + 1] += shift
        curve[last + 1 :] = curve[last]
