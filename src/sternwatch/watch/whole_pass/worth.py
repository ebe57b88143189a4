"""What a lure is worth over a bottom of a depth, when it trails behind as on a long straight: for fast screening.

How deep a lure runs is not known to a metre. A way on which only the middle member's lure stays just inside the band
is worth less than one on which most members' do, so what counts is the mean of depths as the members have them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.chains.ensemble import one_of, settled
from sternwatch.watch.forecast.bottom_ahead import NEAR_M
from sternwatch.watch.forecast.make import body_nodes
from sternwatch.watch.forecast.steered import behind_m
from sternwatch.watch.whole_pass.asked import PassAsked, wanted

Floats = NDArray[np.float64]

SOFT_M = 1.5  # so far outside the band a lure still counts a little, while ways are screened
TOUCHING = 10.0  # a second on the bottom takes away as much as so many wanted ones
LEVELS = np.array([0.1, 0.3, 0.5, 0.7, 0.9])  # of the members' depths
STEP_M = 0.1  # of the bottom, in a table
DEEPEST_M = 400.0  # beyond, a lure's height over the bottom is that of one over so deep a bottom


def members_apart_m(asked: PassAsked) -> Floats:
    """(rods, levels) how much deeper or shoaler than the middle member's a lure may run, as they run now."""
    fleet = asked.fleet
    n, m = fleet.cast.rods, fleet.cast.members
    out = np.zeros((n, len(LEVELS)))
    for rod in range(n):
        node = int(body_nodes(fleet.cast, rod)[-1])
        depth = fleet.state.position_m[rod + n * np.arange(m), node, 2]
        if np.isfinite(depth).all():
            out[rod] = np.quantile(depth - depth[0], LEVELS)
    return out


@dataclass(frozen=True)
class Trailing:
    """Where lures trail, and what each is worth over a bottom. One row a rod that is fished off the bottom."""

    lag_s: Floats  # (rods,) behind the boat
    abeam_m: Floats  # (rods,) to starboard
    drift_m: Floats  # (rods, 2) how far the water has carried a lure's place from where the boat made it
    worth: Floats = field(repr=False)  # (rods, depths) a second, over a bottom of so many ``STEP_M``
    unknown: Floats = field(repr=False)  # (rods,) where the bottom is not known

    def over(self, rod: int, bottom_m: Floats) -> Floats:
        """What a second of this rod's lure is worth over bottoms of these depths; nan: not known."""
        known = np.isfinite(bottom_m)
        at = np.rint(np.where(known, bottom_m, 0.0) / STEP_M).astype(np.int64)
        table = self.worth[rod]
        found: Floats = np.where(known, table[np.clip(at, 0, len(table) - 1)], self.unknown[rod])
        return found

    def there(self, asked: PassAsked, rod: int, north_m: Floats, east_m: Floats) -> Floats:
        """What a second of this rod's lure is worth at places. Beyond the box only a touch counts."""
        worth = self.over(rod, asked.floor.nearest_m(north_m, east_m))
        box = asked.wish.box
        return worth if box is None else np.where(box.holds(north_m, east_m), worth, np.minimum(worth, 0.0))


def trailing(asked: PassAsked) -> Trailing:
    """Of every lure on a long straight of now, in the middle member; rods whose chain is not known are left out."""
    alone = one_of(asked.fleet, 0)
    lying = settled(alone.cast, heading_rad=asked.fleet.heading_rad, speed_m_s=asked.speed_m_s)
    apart = members_apart_m(asked)
    bottoms = np.append(np.arange(0.0, DEEPEST_M + STEP_M, STEP_M), np.nan)
    lag, abeam, worth = [], [], []
    for rod, key in enumerate(asked.fleet.cast.keys):
        astern, aside, depth = behind_m(lying, rod)
        if key in asked.on_bottom or not np.isfinite(astern + aside + depth):
            continue
        depths = np.maximum(depth + apart[rod], 0.0)[:, None]
        there = wanted(asked, bottoms, bottoms, depths, bottoms, SOFT_M, anywhere=True)
        worth.append((there - TOUCHING * (bottoms < depths + NEAR_M)).mean(axis=0))
        lag.append(max(astern / asked.speed_m_s, 0.0))
        abeam.append(aside)
    tables = np.array(worth).reshape(len(lag), len(bottoms))
    lags = np.array(lag, dtype=np.float64)
    return Trailing(
        lags, np.array(abeam, dtype=np.float64), lags[:, None] * np.array(asked.ground.drift_m_s),
        tables[:, :-1], tables[:, -1],
    )  # fmt: skip
