"""Line let out and reeled in: the first Line's length changes at the tip, its nodes are laid anew along the curve.

The number of segments stays, so that rows keep their place in the arrays. Unstretched length and with it mass are
kept exactly; the curve through the old nodes is followed by cubics, and nothing beyond the first Line is touched.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from sternwatch.hydro.chain.rows import Floats

SHORTEST_M: Final = 0.5  # of the first Line; a rod reeled in further is in
# The first segment against the mean of its Line's others.
SMALLEST: Final = 0.5
LARGEST: Final = 2.0


def curve_weights(old_m: Floats, new_m: Floats) -> Floats:
    """(len(new), len(old)): values at arcs ``old_m`` to values at ``new_m``, piecewise cubic, exact at old arcs.

    Slopes are those of the parabola through a node and its neighbours [Catmull Rom 1974, spacing uneven].
    """
    count = len(old_m)
    step = np.diff(old_m)
    chord = np.zeros((count - 1, count))
    at = np.arange(count - 1)
    chord[at, at], chord[at, at + 1] = -1.0 / step, 1.0 / step
    slope = np.zeros((count, count))
    slope[0], slope[-1] = chord[0], chord[-1]
    for i in range(1, count - 1):
        slope[i] = (step[i] * chord[i - 1] + step[i - 1] * chord[i]) / (step[i - 1] + step[i])
    k = np.clip(np.searchsorted(old_m, new_m, side="right") - 1, 0, count - 2)
    h = step[k]
    t = np.clip((new_m - old_m[k]) / h, 0.0, 1.0)[:, None]
    h = h[:, None]
    one = np.eye(count)
    weights: Floats = (
        (1.0 + 2.0 * t) * (1.0 - t) ** 2 * one[k]
        + h * t * (1.0 - t) ** 2 * slope[k]
        + t * t * (3.0 - 2.0 * t) * one[k + 1]
        - h * t * t * (1.0 - t) * slope[k + 1]
    )
    return weights


def relay(segments: int, rest_m: Floats, tension_N: Floats, curves: tuple[Floats, ...], new_rest_m: Floats) -> None:
    """The first Line's nodes of one row at new unstretched lengths of the same sum; everything in place.

    ``curves``: positions and velocities (N, 3), each moved along its own curve.
    """
    old = np.concatenate([[0.0], np.cumsum(rest_m[:segments])])
    new = np.concatenate([[0.0], np.cumsum(new_rest_m)])
    weights = curve_weights(old, new[1:-1])
    for curve in curves:
        curve[1:segments] = weights @ curve[: segments + 1]
    middle = 0.5 * (old[1:] + old[:-1])
    tension_N[:segments] = np.interp(0.5 * (new[1:] + new[:-1]), middle, tension_N[:segments])
    rest_m[:segments] = new_rest_m


def prepare(segments: int, rest_m: Floats, change_m: float) -> tuple[float, Floats | None]:
    """Before the first segment changes by ``change_m``: what it may change by, and the lengths to lay the Line at.

    None: as it is. The change is cut where the first Line would become shorter than SHORTEST_M.
    """
    total = float(rest_m[:segments].sum())
    change = max(change_m, min(SHORTEST_M - total, 0.0))
    if segments == 1:
        return change, None
    others = (total - rest_m[0]) / (segments - 1)
    if SMALLEST * others <= rest_m[0] + change <= LARGEST * others:
        return change, None
    each = (total + change) / segments
    first = each - change
    if first < SMALLEST * each:
        # Much line in one step: even now, and once more after it.
        each = first = total / segments
    lengths = np.full(segments, each)
    lengths[0] = first
    return change, lengths


def scale_first_line(segments: int, last: int, factor: float, curves: tuple[Floats, ...]) -> None:
    """The first Line's curve grows from the tip by ``factor``; what is beyond is carried along. In place."""
    for curve in curves:
        shift = (factor - 1.0) * (curve[segments] - curve[0])
        curve[1:segments] = curve[0] + factor * (curve[1:segments] - curve[0])
        curve[segments : last + 1] += shift
        curve[last + 1 :] = curve[last]
