"""The bottom ahead of the boat, where nobody has sounded it: the slope just passed over, carried on a little way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import takewhile

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.bottom.soundings import Soundings

Floats = NDArray[np.float64]

# The slope is that of the last soundings, carried on for as far as it was measured but no farther than this (memory).
MEASURED_S = 30.0
LEAST = 6
LEAST_WAY_M = 8.0
REACH_M = 30.0
# The scatter about the newer half's line, as a share of what it rises: a step scatters by a sixth at least.
STRAIGHT = 0.13
# Carried on to this far beside the way.
ASIDE_M = 15.0


@dataclass(frozen=True, slots=True)
class Slope:
    """A bottom that changes along the boat's way. ``per_m`` is negative where it shoals."""

    t_s: float  # when it was last sounded, and where
    north_m: float
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
    """What this trip's soundings of the last half minute and their newer half both tell; None where that is none.

    A slope within three times its standard error is none: on ground that only goes up and down nothing is carried on.
    Nor is a step, over which a line through all of them would go on rising.
    """
    recent = list(takewhile(lambda s: s.t_s is not None and s.t_s >= t_s - MEASURED_S, soundings.back()))
    if len(recent) < 2 * LEAST:
        return None
    first, last = recent[-1], recent[0]
    way = math.hypot(last.north_m - first.north_m, last.east_m - first.east_m)
    if way < LEAST_WAY_M or last.t_s is None:
        return None
    ahead = ((last.north_m - first.north_m) / way, (last.east_m - first.east_m) / way)
    x = np.array([(s.north_m - last.north_m) * ahead[0] + (s.east_m - last.east_m) * ahead[1] for s in recent])
    y = np.array([s.depth_m for s in recent])
    newer = len(recent) // 2
    fits = (_fit(x, y), _fit(x[:newer], y[:newer], STRAIGHT))
    per_m = min(fits, key=lambda fit: (fit is not None, abs(fit or 0.0)))
    if per_m is None or np.sign(per_m) != np.sign(y[0] - y[-1]):
        return None
    depth = float(np.median(y[:LEAST] - per_m * x[:LEAST]))
    return Slope(last.t_s, last.north_m, last.east_m, ahead, depth, per_m, min(way, REACH_M))


def _fit(x_m: Floats, y_m: Floats, straight: float = math.inf) -> float | None:
    """Least-squares slope; None where it is not told from none, or the line is not as straight as asked."""
    dx = x_m - x_m.mean()
    spread = float((dx * dx).sum())
    if spread <= 0.0:
        return None
    per_m = float((dx * (y_m - y_m.mean())).sum()) / spread
    left = y_m - y_m.mean() - per_m * dx
    scatter = math.sqrt(float((left * left).sum()) / (len(y_m) - 2))
    told = abs(per_m) > 3.0 * scatter / math.sqrt(spread)
    return per_m if told and scatter <= straight * abs(per_m) * float(np.ptp(x_m)) else None
