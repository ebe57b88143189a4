"""How near chains come to one another: now (``nearest``), and over a run (``closest``)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.separation.meeting import MET, MET_NAMES, PASS
from sternwatch.hydro.separation.pairs import scenario
from sternwatch.hydro.separation.segments import closest_wet
from sternwatch.hydro.separation.verdicts import Verdict, verdicts

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
MOST_LISTED = 8  # most passes of a pair that are listed


@dataclass(frozen=True, slots=True)
class Nearest:
    """The nearest other row of every row, at one instant."""

    distance_m: NDArray[np.float64]  # (rows,); nan where there is no other row in the water
    other: NDArray[np.int64]  # (rows,); the other row's index, -1 where there is none
    where_m: NDArray[np.float64]  # (rows, 3); the point on this row
    other_where_m: NDArray[np.float64]  # (rows, 3); the point on the other row
    node: NDArray[np.float64]  # (rows,); place on this row: node index plus fraction toward the next


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
def _segment_boxes(x, nodes, low, high):  # type: ignore[no-untyped-def]
    """The boxes of a row's segments into ``low`` and ``high`` (3, nodes)."""
    for axis in range(3):
        for i in range(nodes - 1):
            here, there = x[i, axis], x[i + 1, axis]
            low[axis, i], high[axis, i] = min(here, there), max(here, there)


@njit(**_KERNEL)
def _boxes_apart(low, high, i, lows, highs, count, apart):  # type: ignore[no-untyped-def]
    """Squared distances of one segment's box from another row's into ``apart``; the compiler does several at once."""
    x0, x1, y0, y1, z0, z1 = low[0, i], high[0, i], low[1, i], high[1, i], low[2, i], high[2, i]
    for j in range(count):
        x = max(max(x0 - highs[0, j], lows[0, j] - x1), 0.0)
        y = max(max(y0 - highs[1, j], lows[1, j] - y1), 0.0)
        z = max(max(z0 - highs[2, j], lows[2, j] - z1), 0.0)
        apart[j] = x * x + y * y + z * z


@njit(**_KERNEL)
def _point(x, node, share, out):  # type: ignore[no-untyped-def]
    for axis in range(3):
        out[axis] = x[node, axis] + share * (x[node + 1, axis] - x[node, axis])


@njit(**_KERNEL)
def _nearest(x, n_nodes, owner, distance, other, where, other_where, node_at):  # type: ignore[no-untyped-def]
    rows = x.shape[0]
    low = np.empty((rows, 3))
    high = np.empty((rows, 3))
    usable = np.empty(rows, np.bool_)
    best = np.empty(rows)
    lows, highs = np.empty((rows, 3, x.shape[1])), np.empty((rows, 3, x.shape[1]))
    apart = np.empty(x.shape[1])
    for row in range(rows):
        _segment_boxes(x[row], n_nodes[row], lows[row], highs[row])
        usable[row] = _box(x[row], 0, n_nodes[row], low[row], high[row]) and n_nodes[row] >= 2
        best[row] = math.inf
        other[row] = -1
    for a in range(rows):
        for b in range(a + 1, rows):
            if not (usable[a] and usable[b]) or owner[a] == owner[b]:
                continue
            # What is farther apart than the best of both rows changes nothing: whole rows, or two of their segments.
            gap2 = 0.0
            for axis in range(3):
                gap = max(low[a, axis] - high[b, axis], low[b, axis] - high[a, axis], 0.0)
                gap2 += gap * gap
            if gap2 >= max(best[a], best[b]):
                continue
            for i in range(n_nodes[a] - 1):
                if highs[a, 2, i] < 0.0:
                    continue  # above water
                _boxes_apart(lows[a], highs[a], i, lows[b], highs[b], n_nodes[b] - 1, apart)
                for j in range(n_nodes[b] - 1):
                    if apart[j] >= max(best[a], best[b]):
                        continue
                    d2, s, u = closest_wet(
                        x[a, i, 0], x[a, i, 1], x[a, i, 2], x[a, i + 1, 0], x[a, i + 1, 1], x[a, i + 1, 2],
                        x[b, j, 0], x[b, j, 1], x[b, j, 2], x[b, j + 1, 0], x[b, j + 1, 1], x[b, j + 1, 2],
                    )  # fmt: skip
                    if d2 < best[a]:
                        best[a], other[a], node_at[a] = d2, b, i + s
                        _point(x[a], i, s, where[a])
                        _point(x[b], j, u, other_where[a])
                    if d2 < best[b]:
                        best[b], other[b], node_at[b] = d2, a, j + u
                        _point(x[b], j, u, where[b])
                        _point(x[a], i, s, other_where[b])
    for row in range(rows):
        distance[row] = math.sqrt(best[row]) if other[row] >= 0 else math.nan


def nearest(
    positions_m: NDArray[np.float64],
    n_nodes: NDArray[np.int64],
    owner: NDArray[np.int64] | None = None,
) -> Nearest:
    """The nearest other row of every row, in 3-D, without parts above water.

    positions_m (rows, nodes, 3) [m], z down, rod tip first, in any axes common to all rows; n_nodes (rows,), the
    nodes in use; 0 or a node that is not finite leaves a row out. owner (rows,): rows of the same owner
    are not tested against each other. Give a downrigger's rod line, as an extra row, the owner of its chain.
    Exact to rounding for the given polylines. Plain distance: no required distance, no taper.
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


@dataclass(frozen=True, slots=True)
class Required:
    """Required distances, from the user's spread file. Anything closer is at least a near pass."""

    line_m: float = 0.3  # bare line to bare line
    tackle_m: float = 1.5  # tackle and the leaders between, to anything
    taper_m: float = 30.0  # length of arc from the tips over which half the tip gap grows to the full distance


@dataclass(frozen=True, slots=True)
class Strands:
    """What the chains are made of, one row per polyline."""

    n_nodes: NDArray[np.int64]  # (rows,)
    arc_m: NDArray[np.float64]  # (rows, nodes) from the rod tip
    body_node: NDArray[np.bool_]  # (rows, nodes): a device, attractor or lure is here
    leader: NDArray[np.bool_]  # (rows, nodes - 1): the segment from this node to the next counts as tackle
    owner: NDArray[np.int64]  # (rows,): rows of one owner are not tested against each other
    # (rows,) [m]: length with all line out, which sets the taper; default: the present length. So a line on its way
    # out or in needs only the distance of a whole line so near the tips.
    whole_m: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True)
class Closest:
    """Where each pair came closest, relative to the distance required there, and how it met. nan: does not exist.

    All arrays (members, pairs) unless another shape is given. ``ratio`` is distance over required distance, inf where
    one of the two is unknown. Rod tips are fixed, so in the air only distances under the required one
    count. Each line moves as if the other were not there: after a first contact the motion is only indicative.
    """

    pairs: NDArray[np.int64]  # (pairs, 2) rows
    ratio: NDArray[np.float64]
    distance_m: NDArray[np.float64]
    required_m: NDArray[np.float64]
    time_s: NDArray[np.float64]
    undercut_s: NDArray[np.float64]  # first time nearer than required
    where_m: NDArray[np.float64]  # (members, pairs, 3), on the pair's first row
    other_where_m: NDArray[np.float64]  # (members, pairs, 3), on its second
    arc_m: NDArray[np.float64]  # (members, pairs, 2)
    verdict: NDArray[np.int64]  # Verdict
    apart_again_s: NDArray[np.float64]  # from then on as far apart as required; nan: not in the run
    contact_s: NDArray[np.float64]  # the first pass or touch
    contact_m: NDArray[np.float64]  # (members, pairs, 3): its place
    touching_s: NDArray[np.float64]  # duration of touching, in whole steps
    slides_m: NDArray[np.float64]  # length over which one slides along the other
    linked: NDArray[np.int64]  # sum of the signs of the passes
    passed: NDArray[np.int64]  # number of passes
    passes: NDArray[np.float64]  # (members, pairs, MOST_LISTED, 6) time, both arcs, depth, sign, on tackle; nan: none
    looks: int  # element pairs measured: the work done

    @property
    def crosses(self) -> NDArray[np.bool_]:
        """(members, pairs): touch or worse."""
        worse: NDArray[np.bool_] = self.verdict >= Verdict.TOUCH
        return worse


def all_pairs(owner: NDArray[np.int64]) -> NDArray[np.int64]:
    """(pairs, 2): every two rows of different owners, in order."""
    rows = len(owner)
    found = [(a, b) for a in range(rows) for b in range(a + 1, rows) if owner[a] != owner[b]]
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def _elements(strands: Strands) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Elements (rows, most, 2), their number (rows,), and whether each is tackle (rows, most).

    Elements are all segments, and as points all bodies between two lengths of bare line.
    """
    rows, nodes = strands.body_node.shape
    i = np.arange(nodes)
    last = strands.n_nodes[:, None] - 1
    leads = np.zeros((rows, nodes + 1), dtype=np.bool_)  # whether the segment before a node is a leader
    leads[:, 1:-1] = strands.leader & (i[:-1] < last)
    # Node by node: the point, if it counts by itself, and the segment from there.
    counts = np.stack([strands.body_node & ~(leads[:, :-1] | leads[:, 1:]) & (i <= last), i < last], axis=2)
    heavy = np.stack([np.ones((rows, nodes), dtype=np.bool_), leads[:, 1:]], axis=2)
    ends = np.stack([np.stack([i, i], axis=1), np.stack([i, i + 1], axis=1)], axis=1)
    number = counts.reshape(rows, -1).sum(axis=1)
    most = max(int(number.max(initial=0)), 1)
    element = np.zeros((rows, most, 2), dtype=np.int64)
    tackle = np.zeros((rows, most), dtype=np.bool_)
    filled = np.arange(most) < number[:, None]
    element[filled] = np.broadcast_to(ends, (rows, nodes, 2, 2))[counts]
    tackle[filled] = heavy[counts]
    return element, number, tackle


def closest(
    positions_m: NDArray[np.float64],
    time_s: NDArray[np.float64],
    strands: Strands,
    required: Required,
    *,
    pairs: NDArray[np.int64] | None = None,
    resolve: float = math.inf,
) -> Closest:
    """Least separation of every pair over a run, continuous within steps and also in air; and the passes.

    positions_m (samples, rows, nodes, 3) or (samples, members, rows, nodes, 3) [m], z down, rod tip first, in one set
    of axes that does not turn. A node that is not finite leaves its row out of that member. time_s (samples,) [s].
    pairs (pairs, 2): rows to test; default: all of different owners.

    The required distance is taken where two elements are nearest, with the larger of the two arcs. resolve: ratios
    above this are not minimised, which is many times quicker; such a ratio is that of some moment, not the least.
    """
    x = positions_m
    if x.ndim == 4:
        x = x[:, None]
    if x.ndim != 5 or x.shape[4] != 3 or x.shape[2:4] != strands.arc_m.shape or x.shape[0] != len(time_s):
        raise ValueError(
            f"positions {positions_m.shape} do not fit {len(time_s)} times and {strands.arc_m.shape} nodes"
        )
    members = x.shape[1]
    # Line by line, as a run lays its samples, so that nothing is copied.
    lines = np.ascontiguousarray(np.moveaxis(x, 0, 2), dtype=np.float64)
    listed = all_pairs(strands.owner) if pairs is None else np.ascontiguousarray(pairs, dtype=np.int64)
    element, n_elements, tackle = _elements(strands)
    times = np.ascontiguousarray(time_s, dtype=np.float64)
    n_nodes = np.ascontiguousarray(strands.n_nodes, dtype=np.int64)
    owner = np.ascontiguousarray(strands.owner, dtype=np.int64)
    arc = np.ascontiguousarray(strands.arc_m, dtype=np.float64)
    now = arc[np.arange(len(arc)), np.maximum(n_nodes, 1) - 1]
    whole = now if strands.whole_m is None else np.maximum(np.asarray(strands.whole_m, dtype=np.float64), now)
    out = np.empty((members, len(listed), 13))
    met = np.empty((members, len(listed), MET))
    passes = np.empty((members, len(listed), MOST_LISTED, PASS))
    looks = scenario(
        lines, times, n_nodes, owner, arc, element, n_elements, tackle, listed,
        whole, required.line_m, required.tackle_m, required.taper_m, resolve, out, met, passes,
    )  # fmt: skip
    known = dict(zip(MET_NAMES, np.moveaxis(met, -1, 0), strict=True))
    linked = np.nan_to_num(known["linked"]).astype(np.int64)
    return Closest(
        pairs=listed,
        ratio=out[..., 0],
        distance_m=np.where(np.isfinite(out[..., 1]), out[..., 1], np.nan),
        required_m=out[..., 2],
        time_s=out[..., 3],
        undercut_s=out[..., 4],
        where_m=out[..., 5:8],
        other_where_m=out[..., 8:11],
        arc_m=out[..., 11:13],
        verdict=verdicts(out[..., 0], known["touches"] > 0.0, linked, known["on_tackle"] > 0.0),
        apart_again_s=known["apart_again_s"],
        contact_s=known["contact_s"],
        contact_m=met[..., 1:4],
        touching_s=known["touching_s"],
        slides_m=known["slides_m"],
        linked=linked,
        passed=np.nan_to_num(known["passes"]).astype(np.int64),
        passes=passes,
        looks=looks,
    )
