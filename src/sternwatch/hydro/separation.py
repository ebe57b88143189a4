"""How near chains come to one another."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.segments import closest_wet

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}


@dataclass(frozen=True, slots=True)
class Nearest:
    """For every row the nearest other row, at one instant."""

    distance_m: NDArray[np.float64]  # (rows,); nan where there is no other row in the water
    other: NDArray[np.int64]  # (rows,); the other row's index, -1 where there is none
    where_m: NDArray[np.float64]  # (rows, 3); the point on this row
    other_where_m: NDArray[np.float64]  # (rows, 3); the point on the other row
    node: NDArray[np.float64]  # (rows,); where on this row: node index plus fraction toward the next


@njit(**_KERNEL)
def _box(x, first, last, low, high):  # type: ignore[no-untyped-def]
    finite = True
    for axis in range(3):
        low[axis] = math.inf
        high[axis] = -math.inf
        for node in range(first, last):
            low[axis] = min(low[axis], x[node, axis])
            high[axis] = max(high[axis], x[node, axis])
            finite = finite and math.isfinite(x[node, axis])
    return finite


@njit(**_KERNEL)
def _nearest(x, n_nodes, owner, distance, other, where, other_where, node_at):  # type: ignore[no-untyped-def]
    rows = x.shape[0]
    low = np.empty((rows, 3))
    high = np.empty((rows, 3))
    usable = np.empty(rows, np.bool_)
    best = np.empty(rows)
    for row in range(rows):
        usable[row] = _box(x[row], 0, n_nodes[row], low[row], high[row]) and n_nodes[row] >= 2
        best[row] = math.inf
        other[row] = -1
    for a in range(rows):
        for b in range(a + 1, rows):
            if not (usable[a] and usable[b]) or owner[a] == owner[b]:
                continue
            worst = max(best[a], best[b])  # a pair farther apart than both rows' best changes nothing
            apart = 0.0
            for axis in range(3):
                gap = max(low[a, axis] - high[b, axis], low[b, axis] - high[a, axis], 0.0)
                apart += gap * gap
            if apart >= worst:
                continue
            for i in range(n_nodes[a] - 1):
                for j in range(n_nodes[b] - 1):
                    d2, s, u = closest_wet(
                        x[a, i, 0], x[a, i, 1], x[a, i, 2], x[a, i + 1, 0], x[a, i + 1, 1], x[a, i + 1, 2],
                        x[b, j, 0], x[b, j, 1], x[b, j, 2], x[b, j + 1, 0], x[b, j + 1, 1], x[b, j + 1, 2],
                    )  # fmt: skip
                    if d2 < best[a]:
                        best[a] = d2
                        other[a] = b
                        node_at[a] = i + s
                        for axis in range(3):
                            where[a, axis] = x[a, i, axis] + s * (x[a, i + 1, axis] - x[a, i, axis])
                            other_where[a, axis] = x[b, j, axis] + u * (x[b, j + 1, axis] - x[b, j, axis])
                    if d2 < best[b]:
                        best[b] = d2
                        other[b] = a
                        node_at[b] = j + u
                        for axis in range(3):
                            where[b, axis] = x[b, j, axis] + u * (x[b, j + 1, axis] - x[b, j, axis])
                            other_where[b, axis] = x[a, i, axis] + s * (x[a, i + 1, axis] - x[a, i, axis])
    for row in range(rows):
        distance[row] = math.sqrt(best[row]) if other[row] >= 0 else math.nan


def nearest(
    positions_m: NDArray[np.float64],
    n_nodes: NDArray[np.int64],
    owner: NDArray[np.int64] | None = None,
) -> Nearest:
    """The nearest other row of every row, in 3-D, parts above water left out.

    positions_m (rows, nodes, 3) [m], z down, rod tip first, in any axes common to all rows; n_nodes (rows,), the
    nodes in use: 0 leaves a row out, and so does a node that is not finite. owner (rows,): rows of the same owner
    are not tested against each other; give a downrigger's rod line, as an extra row, the owner of its chain.
    Exact to rounding for the polylines given. Plain distance: no required distance, no taper.
    """
    x = np.ascontiguousarray(positions_m, dtype=np.float64)
    rows = x.shape[0]
    count = np.ascontiguousarray(n_nodes, dtype=np.int64)
    own = np.arange(rows, dtype=np.int64) if owner is None else np.ascontiguousarray(owner, dtype=np.int64)
    if x.ndim != 3 or x.shape[2] != 3 or count.shape != (rows,) or own.shape != (rows,):
        raise ValueError(f"positions {x.shape}, n_nodes {count.shape}, owner {own.shape}: rows differ or not (…, 3)")
    if rows and (count.min() < 0 or count.max() > x.shape[1]):
        raise ValueError(f"n_nodes outside 0..{x.shape[1]}")
    distance = np.full(rows, np.nan)
    other = np.full(rows, -1, dtype=np.int64)
    where = np.full((rows, 3), np.nan)
    other_where = np.full((rows, 3), np.nan)
    node = np.full(rows, np.nan)
    _nearest(x, count, own, distance, other, where, other_where, node)
    return Nearest(distance, other, where, other_where, node)
