"""Guesses the unsounded bottom ahead of the boat: continues the slope just passed a little way."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.bottom.soundings import Soundings

Floats = NDArray[np.float64]

# The slope of the last soundings is continued as far as it was measured, but no farther than this (memory).
MEASURED_S = 30.0
LEAST = 6
LEAST_WAY_M = 8.0
REACH_M = 30.0
# Largest scatter about the newer half's line, as a share of its rise. A step scatters by a sixth at least.
STRAIGHT = 0.13
# The slope also holds this far to each side of the way.
ASIDE_M = 15.0


@dataclass(frozen=True, slots=True)
class Slope:
    """A bottom that changes along the boat's way. ``per_m`` is negative where it shoals."""

    t_s: float  # when and where it was last sounded
    north_m: float
    east_m: float
    ahead: tuple[float, float]  # unit vector of the motion over ground
    depth_m: float
    per_m: float
    reach_m: float

    @property
    def shoalest_m(self) -> float:
        """The least depth on it."""
        return min(self.depth_m, self.depth_m + self.per_m * self.reach_m)

    def at(self, north_m: float, east_m: float) -> float | None:
        """Depth at a place ahead. None beyond its reach and too far to the side."""
        dn, de = north_m - self.north_m, east_m - self.east_m
        along = dn * self.ahead[0] + de * self.ahead[1]
        if not 0.0 < along <= self.reach_m or abs(de * self.ahead[0] - dn * self.ahead[1]) > ASIDE_M:
            return None
        return self.depth_m + self.per_m * along


def slope_of(soundings: Soundings, t_s: float) -> Slope | None:
    """The slope that both this trip's last half minute of soundings and their newer half show, else None.

    A slope must exceed three times its standard error: ground that only goes up and down is not continued. Nor is a
    step, although a line through all soundings would go on rising over it.
    """
    north, east, y, t = soundings.back_to(t_s - MEASURED_S)
    if len(t) < 2 * LEAST:
        return None
    last = (float(north[0]), float(east[0]))
    moved = (last[0] - float(north[-1]), last[1] - float(east[-1]))
    way = math.hypot(*moved)
    if way < LEAST_WAY_M:
        return None
    ahead = (moved[0] / way, moved[1] / way)
    x = (north - last[0]) * ahead[0] + (east - last[1]) * ahead[1]
    newer = len(t) // 2
    if (both := _fit(x, y)) is None or (lately := _fit(x[:newer], y[:newer], STRAIGHT)) is None:
        return None
    per_m = min(both, lately, key=abs)
    if np.sign(per_m) != np.sign(y[0] - y[-1]):
        return None
    at_last = sorted((y[:LEAST] - per_m * x[:LEAST]).tolist())
    depth = 0.5 * (at_last[LEAST // 2 - 1] + at_last[LEAST // 2])  # their median
    return Slope(float(t[0]), *last, ahead, depth, per_m, min(way, REACH_M))


def _fit(x_m: Floats, y_m: Floats, straight: float = math.inf) -> float | None:
    """Least-squares slope. None where it cannot be told from zero, or where the line is not straight enough."""
    many, add = len(y_m), np.add.reduce  # what methods of arrays call, after looking at their arguments
    dx, dy = x_m - add(x_m) / many, y_m - add(y_m) / many
    spread = float(add(dx * dx))
    if spread <= 0.0:
        return None
    per_m = float(add(dx * dy)) / spread
    left = dy - per_m * dx
    scatter = math.sqrt(float(add(left * left)) / (many - 2))
    told = abs(per_m) > 3.0 * scatter / math.sqrt(spread)
    return per_m if told and scatter <= straight * abs(per_m) * float(np.ptp(x_m)) else None
