"""What moved a rod's depth in a fit; where observations leave that open, the observation that would decide it.

The linear law around the posterior says how much of the move each group of quantities (counter, drag, the water
below, ...) explains, with an uncertainty. Where several may each explain most of it, the module finds the observation
that would best separate the two likeliest.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.observations import (
    ANGLE_RAD,
    TOUCHED_M,
    Observation,
    Seen,
    What,
    concerns,
    predicted,
    see,
)
from sternwatch.answers.belief.priors import Z90, value_at
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.models import Spread, TackleItem
from sternwatch.gear.spread_file.uncertain import TAPED, uncertain
from sternwatch.gear.spread_file.uncertain_words import BELOW, OVER_GROUND, UNMODELLED, group

if TYPE_CHECKING:
    from sternwatch.answers.belief.fit import Fit

Floats = NDArray[np.float64]

Deed = Literal["tape", "slower", "faster", "back", "shorter", "cable"]

REACH = 0.5  # of secants, in standard deviations of the prior
BEYOND = 2.576  # 99 % of a normal law
MOVED_SD = 1.0  # a move smaller than this many of an observation's deviations needs no cause
MOST = 0.5  # a cause must be able to explain this share of the move
WORTH = 0.8  # an observation that leaves a larger share of the doubt is not advised


@dataclass(frozen=True, slots=True)
class Beyond:
    """A quantity that the fit pushed outside the 99 % of its prior: its mean now, and its usual range."""

    name: str
    unit: str
    now: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Unclear:
    """A rod whose depth was moved by one of several possible causes. ``deed`` None: no observation would decide."""

    rod: str
    moved_m: float
    causes: tuple[str, ...]
    deed: Deed | None
    at: float | None  # speed [m/s] or line out [m] of the deed
    left: float  # share of the doubt between the two likeliest that the deed would leave


@dataclass(frozen=True, slots=True)
class Unlikely:
    """A rod whose observations were believed to have a chance of hardly one in a hundred."""

    rod: str
    off_m: float  # the median difference of the depths seen


class Linear:
    """The posterior's law, and slopes of possible observations."""

    def __init__(self, fit: Fit) -> None:
        self.spread: Spread = fit.spread
        self.quantities = uncertain(fit.spread, fitted=True)
        self.names = tuple(self.quantities)
        k, learned = len(self.names), fit.calibration
        at = [self.names.index(name) for name in learned.names]
        self.mean, self.covariance = np.zeros(k), np.eye(k)
        self.mean[at] = learned.mean
        self.covariance[np.ix_(at, at)] = learned.covariance
        self._made: dict[tuple[Hashable, ...], list[tuple[int, Seen, Seen]]] = {}

    def values(self, z: Floats) -> dict[str, float]:
        """Factors and shifts by name."""
        named = zip(self.names, z, strict=True)
        return {name: float(value_at(one, self.quantities[name])) for name, one in named if one != 0.0}

    def slope(self, one: Observation) -> Floats:
        """(k,) slopes of the value that would be observed; zeros where unknown."""
        out = np.zeros(len(self.names))
        for j, ahead, behind in self._moved(one):
            out[j] = (ahead.of(one.what, one.at) - behind.of(one.what, one.at)) / (2.0 * REACH)
        return np.nan_to_num(out)

    def _moved(self, one: Observation) -> list[tuple[int, Seen, Seen]]:
        """Its rod with each quantity moved to either side. All that is seen of a rod at once shares its solutions."""
        how = (one.rod, one.speed_m_s, one.heading_rad, one.over_ground, one.told, one.now, one.water)
        if how not in self._made:
            rod = self.spread.rod_by_key(one.rod)
            assert rod is not None  # observations of the spread's own
            made = self._made[how] = []
            for name in concerns(self.spread, rod, self.quantities):
                j = self.names.index(name)
                step = np.zeros(len(self.names))
                step[j] = REACH
                ahead, behind = (see(self.spread, one, self.values(z)) for z in (self.mean + step, self.mean - step))
                made.append((j, ahead, behind))
        return self._made[how]


def beyond(fit: Fit) -> tuple[Beyond, ...]:
    """Quantities outside the 99 % of their priors, the farthest first."""
    quantities, found = uncertain(fit.spread, fitted=True), fit.posterior
    out = []
    for j, name in enumerate(found.names):
        if name in quantities and abs(found.mode[j]) > BEYOND:
            one = quantities[name]
            now = float(value_at(np.array(found.mode[j]), one))
            out.append((-abs(float(found.mode[j])), Beyond(name, one.unit, now, one.low, one.high)))
    return tuple(one for _, one in sorted(out, key=lambda pair: pair[0]))


def unlikely(fit: Fit) -> tuple[Unlikely, ...]:
    """Rods whose observed depths are outside the 99 % of what was believed before, by the linear law."""
    found, rows = fit.posterior, list(fit.used)
    out = []
    for rod in fit.spread.rods:
        far, off = [], []
        for row, one in enumerate(rows):
            if one.rod == rod.key and one.what is What.DEPTH:
                off.append(one.value - predicted(fit.spread, one, {}))
                wide = found.sd[row] * math.sqrt(1.0 + float(found.slopes[row] @ found.slopes[row]))
                far.append(off[-1] / wide)
        if far and abs(float(np.median(far))) > BEYOND:
            out.append(Unlikely(rod.key, float(np.median(off))))
    return tuple(out)


def unclear(fit: Fit, linear: Linear | None = None) -> tuple[Unclear, ...]:
    """The unclear rods among those observed today, in the order of the spread."""
    law = linear or Linear(fit)
    out = []
    for rod in fit.spread.rods:
        seen = [one for one in fit.used if one.rod == rod.key and one.what is What.DEPTH and not one.trip]
        found = _of(law, seen) if seen else None
        if found is not None:
            out.append(found)
    return tuple(out)


def _of(law: Linear, seen: Sequence[Observation]) -> Unclear | None:
    one = seen[-1]
    slope = law.slope(one)
    groups: dict[str, list[int]] = {}
    for j, name in enumerate(law.names):
        if slope[j] != 0.0:
            groups.setdefault(_cause(name), []).append(j)
    moved = predicted(law.spread, one, law.values(law.mean)) - predicted(law.spread, one, {})
    if not math.isfinite(moved) or abs(moved) < MOVED_SD * one.sd:
        return None
    shares = []
    for name, own in groups.items():
        part = float(slope[own] @ law.mean[own]) / moved
        sd = math.sqrt(max(float(slope[own] @ law.covariance[np.ix_(own, own)] @ slope[own]), 0.0)) / abs(moved)
        if part - Z90 * sd < MOST <= part + Z90 * sd:  # it may explain most of the move, or not
            shares.append((part + Z90 * sd, name, own))
        elif part - Z90 * sd >= MOST:
            return None  # the cause is clear
    if len(shares) < 2:
        return None
    shares.sort(key=lambda row: -row[0])
    apart = np.zeros(len(law.names))
    apart[shares[0][2]] += slope[shares[0][2]]
    apart[shares[1][2]] -= slope[shares[1][2]]
    deed, at, left = _deed(law, one, apart)
    return Unclear(one.rod, moved, tuple(name for _, name, _ in shares[:3]), deed, at, left)


def _cause(name: str) -> str:
    """Groups that a crew would distinguish: everything that pulls at one line is one group."""
    found = group(name)
    if found in (UNMODELLED,):
        return "its drag"
    if found in (BELOW, OVER_GROUND):
        return "the water's own motion"
    if found.startswith("drag of"):
        return "its drag"
    return found


def _deed(law: Linear, one: Observation, apart: Floats) -> tuple[Deed | None, float | None, float]:
    """The best deed, its speed or line out, and the share of the doubt that it leaves."""
    before = float(apart @ law.covariance @ apart)
    if before <= 0.0:
        return None, None, 1.0
    best: tuple[float, Deed, float | None] | None = None
    for deed, at, slope, error in _possible(law, one):
        gain = law.covariance @ slope
        left = 1.0 - float(apart @ gain) ** 2 / (before * float(slope @ gain + (error / Z90) ** 2))
        if best is None or left < best[0] - 1e-3:
            best = (left, deed, at)
    if best is None or best[0] > WORTH:
        return None, None, 1.0
    return best[1], best[2], best[0]


def _possible(law: Linear, one: Observation) -> list[tuple[Deed, float | None, Floats, float]]:
    """Observations that a crew could make of the same rod, the cheapest first, with their slopes and errors."""
    out: list[tuple[Deed, float | None, Floats, float]] = []
    rod = law.spread.rod_by_key(one.rod)
    assert rod is not None
    counter = f"rod {one.rod} counter"
    if counter in law.quantities and not rod.counter.checked:
        slope = np.zeros(len(law.names))
        j = law.names.index(counter)
        prior = law.quantities[counter]
        slope[j] = math.log(prior.high / prior.low) / (2.0 * Z90)
        out.append(("tape", None, slope, math.log(TAPED.high / TAPED.low) / 2.0))
    speed = one.speed_m_s or law.spread.boat.usual_m_s
    read = one.now.line_out_as_counter_m or rod.line_out_m
    tried: list[tuple[Deed, float | None, Observation]] = [
        ("slower", 0.7 * speed, replace(one, speed_m_s=0.7 * speed)),
        ("faster", 1.3 * speed, replace(one, speed_m_s=1.3 * speed)),
        ("back", None, replace(one, heading_rad=one.heading_rad + math.pi)),
    ]
    if read is not None:
        half = RodNow(0.5 * read, one.now.setting, one.now.lead_m)
        tried.append(("shorter", 0.5 * read, replace(one, now=half)))
    for deed, at, other in tried:
        out.append((deed, at, law.slope(other), TOUCHED_M))
    kinds = {law.spread.tackle[item.tackle].kind for item in rod.deployed if isinstance(item, TackleItem)}
    if "ball" in kinds:
        out.append(("cable", None, law.slope(replace(one, what=What.CABLE_ANGLE, at=None)), ANGLE_RAD))
    return out
