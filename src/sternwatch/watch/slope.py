"""The bottom ahead of the boat, where nobody has sounded it: the slope just passed over, carried on a little way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import takewhile

import numpy as np

from sternwatch.watch.soundings import Soundings

# The slope is that of the last soundings, carried on for as far as it was measured but no farther than this (memory).
MEASURED_S = 30.0
LEAST = 6
LEAST_WAY_M = 8.0
REACH_M = 30.0
# Carried on to this far beside the way.
ASIDE_M = 15.0


@dataclass(frozen=True, slots=True)
class Slope:
    """A bottom that changes along the boat's way. ``per_m`` is negative where it shoals."""

    north_m: float  # where it was last sounded
    east_m: float
    ahead: tuple[float, float]  # unit vector of the way over ground
    depth_m: float
    per_m: float
    reach_m: float

    @property
    def shoalest_m(self) -> float:
        """The least depth it tells of."""
        return min(self.depth_m, self.depth_m + self.per_m * self.reach_m)

    def at(self, north_m: float, east_m: float) -> float | None:
        """Depth at a place ahead; None beyond the reach, and to the side of the way."""
        dn, de = north_m - self.north_m, east_m - self.east_m
        along = dn * self.ahead[0] + de * self.ahead[1]
        if not 0.0 < along <= self.reach_m or abs(de * self.ahead[0] - dn * self.ahead[1]) > ASIDE_M:
            return None
        return self.depth_m + self.per_m * along


def slope_of(soundings: Soundings, t_s: float) -> Slope | None:
    """Least squares through this trip's soundings of the last half minute; None where they tell of no slope.

    A slope within three times its standard error is none: on ground that only goes up and down nothing is carried on.
    """
    recent = list(takewhile(lambda s: s.t_s is not None and s.t_s >= t_s - MEASURED_S, soundings.back()))
    if len(recent) < LEAST:
        return None
    first, last = recent[-1], recent[0]
    way = math.hypot(last.north_m - first.north_m, last.east_m - first.east_m)
    if way < LEAST_WAY_M:
        return None
    ahead = ((last.north_m - first.north_m) / way, (last.east_m - first.east_m) / way)
    x = np.array([(s.north_m - last.north_m) * ahead[0] + (s.east_m - last.east_m) * ahead[1] for s in recent])
    y = np.array([s.depth_m for s in recent])
    dx = x - x.mean()
    spread = float((dx * dx).sum())
    per_m = float((dx * (y - y.mean())).sum()) / spread
    left = y - y.mean() - per_m * dx
    error = math.sqrt(float((left * left).sum()) / (len(y) - 2) / spread)
    if abs(per_m) <= 3.0 * error:
        return None
    return Slope(last.north_m, last.east_m, ahead, float(y.mean() - per_m * x.mean()), per_m, min(way, REACH_M))
