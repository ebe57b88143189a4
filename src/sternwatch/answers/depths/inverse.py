"""The counter's reading at which a rod's lure runs at a depth, and the greatest depth it can reach."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import AS_FILED, RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes
from sternwatch.gear.spread_file.counter import SHORTEST_M, reading_m
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.hydro.chain.model import Chain
from sternwatch.hydro.steady.solver import solve_many
from sternwatch.water.properties import Water

Array = NDArray[np.float64]

# No reel in use holds more (memory); the search ends here.
MOST_LINE_M = 300.0
# Where all lengths above a few metres change the depth by no more than this, line out does not set it.
_FLAT_M = 0.3
_FLAT_FROM_M = 3.0
_TRIALS = 48
_ROUNDS = 3


@dataclass(frozen=True, slots=True)
class LineForDepth:
    """The least line out that brings a rod's lure to a depth. None: no length does; ``why`` says what is possible."""

    key: str
    name: str
    setting: str | None
    target_depth_m: float
    line_out_as_counter_m: float | None
    depth_m: float | None  # with that line out
    deepest_m: float | None  # with any length up to ``most_line_m`` past the tip
    deepest_line_out_as_counter_m: float | None
    why: str


def line_out_for_depth(
    spread: Spread,
    rod: Rod,
    target_depth_m: float,
    speed_m_s: float,
    *,
    heading_rad: float | None = None,
    now: RodNow = AS_FILED,
    most_line_m: float = MOST_LINE_M,
) -> LineForDepth:
    """Line out for a depth at a steady speed through the surface water, by finer and finer tables of lengths.

    ``now``: what differs from the file (setting, lead); its line out is ignored. A rod clipped to another's
    cable has no own line out and gets a reason.
    """
    setting = now.setting if now.setting is not None else spread.setting(rod)
    if rod.clipped_to is not None:
        why = f"hangs on rod {rod.clipped_to.rod}'s cable and has no line out of its own"
        return LineForDepth(rod.key, rod.name, setting, target_depth_m, None, None, None, None, why)
    water = water_of(spread)
    chain = rig_of(spread, rod, now, water).chain
    current = current_in_boat_axes(spread.water, heading_rad or 0.0)

    def depths(lengths: Array) -> Array:
        return _depths(chain, lengths, speed_m_s, water, current)

    def read(true_m: float) -> float:
        return reading_m(spread, rod, true_m, now.lead_m)

    lengths = np.geomspace(max(SHORTEST_M, 0.5), most_line_m, _TRIALS)
    found = depths(lengths)
    if np.isnan(found).all():
        return LineForDepth(
            rod.key, rod.name, setting, target_depth_m, None, None, None, None, "no steady shape was found"
        )
    best = int(np.nanargmax(found))
    deepest, deepest_at = float(found[best]), float(lengths[best])
    reached = np.flatnonzero(found >= target_depth_m)
    long = found[lengths >= _FLAT_FROM_M]
    if len(reached) == 0:
        why = "no length of line reaches it"
    elif np.isfinite(long).any() and np.nanmax(long) - np.nanmin(long) < _FLAT_M:
        why = "line out hardly changes its depth"
    elif reached[0] == 0:
        why = "it runs deeper with the least line out"
    else:
        true_m, depth = _narrow(depths, lengths, found, int(reached[0]), target_depth_m)
        return LineForDepth(
            rod.key, rod.name, setting, target_depth_m, read(true_m), depth, deepest, read(deepest_at), ""
        )
    return LineForDepth(rod.key, rod.name, setting, target_depth_m, None, None, deepest, read(deepest_at), why)


def _depths(
    chain: Chain, lengths: Array, speed_m_s: float, water: Water, current: tuple[Array, Array] | None
) -> Array:
    table = solve_many([chain], [speed_m_s], water=water, current=current, out_m=lengths)
    return table.depth_m[0, :, 0]


def _narrow(
    depths: Callable[[Array], Array], lengths: Array, found: Array, at: int, target_m: float
) -> tuple[float, float]:
    """The first length between trials ``at - 1`` and ``at`` that reaches the target, and the depth there."""
    for _ in range(_ROUNDS):
        lengths = np.linspace(lengths[at - 1], lengths[at], 9)
        found = depths(lengths)
        met = np.flatnonzero(found >= target_m)
        at = max(1, int(met[0])) if len(met) else len(lengths) - 1
    low, high = float(found[at - 1]), float(found[at])
    share = (target_m - low) / (high - low) if high > low and math.isfinite(low) else 1.0
    return float(lengths[at - 1] + share * (lengths[at] - lengths[at - 1])), target_m if share < 1.0 else high
