"""Values below which given shares of a law lie, which is known along many parallel lines.

On every line the place is a standard normal number, and the value a parabola through three places. So the share of a
line that lies below a value is known in closed form, and the share of the law is the mean of the lines' shares. Each
line thus tells of every part of the law, where a single place tells of one.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_MOST_STEPS = 60
_CLOSE = 1e-3  # a last step so short leaves an error of about its square
_FAR = 7.0  # beyond it lies nothing of a normal law
_ROOT_HALF = math.sqrt(0.5)
_ROOT_TWO_PI = math.sqrt(2.0 * math.pi)


@njit(cache=True, nogil=True, error_model="numpy")
def _reach(bends: Floats, value: float, reached: Floats) -> None:
    """Where every line reaches a value: set ``reached`` (3, lines) to its steepness there and the two places.

    Apart from the sum, since the compiler does several lines at once as long as none takes a way of its own.
    """
    for i in range(bends.shape[1]):
        off, rise, bend = bends[0, i] - value, bends[1, i], bends[2, i]
        root = math.sqrt(rise * rise - 4.0 * bend * off)
        steep = rise + math.copysign(root, rise)
        reached[0, i] = root
        reached[1, i] = -2.0 * off / steep
        reached[2, i] = -0.5 * steep / bend


@njit(cache=True, nogil=True, error_model="numpy")
def _share_below(bends: Floats, value: float, reached: Floats) -> tuple[float, float]:
    """The share of all lines below a value, and its slope. ``bends`` (3, lines): start, slope, curvature.

    ``reached``: as large, for what ``_reach`` finds.
    """
    _reach(bends, value, reached)
    share, slope = 0.0, 0.0
    for i in range(bends.shape[1]):
        root, near, far, bend = reached[0, i], reached[1, i], reached[2, i], bends[2, i]
        if not root > 0.0:  # the whole line is on one side
            if bend < 0.0 or (bend == 0.0 and bends[0, i] < value):
                share += 1.0
            continue
        before = 0.5 * math.erfc(-_ROOT_HALF * near)
        share += before if math.copysign(1.0, bends[1, i]) > 0.0 else 1.0 - before
        slope += math.exp(-0.5 * near * near) / root
        if -_FAR < far < _FAR:  # where the parabola comes back
            past = 0.5 * math.erfc(_ROOT_HALF * abs(far))
            share += past if bend < 0.0 else -past
            slope += math.exp(-0.5 * far * far) / root
    count = bends.shape[1]
    return share / count, slope / (count * _ROOT_TWO_PI)


@njit(cache=True, nogil=True, error_model="numpy")
def at_shares(
    values: Floats, along: float, add: float, beside: Floats, shares: Floats, places: Floats, out: Floats
) -> None:
    """Set ``out[i]`` to the value below which ``shares[i]`` of the law lies; nan where a value is not finite.

    ``values`` (3, lines): at ``-along``, 0 and ``along`` on every line, to which ``add * beside`` (lines,) comes.
    ``places``: the standard normal numbers of the shares.
    """
    bends, reached = np.empty_like(values), np.empty_like(values)
    for i in range(values.shape[1]):
        here = values[1, i]
        bends[0, i] = here + add * beside[i]
        bends[1, i] = (values[2, i] - values[0, i]) / (2.0 * along)
        bends[2, i] = (values[2, i] + values[0, i] - 2.0 * here) / (2.0 * along * along)
    start, rise, bend = bends[0].mean(), bends[1].mean(), bends[2].mean()
    finite = start + rise + bend
    for j in range(len(shares)):
        out[j] = math.nan
        if finite - finite != 0.0:
            continue
        at = start + places[j] * (rise + places[j] * bend)
        low, high = -math.inf, math.inf
        for _ in range(_MOST_STEPS):
            share, slope = _share_below(bends, at, reached)
            if share < shares[j]:
                low = at
            else:
                high = at
            short = shares[j] - share
            by = short / slope if slope > 0.0 else math.copysign(1.0, short)
            if short == 0.0 or abs(by) <= _CLOSE:
                at += by if short != 0.0 else 0.0
                break
            at += min(max(by, -1.0), 1.0)
            if not low < at < high:
                at = 0.5 * (low + high)
        out[j] = at
