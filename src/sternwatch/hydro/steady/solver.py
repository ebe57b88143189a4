"""The steady state of a towed chain: where it is after minutes without a change of speed, course or length.

Axes are the boat's: x forward, y to starboard, z down, origin at the transom's centre on the still surface. The
boat moves ahead through the SURFACE water. A current profile is relative to that water, in the same axes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.model import Body, Chain
from sternwatch.hydro.steady.kernel import NOT_CONVERGED, SOLVED, TOO_MANY_STEPS, integrate
from sternwatch.hydro.steady.roots import settle
from sternwatch.hydro.steady.rows import Current, Packed, RefusedError, checked_speed, pack
from sternwatch.hydro.steady.table import faults, fill
from sternwatch.water.properties import Water

Array = NDArray[np.float64]

OFF_TIP_M: Final = 0.02  # a shape that begins farther from the rod tip than this is not a solution

WHY: Final = {
    SOLVED: "",
    TOO_MANY_STEPS: "the line's shape could not be followed (it folds back on itself)",
    NOT_CONVERGED: "no steady shape was found",
}


@dataclass(frozen=True)
class Steady:
    """One chain's steady state in boat axes. Where ``ok`` is false every number is nan and ``why`` says why."""

    arc_m: Array  # (n,) line out from the rod tip, unstretched, ascending to the free end
    shape_m: Array  # (n, 3)
    tension_N: Array  # (n,)
    body_m: Array  # (bodies, 3), from the rod tip outward
    body_flow_m_s: Array  # (bodies,) speed of the water past each
    tip_tension_N: float
    entry_angle_deg: float  # below the horizontal, at the place where the line enters the water; nan if it does not
    depth_m: float  # of the free end; negative: it hangs in the air
    astern_m: float  # behind the transom
    abeam_m: float  # to starboard
    slack: bool  # a diver does not hold its line
    pulled_under: bool  # a board is below the surface
    ok: bool
    why: str
    body_pull_N: Array  # (bodies,) of the line inboard of each
    body_tail_N: Array  # (bodies,) of the line outboard of each


@dataclass(frozen=True)
class SteadyTable:
    """Steady states of many chains at many lengths and speeds; every array (chains, lengths, speeds).

    A cell that has no solution is nan in all but ``status``, which is 0 where there is one.
    """

    depth_m: Array
    astern_m: Array
    abeam_m: Array
    tip_tension_N: Array
    pulled_under: NDArray[np.bool_]
    slack: NDArray[np.bool_]
    status: NDArray[np.int64]


def unknown(chain: Chain, arcs: Array, why: str) -> Steady:
    """A state without a solution, with the reason."""
    bodies = sum(isinstance(item, Body) for item in chain.items)
    n = arcs.shape[0]
    return Steady(
        arcs, np.full((n, 3), np.nan), np.full(n, np.nan), np.full((bodies, 3), np.nan), np.full(bodies, np.nan),
        math.nan, math.nan, math.nan, math.nan, math.nan, False, False, False, why, np.full(bodies, np.nan),
        np.full(bodies, np.nan),
    )  # fmt: skip


def entry_angle_deg(pull: Array) -> float:
    """Angle [deg] below the horizontal of a line with the inward pull ``pull`` (3,)."""
    return math.degrees(math.atan2(-float(pull[2]), math.hypot(float(pull[0]), float(pull[1]))))


def describe(chain: Chain, packed: Packed, env: Array, end: Array, arcs: Array | None, tolerance: float) -> Steady:
    """The state of a chain with its free end at ``end``, sampled at ``arcs`` (from the rod tip).

    Without ``arcs``: at 49 of equal spacing and at every body.
    """
    total = float(packed.rig.geometry[:, 0].sum())
    if arcs is None:
        arcs = np.union1d(np.linspace(0.0, total, 49), packed.body_arc)
    samples = np.ascontiguousarray(total - arcs[::-1])
    shape = np.full((arcs.shape[0], 3), np.nan)
    pull = np.full(arcs.shape[0], np.nan)
    body_out = np.full((packed.rig.lines.shape[0], 6), np.nan)
    entry = np.full(3, np.nan)
    s = np.zeros(6)
    s[:3] = end
    status = integrate(packed.rig, env, s, tolerance, samples, shape, pull, body_out, entry)
    if status != SOLVED:
        return unknown(chain, arcs, WHY[status])
    if math.isnan(entry[0]) and s[2] > -1e-6 and end[2] > 0.0:
        entry = s[3:]
    # Reverse the kernel's order, which starts at the free end.
    of_body = packed.has_body[::-1]
    body_out = body_out[::-1][of_body]
    under, slack = faults(packed.rig.bodies[::-1][of_body], body_out)
    return Steady(
        arc_m=arcs,
        shape_m=shape[::-1].copy(),
        tension_N=pull[::-1].copy(),
        body_m=body_out[:, :3].copy(),
        body_flow_m_s=body_out[:, 3].copy(),
        tip_tension_N=float(np.linalg.norm(s[3:])),
        entry_angle_deg=entry_angle_deg(entry),
        depth_m=float(end[2]),
        astern_m=-float(end[0]),
        abeam_m=float(end[1]),
        slack=bool(slack),
        pulled_under=bool(under),
        ok=True,
        why="",
        body_pull_N=body_out[:, 4].copy(),
        body_tail_N=body_out[:, 5].copy(),
    )


def find_end(packed: Packed, speed_m_s: float, tolerance: float) -> tuple[int, Array, Array]:
    """Status, environment (the kernel's ``env``) and place of the free end of a chain towed straight ahead."""
    env = np.array([speed_m_s, 0.0, 0.0, 0.0, 0.0])
    end = np.empty(3)
    s, body_out = np.empty(6), np.empty((packed.rig.lines.shape[0], 6))
    status = settle(packed.rig, env, packed.tip, np.full(2, math.nan), tolerance, end, s, body_out)
    return int(status), env, end


def solve(
    chain: Chain,
    speed_m_s: float,
    *,
    water: Water,
    current: Current | None = None,
    arc_m: Sequence[float] | Array | None = None,
    tolerance: float = 1e-9,
) -> Steady:
    """The steady state of one chain behind a boat that goes straight ahead.

    ``current``: depths (n,) [m] and velocities (n, 2 or 3) forward and to starboard [m/s] relative to the surface
    water, linear between, constant outside. ``arc_m``: where to sample, from the rod tip; None: at 49 of equal
    spacing and at every body. ``tolerance`` per step: of the place relative to the line's length, of the pull
    relative to itself. Raises nothing: without a solution ``ok`` is false and ``why`` gives the reason.
    """
    arcs = None if arc_m is None else np.asarray(arc_m, dtype=float)
    try:
        packed = pack(chain, water, current)
        speed = checked_speed(speed_m_s)
        if arcs is not None and not (np.diff(arcs) >= 0.0).all():
            raise RefusedError("the arcs to sample at must ascend")
    except RefusedError as refused:
        return unknown(chain, np.empty(0) if arcs is None else arcs, str(refused))
    status, env, end = find_end(packed, speed, tolerance)
    if status != SOLVED:
        return unknown(chain, np.empty(0) if arcs is None else arcs, WHY[status])
    made = describe(chain, packed, env, end, arcs, tolerance)
    # For a line with hardly any weight or pull, the end found may not lead back to the tip.
    if made.ok and made.arc_m[0] == 0.0 and np.abs(made.shape_m[0] - chain.tip_m).max() > OFF_TIP_M:
        return unknown(chain, made.arc_m, WHY[NOT_CONVERGED])
    return made


def solve_many(
    chains: Sequence[Chain],
    speeds_m_s: Sequence[float] | Array,
    *,
    water: Water,
    current: Current | None = None,
    out_m: Sequence[float] | Array | None = None,
    tolerance: float = 1e-7,
) -> SteadyTable:
    """Solve every chain at every line out and every speed: one call for a whole table.

    ``out_m``: lengths of the first line (at the rod tip), one after another; None: its own. Arrays of the result are
    (chains, lengths, speeds). Raises ``RefusedError`` for a chain, length, speed or current that makes no sense.
    """
    speeds = np.array([checked_speed(float(v)) for v in speeds_m_s])
    lengths = None if out_m is None else np.asarray(out_m, dtype=float)
    if lengths is not None and not (np.isfinite(lengths).all() and (lengths >= 0.0).all()):
        raise RefusedError("every line out must be 0 or more")
    shape = (len(chains), 1 if lengths is None else len(lengths), len(speeds))
    numbers = np.full((*shape, 4), np.nan)
    flags = np.zeros((*shape, 2), dtype=np.bool_)
    status = np.full(shape, NOT_CONVERGED, dtype=np.int64)
    for i, chain in enumerate(chains):
        packed = pack(chain, water, current)
        own_length = np.array([packed.rig.geometry[-1, 0]])
        fill(
            packed.rig, packed.tip, own_length if lengths is None else lengths, speeds, tolerance,
            numbers[i], flags[i], status[i],
        )  # fmt: skip
    depth, astern, abeam, pull = np.moveaxis(numbers, -1, 0)
    return SteadyTable(depth, astern, abeam, pull, flags[..., 0], flags[..., 1], status)
