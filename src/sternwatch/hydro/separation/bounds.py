"""What cannot matter of two chains: elements that stay far apart over a whole run, and margins not yet used up.

Nearly all pairs of elements are of that kind, so these loops run along a row of them: one element of the first chain
with each of the second. They have no branches, and the compiler computes several pairs at once.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.separation.segments import Floats, closest_at, required

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
BOX = 6  # of an element over a run: the least x, y, z in the moving axes, and the greatest
MIDDLE = 4  # of an element at a sample: its middle, and DRY where one of its ends is in the air
_DRY = 1e30
_SEEN = 1.0 + 1e-9  # what is to be found again must be a little below the bound


class Wanted(NamedTuple):
    """The required distances of two chains."""

    line_m: float
    tackle_m: float
    half_gap_m: float  # half the distance of the tips: required there, where it is less
    reach_m: float  # the arc at which the whole is required


class Strand(NamedTuple):
    """One chain over a run. An element is a pair of nodes (the same node twice is a point)."""

    x: Floats  # (samples, nodes, 3)
    element: Ints  # (elements, 2)
    tackle: Flags  # (elements,)
    elements: int
    arc: Floats  # (nodes,)
    far: Floats  # (elements,) the arc at the far end
    box: Floats  # boxes
    path: Floats  # (samples, elements + 1) travel; only where elements may come near


@njit(**_KERNEL)
def wanted(xa: Floats, xb: Floats, line_m: float, tackle_m: float, taper_m: float, whole_m: float) -> Wanted:
    """Of two chains (samples, nodes, 3), the shorter of which is ``whole_m`` long with all of it out."""
    gap = 0.0
    for axis in range(3):
        gap += (xa[0, 0, axis] - xb[0, 0, axis]) ** 2
    return Wanted(line_m, tackle_m, 0.5 * math.sqrt(gap), min(taper_m, 0.5 * whole_m))


@njit(**_KERNEL)
def boxes(
    x: Floats, n_nodes: int, element: Ints, n_elements: int, frame: Floats, low: Floats, high: Floats, out: Floats
) -> None:
    """Where each element is during a run, in moving axes: out (BOX, elements + 1), the last column for all of them.

    x (samples, nodes, 3), frame as for travel; low and high (3, nodes) are scratch. A node that moves linearly within
    a step departs there from the line between its ends as travel says.
    """
    low[:, :n_nodes], high[:, :n_nodes] = math.inf, -math.inf
    turned = 0.0
    for k in range(x.shape[0]):
        cos, sin = math.cos(frame[k, 2]), math.sin(frame[k, 2])
        north, east = frame[k, 0], frame[k, 1]
        turned = max(turned, abs(frame[k, 2] - frame[max(k - 1, 0), 2]))
        for node in range(n_nodes):
            bx, by, z = x[k, node, 0] - north, x[k, node, 1] - east, x[k, node, 2]
            ahead, aside = cos * bx + sin * by, cos * by - sin * bx
            low[0, node], high[0, node] = min(low[0, node], ahead), max(high[0, node], ahead)
            low[1, node], high[1, node] = min(low[1, node], aside), max(high[1, node], aside)
            low[2, node], high[2, node] = min(low[2, node], z), max(high[2, node], z)
    far = 0.0
    for node in range(n_nodes):
        ahead, aside = max(-low[0, node], high[0, node]), max(-low[1, node], high[1, node])
        far = max(far, ahead * ahead + aside * aside)
    sag = 0.13 * turned * turned * math.sqrt(2.0 * far)
    for c in range(3):
        least, most = math.inf, -math.inf
        for e in range(n_elements):
            i0, i1 = element[e, 0], element[e, 1]
            out[c, e] = min(low[c, i0], low[c, i1]) - sag
            out[3 + c, e] = max(high[c, i0], high[c, i1]) + sag
            least, most = min(least, out[c, e]), max(most, out[3 + c, e])
        out[c, n_elements], out[3 + c, n_elements] = least, most


@njit(**_KERNEL)
def _apart(a: Floats, e: int, b: Floats, f: int) -> float:
    """The squared distance of two boxes."""
    x = max(max(a[0, e] - b[3, f], b[0, f] - a[3, e]), 0.0)
    y = max(max(a[1, e] - b[4, f], b[1, f] - a[4, e]), 0.0)
    z = max(max(a[2, e] - b[5, f], b[2, f] - a[5, e]), 0.0)
    squared: float = x * x + y * y + z * z
    return squared


@njit(**_KERNEL)
def within(a: Strand, b: Strand, want: Wanted, level: float, due: Floats, rows: Ints) -> int:
    """Which elements may come as near as ``level`` times the required distance: due -inf, else inf.

    due (≥ elements of a, > elements of b): the last column is for a whole row. Returns in how many rows there are
    any, and which, in ``rows``; due means nothing in the others.
    """
    na, nb = a.elements, b.elements
    farthest = level * max(want.line_m, want.tackle_m)
    count = 0
    if _apart(a.box, na, b.box, nb) > farthest * farthest:
        return count
    for e in range(na):
        if _apart(a.box, e, b.box, nb) > farthest * farthest:
            continue
        near = 0
        for f in range(nb):
            full = want.tackle_m if a.tackle[e] or b.tackle[f] else want.line_m
            bound = level * required(min(full, want.half_gap_m), full, max(a.far[e], b.far[f]), want.reach_m)
            inside = not _apart(a.box, e, b.box, f) > bound * bound
            due[e, f] = -math.inf if inside else math.inf
            near += inside
        if near > 0:
            due[e, nb] = -math.inf
            rows[count] = e
            count += 1
    return count


@njit(**_KERNEL)
def left(due: Floats, gone: float, path_b: Floats, nb: int, out: Floats) -> float:
    """What the paths so far have left of the margins of a row, into out (nb,); the least of them.

    gone: the path of the row's own element; path_b (≥ nb,): those of the other chain's.
    """
    least = math.inf
    for f in range(nb):
        rest = due[f] - (gone + path_b[f])
        out[f] = rest
        least = min(least, rest)
    return least


@njit(**_KERNEL)
def _middles(a: Strand, k: int, out: Floats) -> None:
    """The elements' middles at a sample, out (MIDDLE, elements)."""
    for e in range(a.elements):
        i0, i1 = a.element[e, 0], a.element[e, 1]
        for c in range(3):
            out[c, e] = 0.5 * (a.x[k, i0, c] + a.x[k, i1, c])
        out[3, e] = 0.0 if min(a.x[k, i0, 2], a.x[k, i1, 2]) >= 0.0 else _DRY


@njit(**_KERNEL)
def at_sample(
    a: Strand, b: Strand, k: int, want: Wanted, middle_a: Floats, middle_b: Floats, rest: Floats
) -> float:  # fmt: skip
    """Distance over required distance at a sample, of the elements in the water that seem nearest there.

    The least ratio of the run is below it. inf where the chains are dry. The last three are scratch (MIDDLE, and one
    number for each element).
    """
    _middles(a, k, middle_a)
    _middles(b, k, middle_b)
    least, at_e, at_f = _DRY, -1, -1
    for e in range(a.elements):
        nearest = math.inf
        for f in range(b.elements):
            full = want.tackle_m if a.tackle[e] or b.tackle[f] else want.line_m
            most = required(min(full, want.half_gap_m), full, max(a.far[e], b.far[f]), want.reach_m)
            dx, dy = middle_a[0, e] - middle_b[0, f], middle_a[1, e] - middle_b[1, f]
            dz = middle_a[2, e] - middle_b[2, f]
            rest[f] = (dx * dx + dy * dy + dz * dz) / (most * most) + (middle_a[3, e] + middle_b[3, f])
            nearest = min(nearest, rest[f])
        if nearest < least:
            least, at_e = nearest, e
            for f in range(b.elements):
                at_f = f if rest[f] == nearest else at_f
    if at_e < 0:
        return math.inf
    i0, i1, j0, j1 = a.element[at_e, 0], a.element[at_e, 1], b.element[at_f, 0], b.element[at_f, 1]
    at, tau = (k - 1, 1.0) if k > 0 else (0, 0.0)
    d2, s, u, _ = closest_at(a.x, b.x, at, i0, i1, j0, j1, tau)
    full = want.tackle_m if a.tackle[at_e] or b.tackle[at_f] else want.line_m
    arc = max(a.arc[i0] + s * (a.arc[i1] - a.arc[i0]), b.arc[j0] + u * (b.arc[j1] - b.arc[j0]))
    need = required(min(full, want.half_gap_m), full, arc, want.reach_m)
    return _SEEN * math.sqrt(d2) / need if need > 0.0 else math.inf
