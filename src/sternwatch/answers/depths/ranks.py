"""Values at given ranks of a sorted list, without sorting it.

The values are dealt into many bins of equal width, and only the bins that hold a rank asked for are sorted. What
comes out is exactly what a sort would give.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BINS = 1024  # half as many as values: those around the middle then hold a few each


@njit(cache=True, nogil=True, error_model="numpy")
def at_ranks(values: Floats, at: Floats, out: Floats) -> bool:
    """Set ``out[i]`` to what ``values`` has at rank ``at[i]``, linear between ranks.

    Ranks are fractions of a place, and the last lies before the last value. Returns False, and sets nothing, where a
    value is not finite or all are equal.
    """
    count = len(values)
    low, high, finite = math.inf, -math.inf, True
    for i in range(count):
        value = values[i]
        low, high = min(low, value), max(high, value)
        finite = finite and value - value == 0.0
    if not (finite and low < high) or math.isinf(high - low):
        return False
    scale = BINS / (high - low)
    which = np.empty(count, dtype=np.int64)
    ends = np.zeros(BINS + 1, dtype=np.int64)
    for i in range(count):
        which[i] = min(int((values[i] - low) * scale), BINS - 1)
        ends[which[i] + 1] += 1
    for b in range(BINS):
        ends[b + 1] += ends[b]
    placed = ends[:BINS].copy()
    dealt = np.empty(count)
    for i in range(count):
        dealt[placed[which[i]]] = values[i]
        placed[which[i]] += 1
    for j in range(len(at)):
        rank = int(at[j])
        for wanted in range(rank, rank + 2):
            first, last = 0, BINS  # the bin that holds the rank
            while last - first > 1:
                middle = (first + last) // 2
                if ends[middle] <= wanted:
                    first = middle
                else:
                    last = middle
            for i in range(ends[first] + 1, ends[first + 1]):
                value, k = dealt[i], i
                while k > ends[first] and dealt[k - 1] > value:
                    dealt[k] = dealt[k - 1]
                    k -= 1
                dealt[k] = value
        out[j] = dealt[rank] + (at[j] - rank) * (dealt[rank + 1] - dealt[rank])
    return True
