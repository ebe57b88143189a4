"""Whether a chain will come down to the bottom as the boat turns, slows or goes on.

Its tackle's forecast way is held against what was sounded where it goes.

Depths are medians of the members; one sounding alone never counts, and where nothing was sounded nothing is said.
"""

from __future__ import annotations

import math
from collections.abc import Container
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.feed.readings import Quantity
from sternwatch.watch.boat import usable
from sternwatch.watch.outlook import Forecast, RodForecast
from sternwatch.watch.soundings import Sounding, Soundings

if TYPE_CHECKING:
    from sternwatch.watch.engine import Watch

Floats = NDArray[np.float64]

LOOK_S = 180.0
LOOK_EVERY_S = 3.0
# Nearer to the bottom than this counts as touching it: a sounder's own error on soft ground (memory).
NEAR_M = 0.5
AGREEING = 2  # soundings that must say the same
# Under the lines, as one level for the slowest speed: what all but this share of the last minutes' soundings exceed.
LEVEL_S = 120.0
LEVEL_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Ground:
    """Where the boat is over ground and what it has sounded; taken on the watch's thread, read on another.

    ``soundings`` is a copy that shares what is there and never sees what comes.
    """

    t_s: float
    place_m: tuple[float, float]  # north, east of the antenna in the soundings' plane
    heading_rad: float
    antenna_m: float  # forward of the transom
    drift_m_s: tuple[float, float]  # of the surface water over ground, as far as course and speed tell it
    soundings: Soundings


@dataclass(frozen=True, slots=True)
class Touch:
    """A rod whose tackle comes to the bottom."""

    key: str
    time_s: float  # from now; 0: it is there already
    by_m: float  # how much it must come up to keep ``NEAR_M`` all along


def ground_of(watch: Watch) -> Ground | None:
    """None where the boat's place is not known or nothing was sounded."""
    if watch.place_m is None or watch.t_s is None or not len(watch.soundings):
        return None
    sensors = watch.board.table(watch.t_s)
    sog, course = usable(sensors.get(Quantity.SOG)), usable(sensors.get(Quantity.COG))
    drift = (0.0, 0.0)
    if sog is not None and course is not None:
        a = math.radians(course)
        north, east = watch.boat.velocity_m_s
        drift = (sog * math.cos(a) - north, sog * math.sin(a) - east)
    return Ground(
        watch.t_s,
        watch.place_m,
        math.radians(watch.boat.heading_deg),
        watch.setup.spread.boat.antenna_m,
        drift,
        watch.soundings.copy(),
    )


def level_m(ground: Ground | None) -> float | None:
    """One depth for the bottom under the lines now; None where too little was sounded."""
    if ground is None:
        return None
    recent = [s.depth_m for s in _last(ground, LEVEL_S)]
    return float(np.quantile(recent, LEVEL_SHARE)) if len(recent) >= AGREEING else None


def touches(made: Forecast, ground: Ground, on_bottom: Container[str] = ()) -> tuple[Touch, ...]:
    """Every rod that comes to the bottom within ``LOOK_S``, in file order; those fished on it are left out."""
    times = np.arange(0.0, min(LOOK_S, float(made.time_s[-1])) + 1e-9, LOOK_EVERY_S)
    found = (_touch(rod, made.time_s, times, ground) for rod in made.rods if rod.key not in on_bottom)
    return tuple(touch for touch in found if touch is not None)


def _touch(rod: RodForecast, sampled_s: Floats, times: Floats, ground: Ground) -> Touch | None:
    if rod.bodies_m is None:
        return None
    first, by = math.inf, 0.0
    for way in rod.bodies_m:
        astern, abeam, depth = (np.interp(times, sampled_s, way[:, column]) for column in range(3))
        north, east = _over_ground(ground, times, astern, abeam)
        bottom, seen = _bottom(ground, north, east)
        over = depth + NEAR_M - bottom
        under = np.flatnonzero(over > 0.0)  # an unknown bottom is nan, which is never more
        sounded = {seen[k] for k in under if seen[k] is not None}
        if len(sounded) < AGREEING:
            continue
        first, by = min(first, float(times[under[0]])), max(by, float(over[under].max()))
    return Touch(rod.key, first, by) if math.isfinite(first) else None


def _over_ground(ground: Ground, times: Floats, astern: Floats, abeam: Floats) -> tuple[Floats, Floats]:
    c, s = math.cos(ground.heading_rad), math.sin(ground.heading_rad)
    forward = -astern - ground.antenna_m
    north = ground.place_m[0] + forward * c - abeam * s + ground.drift_m_s[0] * times
    east = ground.place_m[1] + forward * s + abeam * c + ground.drift_m_s[1] * times
    return north, east


def _bottom(ground: Ground, north: Floats, east: Floats) -> tuple[Floats, list[Sounding | None]]:
    """Depth of the bottom at places (nan: not known), and the sounding that says so."""
    depth = np.full(len(north), np.nan)
    seen: list[Sounding | None] = []
    for k, (n, e) in enumerate(zip(north.tolist(), east.tolist(), strict=True)):
        sounding = ground.soundings.near(n, e)
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
