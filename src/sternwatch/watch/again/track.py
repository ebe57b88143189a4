"""A way of legs as a track in time that a fleet can be run along."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sternwatch.watch.again.legs import HAIR, Leg
from sternwatch.watch.boat.manoeuvres import EARLY_S, LONGEST_EARLY_S, STEP_S, TURN_PER_STEP_RAD, Path

LONGEST_LATE_S = 4.0
SPEED_CHANGE_S = 8.0  # of throttle (memory)


def track_of(legs: Sequence[Leg], *, heading_rad: float, speed_m_s: float, to_speed_m_s: float) -> Path:
    """The track from (0, 0) along the legs. The speed changes evenly in the first seconds.

    Steps are as short as those of a manoeuvre. Raises ValueError where there is no way on.
    """
    if not to_speed_m_s > 0.0:
        raise ValueError(f"a way needs a speed above 0 m/s, not {to_speed_m_s}")
    t, at_north, at_east, heading, speed = 0.0, 0.0, 0.0, heading_rad, max(speed_m_s, 0.0)
    times, north, east, headings, speeds = [t], [at_north], [at_east], [heading], [speed]
    turned_at = -math.inf
    for leg in legs:
        left = leg.length_m
        while left > HAIR:
            if leg.turn_rad:
                rate = abs(leg.turn_rad) / leg.length_m * max(speed, 0.05)
                h = min(max(STEP_S, TURN_PER_STEP_RAD / rate), LONGEST_LATE_S)
                turned_at = t + h
            else:
                h = LONGEST_EARLY_S if t < turned_at + EARLY_S or t < EARLY_S else LONGEST_LATE_S
            if t < SPEED_CHANGE_S:
                h = min(h, STEP_S)
            after = _speed_at(t + h, speeds[0], to_speed_m_s)
            way = 0.5 * (speed + after) * h
            if way > left:
                h, way = h * left / way, left
                after = _speed_at(t + h, speeds[0], to_speed_m_s)
            bend = leg.turn_rad * way / leg.length_m
            half = 0.5 * bend
            chord = way * math.sin(half) / half if half else way
            at_north += chord * math.cos(heading + half)
            at_east += chord * math.sin(heading + half)
            heading += bend
            t += max(h, 1e-3)
            speed = after
            left -= way
            times.append(t)
            north.append(at_north)
            east.append(at_east)
            headings.append(heading)
            speeds.append(speed)
    return Path(np.array(times), np.array(north), np.array(east), np.array(headings), np.array(speeds), 0.0, t)


def _speed_at(t_s: float, before_m_s: float, to_m_s: float) -> float:
    return to_m_s if t_s >= SPEED_CHANGE_S else before_m_s + (to_m_s - before_m_s) / SPEED_CHANGE_S * t_s
