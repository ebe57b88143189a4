"""Decides whether a chain will touch the bottom as the boat turns, slows or goes on.

It compares the forecast path of the tackle with the soundings along that path.

Depths are medians of the members. A single sounding never counts. Where nothing was sounded, it says nothing.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.bottom.soundings import REACH_M, Sounding, Soundings
from sternwatch.watch.chains.ensemble import Run
from sternwatch.watch.forecast.make import ways
from sternwatch.watch.picture.outlook import Forecast, Touch

Floats = NDArray[np.float64]

LOOK_S = 180.0
LOOK_EVERY_S = 3.0
# This near to the bottom counts as touching it: a sounder's own error on soft ground (memory).
NEAR_M = 0.5
AGREEING = 2  # this many soundings must agree
# For the slowest speed the bottom is one level: all but this share of the last minutes' soundings are deeper.
LEVEL_S = 120.0
LEVEL_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Ground:
    """Where the boat is over ground, and her soundings. Taken on the watch's thread, read on another.

    ``soundings`` is a copy that shares present soundings and never gets later ones.
    """

    t_s: float
    place_m: tuple[float, float]  # north, east of the antenna in the soundings' plane
    heading_rad: float
    antenna_m: float  # forward of the transom
    drift_m_s: tuple[float, float]  # of the surface water over ground, as far as course and speed give it
    soundings: Soundings


def ground_of(t_s: float, bottom: Bottom, boat: Boat, *, unsounded: bool = False) -> Ground | None:
    """None where the boat's place is not known or, unless ``unsounded``, nothing was sounded."""
    if bottom.over.place_m is None or not (len(bottom.soundings) or unsounded):
        return None
    return Ground(
        t_s,
        bottom.over.place_m,
        math.radians(boat.heading_deg),
        bottom.over.antenna_m,
        boat.drift.now_m_s or (0.0, 0.0),
        bottom.soundings.copy(),
    )


def level_m(ground: Ground | None) -> float | None:
    """One depth for the bottom under the lines now. None with too few soundings."""
    if ground is None:
        return None
    recent = [s.depth_m for s in _last(ground, LEVEL_S)]
    return float(np.quantile(recent, LEVEL_SHARE)) if len(recent) >= AGREEING else None


def on_purpose(spread: Spread) -> frozenset[str]:
    """Rods that are fished on the bottom on purpose."""
    return frozenset(rod.key for rod in spread.rods if rod.bottom is not None)


def touches(made: Forecast, ground: Ground, on_bottom: Container[str] = ()) -> tuple[Touch, ...]:
    """Every rod that touches the bottom within ``LOOK_S``, in file order, without those fished on it."""
    ways_of = ((rod.key, rod.bodies_m) for rod in made.rods if rod.bodies_m is not None)
    return _all_that_touch(ways_of, made.time_s, ground, on_bottom)


def run_touches(
    done: Run, ground: Ground, on_bottom: Container[str] = (), look_s: float = LOOK_S
) -> tuple[Touch, ...]:
    """The same for a run without a forecast, for a given time ahead."""
    medians = (
        (key, np.moveaxis(np.median(ways(done, rod)[:, done.known[:, rod]], axis=1), 0, 1))
        for rod, key in enumerate(done.cast.keys)
        if done.known[:, rod].any()
    )
    return _all_that_touch(medians, done.path.time_s, ground, on_bottom, look_s)


def _all_that_touch(
    ways_of: Iterable[tuple[str, Floats]],
    sampled_s: Floats,
    ground: Ground,
    on_bottom: Container[str],
    look_s: float = LOOK_S,
) -> tuple[Touch, ...]:
    found = []
    for key, bodies in ways_of:
        met = _Met() if key in on_bottom else _meets(ground, ground.drift_m_s, sampled_s, bodies, look_s=look_s)
        if math.isfinite(met.first_s):
            found.append(Touch(key, met.first_s, met.by_m))
    return tuple(found)


def raised_by(done: Run, key: str, ground: Ground) -> tuple[Floats, float]:
    """How far each member's tackle must come up to clear the bottom, and the share of its path that is sounded.

    (M,): 0 where it does not touch, nan where its chain is unknown. The share is that of the worst
    member: nothing can be said of a path that nobody has sounded.
    """
    rod = done.cast.keys.index(key)
    heading, speed = done.path.heading_rad[0], done.path.speed_m_s[0]
    nominal = speed * np.array([math.cos(heading), math.sin(heading)])
    way, by, sounded = ways(done, rod), np.full(done.cast.members, np.nan), 1.0
    for member in np.flatnonzero(done.known[:, rod]):
        # The ground passes at the same velocity for every member, whatever current it believes in.
        begun = (done.track[1, member, :2] - done.track[0, member, :2]) / done.path.step_s[0]
        drift = np.array(ground.drift_m_s) + nominal - begun
        met = _meets(
            ground,
            (float(drift[0]), float(drift[1])),
            done.path.time_s,
            np.moveaxis(way[:, member], 0, 1),
            all_of_it=True,
        )
        by[member], sounded = met.by_m, min(sounded, met.sounded)
    return by, sounded


@dataclass(frozen=True, slots=True)
class _Met:
    """What tackle meets on its path."""

    first_s: float = math.inf
    by_m: float = 0.0
    sounded: float = 1.0  # share of the path with known bottom


def _meets(
    ground: Ground,
    drift_m_s: tuple[float, float],
    sampled_s: Floats,
    bodies_m: Floats,
    *,
    all_of_it: bool = False,
    look_s: float = LOOK_S,
) -> _Met:
    """What bodies (n, samples, 3) meet on their paths over ground that drifts under them.

    A path that is shoaler than all soundings around it is not examined closely, unless ``all_of_it``.
    """
    times = np.arange(0.0, min(look_s, float(sampled_s[-1])) + 1e-9, LOOK_EVERY_S)
    first, by, sounded = math.inf, 0.0, 1.0
    for way in bodies_m:
        astern, abeam, depth = (np.interp(times, sampled_s, way[:, column]) for column in range(3))
        north, east = _over_ground(ground, drift_m_s, times, astern, abeam)
        if not all_of_it and depth.max() + NEAR_M <= _shoalest(ground, north, east):
            continue
        bottom, seen = _bottom(ground, north, east)
        sounded = min(sounded, float(np.mean(np.isfinite(bottom))))
        over = depth + NEAR_M - bottom
        under = np.flatnonzero(over > 0.0)  # an unknown bottom is nan, which never counts as touched
        if len({seen[k] for k in under if seen[k] is not None}) >= AGREEING:
            first, by = min(first, float(times[under[0]])), max(by, float(over[under].max()))
    return _Met(first, by, sounded)


def _shoalest(ground: Ground, north: Floats, east: Floats) -> float:
    """No sounding around a path is shoaler than this."""
    middle = float(north.max() + north.min()) / 2.0, float(east.max() + east.min()) / 2.0
    return ground.soundings.shoalest_m(*middle, float(max(np.ptp(north), np.ptp(east))) / 2.0 + REACH_M)


def _over_ground(
    ground: Ground, drift_m_s: tuple[float, float], times: Floats, astern: Floats, abeam: Floats
) -> tuple[Floats, Floats]:
    c, s = math.cos(ground.heading_rad), math.sin(ground.heading_rad)
    forward = -astern - ground.antenna_m
    north = ground.place_m[0] + forward * c - abeam * s + drift_m_s[0] * times
    east = ground.place_m[1] + forward * s + abeam * c + drift_m_s[1] * times
    return north, east


def _bottom(ground: Ground, north: Floats, east: Floats) -> tuple[Floats, list[Sounding | None]]:
    """Depth of the bottom at places (nan: not known), and the sounding or the place of a grid that says so."""
    depth = np.full(len(north), np.nan)
    seen: list[Sounding | None] = []
    for k, (n, e) in enumerate(zip(north.tolist(), east.tolist(), strict=True)):
        sounding = ground.soundings.near(n, e) or ground.soundings.imported(n, e)
        seen.append(sounding)
        if sounding is not None:
            depth[k] = sounding.depth_m
    return depth, seen


def _last(ground: Ground, seconds: float) -> list[Sounding]:
    """The soundings of the last seconds, newest first."""
    found = []
    for sounding in ground.soundings.back():
        if sounding.t_s is None or sounding.t_s < ground.t_s - seconds:
            break
        found.append(sounding)
    return found
