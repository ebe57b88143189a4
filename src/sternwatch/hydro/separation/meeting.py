"""What two chains do when they come nearer than required: how long, how near, and each pass through the other.

A *line pass* is the instant at which two moving lines would go through one another. Two edges whose ends move
linearly can meet only when all four ends are in one plane, which is a cubic equation in time [Provot 1997, Collision
and self-collision handling in cloth; Bridson, Fedkiw & Anderson 2002; Brochu, Edwards & Bridson 2012]. The sign of a
pass is that of the jump of the pair's Gauss linking integral. The integral changes by one at each pass, and smoothly
elsewhere [Banchoff 1976; Klenin & Langowski 2000; Qu & James 2021].
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.separation.bounds import Strand, Wanted, left
from sternwatch.hydro.separation.segments import Floats, apart, closest_at, closest_in_step, relative_shift, required

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}

TOUCH_M = 0.10  # lines nearer than this touch: model lines are thinner and move less than real ones
STEP = 4  # columns of a step: distance over the required one, distance over a touch, the arcs there
MET = 11  # columns of a meeting, in the order of MET_NAMES
MET_NAMES = (
    "contact_s", "contact_x", "contact_y", "contact_z", "apart_again_s", "touching_s", "slides_m",
    "linked", "passes", "on_tackle", "touches",
)  # fmt: skip
PASS = 6  # columns of a pass: time, arcs on a and b, depth, sign, whether on leader or tackle
_FLAT = 1e-10  # share of the product of the lengths: a volume this small may be rounding


@njit(**_KERNEL)
def _volume(x: Floats, y: Floats, k: int, i0: int, i1: int, j0: int, j1: int) -> float:
    """Six times the signed volume that two edges span at a sample [m³]; zero where they are in one plane."""
    ax, ay, az = x[k, i1, 0] - x[k, i0, 0], x[k, i1, 1] - x[k, i0, 1], x[k, i1, 2] - x[k, i0, 2]
    bx, by, bz = y[k, j1, 0] - y[k, j0, 0], y[k, j1, 1] - y[k, j0, 1], y[k, j1, 2] - y[k, j0, 2]
    wx, wy, wz = y[k, j0, 0] - x[k, i0, 0], y[k, j0, 1] - x[k, i0, 1], y[k, j0, 2] - x[k, i0, 2]
    volume: float = wx * (ay * bz - az * by) + wy * (az * bx - ax * bz) + wz * (ax * by - ay * bx)
    return volume


@njit(**_KERNEL)
def _cubic(x: Floats, y: Floats, k: int, i0: int, i1: int, j0: int, j1: int, out: Floats) -> float:
    """The volume as a cubic in the fraction of a step, out (4,). Returns the size of its terms [m³]."""
    size_a = size_b = size_w = 0.0
    a, b, w = np.empty((2, 3)), np.empty((2, 3)), np.empty((2, 3))
    for c in range(3):
        a[0, c] = x[k, i1, c] - x[k, i0, c]
        b[0, c] = y[k, j1, c] - y[k, j0, c]
        w[0, c] = y[k, j0, c] - x[k, i0, c]
        a[1, c] = x[k + 1, i1, c] - x[k + 1, i0, c] - a[0, c]
        b[1, c] = y[k + 1, j1, c] - y[k + 1, j0, c] - b[0, c]
        w[1, c] = y[k + 1, j0, c] - x[k + 1, i0, c] - w[0, c]
        size_a += a[0, c] ** 2 + a[1, c] ** 2
        size_b += b[0, c] ** 2 + b[1, c] ** 2
        size_w += w[0, c] ** 2 + w[1, c] ** 2
    for r in range(4):
        out[r] = 0.0
    for p in range(2):
        for q in range(2):
            nx = a[p, 1] * b[q, 2] - a[p, 2] * b[q, 1]
            ny = a[p, 2] * b[q, 0] - a[p, 0] * b[q, 2]
            nz = a[p, 0] * b[q, 1] - a[p, 1] * b[q, 0]
            for r in range(2):
                out[p + q + r] += w[r, 0] * nx + w[r, 1] * ny + w[r, 2] * nz
    size: float = math.sqrt(size_a * size_b * (size_w + size_a + size_b))
    return size


@njit(**_KERNEL)
def _at(c: Floats, t: float) -> float:
    value: float = c[0] + t * (c[1] + t * (c[2] + t * c[3]))
    return value


@njit(**_KERNEL)
def _turns(c: Floats, cuts: Floats) -> int:
    """Cuts of [0, 1] at the turning points of a cubic, in order, with the ends. Returns how many."""
    cuts[0] = 0.0
    n = 1
    three, two, one = 3.0 * c[3], 2.0 * c[2], c[1]
    inside = two * two - 4.0 * three * one
    if inside >= 0.0:
        # The form without cancellation where one root is far out (Press et al. 1992, Numerical Recipes, 5.6).
        q = -0.5 * (two + math.copysign(math.sqrt(inside), two))
        r0 = q / three if three != 0.0 else math.inf
        r1 = one / q if q != 0.0 else math.inf
        for root in (min(r0, r1), max(r0, r1)):
            if cuts[n - 1] < root < 1.0:
                cuts[n] = root
                n += 1
    cuts[n] = 1.0
    return n + 1


@njit(**_KERNEL)
def _passes(
    xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int, c: Floats, cuts: Floats, out: Floats
) -> int:  # fmt: skip
    """Passes of two moving edges within a step: out (3, 4) fraction of the step, of each edge, sign. Returns a count.

    An end belongs to the edge that begins there, so that a pass at a node counts once. The signs at the step's ends
    come from the volumes of the samples, so that a pass between two steps counts once.
    """
    size = _cubic(xa, xb, k, i0, i1, j0, j1, c)
    first, last = _volume(xa, xb, k, i0, i1, j0, j1), _volume(xa, xb, k + 1, i0, i1, j0, j1)
    if max(abs(c[1]), abs(c[2]), abs(c[3])) <= _FLAT * size and abs(c[0]) <= _FLAT * size:
        return 0  # edges that stay in one plane may touch, but neither is on a side of the other
    found = 0
    n = _turns(c, cuts)
    for part in range(n - 1):
        low, high = cuts[part], cuts[part + 1]
        f_low = first if part == 0 else _at(c, low)
        f_high = last if part == n - 2 else _at(c, high)
        if (f_low >= 0.0) == (f_high >= 0.0):
            continue
        rises = f_high >= 0.0
        for _ in range(60):
            middle = 0.5 * (low + high)
            if middle in (low, high):
                break
            if (_at(c, middle) >= 0.0) == rises:
                high = middle
            else:
                low = middle
        tau = 0.5 * (low + high)
        s, u, ok = _where(xa, xb, k, i0, i1, j0, j1, tau)
        if ok and 0.0 <= s < 1.0 and 0.0 <= u < 1.0:
            out[found, 0], out[found, 1], out[found, 2] = tau, s, u
            # (a - b) . (da x db), the integrand of the linking integral, has the other sign of this volume.
            out[found, 3] = -1.0 if rises else 1.0
            found += 1
    return found


@njit(**_KERNEL)
def _where(
    xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int, tau: float
) -> tuple[float, float, bool]:  # fmt: skip
    """Where two straight lines in one plane meet, in fractions of their edges. False where parallel."""
    m, n = 1.0 - tau, k + 1
    aa = bb = ab = aw = bw = 0.0
    for axis in range(3):
        p = m * xa[k, i0, axis] + tau * xa[n, i0, axis]
        r = m * xb[k, j0, axis] + tau * xb[n, j0, axis]
        a = m * xa[k, i1, axis] + tau * xa[n, i1, axis] - p
        b = m * xb[k, j1, axis] + tau * xb[n, j1, axis] - r
        w = p - r
        aa += a * a
        bb += b * b
        ab += a * b
        aw += a * w
        bw += b * w
    det = aa * bb - ab * ab
    if not det > 1e-16 * aa * bb:
        return 0.0, 0.0, False
    return (ab * bw - bb * aw) / det, (aa * bw - ab * aw) / det, True


@njit(**_KERNEL)
def _beside_tackle(arc_m: float, element: Ints, tackle: Flags, n: int, arc: Floats) -> bool:
    """Whether a place on a chain is on leader or tackle, or within a touch of it."""
    found = False
    for e in range(n):
        found = found or (tackle[e] and arc[element[e, 0]] - TOUCH_M <= arc_m <= arc[element[e, 1]] + TOUCH_M)
    return found


@njit(**_KERNEL)
def meeting(
    a: Strand, b: Strand, time_s: Floats, want: Wanted,
    due: Floats, rows: Ints, rest: Floats, step: Floats, met: Floats, passes: Floats,
) -> None:  # fmt: skip
    """Describe a pair's meeting step by step. Arguments as for pair_pass; uses the same bound over many steps.

    due and rows come from within for the level 1. step (samples, STEP), due and rest are scratch. met (MET,):
    MET_NAMES, times in seconds. passes (listed, PASS): the first passes, in the order of the steps. Passes without
    room there still count.
    """
    xa, xb, na, nb, path_a, path_b, arc_a, arc_b = a.x, b.x, a.elements, b.elements, a.path, b.path, a.arc, b.arc
    samples = xa.shape[0]
    c, cuts, found = np.empty(4), np.empty(4), np.empty((3, 4))
    contact = math.inf
    linked = 0.0
    count = 0
    on_tackle = near_at_end = False
    pair_due = -math.inf
    for k in range(samples - 1):
        step[k, 0] = step[k, 1] = math.inf
        after = k + 1
        if path_a[after, na] + path_b[after, nb] < pair_due:
            continue
        slack = math.inf
        for e in rows:
            i0, i1 = a.element[e, 0], a.element[e, 1]
            gone_row = path_a[after, e] + path_b[after, nb]
            if gone_row < due[e, nb]:
                slack = min(slack, due[e, nb] - gone_row)
                continue
            slack_row = left(due[e], path_a[after, e], path_b[after], nb, rest)
            if slack_row > 0.0:
                due[e, nb] = gone_row + slack_row
                slack = min(slack, slack_row)
                continue
            slack_row = math.inf
            for f in range(nb):
                if rest[f] > 0.0:
                    slack_row = min(slack_row, rest[f])
                    continue
                gone = path_a[after, e] + path_b[after, f]
                j0, j1 = b.element[f, 0], b.element[f, 1]
                full = want.tackle_m if a.tackle[e] or b.tackle[f] else want.line_m
                start = min(full, want.half_gap_m)
                most = required(start, full, max(arc_a[i1], arc_b[j1]), want.reach_m)
                stride = gone - path_a[k, e] - path_b[k, f]
                margin = apart(xa[after], i0, i1, xb[after], j0, j1) - most
                if margin > stride:
                    due[e, f] = gone + margin
                    slack_row = min(slack_row, margin)
                    continue
                end = closest_at(xa, xb, k, i0, i1, j0, j1, 1.0)
                d2, s, u, _ = end
                tau, bare = 1.0, math.sqrt(d2)
                if after == samples - 1:
                    most_arc = max(arc_a[i0] + s * (arc_a[i1] - arc_a[i0]), arc_b[j0] + u * (arc_b[j1] - arc_b[j0]))
                    near_at_end = near_at_end or bare < required(start, full, most_arc, want.reach_m)
                shift = relative_shift(xa, xb, k, i0, i1, j0, j1)
                if shift > 0.0 and bare - shift < most:
                    d2, tau, s, u = closest_in_step(xa, xb, k, i0, i1, j0, j1, end, shift, most)
                on_a = arc_a[i0] + s * (arc_a[i1] - arc_a[i0])
                on_b = arc_b[j0] + u * (arc_b[j1] - arc_b[j0])
                need = required(start, full, max(on_a, on_b), want.reach_m)
                if need > 0.0:
                    distance = math.sqrt(d2)
                    step[k, 0] = min(step[k, 0], distance / need)
                    ratio = distance / min(need, TOUCH_M)
                    if ratio < step[k, 1]:
                        step[k, 1], step[k, 2], step[k, 3] = ratio, on_a, on_b
                    moment = time_s[k] + tau * (time_s[after] - time_s[k])
                    if ratio < 1.0 and moment < contact:
                        contact = moment
                        _place(xa, k, i0, i1, tau, s, met)
                if bare < shift and i0 != i1 and j0 != j1:
                    for n in range(_passes(xa, xb, k, i0, i1, j0, j1, c, cuts, found)):
                        tau, s, u = found[n, 0], found[n, 1], found[n, 2]
                        moment = time_s[k] + tau * (time_s[after] - time_s[k])
                        on_a = arc_a[i0] + s * (arc_a[i1] - arc_a[i0])
                        on_b = arc_b[j0] + u * (arc_b[j1] - arc_b[j0])
                        heavy = _beside_tackle(on_a, a.element, a.tackle, na, arc_a)
                        heavy = heavy or _beside_tackle(on_b, b.element, b.tackle, nb, arc_b)
                        on_tackle = on_tackle or heavy
                        linked += found[n, 3]
                        if moment < contact:
                            contact = moment
                            _place(xa, k, i0, i1, tau, s, met)
                        if count < passes.shape[0]:
                            top = xa[k, i0, 2] + tau * (xa[after, i0, 2] - xa[k, i0, 2])
                            low = xa[k, i1, 2] + tau * (xa[after, i1, 2] - xa[k, i1, 2])
                            passes[count, 0], passes[count, 1], passes[count, 2] = moment, on_a, on_b
                            passes[count, 3], passes[count, 4] = top + s * (low - top), found[n, 3]
                            passes[count, 5] = 1.0 if heavy else 0.0
                        count += 1
                margin = bare - most
                due[e, f] = gone + margin
                slack_row = min(slack_row, margin)
            due[e, nb] = gone_row + slack_row
            slack = min(slack, slack_row)
        pair_due = path_a[after, na] + path_b[after, nb] + slack
    _told(step, time_s, near_at_end, met)
    met[0] = contact if contact < math.inf else math.nan
    met[7], met[8] = linked, count
    met[9] = 1.0 if on_tackle else 0.0
    met[10] = 1.0 if contact < math.inf else 0.0


@njit(**_KERNEL)
def _place(x: Floats, k: int, i0: int, i1: int, tau: float, s: float, met: Floats) -> None:
    """Write the place of the first contact into met."""
    for axis in range(3):
        a = x[k, i0, axis] + tau * (x[k + 1, i0, axis] - x[k, i0, axis])
        b = x[k, i1, axis] + tau * (x[k + 1, i1, axis] - x[k, i1, axis])
        met[1 + axis] = a + s * (b - a)


@njit(**_KERNEL)
def _told(step: Floats, time_s: Floats, near_at_end: bool, met: Floats) -> None:
    """Sum up the steps: when they are apart again (nan: not in the run), how long they touch, how far they slide."""
    last = time_s.shape[0] - 2
    again = math.nan
    touching = 0.0
    low_a = low_b = math.inf
    high_a = high_b = -math.inf
    for k in range(last + 1):
        if step[k, 0] < 1.0:
            again = time_s[k + 1]
        if step[k, 1] < 1.0:
            touching += time_s[k + 1] - time_s[k]
            low_a, high_a = min(low_a, step[k, 2]), max(high_a, step[k, 2])
            low_b, high_b = min(low_b, step[k, 3]), max(high_b, step[k, 3])
    met[4], met[5] = math.nan if near_at_end else again, touching
    met[6] = max(high_a - low_a, high_b - low_b) if touching > 0.0 else 0.0
