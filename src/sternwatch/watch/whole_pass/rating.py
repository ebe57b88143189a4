"""Rates ways: cheaply, by where lures trail behind a boat; and exactly, with the chains themselves."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.separation.distance import closest
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.track import track_of
from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.chains.ensemble import Fleet, run
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.bottom_ahead import NEAR_M
from sternwatch.watch.forecast.closer import looked_at
from sternwatch.watch.forecast.make import Risk
from sternwatch.watch.forecast.steered import aside_m, lures_m, nears, over_ground_m, transom_m
from sternwatch.watch.whole_pass.asked import PassAsked, wanted
from sternwatch.watch.whole_pass.ways import EACH_S, between_m, tracks
from sternwatch.watch.whole_pass.worth import TOUCHING, Trailing

Floats = NDArray[np.float64]

TURN_S = 4.0  # a turn more is worth it for more than this of every rod's lure: somebody has to steer it
CROSSING = 0.5  # what is left of a way on which lines cross in the one member that is searched with


def turn_s(rods: int) -> float:
    """Lure-seconds that a turn has to bring."""
    return TURN_S * rods


def screened(ways: Floats, asked: PassAsked, trails: Trailing) -> Floats:
    """(n,) lure-seconds wanted of many ways, each lure taken to follow the boat's way at its distance and depth.

    It ignores that lures swing, rise and sink in turns: it only selects ways worth running.
    """
    north, east, heading = tracks(ways, asked)
    times = EACH_S * np.arange(north.shape[1])
    drift, begin = asked.ground.drift_m_s, transom_m(asked.ground)
    total: Floats = -turn_s(len(asked.fleet.cast.keys)) * (ways[:, 1::2] != 0.0).sum(axis=1)
    for rod, abeam in enumerate(trails.abeam_m):
        lag = round(trails.lag_s[rod] / EACH_S)
        then = heading[:, : heading.shape[1] - lag]
        # Until the lure reaches the boat's present place, it follows a straight behind her.
        at_n = north[:, : north.shape[1] - lag] - abeam * np.sin(then) + begin[0] + drift[0] * times[lag:]
        at_e = east[:, : east.shape[1] - lag] + abeam * np.cos(then) + begin[1] + drift[1] * times[lag:]
        total += EACH_S * trails.there(asked.floor, rod, at_n, at_e).sum(axis=1)
    for place, margin in asked.dangers_m:
        over_n = north + begin[0] + drift[0] * times
        over_e = east + begin[1] + drift[1] * times
        total[np.hypot(over_n - place[0], over_e - place[1]).min(axis=1) < margin + between_m(asked)] = -np.inf
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
        """What a search maximises."""
        worth = float(np.mean(self.wanted_s - TOUCHING * np.nansum(self.on_bottom_s, axis=1)))
        worth -= turn_s(self.by_rod_s.shape[1]) * sum(1 for leg in self.legs if leg.turn_rad)
        crossed = self.risk is not None and self.risk.any > 0.0
        return worth * CROSSING if crossed and worth > 0.0 else worth


def rated(
    asked: PassAsked,
    fleet: Fleet,
    legs: tuple[Leg, ...],
    *,
    beyond: float = -math.inf,
    around_m: Floats | None = None,
) -> Rated | None:
    """A way run with a fleet (``asked``'s or a part of its members); None where it comes too near a danger.

    ``beyond``: whether lines cross is asked only of ways worth more than this. Crossing makes no way worth more.
    ``around_m``: (rods, levels) how much deeper each lure may run than it does here, where one member stands for all.
    """
    speed = asked.speed_m_s
    path = track_of(legs, heading_rad=fleet.heading_rad, speed_m_s=speed, to_speed_m_s=speed)
    over = over_ground_m(path, asked.ground)
    if nears(over, asked.dangers_m):
        return None

    def aside_of(some: Fleet) -> Floats:
        return aside_m(some, path, speed)

    aside = aside_of(fleet)
    done = run(fleet, path, aside)
    weight = 0.5 * (np.append(path.step_s, 0.0) + np.insert(path.step_s, 0, 0.0))[:, None]
    by_rod, bottom = [], []
    for rod, key in enumerate(done.cast.keys):
        lure = lures_m(done, fleet, asked.ground, rod, aside)
        north, east, depth = lure[..., 0], lure[..., 1], lure[..., 2]
        under = asked.floor.depth_m(north, east)
        deep = depth[..., None] + (np.zeros(1) if around_m is None else around_m[rod])
        place = (north[..., None], east[..., None], deep, under[..., None])
        there = (weight * wanted(asked, *place).mean(axis=-1)).sum(axis=0)
        touching = (weight * (under[..., None] < deep + NEAR_M).mean(axis=-1)).sum(axis=0)
        if key in asked.on_bottom:
            touching = np.zeros(len(there))
        by_rod.append(np.where(done.known[:, rod], there, np.nan))
        bottom.append(np.where(done.known[:, rod], touching, np.nan))
    made = Rated(legs, path, over, np.stack(by_rod, axis=1), np.stack(bottom, axis=1), None)
    if made.worth <= beyond:
        return made
    found = closest(polylines(done), path.time_s, done.cast.strands, asked.required, resolve=1.0)
    closer = looked_at(fleet, done, found, asked.required, for_all=True, aside_m=aside_of)
    return replace(made, risk=Risk(done, found, closer))
