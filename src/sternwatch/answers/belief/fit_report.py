"""Reports a fit: every quantity and rod before and after, what disagrees, and what to observe next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.answer import believed_answer
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.causes import Beyond, Linear, Unclear, Unlikely, beyond, unclear, unlikely
from sternwatch.answers.belief.fit import Fit
from sternwatch.answers.belief.observations import (
    DEVICES,
    LOGGED_M,
    SEEN_M,
    TOUCHED_M,
    Observation,
    What,
    predicted,
    usual_error,
)
from sternwatch.answers.belief.priors import Z90, Draws, member_rigs, value_at
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.answers.depths.depth import DepthAnswer, steady_rigs
from sternwatch.gear.spread_file.models import Spread, TackleItem
from sternwatch.gear.spread_file.uncertain import Uncertain, uncertain

Floats = NDArray[np.float64]

# An observation with less weight in the fit than this is reported to disagree with everything else.
DISAGREES = 0.5
# A quantity is reported when its spread shrank to this share, or its mean moved by this many of its deviations.
NARROWED = 0.9
MOVED = 0.3
CHECK_MEMBERS = 64


@dataclass(frozen=True, slots=True)
class Learned:
    """One quantity: factors on (or shifts of) the value in use; the median and the 90 % interval."""

    name: str
    unit: str
    source: str
    before: tuple[float, float, float]  # low, middle, high
    after: tuple[float, float, float]
    mean: float  # in standard deviations of the prior
    sd: float


@dataclass(frozen=True, slots=True)
class RodFit:
    """One rod's lure on a straight course, as filed. None: no steady state. ``check``: the ensemble's spread of its
    depth over that of the linear law. Near 1 the covariance holds."""

    key: str
    name: str
    depth_before_m: float | None
    interval_before_m: tuple[float, float] | None
    depth_after_m: float | None
    interval_after_m: tuple[float, float] | None
    observed: bool
    check: float | None


@dataclass(frozen=True, slots=True)
class ObservationFit:
    """One observation and what was believed. ``off``: its residual after the fit, in standard deviations."""

    one: Observation
    before: float | None
    after: float | None
    off: float | None
    weight: float | None
    disagrees: bool


@dataclass(frozen=True, slots=True)
class Next:
    """A possible observation, and the share of all rods' variance of depth that it would remove."""

    rod: str
    what: What
    at: str | None
    share: float
    own_before_m: float  # half width of that rod's interval, before and after
    own_after_m: float


@dataclass(frozen=True, slots=True)
class FitReport:
    speed_m_s: float
    learned: tuple[Learned, ...]
    rods: tuple[RodFit, ...]
    observations: tuple[ObservationFit, ...]
    next: tuple[Next, ...]
    beyond: tuple[Beyond, ...] = ()
    unlikely: tuple[Unlikely, ...] = ()
    unclear: tuple[Unclear, ...] = ()


def report(fit: Fit, speed_m_s: float) -> FitReport:
    """The whole report, for a steady speed through the water."""
    slopes = _Slopes(fit, speed_m_s)
    before = answer_at(fit.spread, speed_m_s, fit.season)
    after = answer_at(fit.spread, speed_m_s, fit.calibration.lasting())  # for another day
    return FitReport(
        speed_m_s, tuple(_learned(fit)), tuple(_rods(fit, before, after, slopes)), tuple(_observations(fit)),
        slopes.next(), beyond(fit), unlikely(fit), unclear(fit, slopes.law),
    )  # fmt: skip


def answer_at(spread: Spread, speed_m_s: float, learned: Calibration | None) -> DepthAnswer:
    """The depths at a speed with their present intervals."""
    return believed_answer(spread, speed_m_s, learned=learned)


def usual_speed(fit: Fit) -> float:
    """The median speed of the observations, else a usual speed."""
    speeds = [one.speed_m_s for one in fit.used if one.speed_m_s is not None]
    return float(np.median(speeds)) if speeds else fit.spread.boat.usual_m_s


def _learned(fit: Fit) -> list[Learned]:
    """The quantities that changed, the most first. Left out: those that hardly changed, and those of past days."""
    quantities, found = uncertain(fit.spread, fitted=True), fit.posterior
    out = []
    for j, name in enumerate(found.names):
        if name not in quantities:
            continue
        one, mean, sd = quantities[name], float(found.mode[j]), math.sqrt(float(found.covariance[j, j]))
        if sd > NARROWED and abs(mean) < MOVED:
            continue
        out.append(Learned(name, one.unit, one.source, _prior(one), _found(one, mean, found.points[:, j]), mean, sd))
    return sorted(out, key=lambda row: row.sd - 0.1 * abs(row.mean))


def _prior(one: Uncertain) -> tuple[float, float, float]:
    return one.low, 1.0 if one.law == "factor" else 0.0, one.high


def _found(one: Uncertain, mode: float, points: Floats) -> tuple[float, float, float]:
    low, high = np.quantile(value_at(points, one), [0.05, 0.95])
    return float(low), float(value_at(np.array(mode), one)), float(high)


def _rods(fit: Fit, before: DepthAnswer, after: DepthAnswer, slopes: _Slopes) -> list[RodFit]:
    seen = {one.rod for one in fit.used}
    checks = _checks(fit, slopes)
    return [
        RodFit(
            own.key, own.name, own.depth_m, own.depth_interval_m, then.depth_m, then.depth_interval_m,
            own.key in seen, checks.get(own.key),
        )
        for own, then in zip(before.rods, after.rods, strict=True)
    ]  # fmt: skip


def _checks(fit: Fit, slopes: _Slopes) -> dict[str, float]:
    """The ensemble's spread of every rod's depth over the linear one."""
    spread, water = fit.spread, water_of(fit.spread)
    rods = {rod.key: AS_FILED for rod in spread.rods}
    members = member_rigs(spread, rods, water, Draws(1, CHECK_MEMBERS, fit.calibration.lasting()), slopes.speed_m_s)
    states = [steady_rigs(own, slopes.speed_m_s, water=water, current=None, tolerance=1e-6) for own in members]
    wide = np.array([[own[key].depth_m for key in rods] for own in states]).std(axis=0, ddof=1)
    out = {}
    for key, sd in zip(rods, wide, strict=True):
        linear = math.sqrt(slopes.variance(key))
        if math.isfinite(sd) and linear > 0.0:
            out[key] = float(sd / linear)
    return out


def _observations(fit: Fit) -> list[ObservationFit]:
    found = fit.posterior
    rows = iter(range(len(found.residuals)))
    out = []
    for one in fit.observations:
        if not one.used:
            out.append(ObservationFit(one, None, None, None, None, False))
            continue
        row = next(rows)
        before, after = predicted(fit.spread, one, {}), one.value + float(found.residuals[row] * found.sd[row])
        weight = float(found.weights[row])
        out.append(ObservationFit(one, before, after, float(found.residuals[row]), weight, weight < DISAGREES))
    return out


class _Slopes:
    """Linear laws around the posterior of every rod's depth and of every possible observation."""

    def __init__(self, fit: Fit, speed_m_s: float) -> None:
        self.fit, self.speed_m_s = fit, speed_m_s
        self.law = Linear(fit)
        self.names, self.covariance = self.law.names, self.law.covariance
        self.rows: dict[tuple[str, What, str | None], Floats] = {}
        for rod in fit.spread.rods:
            self.rows[rod.key, What.DEPTH, "lure"] = self._slope(rod.key, What.DEPTH, "lure")

    def _slope(self, key: str, what: What, at: str | None) -> Floats:
        """(k,) slopes of what would be observed of a rod as filed; zeros where unknown."""
        rod = self.fit.spread.rod_by_key(key)
        assert rod is not None  # the spread's own entries
        if at == "lure" and not any(isinstance(item, TackleItem) for item in rod.deployed):
            at = None
        return self.law.slope(Observation("", key, what, 0.0, 1.0, self.speed_m_s, "", at=at))

    def variance(self, key: str) -> float:
        """Variance of a rod's depth at a known speed, by the linear law."""
        g = self._gear(self.rows[key, What.DEPTH, "lure"])
        return float(g @ self.covariance @ g)

    def _gear(self, slope: Floats) -> Floats:
        """Slopes without the day's quantities: their error is not the gear's."""
        lasting = np.array([not self.law.quantities[name].daily for name in self.names])
        return np.where(lasting, slope, 0.0)

    def next(self) -> tuple[Next, ...]:
        """The most useful observation, among the three rods that need one most."""
        depths = np.stack([self._gear(self.rows[rod.key, What.DEPTH, "lure"]) for rod in self.fit.spread.rods])
        spread_now = np.einsum("ij,jk,ik->i", depths, self.covariance, depths)
        found = []
        for number, rod in enumerate(self.fit.spread.rods):
            for what, at, error in self._possible(rod.key):
                slope = self.rows.get((rod.key, what, at))
                if slope is None:
                    slope = self.rows[rod.key, what, at] = self._slope(rod.key, what, at)
                gain = self.covariance @ slope
                taken = (depths @ gain) ** 2 / (slope @ gain + (error / Z90) ** 2)
                own = spread_now[number]
                found.append(
                    Next(
                        rod.key, what, at, float(taken.sum() / spread_now.sum()) if spread_now.sum() > 0.0 else 0.0,
                        Z90 * math.sqrt(own), Z90 * math.sqrt(max(own - taken[number], 0.0)),
                    )
                )  # fmt: skip
        best: dict[str, Next] = {}
        for one in sorted(found, key=lambda one: -one.share):
            best.setdefault(one.rod, one)
        return tuple(best.values())[:3]

    def _possible(self, key: str) -> Sequence[tuple[What, str | None, float]]:
        spread = self.fit.spread
        rod = spread.rod_by_key(key)
        assert rod is not None
        kinds = {spread.tackle[item.tackle].kind for item in rod.deployed if isinstance(item, TackleItem)}
        out: list[tuple[What, str | None, float]] = [(What.DEPTH, "lure", LOGGED_M), (What.DEPTH, None, TOUCHED_M)]
        if kinds & set(DEVICES):
            out.append((What.DEPTH, "device", SEEN_M))
        pull = predicted(spread, Observation("", key, What.PULL, 0.0, 1.0, self.speed_m_s, ""), {})
        if math.isfinite(pull):
            out.append((What.PULL, None, usual_error(What.PULL, pull)))
        if rod.clipped_to is None:
            angle = What.CABLE_ANGLE if "ball" in kinds else What.ENTRY_ANGLE
            out.append((angle, None, usual_error(angle, 0.0)))
        return out
