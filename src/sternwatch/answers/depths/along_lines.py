"""Values below which given shares of a law lie, which is known along many parallel lines.

On every line the place is a standard normal number, and the value a parabola through three places. So the share of a
line that lies below a value is known in closed form, and the share of the law is the mean of the lines' shares. Each
line thus tells of every part of the law, where a single place tells of one.

The normal law is read from a table of cubics (``_CUBICS``), right within 2e-11: erfc itself took most of the time.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Quantiles = tuple[float, float, float, float, float]

_MOST_STEPS = 60
_CLOSE = 1e-5  # a last step so short leaves an error of about its square, more where a line turns back
_FAR = 7.0  # beyond it lies nothing of a normal law
_PER_ONE = 64.0  # cubics of the table for each standard deviation
LEAST_M: Final = 1e-6  # members that differ by no more than this are equal
_BEYOND = 0.5  # a quantile may lie beyond the outermost member by this share of its distance to the fourth


def _cubics() -> Floats:
    """(cubics, 4) Taylor's polynomials of the share of a normal law below a place, about evenly spaced places."""
    half = int(_FAR * _PER_ONE)
    places = np.arange(-half, half + 1) / _PER_ONE
    below = [0.5 * math.erfc(-at * math.sqrt(0.5)) for at in places]
    dense = np.exp(-0.5 * places * places) / math.sqrt(2.0 * math.pi)
    return np.stack([below, dense, -places * dense / 2.0, (places * places - 1.0) * dense / 6.0], axis=1)


_CUBICS = _cubics()


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _normal(place: float) -> tuple[float, float]:
    """The share of a normal law below a place, and its density there."""
    at = min(max(place, -_FAR), _FAR)
    k = np.uint64((at + _FAR) * _PER_ONE + 0.5)  # (an unsigned index needs no look at its sign)
    off = at + _FAR - np.float64(k) / _PER_ONE
    below, dense, second, third = _CUBICS[k, 0], _CUBICS[k, 1], _CUBICS[k, 2], _CUBICS[k, 3]
    share = below + off * (dense + off * (second + off * third))
    return share, dense + off * (2.0 * second + off * 3.0 * third)


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
        before, dense = _normal(near)
        share += before if math.copysign(1.0, bends[1, i]) > 0.0 else 1.0 - before
        slope += dense / root
        if -_FAR < far < _FAR:  # where the parabola comes back
            past, dense = _normal(-abs(far))
            share += past if bend < 0.0 else -past
            slope += dense / root
    count = bends.shape[1]
    return share / count, slope / count


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
    square = 0.0
    for i in range(values.shape[1]):
        square += (bends[0, i] - start) ** 2 + bends[1, i] ** 2
    wide = math.sqrt(square / values.shape[1])  # but for what the bends add
    for j in range(len(shares)):
        out[j] = math.nan
        if finite - finite != 0.0:
            continue
        at = start + places[j] * wide + places[j] * places[j] * bend
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


@njit(cache=True, nogil=True, error_model="numpy")
def _outermost(own: Floats, sign: float, fourth: int) -> tuple[float, float]:
    """The value farthest to one side, and the one ``fourth`` places nearer; both times ``sign``."""
    found = np.full(fourth + 1, -math.inf)
    for value in own:
        at, i = sign * value, fourth
        if at > found[i]:
            while i > 0 and at > found[i - 1]:
                found[i] = found[i - 1]
                i -= 1
            found[i] = at
    return found[0], found[fourth]


@njit(cache=True, nogil=True, error_model="numpy")
def weigh(own: Floats, root: bool, inverse: Floats, diagonal: Floats, weights: Floats) -> tuple[float, float, float]:
    """Set ``weights`` (m,) to what the members with the values ``own`` weigh in a surface (see ``law``).

    ``root``: it is one of square roots. Returns the members' mean, their deviation, and the surface's error at a
    member left out, as a share of that. Without a deviation there are no weights.
    """
    count = len(own)
    scaled = np.empty(count)
    for i in range(count):
        scaled[i] = math.sqrt(max(own[i], 0.0)) if root else own[i]
    middle = scaled.mean()
    square = 0.0
    for i in range(count):
        scaled[i] -= middle
        square += scaled[i] * scaled[i]
    wide = math.sqrt(square / count)
    if wide < LEAST_M:
        return middle, 0.0, 0.0
    square = 0.0
    for i in range(count):
        weight = 0.0
        for k in range(count):
            weight += inverse[i, k] * scaled[k]
        weights[i] = weight / wide
        square += (weights[i] / diagonal[i]) ** 2
    return middle, wide, math.sqrt(square / count)


@njit(cache=True, nogil=True, error_model="numpy")
def limited(own: Floats, root: bool, middle: float, wide: float, levels: Floats) -> Quantiles:
    """Five levels of a surface as depths.

    A quadratic surface ignores that a line can at most hang straight. Members that hang straight are equally deep,
    and no quantile lies beyond those. The square root knows the surface of the water.
    """
    fourth = min(3, len(own) // 8)
    last, nearer = _outermost(own, 1.0, fourth)
    most = last + _BEYOND * (last - nearer)
    last, nearer = _outermost(own, -1.0, fourth)
    least = 0.0 if root else -last - _BEYOND * (last - nearer)
    found = np.empty(5)
    for j in range(5):
        at = middle + wide * levels[j]
        if root:
            at = max(at, 0.0) ** 2
        found[j] = min(max(at, least), most)
    return found[0], found[1], found[2], found[3], found[4]


@njit(cache=True, nogil=True, error_model="numpy")
def quantiles_along(
    own: Floats, root: bool, inverse: Floats, diagonal: Floats, reach: Floats, along: float, beside: Floats,
    shares: Floats, places: Floats,
) -> Quantiles:  # fmt: skip
    """Five quantiles of the law of a surface whose members have the values ``own`` (m,).

    ``reach`` (m, 3, lines): how the places on the lines depend on every member. The rest as in ``weigh`` and
    ``at_shares``.
    """
    weights = np.empty(len(own))
    middle, wide, error = weigh(own, root, inverse, diagonal, weights)
    levels = np.zeros(5)
    if wide > 0.0:
        values = np.zeros((3, reach.shape[2]))
        for i in range(len(own)):
            for j in range(3):
                for k in range(reach.shape[2]):
                    values[j, k] += weights[i] * reach[i, j, k]
        at_shares(values, along, error, beside, shares, places, levels)
    return limited(own, root, middle, wide, levels)
