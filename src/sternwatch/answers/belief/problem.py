"""Residuals of observations as functions of uncertain quantities, and the prior of a fit.

A quantity of gear has one number for all trips. A quantity of the day has one for every trip
(``NAME @ TRIP``; today's has the plain name). The prior is N(0, I) in numbers w. After an earlier season,
z = middle + lift w has the law that the season left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.observations import Observation, concerns, predicted
from sternwatch.answers.belief.priors import Z90, far_out
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import Uncertain, uncertain

Floats = NDArray[np.float64]

# Slopes are secants this wide to either side: priors have a kink at 0, and a posterior is about this wide.
WIDE_REACH = 1.0  # reach of the quadratics from which the posterior is drawn
TWISTED = 12  # this many of an observation's quantities, those that move it most, are also varied in pairs
# A quantity is not fitted where one standard deviation of it moves no observation by this share of its error. Its
# effect on the residuals is added to their error.
LEAST_SLOPE = 0.1
LOST = 30.0  # residual of a chain without a steady shape
OF_TRIP = " @ "


@dataclass(frozen=True, slots=True)
class Shape:
    """n residuals around a point as quadratics in ``Problem.scaled`` of k quantities."""

    slope: Floats  # (n, k)
    secant: Floats  # (n, k) slopes by z over a wide reach
    bent: tuple[NDArray[np.int64], ...]  # (n,) of (b,): the quantities in each one's quadratic form
    forms: tuple[Floats, ...]  # (n,) of (b, b)

    def of(self, away: Floats) -> Floats:
        """Residuals (points, n) for (points, k)."""
        made: Floats = away @ self.slope.T
        for at, (names, form) in enumerate(zip(self.bent, self.forms, strict=True)):
            own = away[:, names]
            made[:, at] += ((own @ form) * own).sum(axis=1)
        return made


@dataclass
class Problem:
    """Residuals of observations as functions of z. ``names``: all quantities on which one of them depends.

    ``season``: earlier knowledge. All its names belong to the problem, because they are correlated.
    """

    spread: Spread
    observations: Sequence[Observation]
    season: Calibration | None = None
    quantities: Mapping[str, Uncertain] = field(init=False)  # by the names of this problem
    names: tuple[str, ...] = field(init=False)
    sd: Floats = field(init=False)  # (n,) standard deviations of the observations' errors
    middle: Floats = field(init=False)  # (k,) of z by the prior
    lift: Floats = field(init=False)  # (k, k)
    _touches: list[NDArray[np.int64]] = field(init=False)

    def __post_init__(self) -> None:
        base = uncertain(self.spread, fitted=True)
        self.sd = np.array([one.sd for one in self.observations])
        touched: list[set[str]] = []
        made: dict[str, Uncertain] = {}
        for name in () if self.season is None else self.season.names:
            if name in base:
                made[name] = base[name]
        for one in self.observations:
            rod = self.spread.rod_by_key(one.rod)
            assert rod is not None  # ``unfit`` ensures it
            own = {_named(name, base[name], one.trip): base[name] for name in concerns(self.spread, rod, base)}
            made |= own
            touched.append(set(own))
        order = {name: number for number, name in enumerate(base)}
        names = sorted(made, key=lambda name: (order[name.partition(OF_TRIP)[0]], name))
        self.names, self.quantities = tuple(names), made
        self._touches = [
            np.array([j for j, name in enumerate(names) if name in own], dtype=np.int64) for own in touched
        ]
        self._believe()

    def _believe(self) -> None:
        """Middle and lift of the prior for the present names."""
        k, season = len(self.names), self.season
        self.middle, self.lift = np.zeros(k), np.eye(k)
        quantities = [self.quantities[name] for name in self.names]
        self._heavy = np.array([one.heavy for one in quantities], dtype=bool)
        self._factor = np.array([one.law == "factor" for one in quantities], dtype=bool)
        self._logged = np.array(
            [one.law == "factor" and not name.startswith("tackle ")
             for name, one in zip(self.names, quantities, strict=True)], dtype=bool,
        )  # fmt: skip
        self._plain = self._factor & ~self._logged
        ends = np.array([(one.low, one.high) for one in quantities]).reshape(-1, 2)
        self._ends = np.where(self._factor[:, None], np.log(np.where(self._factor[:, None], ends, 1.0)), ends)
        if season is None:
            return
        here = [j for j, name in enumerate(self.names) if name in season.index]
        there = [season.index[self.names[j]] for j in here]
        mean, covariance = season.law
        self.middle[here] = mean[there]
        values, vectors = np.linalg.eigh(covariance[np.ix_(there, there)])
        self.lift[np.ix_(here, here)] = (vectors * np.sqrt(np.maximum(values, 1e-8))) @ vectors.T

    def z_of(self, w: Floats) -> Floats:
        """(…, k) z for the prior's own numbers w."""
        made: Floats = w + self.middle if self.season is None else self.middle + w @ self.lift.T
        return made

    def told(self, slopes: Floats) -> Floats:
        """Keep only quantities that some observation informs. Returns the slopes (n, fewer) by z that remain."""
        kept = np.abs(slopes).max(axis=0, initial=0.0) >= LEAST_SLOPE
        if self.season is not None:
            kept |= np.array([name in self.season.index for name in self.names], dtype=bool)
        wider = np.sqrt(1.0 + (slopes[:, ~kept] ** 2).sum(axis=1))
        self.sd = self.sd * wider
        number = np.cumsum(kept) - 1
        self._touches = [number[own[kept[own]]] for own in self._touches]
        self.names = tuple(name for name, one in zip(self.names, kept, strict=True) if one)
        self._believe()
        left: Floats = slopes[:, kept] / wider[:, None]
        return left

    def values(self, z: Floats, trip: str) -> dict[str, float]:
        """Factors and shifts by name on a trip."""
        here = self.scaled(z)
        made = np.where(self._logged, np.exp(np.where(self._logged, here, 0.0)), here)
        out = {}
        for j, name in enumerate(self.names):
            own, _, of = name.partition(OF_TRIP)
            if of == (trip if self.quantities[name].daily else ""):
                out[own] = float(made[j])
        return out

    def residual(self, at: int, z: Floats) -> float:
        """The residual of one observation."""
        one = self.observations[at]
        off = (predicted(self.spread, one, self.values(z, one.trip)) - one.value) / self.sd[at]
        return off if math.isfinite(off) else LOST

    def residuals(self, z: Floats) -> Floats:
        """(n,)"""
        return np.array([self.residual(at, z) for at in range(len(self.observations))])

    def slopes(self, z: Floats, reach: float, *, both: bool, here: Floats | None = None) -> Floats:
        """(n, k) secants of the residuals, to both sides or to one."""
        out = np.zeros((len(self.observations), len(self.names)))
        here = self.residuals(z) if here is None and not both else here
        for at, own in enumerate(self._touches):
            for j in own:
                moved = z.copy()
                moved[j] += reach
                ahead = self.residual(at, moved)
                if both:
                    moved[j] -= 2.0 * reach
                    out[at, j] = (ahead - self.residual(at, moved)) / (2.0 * reach)
                else:
                    assert here is not None
                    out[at, j] = (ahead - here[at]) / reach
        return out

    def scaled(self, z: Floats) -> Floats:
        """(…, k) numbers in which residuals are nearly quadratic.

        For lines these are the logarithms of factors. For tackle they are the factors themselves, because the pull of
        a piece is proportional to its drag, lift and weight. Shifts stay as they are.
        """
        far = z.copy()
        far[..., self._heavy] = far_out(z[..., self._heavy])
        far /= Z90
        made: Floats = np.where(far > 0.0, self._ends[:, 1] * far, -self._ends[:, 0] * far)
        made[..., self._plain] = np.exp(made[..., self._plain])
        return made

    def shape(self, z: Floats, here: Floats) -> Shape:
        """The quadratics of the residuals ``here`` around z."""
        n, k = len(self.observations), len(self.names)
        slope, secant, rises = (np.zeros((n, k)) for _ in range(3))
        middle = self.scaled(z)
        low, high = z - WIDE_REACH, z + WIDE_REACH
        flat = self.scaled(high) == self.scaled(low)  # a prior's flat side: use the slope around its kink instead
        low[flat], high[flat] = -WIDE_REACH, WIDE_REACH
        down, up = self.scaled(low) - middle, self.scaled(high) - middle
        forms = []
        for at, own in enumerate(self._touches):
            form = np.zeros((len(own), len(own)))
            for i, j in enumerate(own):
                rises[at, j] = rise = self._moved(at, z, {j: high[j]}) - here[at]
                fall = self._moved(at, z, {j: low[j]}) - here[at]
                if up[j] > 0.0 and down[j] < 0.0:
                    form[i, i] = (rise / up[j] - fall / down[j]) / (up[j] - down[j])
                    slope[at, j] = rise / up[j] - form[i, i] * up[j]
                elif up[j] != 0.0 or down[j] != 0.0:
                    slope[at, j] = rise / up[j] if up[j] != 0.0 else fall / down[j]
                secant[at, j] = 0.0 if flat[j] else (rise - fall) / (2.0 * WIDE_REACH)
            # The quantities that move it most also change one another's effect.
            most = [i for i in np.argsort(-np.abs(rises[at, own]))[:TWISTED] if up[own[i]] != 0.0]
            for i, other in combinations(sorted(most), 2):
                a, b = own[i], own[other]
                both = self._moved(at, z, {a: high[a], b: high[b]}) - here[at]
                form[i, other] = form[other, i] = 0.5 * (both - rises[at, a] - rises[at, b]) / (up[a] * up[b])
            forms.append(form)
        return Shape(slope, secant, tuple(self._touches), tuple(forms))

    def _moved(self, at: int, z: Floats, to: Mapping[int, float]) -> float:
        moved = z.copy()
        for j, value in to.items():
            moved[j] = value
        return self.residual(at, moved)


def _named(name: str, one: Uncertain, trip: str) -> str:
    return f"{name}{OF_TRIP}{trip}" if one.daily and trip else name
