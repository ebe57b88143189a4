"""Goes over all pairs of chains of one scenario: least separation in time, and what near pairs do.

The chains are polylines whose nodes move linearly within each step. A bound over many steps skips what cannot
matter: in axes that move and turn with the lines, two elements cannot be closer than their last known distance less
the paths of both since then. Settled chains hardly move in those axes, so almost nothing is measured twice. An
element pair is measured again only when the paths have used up its margin.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.separation.meeting import STEP, meeting
from sternwatch.hydro.separation.segments import Floats, apart, closest_at, closest_in_step, relative_shift, required

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_KERNEL: dict[str, Any] = {"nogil": True, "cache": True, "error_model": "numpy"}
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
def travel(x: Floats, n_nodes: int, element: Ints, n_elements: int, frame: Floats, out: Floats) -> None:
    """Path of each element in moving and turning axes, summed over the steps: out (elements + 1, samples) [m].

    x (samples, nodes, 3); element (elements, 2) node indices; frame (samples, 3): x, y, angle [rad] of the axes.
    The last row of out sums the greatest step of all elements. In axes that turn by D within a step, a node that
    moves linearly departs from the line between its ends by at most D²/8 of its distance from their origin.
    """
    samples = x.shape[0]
    step = np.zeros(n_nodes)
    c1, s1 = math.cos(frame[0, 2]), math.sin(frame[0, 2])
    for k in range(samples):
        for e in range(n_elements + 1):
            out[e, k] = out[e, k - 1] if k > 0 else 0.0
        if k == 0:
            continue
        c0, s0 = c1, s1
        c1, s1 = math.cos(frame[k, 2]), math.sin(frame[k, 2])
        turned = frame[k, 2] - frame[k - 1, 2]
        for node in range(n_nodes):
            ax, ay = x[k - 1, node, 0] - frame[k - 1, 0], x[k - 1, node, 1] - frame[k - 1, 1]
            bx, by = x[k, node, 0] - frame[k, 0], x[k, node, 1] - frame[k, 1]
            dx = (c1 * bx + s1 * by) - (c0 * ax + s0 * ay)
            dy = (c1 * by - s1 * bx) - (c0 * ay - s0 * ax)
            dz = x[k, node, 2] - x[k - 1, node, 2]
            sag = 0.13 * turned * turned * math.sqrt(ax * ax + ay * ay + bx * bx + by * by)
            step[node] = math.sqrt(dx * dx + dy * dy + dz * dz) + sag
        widest = 0.0
        for e in range(n_elements):
            here = max(step[element[e, 0]], step[element[e, 1]])
            out[e, k] += here
            widest = max(widest, here)
        out[n_elements, k] += widest


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
    xa: Floats, xb: Floats, time_s: Floats,
    ea: Ints, tackle_a: Flags, na: int, path_a: Floats, arc_a: Floats,
    eb: Ints, tackle_b: Flags, nb: int, path_b: Floats, arc_b: Floats,
    line_m: float, tackle_m: float, taper_m: float, whole_m: float, resolve: float,
    due: Floats, out: Floats,
) -> int:  # fmt: skip
    """Least ratio of distance to required distance of two chains over all samples, into out. Returns pairs measured.

    xa, xb (samples, nodes, 3); ea (na, 2) elements as node pairs (the same node twice is a point); path_a
    (na + 1, samples) from travel; arc_a (nodes,). whole_m: length of the shorter chain with all of it out. due
    (≥ na, > nb) is scratch. out: ratio, distance, required, time, first time under 1, point on a (3), point on b (3),
    arcs on a and b; inf and nan on entry. The first two stay inf where both are in the air and as far apart as
    required there. Ratios above resolve are not minimised: such a ratio is that of some moment, not the least.
    """
    samples = xa.shape[0]
    gap = 0.0
    for axis in range(3):
        gap += (xa[0, 0, axis] - xb[0, 0, axis]) ** 2
    half_gap = 0.5 * math.sqrt(gap)
    reach = min(taper_m, 0.5 * whole_m)
    best = math.inf
    level = resolve
    looks = 0
    pair_due = -math.inf
    for e in range(na):
        due[e, nb] = -math.inf
        for f in range(nb):
            due[e, f] = -math.inf
    # Step -1 only measures at the first sample, so that the first real step has margins from a known best.
    for k in range(-1, samples - 1):
        after = k + 1
        if path_a[na, after] + path_b[nb, after] < pair_due:
            continue
        slack = math.inf
        before = max(k, 0)
        for e in range(na):
            i0, i1 = ea[e, 0], ea[e, 1]
            gone_a = path_a[e, after]
            # The last column holds, for a row of elements, when the first of them may be due.
            gone_row = gone_a + path_b[nb, after]
            if gone_row < due[e, nb]:
                slack = min(slack, due[e, nb] - gone_row)
                continue
            slack_row = math.inf
            for f in range(nb):
                gone = gone_a + path_b[f, after]
                if gone < due[e, f]:
                    slack_row = min(slack_row, due[e, f] - gone)
                    continue
                j0, j1 = eb[f, 0], eb[f, 1]
                both = tackle_a[e] or tackle_b[f]
                full = tackle_m if both else line_m
                start = min(full, half_gap)
                most = required(start, full, max(arc_a[i1], arc_b[j1]), reach)
                # Spheres around both rule out most of what is far away, at a tenth of the cost.
                stride = gone - path_a[e, before] - path_b[f, before]
                margin = apart(xa[after], i0, i1, xb[after], j0, j1) - level * most
                if margin > stride:
                    due[e, f] = gone + margin
                    slack_row = min(slack_row, margin)
                    continue
                looks += 1
                # Step -1 has both its ends at the first sample.
                at, tau = (k, 1.0) if k >= 0 else (0, 0.0)
                d1, s, u, _ = closest_at(xa, xb, at, i0, i1, j0, j1, tau)
                bare = math.sqrt(d1)
                shift = relative_shift(xa, xb, at, i0, i1, j0, j1)
                if k >= 0 and shift > 0.0 and bare - shift < level * most:
                    d1, tau, s, u = closest_in_step(xa, xb, k, i0, i1, j0, j1, shift, level * most)
                on_a = arc_a[i0] + s * (arc_a[i1] - arc_a[i0])
                on_b = arc_b[j0] + u * (arc_b[j1] - arc_b[j0])
                need = required(start, full, max(on_a, on_b), reach)
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
        pair_due = path_a[na, after] + path_b[nb, after] + slack
        if k < 0:
            # The first elements were measured without a best to compare with.
            for e in range(na):
                due[e, nb] = -math.inf
                for f in range(nb):
                    if due[e, f] == -math.inf:
                        due[e, f] = path_a[e, after] + path_b[f, after]
            pair_due = -math.inf
    return looks


@njit(**_KERNEL)
def scenario(
    lines: Floats, time_s: Floats, n_nodes: Ints, owner: Ints, arc: Floats,
    element: Ints, n_elements: Ints, tackle: Flags, pairs: Ints,
    whole: Floats, line_m: float, tackle_m: float, taper_m: float, resolve: float,
    out: Floats, met: Floats, passes: Floats,
) -> int:  # fmt: skip
    """Measure every pair of one member; lines (rows, samples, nodes, 3). out (pairs, 13): pair_pass.

    met (pairs, MET) and passes (pairs, listed, PASS) come from meeting, for pairs nearer than required; nan for
    all others. whole (rows,): lengths with all line out [m].
    """
    rows, samples = lines.shape[0], lines.shape[1]
    widest = element.shape[1]
    # Rows are contiguous in memory because the pair passes run along a row.
    path = np.zeros((rows, widest + 1, samples))
    # The axes are those of all lines, whichever pairs are asked for: so what is measured of a pair is the same.
    usable = np.zeros(rows, np.bool_)
    for row in range(rows):
        usable[row] = n_nodes[row] >= 2
        for k in range(samples):
            for node in range(n_nodes[row]):
                for c in range(3):
                    usable[row] = usable[row] and math.isfinite(lines[row, k, node, c])
    frame = np.empty((samples, 3))
    trailing(lines, usable, n_nodes, frame)
    asked = np.zeros(rows, np.bool_)
    for p in range(pairs.shape[0]):
        asked[pairs[p, 0]] = asked[pairs[p, 1]] = True
    for row in range(rows):
        if usable[row] and asked[row]:
            travel(lines[row], n_nodes[row], element[row], n_elements[row], frame, path[row])
    due = np.empty((widest, widest + 1))
    step = np.empty((samples, STEP))
    looks = 0
    for p in range(pairs.shape[0]):
        a, b = pairs[p, 0], pairs[p, 1]
        out[p, 0] = out[p, 1] = math.inf
        for c in range(2, 13):
            out[p, c] = math.nan
        met[p] = math.nan
        passes[p] = math.nan
        if not (usable[a] and usable[b]) or owner[a] == owner[b]:
            continue
        looks += pair_pass(
            lines[a], lines[b], time_s,
            element[a], tackle[a], n_elements[a], path[a], arc[a],
            element[b], tackle[b], n_elements[b], path[b], arc[b],
            line_m, tackle_m, taper_m, min(whole[a], whole[b]), resolve, due, out[p],
        )  # fmt: skip
        if out[p, 0] < 1.0:
            meeting(
                lines[a], lines[b], time_s,
                element[a], tackle[a], n_elements[a], path[a], arc[a],
                element[b], tackle[b], n_elements[b], path[b], arc[b],
                line_m, tackle_m, taper_m, min(whole[a], whole[b]), due, step, met[p], passes[p],
            )  # fmt: skip
    return looks
