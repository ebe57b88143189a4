"""What a lure is worth over a bottom of a depth, when it trails behind as on a long straight: for fast screening.

How deep a lure runs is not known to a metre. A way on which only the middle member's lure stays just inside the band
is worth less than one on which most members' do, so what counts is the mean of depths as the members have them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.chains.ensemble import settled
from sternwatch.watch.forecast.bottom_ahead import NEAR_M
from sternwatch.watch.forecast.steered import behind_m, middle
from sternwatch.watch.whole_pass.asked import PassAsked, wanted
from sternwatch.watch.whole_pass.floor import Floor
from sternwatch.watch.whole_pass.wish import Box

Floats = NDArray[np.float64]

SOFT_M = 1.5  # so far outside the band a lure still counts a little, while ways are screened
TOUCHING = 10.0  # a second on the bottom takes away as much as so many wanted ones
LEVELS = np.array([0.1, 0.3, 0.5, 0.7, 0.9])  # of the members' depths
STEP_M = 0.1  # of the bottom, in a table
DEEPEST_M = 400.0  # beyond, a lure's height over the bottom is that of one over so deep a bottom


@dataclass(frozen=True)
class Lying:
    """Every member's lures on a long straight at the speed of the pass."""

    behind_m: Floats  # (rods, M, 3) astern, to starboard, depth; nan: unknown
    middle_m: Floats  # (rods, 3) the medians of the members
    levels_m: Floats  # (rods, levels) depths that 10 to 90 % of the members do not exceed

    @property
    def order(self) -> NDArray[np.int64]:
        """The members, the one first whose lures lie nearest to the medians: one that can stand for all.

        Distances count in standard deviations, since a metre of depth is worth more than one astern.
        """
        off = self.behind_m - self.middle_m[:, None]
        spread = np.sqrt(np.nanmean(off**2, axis=1, keepdims=True)) if off.size else off
        shares = np.nan_to_num((off / np.where(spread > 0.0, spread, 1.0)) ** 2, nan=1e6)
        return np.argsort(shares.sum(axis=(0, 2)), kind="stable")

    def apart_m(self, member: int) -> Floats:
        """(rods, levels) how much deeper than one member's a lure may run; 0 where that is not known."""
        apart: Floats = np.nan_to_num(self.levels_m - self.behind_m[:, member, 2:])
        return apart


def lying_of(asked: PassAsked) -> Lying:
    """The members' lures on a long straight of now."""
    lying = settled(asked.fleet.cast, heading_rad=asked.fleet.heading_rad, speed_m_s=asked.speed_m_s)
    behind = np.stack([behind_m(lying, rod) for rod in range(lying.cast.rods)])
    known = np.isfinite(behind).all(axis=(1, 2))
    levels = np.full((len(behind), len(LEVELS)), np.nan)
    levels[known] = np.quantile(behind[known, :, 2], LEVELS, axis=1).T
    return Lying(behind, middle(behind), levels)


@dataclass(frozen=True)
class Trailing:
    """Where lures trail, and what each is worth at the nodes of the floor. One row a rod fished off the bottom."""

    lag_s: Floats  # (rods,) behind the boat
    abeam_m: Floats  # (rods,) to starboard
    drift_m: Floats  # (rods, 2) how far the water has carried a lure's place from where the boat made it
    worth: NDArray[np.float32]  # (rods, nodes + 1) a second; the last: beyond the floor

    def there(self, floor: Floor, rod: int, north_m: Floats, east_m: Floats) -> NDArray[np.float32]:
        """What a second of this rod's lure is worth at places, by the nearest node."""
        found: NDArray[np.float32] = self.worth[rod][floor.nodes(north_m, east_m)]
        return found

    def all_there(self, floor: Floor, north_m: Floats, east_m: Floats) -> NDArray[np.float32]:
        """(rods, n) the same of every rod, at its own places (rods, n)."""
        return self.worth[np.arange(len(self.worth))[:, None], floor.nodes(north_m, east_m)]


def trailing(asked: PassAsked, lying: Lying) -> Trailing:
    """Of every lure on a long straight of now, at the medians of the members; unknown rods are left out."""
    bottoms = np.append(np.arange(0.0, DEEPEST_M + STEP_M, STEP_M), np.nan)
    rods = [
        rod
        for rod, key in enumerate(asked.fleet.cast.keys)
        if key not in asked.on_bottom and np.isfinite(lying.levels_m[rod]).all()
    ]
    node = _bottom_at(asked.floor, bottoms)
    outside = _outside(asked.floor, asked.wish.box)
    worth = np.empty((len(rods), len(node)), dtype=np.float32)
    for row, rod in enumerate(rods):
        depths = np.maximum(lying.levels_m[rod], 0.0)[:, None]
        there = wanted(asked, bottoms, bottoms, depths, bottoms, SOFT_M, anywhere=True)
        by_bottom = (there - TOUCHING * (bottoms < depths + NEAR_M)).mean(axis=0)
        worth[row] = by_bottom[node]
        if outside is not None:  # beyond the box only a touch counts
            worth[row, outside] = np.minimum(worth[row, outside], 0.0)
    lags = np.maximum(lying.middle_m[rods, 0] / asked.speed_m_s, 0.0)
    return Trailing(lags, lying.middle_m[rods, 1], lags[:, None] * np.array(asked.ground.drift_m_s), worth)


def _bottom_at(floor: Floor, bottoms_m: Floats) -> NDArray[np.int64]:
    """(nodes + 1,) which of the bottoms lies under each node of the floor; the last of them is the unknown one."""
    unknown = len(bottoms_m) - 1
    depths = np.append(floor.depths_m.ravel(), np.nan)
    known = np.isfinite(depths)
    at = np.rint(np.nan_to_num(depths) / STEP_M).astype(np.int64)
    return np.where(known, np.clip(at, 0, unknown - 1), unknown)


def _outside(floor: Floor, box: Box | None) -> NDArray[np.bool_] | None:
    """(nodes + 1,) which nodes lie beyond the box."""
    if box is None:
        return None
    w = floor.window
    inside = box.holds(w.norths_m[:, None], w.easts_m[None, :])
    return np.append(~inside.ravel(), True)
