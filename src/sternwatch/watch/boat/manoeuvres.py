"""Where the boat goes: tracks through the water for the manoeuvres of an outlook.

Tracks are those of the transom's centre in the frame that drifts with the surface water. The radius of a turn is
the transom's. Headings clockwise from north.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.picture.manoeuvre import PLAN, SPEED_CHANGE_S, Manoeuvre, Side

Floats = NDArray[np.float64]

AFTER_S = 120.0  # lines come closest 5 to 150 s after the turn is steadied
LEAST_S = 180.0
MOST_S = 600.0
LEAST_SPEED_M_S = 0.05  # a boat turns only with way on: below this the heading no longer changes

# Steps are short during a manoeuvre and just after it, when lines move most, and longer later. A turn is cut into
# equal angles. Steps of four degrees (4 s at 1 deg/s) change no ratio of distance to required by more than 0.01
# (measured against steps of a quarter of a second on turns of 60 to 120 m).
STEP_S = 1.0
TURN_PER_STEP_RAD = math.radians(4.0)
LONGEST_EARLY_S = 2.0
EARLY_S = 40.0
LONGEST_LATE_S = 4.0
LEAST_STEP_S = 1e-3
HAIR = 1e-9  # times and angles as near as this are the same


@dataclass(frozen=True, slots=True)
class Path:
    """A track that begins now, at sample 0. Arrays (samples,); ``step_s`` has one less."""

    time_s: Floats
    north_m: Floats  # from the present place
    east_m: Floats
    heading_rad: Floats  # not wrapped
    speed_m_s: Floats
    starts_s: float  # when the manoeuvre begins
    ends_s: float  # when course and speed are steady again

    @property
    def step_s(self) -> Floats:
        return np.diff(self.time_s)


def hold() -> Manoeuvre:
    """Keep the present course and speed."""
    return Manoeuvre("hold")


def is_held(manoeuvre: Manoeuvre) -> bool:
    """Whether it keeps the present course and speed from now on, whatever its name."""
    return (
        not (manoeuvre.turn_rad or manoeuvre.wait_s) and manoeuvre.to_speed_m_s is None and manoeuvre.stop_s is None
    )


def as_it_goes(
    rate_rad_s: float, acceleration_m_s2: float, speed_m_s: float, usual_m_s: tuple[float, float] | None = None
) -> Manoeuvre:
    """Continue the present turn to half a circle, and the present change of speed to its usual limit.

    ``usual_m_s``: the lowest and highest speed that helms use with lines out. A change stops there: a boat that slows
    for a fish does not stop.
    """
    turn = math.copysign(math.pi, rate_rad_s) if abs(rate_rad_s) >= LEAST_RATE_RAD_S else 0.0
    to_speed, change = None, SPEED_CHANGE_S
    if abs(acceleration_m_s2) >= LEAST_ACCELERATION_M_S2:
        gain = max(-speed_m_s, min(acceleration_m_s2 * CHANGE_LASTS_S, speed_m_s))
        to_speed = max(0.0, speed_m_s + gain)
        if usual_m_s is not None:
            slowest, fastest = min(usual_m_s[0], speed_m_s), max(usual_m_s[1], speed_m_s)
            to_speed = min(max(to_speed, slowest), fastest)
        change = abs((to_speed - speed_m_s) / acceleration_m_s2)
    return Manoeuvre(
        "as it goes", turn, abs(rate_rad_s) if turn else None, to_speed_m_s=to_speed, speed_change_s=max(change, 1.0)
    )


# A slower rate over ten seconds is wandering, not a turn (a boat yaws more than that on any course).
LEAST_RATE_RAD_S = math.radians(0.4)
LEAST_ACCELERATION_M_S2 = 0.01
CHANGE_LASTS_S = 15.0


def path_of(manoeuvre: Manoeuvre, *, heading_rad: float, speed_m_s: float, longest_s: float = LONGEST_LATE_S) -> Path:
    """The track of a manoeuvre that begins on this heading at this speed.

    Positions are exact for constant speed on straights and circles. Where the speed changes, each step uses its
    mean. No step is longer than ``longest_s``. The last ``AFTER_S`` run straight at the new speed. The track lasts at
    least ``LEAST_S`` and at most ``MOST_S`` from the manoeuvre's start.
    """
    start = manoeuvre.wait_s
    speeds = _speed_law(manoeuvre, speed_m_s)
    turn = abs(manoeuvre.turn_rad)
    rate = manoeuvre.rate_rad_s
    if manoeuvre.radius_m is not None:
        rate = None
    ramp_end = start + speeds[-1][0]
    times, headings = [0.0], [heading_rad]
    north, east, speed = [0.0], [0.0], [speed_m_s]
    turned, t, ended = 0.0, 0.0, start
    side = math.copysign(1.0, manoeuvre.turn_rad)
    while True:
        # Without way she does not turn: she waits for it, or the turn is given up.
        turning = t >= start - HAIR and turned < turn - HAIR and speed[-1] > LEAST_SPEED_M_S
        now_rate = math.inf
        if turning:
            now_rate = speed[-1] / manoeuvre.radius_m if manoeuvre.radius_m else (rate or _usual_rate(turn))
        busy = turning or t < ramp_end - HAIR
        steady = not busy and t >= start
        most = MOST_S + start
        horizon = min(max(ended + AFTER_S, LEAST_S + start), most) if steady else most
        if t >= horizon - HAIR:
            ended = ended if steady else t
            break
        h = min(_step(t, start, ended, busy, now_rate, horizon), longest_s)
        h = _to_mark(t, h, (start, *(start + s for s, _ in speeds)))
        fresh = _speed_at(speeds, t + h - start)
        mean = 0.5 * (speed[-1] + fresh)
        if turning and manoeuvre.radius_m:
            now_rate = mean / manoeuvre.radius_m
        if turning and now_rate * h > turn - turned:
            h = max((turn - turned) / now_rate, LEAST_STEP_S)
            fresh = _speed_at(speeds, t + h - start)
            mean = 0.5 * (speed[-1] + fresh)
        bend = side * min(now_rate * h, turn - turned) if turning else 0.0
        # The chord of an arc of length mean * h that turns by ``bend``.
        chord = mean * h * (math.sin(0.5 * bend) / (0.5 * bend) if bend else 1.0)
        along = headings[-1] + 0.5 * bend
        north.append(north[-1] + chord * math.cos(along))
        east.append(east[-1] + chord * math.sin(along))
        headings.append(headings[-1] + bend)
        turned += abs(bend)
        t += h
        times.append(t)
        speed.append(fresh)
        if busy:
            ended = t
    return Path(
        np.array(times), np.array(north), np.array(east), np.array(headings), np.array(speed), start, ended
    )  # fmt: skip


def _to_mark(t: float, h: float, marks: Iterable[float]) -> float:
    """A step of ``h`` from ``t``, cut short at a mark that it would pass."""
    for mark in marks:
        if t < mark - HAIR < t + h - HAIR:
            h = mark - t
    return h


def carried_off(path: Path) -> Floats:
    """(samples, 2) how far a drift of one metre a second, northward at first, carries a point.

    The drift turns with the boat and fades as she loses way. For another direction, turn the result.
    """
    now = path.speed_m_s[0]
    share = np.minimum(path.speed_m_s / now, 1.0) if now > LEAST_SPEED_M_S else np.ones_like(path.speed_m_s)
    turned = path.heading_rad - path.heading_rad[0]
    bend, middle = np.diff(turned), 0.5 * (turned[1:] + turned[:-1])
    chord = 0.5 * (share[1:] + share[:-1]) * path.step_s * np.sinc(bend / math.tau)
    gone = np.stack([chord * np.cos(middle), chord * np.sin(middle)], axis=1)
    return np.concatenate([np.zeros((1, 2)), np.cumsum(gone, axis=0)])


def _usual_rate(turn_rad: float) -> float:
    """The rate of turn; half a circle in two minutes where the manoeuvre gives none."""
    return max(turn_rad, math.pi / 2) / 120.0


def _speed_law(manoeuvre: Manoeuvre, speed_m_s: float) -> list[tuple[float, float]]:
    """(seconds from the start, speed) at the corners of the speed's course. The last speed is held."""
    change = max(manoeuvre.speed_change_s, 0.1)
    if manoeuvre.stop_s is not None:
        back = speed_m_s if manoeuvre.to_speed_m_s is None else manoeuvre.to_speed_m_s
        down = change
        return [(0.0, speed_m_s), (down, 0.0), (down + manoeuvre.stop_s, 0.0), (2 * down + manoeuvre.stop_s, back)]
    if manoeuvre.to_speed_m_s is None:
        return [(0.0, speed_m_s)]
    return [(0.0, speed_m_s), (change, manoeuvre.to_speed_m_s)]


def _speed_at(law: list[tuple[float, float]], since_s: float) -> float:
    """The speed so long after the start. Before it, it is the first one."""
    if since_s >= law[-1][0] or since_s <= law[0][0]:
        return law[-1][1] if since_s >= law[-1][0] else law[0][1]
    (from_s, before), (to_s, after) = next(leg for leg in pairwise(law) if since_s < leg[1][0])
    return (after - before) / (to_s - from_s) * (since_s - from_s) + before


def _step(t: float, start: float, ended: float, busy: bool, rate: float, horizon: float) -> float:
    if busy:
        longest = min(max(STEP_S, TURN_PER_STEP_RAD / rate), LONGEST_LATE_S)
    else:
        longest = LONGEST_EARLY_S if t < start or t < ended + EARLY_S else LONGEST_LATE_S
    return min(longest, max(horizon - t, LEAST_STEP_S))


def turn(side: Side, degrees: float, *, seconds: float | None = None, radius_m: float | None = None) -> Manoeuvre:
    """A planned turn, steered by time or by radius."""
    rad = math.radians(degrees)
    rate = rad / seconds if seconds else None
    return Manoeuvre(PLAN, rad if side == "starboard" else -rad, rate, radius_m)
