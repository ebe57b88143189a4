"""Rates ways: cheaply, by where lures trail behind a boat; and exactly, with the chains themselves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.separation.distance import closest
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.track import track_of
from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.chains.ensemble import Fleet, one_of, run, settled
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.bottom_ahead import NEAR_M
from sternwatch.watch.forecast.make import Risk
from sternwatch.watch.forecast.steered import aside_m, behind_m, lures_m, nears, over_ground_m, transom_m
from sternwatch.watch.whole_pass.asked import PassAsked, wanted
from sternwatch.watch.whole_pass.ways import EACH_S, tracks

Floats = NDArray[np.float64]

SOFT_M = 1.5  # in the screening, a lure this far outside the band still counts a little
TOUCHING = 10.0  # a second on the bottom costs as much as this many wanted seconds
A_TURN_S = 10.0  # one turn more must bring more lure-seconds than this: somebody has to steer it
CROSSING = 0.5  # factor for a way on which lines cross in the search's one member


def trailing(asked: PassAsked) -> Floats:
    """(rods, 3) astern, to starboard, depth of every lure on a long straight as now, in the first member."""
    alone = one_of(asked.fleet, 0)
    lying = settled(alone.cast, heading_rad=asked.fleet.heading_rad, speed_m_s=asked.speed_m_s)
    return np.stack([behind_m(lying, rod) for rod in range(lying.cast.rods)])


def screened(ways: Floats, asked: PassAsked, behind: Floats) -> Floats:
    """(n,) wanted lure-seconds of many ways. Each lure follows the boat's way at its distance and depth.

    It ignores that lures swing, rise and sink in turns: it only selects ways worth running.
    """
    north, east, heading = tracks(ways, asked)
    times = EACH_S * np.arange(north.shape[1])
    drift, begin = asked.ground.drift_m_s, transom_m(asked.ground)
    total: Floats = -A_TURN_S * (ways[:, 1::2] != 0.0).sum(axis=1)
    fished = [k for k, key in enumerate(asked.fleet.cast.keys) if key not in asked.on_bottom]
    for astern, abeam, depth in behind[fished]:
        if not np.isfinite(astern + abeam + depth):
            continue
        lag = max(round(astern / (asked.speed_m_s * EACH_S)), 0)
        then = heading[:, : heading.shape[1] - lag]
        # Until the lure reaches the boat's present place, it follows a straight behind her.
        at_n = north[:, : north.shape[1] - lag] - abeam * np.sin(then) + begin[0] + drift[0] * times[lag:]
        at_e = east[:, : east.shape[1] - lag] + abeam * np.cos(then) + begin[1] + drift[1] * times[lag:]
        bottom = asked.floor.nearest_m(at_n, at_e)
        total += EACH_S * wanted(asked, at_n, at_e, np.full(at_n.shape, depth), bottom, SOFT_M).sum(axis=1)
        total -= TOUCHING * EACH_S * (bottom < depth + NEAR_M).sum(axis=1)
    for place, margin in asked.dangers_m:
        over_n = north + begin[0] + drift[0] * times
        over_e = east + begin[1] + drift[1] * times
        total[np.hypot(over_n - place[0], over_e - place[1]).min(axis=1) < margin] = -np.inf
    return total


@dataclass(frozen=True)
class Rated:
    """The results of a way run with the chains of some members."""

    legs: tuple[Leg, ...]
    path: Path
    over_ground_m: Floats  # (S, 2) the boat: north, east in the plane of the soundings
    by_rod_s: Floats  # (M, rods) seconds where it is wanted; nan: the chain is unknown
    on_bottom_s: Floats  # (M, rods)
    risk: Risk | None  # None: not computed

    @property
    def wanted_s(self) -> Floats:
        """(M,) wanted lure-seconds of all rods."""
        total: Floats = np.nansum(self.by_rod_s, axis=1)
        return total

    @property
    def worth(self) -> float:
        """The value that a search maximises."""
        worth = float(np.median(self.wanted_s - TOUCHING * np.nansum(self.on_bottom_s, axis=1)))
        worth -= A_TURN_S * sum(1 for leg in self.legs if leg.turn_rad)
        crossed = self.risk is not None and self.risk.any > 0.0
        return worth * CROSSING if crossed and worth > 0.0 else worth


def rated(asked: PassAsked, fleet: Fleet, legs: tuple[Leg, ...], *, apart: bool = True) -> Rated | None:
    """Run a way with a fleet (of ``asked``, or some of its members). None where it comes too near a danger."""
    speed = asked.speed_m_s
    path = track_of(legs, heading_rad=fleet.heading_rad, speed_m_s=speed, to_speed_m_s=speed)
    over = over_ground_m(path, asked.ground)
    if nears(over, asked.dangers_m):
        return None
    aside = aside_m(fleet, path, speed)
    done = run(fleet, path, aside)
    weight = 0.5 * (np.append(path.step_s, 0.0) + np.insert(path.step_s, 0, 0.0))[:, None]
    by_rod, bottom = [], []
    for rod, key in enumerate(done.cast.keys):
        lure = lures_m(done, fleet, asked.ground, rod, aside)
        north, east, depth = lure[..., 0], lure[..., 1], lure[..., 2]
        under = asked.floor.depth_m(north, east)
        there = (weight * wanted(asked, north, east, depth, under)).sum(axis=0)
        touching = (
            (weight * (under < depth + NEAR_M)).sum(axis=0) if key not in asked.on_bottom else np.zeros(len(there))
        )
        by_rod.append(np.where(done.known[:, rod], there, np.nan))
        bottom.append(np.where(done.known[:, rod], touching, np.nan))
    risk = None
    if apart:
        found = closest(polylines(done), path.time_s, done.cast.strands, asked.required, resolve=1.0)
        risk = Risk(done, found)
    return Rated(legs, path, over, np.stack(by_rod, axis=1), np.stack(bottom, axis=1), risk)
