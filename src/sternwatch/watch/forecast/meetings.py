"""How the lines of two rods meet in a forecast: verdicts as shares of the members, contact, near pass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.separation.distance import Closest
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.chains.ensemble import Cast, Run
from sternwatch.watch.picture.meetings import LinePass, Shares

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

Keys = tuple[str, str]


def rod_of(cast: Cast, row: int) -> int:
    """The rod of a strand: its chain's, or its rod line's."""
    return row if row < cast.rods else cast.rod_line_of[row - cast.rods]


def columns_of(cast: Cast, pairs: Ints) -> dict[Keys, list[int]]:
    """The strand pairs of each pair of rods, in file order. A rod makes no pair with the cable that carries it."""
    out: dict[Keys, list[int]] = {keys: [] for keys in combinations(cast.keys, 2)}
    for column, (a, b) in enumerate(pairs):
        i, j = sorted((rod_of(cast, int(a)), rod_of(cast, int(b))))
        out[cast.keys[i], cast.keys[j]].append(column)
    return {keys: columns for keys, columns in out.items() if columns}


def both_known(done: Run, keys: Keys) -> Flags:
    """(members,): the chains of both rods could be followed."""
    known: Flags = np.all(done.known[:, [done.cast.keys.index(key) for key in keys]], axis=1)
    return known


def worst_of(found: Closest, own: Sequence[int], both: Flags) -> Ints:
    """The worst verdict in each of the members ``both`` (members,), over the pairs ``own`` of polylines."""
    worst: Ints = found.verdict[both][:, own].max(axis=1)
    return worst


def taken_over(found: Closest, columns: Sequence[int], better: Closest) -> Closest:
    """``found`` with these columns of pairs as in ``better``, which has no others."""
    changed = {}
    for name in (field.name for field in fields(found) if field.name not in ("pairs", "looks")):
        changed[name] = getattr(found, name).copy()
        changed[name][:, columns] = getattr(better, name)
    return replace(found, **changed, looks=found.looks + better.looks)


def shares_of(worst: Ints) -> Shares:
    """Shares of the members by their worst verdict; of at least one."""
    told = worst.tolist()
    return Shares(*(told.count(of) / len(told) for of in (Verdict.NEAR_PASS, Verdict.TOUCH, Verdict.WRAPPED)))


def first_contact(found: Closest, own: Sequence[int], both: Flags) -> tuple[int, int] | None:
    """The member whose first contact is the median one, and its column. None: no contact."""
    moments = np.where(both[:, None] & np.isfinite(found.contact_s[:, own]), found.contact_s[:, own], np.inf)
    firsts = moments.min(axis=1)
    having = np.flatnonzero(np.isfinite(firsts))
    if not len(having):
        return None
    order = having[np.argsort(firsts[having], kind="stable")]
    member = int(order[(len(order) - 1) // 2])
    return member, int(own[int(np.argmin(moments[member]))])


def passes(
    found: Closest, member: int, own: Sequence[int], swapped: Sequence[bool], starts_s: float
) -> list[LinePass]:
    """The passes of one member over all polylines of a pair, in order of time. swapped: rows not in key order."""
    made = []
    for column, other_way in zip(own, swapped, strict=True):
        for moment, arc_a, arc_b, depth, sign, heavy in found.passes[member, column]:
            if np.isfinite(moment):
                arcs = (float(arc_b), float(arc_a)) if other_way else (float(arc_a), float(arc_b))
                made.append(LinePass(float(moment) - starts_s, arcs, float(depth), int(sign), bool(heavy)))
    return sorted(made, key=lambda one: one.time_s)


def over_until(one_m: Floats, other_m: Floats, time_s: Floats, from_s: float) -> float | None:
    """How long two lines (samples, nodes, 3) stay crossed from a moment on, seen from above. None where they are not.

    Order across the stern is no danger by itself. It says which line must not be reeled in while it lasts.
    """
    crossed = np.flatnonzero(_crossed_in_plan(one_m, other_m) & (time_s >= from_s - (time_s[1] - time_s[0])))
    return float(time_s[min(int(crossed[-1]) + 1, len(time_s) - 1)]) if len(crossed) else None


def _crossed_in_plan(one_m: Floats, other_m: Floats) -> Flags:
    """(samples,): whether any two segments cross, ignoring heights."""
    p, q = one_m[:, :-1, None, :2], one_m[:, 1:, None, :2]
    r, s = other_m[:, None, :-1, :2], other_m[:, None, 1:, :2]

    def side(a: Floats, b: Floats, c: Floats) -> Flags:
        left: Flags = (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) > (b[..., 1] - a[..., 1]) * (
            c[..., 0] - a[..., 0]
        )
        return left

    met = (side(p, q, r) != side(p, q, s)) & (side(r, s, p) != side(r, s, q))
    found: Flags = met.any(axis=(1, 2))
    return found
