"""What the observations of a blind trip can tell at most: Bayes' rule with the very law that the truth is drawn from.

The most likely values by Newton's steps [Gauss-Newton: any textbook], and what is left of a depth's spread by slopes
there, without anything of the fit. Steady states alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from blind_trials import Day, nominal_depths, observe, sailing
from numpy.typing import NDArray

from sternwatch.answers.belief.fit import fit
from sternwatch.answers.belief.observations import Observation, What, concerns, predicted
from sternwatch.answers.belief.priors import dealt, value_at
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import Uncertain, uncertain

Floats = NDArray[np.float64]

WATER_BELOW = ("shear north", "shear east")
_REACH = 0.5  # of the secants, in standard deviations
_STEPS = 6
_STILL = 0.02


@dataclass
class Law:
    """What a trip's truth is drawn from, and what was observed of it."""

    spread: Spread
    observed: list[Observation]
    quantities: dict[str, Uncertain] = field(init=False)
    names: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.quantities = uncertain(self.spread)
        own = {name for one in self.observed for name in self._of(one)}
        self.names = tuple(name for name in self.quantities if name in own)

    def _of(self, one: Observation) -> tuple[str, ...]:
        rod = self.spread.rod_by_key(one.rod)
        assert rod is not None
        return concerns(self.spread, rod, self.quantities)

    def at(self, one: Observation, z: Floats) -> float:
        """What would be observed at z."""
        return predicted(
            self.spread,
            one,
            {name: float(value_at(z[j], self.quantities[name])) for j, name in enumerate(self.names)},
        )

    def slope(self, one: Observation, z: Floats) -> Floats:
        """(k,) of what would be observed."""
        made = np.zeros(len(self.names))
        for name in self._of(one):
            if name in self.names:
                step = np.zeros(len(self.names))
                step[self.names.index(name)] = _REACH
                made[self.names.index(name)] = (self.at(one, z + step) - self.at(one, z - step)) / (2.0 * _REACH)
        return made

    def slopes(self, z: Floats) -> Floats:
        """(n, k) of all that was observed, over the standard deviations of its errors."""
        return np.stack([self.slope(one, z) / one.sd for one in self.observed])

    def likeliest(self) -> Floats:
        """(k,) z, the most likely by all that was observed."""
        z, best, least = np.zeros(len(self.names)), np.zeros(len(self.names)), math.inf
        for _ in range(_STEPS):
            off = np.array([(one.value - self.at(one, z)) / one.sd for one in self.observed])
            cost = float(off @ off + z @ z)
            if cost < least:
                best, least = z, cost
            slopes = self.slopes(z)
            wanted: Floats = slopes.T @ np.linalg.solve(slopes @ slopes.T + np.eye(len(off)), off + slopes @ z)
            if np.abs(wanted - z).max() < _STILL:
                break
            z = wanted
        return best

    def left(self, own: Floats, slopes: Floats, known: tuple[str, ...] = ()) -> tuple[float, float]:
        """Standard deviation before and after of a depth with slopes ``own`` (k,); names ``known`` are certain."""
        free = np.array([name not in known for name in self.names])
        own, slopes = own[free], slopes[:, free]
        told = slopes @ own
        after = own @ own - told @ np.linalg.solve(slopes @ slopes.T + np.eye(len(told)), told)
        return math.sqrt(float(own @ own)), math.sqrt(max(float(after), 0.0))


@dataclass(frozen=True)
class Asked:
    """One rod's depth after a trip's observations [m]: errors of middles, and what Bayes' rule leaves."""

    before: float
    likeliest: float
    fitted: float  # the middle of the fit
    sd_before: float
    sd_after: float
    water_known: float  # sd after, were the water below known


def asked(day: Day, keys: tuple[str, ...]) -> dict[str, tuple[Asked, Asked]]:
    """By rod: at the speed and heading of the trip, and at those of the rod's own observation."""
    spread = day.spread.with_values({})
    law = Law(spread, observe(day))
    z = law.likeliest()
    slopes = law.slopes(z)
    learned = fit(day.spread, law.observed, name=f"bound {day.seed}").calibration
    truth = {name: float(v[0]) for name, v in dealt(spread, day.truth).items()}

    def one(key: str, heading_rad: float, speed_m_s: float) -> Asked:
        depth = Observation("", key, What.DEPTH, 0.0, 1.0, speed_m_s, "", at="lure", heading_rad=heading_rad)
        true = predicted(spread, depth, truth)
        middles = (nominal_depths(day.spread, by, heading_rad, speed_m_s)[key] for by in (None, learned))
        before, fitted = (middle - true for middle in middles)
        own = law.slope(depth, z)
        sd_before, sd_after = law.left(own, slopes)
        known = law.left(own, slopes, WATER_BELOW)[1]
        return Asked(before, law.at(depth, z) - true, fitted, sd_before, sd_after, known)

    made = {}
    for key in keys:
        own = next(seen for seen in law.observed if seen.rod == key and seen.what is What.DEPTH)
        assert own.speed_m_s is not None
        made[key] = (one(key, *sailing(day)[2:]), one(key, own.heading_rad, own.speed_m_s))
    return made
