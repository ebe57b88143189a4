"""Fits a logger's clock to the trip, compares computed with logged depths, and finds independent observations."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import correlate

from sternwatch.debrief.logger.reading import Logged
from sternwatch.logbook.store.samples import RodRow, Sample

Floats = NDArray[np.float64]

GRID_S = 10.0  # the spacing of a digest's samples
MOST_S = 15.0 * 3600.0  # a clock may be off by any time zone
LEAST_S = 600.0  # shared by both
LEAST_ALIKE = 0.6  # an offset with a lower correlation is not believed
SURE = 0.05  # it must exceed every offset more than a few minutes away by this
FAR_S = 300.0
STRAIGHT_DEG_S = 0.5
HARD_DEG_S = 1.0  # a turn as hard bends every line: the watch takes no observation there
SETTLED_S = 60.0  # straight for this long
SINKING_M_S = 0.1
LEAST_APART_S = 120.0  # least spacing of independent observations; never under twice the error's memory
MOST_OBSERVATIONS = 60


class UnmatchedError(ValueError):
    """A logger's clock cannot be fitted to a trip; the message says why in a sentence."""


@dataclass(frozen=True, slots=True)
class Beside:
    """Computed and logged depth of a rod at a moment of feed time [m]. ``way``: straight, turning or sinking."""

    t_s: float
    computed_m: float
    low_m: float
    high_m: float
    logged_m: float
    way: str
    hard: bool = False  # in a hard turn


@dataclass(frozen=True, slots=True)
class Compared:
    """Computed minus logged: root mean square, mean, and how often the interval held it; None: nothing to compare."""

    way: str
    moments: int
    rms_m: float
    bias_m: float
    inside: float


@dataclass(frozen=True, slots=True)
class Match:
    """Feed time = the logger's seconds + ``offset_s``. ``alike``: the correlation of the two depths there."""

    offset_s: float
    alike: float


def rows_of(samples: Sequence[Sample], key: str) -> list[tuple[Sample, RodRow]]:
    """The samples with a known depth of the rod."""
    out = []
    for sample in samples:
        row = next((one for one in sample.rods if one.rig.rod == key), None)
        if row is not None and row.depth_m is not None:
            out.append((sample, row))
    return out


def match(logged: Logged, rows: Sequence[tuple[Sample, RodRow]]) -> Match:
    """The offset at which the two depths are most alike. Raises UnmatchedError."""
    if not rows:
        raise UnmatchedError("no depth of that rod is known on that trip")
    t = np.array([sample.boat.at_s for sample, _ in rows])
    depth = np.array([row.depth_m for _, row in rows], dtype=float)
    begin, end = float(t[0]), float(t[-1])
    grid = np.arange(begin, end + GRID_S, GRID_S)
    near = np.abs(t[np.clip(np.searchsorted(t, grid), 0, len(t) - 1)] - grid) <= GRID_S
    computed = np.interp(grid, t, depth)
    own = np.arange(0.0, float(logged.t_s[-1]) + GRID_S, GRID_S)
    seen = np.interp(own, logged.t_s, logged.depth_m)
    under = seen > 1.0  # on the deck it shows nothing
    alike, lags = _correlations(computed, near, seen, under)
    if not np.isfinite(alike).any():
        raise UnmatchedError(f"the file and the trip have less than {LEAST_S / 60:.0f} minutes in common")
    best = int(np.nanargmax(alike))
    offset = begin + lags[best] * GRID_S
    other = np.abs(lags - lags[best]) * GRID_S > FAR_S
    rival = float(np.nanmax(alike[other])) if np.isfinite(alike[other]).any() else -1.0
    if alike[best] < LEAST_ALIKE or alike[best] - rival < SURE:
        raise UnmatchedError(
            f"the logger's depths fit the trip's at no one time better than at others (correlation "
            f"{alike[best]:.2f}, elsewhere {max(rival, 0.0):.2f}); give its clock's offset with --offset"
        )
    return Match(_finer(offset, logged, t, depth), float(alike[best]))


def _correlations(
    a: Floats, known_a: NDArray[np.bool_], b: Floats, known_b: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """The correlation of two series with gaps at every lag of b against a; nan where they overlap too little."""
    ma, mb = known_a.astype(float), known_b.astype(float)
    xa, xb = np.where(known_a, a - a[known_a].mean(), 0.0), np.where(known_b, b - b[known_b].mean(), 0.0)

    def over(first: Floats, second: Floats) -> Floats:
        made: Floats = correlate(first, second, mode="full", method="fft")
        return made

    n = over(ma, mb)
    sa, sb = over(xa, mb), over(ma, xb)
    with np.errstate(divide="ignore", invalid="ignore"):
        covariance = over(xa, xb) / n - sa * sb / n**2
        spread = np.sqrt((over(xa**2, mb) / n - (sa / n) ** 2) * (over(ma, xb**2) / n - (sb / n) ** 2))
        alike = np.where(spread > 1e-3, covariance / spread, np.nan)
    lags = np.arange(-(len(b) - 1), len(a))
    shared = max(LEAST_S / GRID_S, 0.3 * min(ma.sum(), mb.sum()))
    alike[(n < shared) | (np.abs(lags) * GRID_S > MOST_S + len(a) * GRID_S)] = np.nan
    return alike, lags.astype(float)


def _finer(offset_s: float, logged: Logged, t: Floats, depth: Floats) -> float:
    """The offset to a second: where the error about its mean is smallest."""
    tried = offset_s + np.arange(-12.0, 13.0)
    errors = []
    for one in tried:
        seen = np.interp(t - one, logged.t_s, logged.depth_m, left=np.nan, right=np.nan)
        off = (depth - seen)[seen > 1.0]
        errors.append(float(np.nanstd(off)) if len(off) else math.inf)
    return float(tried[int(np.argmin(errors))])


def beside(logged: Logged, offset_s: float, rows: Sequence[tuple[Sample, RodRow]]) -> list[Beside]:
    """Every moment with both depths and the logger under water."""
    out = []
    turned_s = -math.inf
    for sample, row in rows:
        t = sample.boat.at_s
        rate = sample.boat.rate_of_turn_deg_s
        if rate is not None and abs(rate) > STRAIGHT_DEG_S:
            turned_s = t
        seen = float(np.interp(t - offset_s, logged.t_s, logged.depth_m, left=np.nan, right=np.nan))
        if not math.isfinite(seen) or seen <= 1.0 or row.depth_m is None:
            continue
        way = "straight"
        if t - turned_s < SETTLED_S:
            way = "turning"
        elif abs(row.vertical_speed_m_s or 0.0) > SINKING_M_S:
            way = "sinking"
        low = row.depth_low_m if row.depth_low_m is not None else math.nan
        high = row.depth_high_m if row.depth_high_m is not None else math.nan
        hard = rate is not None and abs(rate) > HARD_DEG_S
        out.append(Beside(t, row.depth_m, low, high, seen, way, hard))
    return out


def compared(moments: Sequence[Beside]) -> tuple[Compared, ...]:
    """The comparison over all, then by way; ways without a moment are left out."""
    out = []
    for way in ("all", "straight", "turning", "sinking"):
        own = [one for one in moments if way in ("all", one.way)]
        if own:
            off = np.array([one.computed_m - one.logged_m for one in own])
            held = [one.low_m <= one.logged_m <= one.high_m for one in own if math.isfinite(one.low_m)]
            out.append(
                Compared(
                    way, len(own), float(np.sqrt(np.mean(off**2))), float(off.mean()),
                    float(np.mean(held)) if held else math.nan,
                )
            )  # fmt: skip
    return tuple(out)


def memory_s(moments: Sequence[Beside]) -> float:
    """The correlation time of the error [s]: the sum of its autocorrelations [Sokal 1997: memory]."""
    off = np.array([one.computed_m - one.logged_m for one in moments])
    if len(off) < 8 or off.std() < 1e-6:
        return GRID_S
    off = off - off.mean()
    whole = float(off @ off)
    total = 1.0
    for lag in range(1, len(off) // 2):
        share = float(off[:-lag] @ off[lag:]) / whole
        if share < 0.05:
            break
        total += 2.0 * share
    return GRID_S * total


def thinned(moments: Sequence[Beside]) -> list[Beside]:
    """Moments so far apart that their errors have forgotten one another, evenly over the trip.

    Straight, after a turn or in a gentle one, and while the line sinks: the watch corrects these by its moving chain,
    and refuses one whose line was far from settled.
    """
    own = [one for one in moments if not one.hard]
    apart = max(LEAST_APART_S, 2.0 * memory_s(own))
    out: list[Beside] = []
    for one in own:
        if not out or one.t_s - out[-1].t_s >= apart:
            out.append(one)
    step = max(1, math.ceil(len(out) / MOST_OBSERVATIONS))
    return out[::step]


def profile(logged: Logged, every_m: float = 2.0) -> list[tuple[float, float, float]]:
    """Depth [m], median temperature [°C] and the logger's second for each layer, without the surface skin."""
    known = np.isfinite(logged.temperature_c) & (logged.depth_m > 0.5)
    layer = np.floor(logged.depth_m / every_m).astype(int)
    out = []
    for number in np.unique(layer[known]):
        here = np.flatnonzero(known & (layer == number))
        if len(here) >= 3:
            middle = here[len(here) // 2]
            out.append(
                (float(np.median(logged.depth_m[here])), float(np.median(logged.temperature_c[here])),
                 float(logged.t_s[middle]))
            )  # fmt: skip
    return out
