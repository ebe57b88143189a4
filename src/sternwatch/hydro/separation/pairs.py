"""Goes over all pairs of chains of one scenario: least separation in time, and what near pairs do.

The chains are polylines whose nodes move linearly within each step. Elements whose boxes over the whole run are
apart are left out: most are, even in a turn. Of the others a bound over many steps skips what cannot matter: in axes
that move and turn with the lines, two elements cannot be closer than their last known distance less the paths of both
since then. Settled chains hardly move in those axes, so almost nothing is measured twice. An element pair is measured
again only when the paths have used up its margin.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.separation.bounds import (
    BOX,
    MIDDLE,
    Strand,
    Wanted,
    at_sample,
    boxes,
    left,
    wanted,
    within,
)
from sternwatch.hydro.separation.meeting import STEP, meeting
from sternwatch.hydro.separation.segments import Floats, apart, closest_at, closest_in_step, relative_shift, required

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
SELDOM = 8  # every so many samples a bound of the least ratio is looked for, where it is asked for at any distance
_HANGING_M = 2.0  # lines that trail less than this have no direction


@njit(**_KERNEL)
def trailing(lines: Floats, usable: Flags, n_nodes: Ints, out: Floats) -> None:
    """Axes (samples, 3) in which trailing lines move least: the tips' mean, and the direction from the ends to it.

    lines (rows, samples, nodes, 3). In a turn the lines swing after the boat, so these axes turn later than it does.
    Any axes would do. Where the lines hang straight down, the direction stays as it was.
    """
    angle = 0.0
    for k in range(lines.shape[1]):
        tip_x = tip_y = end_x = end_y = 0.0
        count = 0
        for row in range(lines.shape[0]):
            if usable[row]:
                last = n_nodes[row] - 1
                tip_x += lines[row, k, 0, 0]
                tip_y += lines[row, k, 0, 1]
                end_x += lines[row, k, last, 0]
                end_y += lines[row, k, last, 1]
                count += 1
        count = max(count, 1)
        ahead_x, ahead_y = (tip_x - end_x) / count, (tip_y - end_y) / count
        if ahead_x * ahead_x + ahead_y * ahead_y > _HANGING_M * _HANGING_M:
            towards = math.atan2(ahead_y, ahead_x)
            angle += towards - angle - 2.0 * math.pi * round((towards - angle) / (2.0 * math.pi))
        out[k, 0], out[k, 1], out[k, 2] = tip_x / count, tip_y / count, angle


@njit(**_KERNEL)
def travel(x: Floats, n_nodes: int, element: Ints, n_elements: int, frame: Floats, now: Floats, out: Floats) -> None:
    """Path of each element in moving and turning axes, summed over the steps: out (samples, elements + 1) [m].

    x (samples, nodes, 3); element (elements, 2) node indices; frame (samples, 3): x, y, angle [rad] of the axes; now
    (11, nodes) is scratch. The last column of out sums the greatest step of all elements. In axes that turn by D
    within a step, a node that moves linearly departs from the line between its ends by at most D²/8 of its distance
    from their origin.
    """
    for k in range(x.shape[0]):
        cos, sin = math.cos(frame[k, 2]), math.sin(frame[k, 2])
        north, east = frame[k, 0], frame[k, 1]
        # From here on: north and east of the origin, the same along the axes, depth; then those of the last sample.
        for node in range(n_nodes):
            bx, by = x[k, node, 0] - north, x[k, node, 1] - east
            now[0, node], now[1, node] = bx, by
            now[2, node], now[3, node], now[4, node] = cos * bx + sin * by, cos * by - sin * bx, x[k, node, 2]
        if k > 0:
            turned = frame[k, 2] - frame[k - 1, 2]
            bends = 0.13 * turned * turned
            for node in range(n_nodes):
                ax, ay, bx, by = now[5, node], now[6, node], now[0, node], now[1, node]
                dx, dy, dz = now[2, node] - now[7, node], now[3, node] - now[8, node], now[4, node] - now[9, node]
                sag = bends * math.sqrt(ax * ax + ay * ay + bx * bx + by * by)
                now[10, node] = math.sqrt(dx * dx + dy * dy + dz * dz) + sag
            widest = 0.0
            for e in range(n_elements):
                here = max(now[10, element[e, 0]], now[10, element[e, 1]])
                out[k, e] = out[k - 1, e] + here
                widest = max(widest, here)
            out[k, n_elements] = out[k - 1, n_elements] + widest
        else:
            out[0, : n_elements + 1] = 0.0
        for i in range(5):
            for node in range(n_nodes):
                now[5 + i, node] = now[i, node]


@njit(**_KERNEL)
def _in_water(
    xa: Floats, xb: Floats, k: int, i0: int, i1: int, j0: int, j1: int, tau: float, s: float, u: float
) -> bool:  # fmt: skip
    """Whether the nearest points of two elements are both in the water."""
    n, m = k + 1, 1.0 - tau
    a0, a1 = m * xa[k, i0, 2] + tau * xa[n, i0, 2], m * xa[k, i1, 2] + tau * xa[n, i1, 2]
    b0, b1 = m * xb[k, j0, 2] + tau * xb[n, j0, 2], m * xb[k, j1, 2] + tau * xb[n, j1, 2]
    wet: bool = a0 + s * (a1 - a0) >= 0.0 and b0 + u * (b1 - b0) >= 0.0
    return wet


@njit(**_KERNEL)
def pair_pass(
    a: Strand, b: Strand, time_s: Floats, want: Wanted, resolve: float,
    due: Floats, rows: Ints, rest: Floats, out: Floats,
) -> int:  # fmt: skip
    """Least ratio of distance to required distance of two chains over all samples, into out. Returns pairs measured.

    due and rows come from within for the level ``resolve``; rest (≥ elements of b,) is scratch. out: ratio, distance,
    required, time, first time under 1, point on a (3), point on b (3), arcs on a and b; inf and nan on entry. The
    first two stay inf where both are in the air and as far apart as required there. Ratios above resolve are not
    minimised: such a ratio is that of some moment, not the least.
    """
    xa, xb, na, nb, path_a, path_b, arc_a, arc_b = a.x, b.x, a.elements, b.elements, a.path, b.path, a.arc, b.arc
    samples = xa.shape[0]
    best = math.inf
    level = resolve
    looks = 0
    pair_due = -math.inf
    # Step -1 only measures at the first sample, so that the first real step has margins from a known best.
    for k in range(-1, samples - 1):
        after = k + 1
        if path_a[after, na] + path_b[after, nb] < pair_due:
            continue
        slack = math.inf
        before = max(k, 0)
        for e in rows:
            i0, i1 = a.element[e, 0], a.element[e, 1]
            gone_a = path_a[after, e]
            # The last column holds, for a row of elements, when the first of them may be due.
            gone_row = gone_a + path_b[after, nb]
            if gone_row < due[e, nb]:
                slack = min(slack, due[e, nb] - gone_row)
                continue
            slack_row = left(due[e], gone_a, path_b[after], nb, rest)
            if slack_row > 0.0:
                due[e, nb] = gone_row + slack_row
                slack = min(slack, slack_row)
                continue
            slack_row = math.inf
            for f in range(nb):
                if rest[f] > 0.0:
                    slack_row = min(slack_row, rest[f])
                    continue
                gone = gone_a + path_b[after, f]
                j0, j1 = b.element[f, 0], b.element[f, 1]
                full = want.tackle_m if a.tackle[e] or b.tackle[f] else want.line_m
                start = min(full, want.half_gap_m)
                most = required(start, full, max(arc_a[i1], arc_b[j1]), want.reach_m)
                # Spheres around both rule out most of what is far away, at a tenth of the cost.
                stride = gone - path_a[before, e] - path_b[before, f]
                margin = apart(xa[after], i0, i1, xb[after], j0, j1) - level * most
                if margin > stride:
                    due[e, f] = gone + margin
                    slack_row = min(slack_row, margin)
                    continue
                looks += 1
                # Step -1 has both its ends at the first sample.
                at, tau = (k, 1.0) if k >= 0 else (0, 0.0)
                end = closest_at(xa, xb, at, i0, i1, j0, j1, tau)
                d1, s, u, _ = end
                bare = math.sqrt(d1)
                shift = relative_shift(xa, xb, at, i0, i1, j0, j1)
                if k >= 0 and shift > 0.0 and bare - shift < level * most:
                    d1, tau, s, u = closest_in_step(xa, xb, k, i0, i1, j0, j1, end, shift, level * most)
                on_a = arc_a[i0] + s * (arc_a[i1] - arc_a[i0])
                on_b = arc_b[j0] + u * (arc_b[j1] - arc_b[j0])
                need = required(start, full, max(on_a, on_b), want.reach_m)
                distance = math.sqrt(d1)
                ratio = distance / need if need > 0.0 else math.inf
                moment = time_s[at] + tau * (time_s[at + 1] - time_s[at])
                if ratio < 1.0 and math.isnan(out[4]):
                    out[4] = moment
                if ratio < best and (ratio < 1.0 or _in_water(xa, xb, at, i0, i1, j0, j1, tau, s, u)):
                    best = ratio
                    level = min(best, resolve)
                    out[0], out[1], out[2], out[3] = ratio, distance, need, moment
                    for c in range(3):
                        a0 = xa[at, i0, c] + tau * (xa[at + 1, i0, c] - xa[at, i0, c])
                        a1 = xa[at, i1, c] + tau * (xa[at + 1, i1, c] - xa[at, i1, c])
                        b0 = xb[at, j0, c] + tau * (xb[at + 1, j0, c] - xb[at, j0, c])
                        b1 = xb[at, j1, c] + tau * (xb[at + 1, j1, c] - xb[at, j1, c])
                        out[5 + c] = a0 + s * (a1 - a0)
                        out[8 + c] = b0 + u * (b1 - b0)
                    out[11], out[12] = on_a, on_b
                margin = bare - level * most
                due[e, f] = gone + margin
                slack_row = min(slack_row, margin)
            due[e, nb] = gone_row + slack_row
            slack = min(slack, slack_row)
        pair_due = path_a[after, na] + path_b[after, nb] + slack
    return looks


@njit(**_KERNEL)
def _all_known(x: Floats, n_nodes: int) -> bool:
    """Whether a row's nodes are numbers at every sample."""
    unknown = 0
    for k in range(x.shape[0]):
        for node in range(n_nodes):
            for c in range(3):
                unknown += not math.isfinite(x[k, node, c])
    return unknown == 0


@njit(**_KERNEL)
def scenario(
    lines: Floats, time_s: Floats, n_nodes: Ints, owner: Ints, arc: Floats,
    element: Ints, n_elements: Ints, tackle: Flags, pairs: Ints,
    whole: Floats, line_m: float, tackle_m: float, taper_m: float, resolve: float,
    out: Floats, met: Floats, passes: Floats,
) -> int:  # fmt: skip
    """Measure every pair of every member; lines (members, rows, samples, nodes, 3).

    out (members, pairs, 13): pair_pass. met (members, pairs, MET) and passes (members, pairs, listed, PASS) come from
    meeting, for pairs nearer than required; nan for all others. whole (rows,): lengths with all line out [m].
    Returns the number of element pairs measured.
    """
    members, rows, samples, nodes = lines.shape[0], lines.shape[1], lines.shape[2], lines.shape[3]
    widest = element.shape[1]
    # Rows are contiguous in memory because the pair passes run along a row.
    path = np.empty((rows, samples, widest + 1))
    box = np.empty((rows, BOX, widest + 1))
    middle_a, middle_b = np.empty((MIDDLE, widest)), np.empty((MIDDLE, widest))
    far = np.empty((rows, widest))
    for row in range(rows):
        for e in range(n_elements[row]):
            far[row, e] = arc[row, element[row, e, 1]]
    frame = np.empty((samples, 3))
    now, low, high = np.empty((11, nodes)), np.empty((3, nodes)), np.empty((3, nodes))
    due, rest, near = np.empty((widest, widest + 1)), np.empty(widest), np.empty(widest, np.int64)
    step = np.empty((samples, STEP))
    usable, walked = np.empty(rows, np.bool_), np.empty(rows, np.bool_)
    asked = np.zeros(rows, np.bool_)
    for p in range(pairs.shape[0]):
        asked[pairs[p, 0]] = asked[pairs[p, 1]] = True
    looks = 0
    for m in range(members):
        x = lines[m]
        # The axes are those of all lines, whichever pairs are asked for: so what is measured of a pair is the same.
        for row in range(rows):
            usable[row] = n_nodes[row] >= 2 and _all_known(x[row], n_nodes[row])
        trailing(x, usable, n_nodes, frame)
        for row in range(rows):
            walked[row] = False
            if usable[row] and asked[row]:
                boxes(x[row], n_nodes[row], element[row], n_elements[row], frame, low, high, box[row])
        for p in range(pairs.shape[0]):
            i, j = pairs[p, 0], pairs[p, 1]
            out[m, p, 0] = out[m, p, 1] = math.inf
            for c in range(2, 13):
                out[m, p, c] = math.nan
            met[m, p] = math.nan
            passes[m, p] = math.nan
            if not (usable[i] and usable[j]) or owner[i] == owner[j]:
                continue
            a = Strand(x[i], element[i], tackle[i], n_elements[i], arc[i], far[i], box[i], path[i])
            b = Strand(x[j], element[j], tackle[j], n_elements[j], arc[j], far[j], box[j], path[j])
            want = wanted(x[i], x[j], line_m, tackle_m, taper_m, min(whole[i], whole[j]))
            rough = math.inf
            for k in range(0, samples if resolve > 1.0 else 0, samples if math.isfinite(resolve) else SELDOM):
                rough = min(rough, at_sample(a, b, k, want, middle_a, middle_b, rest))
            # (The first moment under 1 is asked for, too.)
            level = min(resolve, max(rough, 1.0))
            count = within(a, b, want, level, due, near)
            if count > 0:
                for row in (i, j):
                    if not walked[row]:
                        travel(x[row], n_nodes[row], element[row], n_elements[row], frame, now, path[row])
                        walked[row] = True
                looks += pair_pass(a, b, time_s, want, level, due, near[:count], rest, out[m, p])
            if out[m, p, 0] < 1.0:
                count = within(a, b, want, 1.0, due, near)
                meeting(a, b, time_s, want, due, near[:count], rest, step, met[m, p], passes[m, p])
            elif not out[m, p, 0] < math.inf:
                out[m, p, 0] = rough
    return looks
