"""Steering a proposal: where the boat is on the way, what to steer, and how long to the turn and to the pass.

A way is fixed over ground. What is said to be steered allows for the current as it is found now, not as it was when
the way was planned, and comes so long before a turn as this helm takes to follow; both would else put her beside the
way for as long as they last, and the lure with her.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.again.legs import HAIR
from sternwatch.watch.boat.axes import share_along
from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.picture.manoeuvre import side_of

AHEAD_S = 5.0  # what is to be steered is where the way leads so soon, until it is known how this helm follows
MOST_AHEAD_S = 20.0
TURNS_RAD_S = math.radians(0.4)  # a course that is said changes as in a turn; only there it shows how a helm follows
LEARNT_S = 20.0
BACK_RAD_M = math.radians(1.5)  # per metre off the way, so much back to it ...
MOST_BACK_RAD = math.radians(25.0)  # ... at most
MOST_ASIDE_RAD = math.radians(50.0)  # that she points beside her way for the current
LOST_M = 50.0  # farther off the way it is planned anew
LOST_RAD = math.radians(75.0)
LOOK_BACK = 3  # samples
BAR_CELLS = 6  # cells of the bar to each side of the way


class Way(Protocol):
    """A way that can be steered."""

    @property
    def path(self) -> Path: ...
    @property
    def over_ground_m(self) -> NDArray[np.float64]:
        """(samples, 2) north, east in the plane of the soundings."""
        ...

    @property
    def time_s(self) -> float:
        """From its beginning to the pass, or to its end."""
        ...


@dataclass(frozen=True, slots=True)
class Steering:
    """What the helm should do now. ``lost``: she is too far off the way, which needs a new plan."""

    course_deg: float  # to steer, by the compass
    off_m: float  # to starboard of the way positive
    turn_in_s: float | None  # to the next turn, 0 while turning; None: straight on to the place
    turn_deg: float  # rest of that turn, to starboard positive
    pass_in_s: float  # or to the end of the way; negative: it was passed
    sample: int  # of the way
    lost: bool = False


@dataclass(slots=True)
class Helm:
    """How long after a course is said she heads it, learnt in the turns of this session."""

    follows_s: float = AHEAD_S
    _t_s: float = -math.inf
    _course_rad: float = math.nan

    def said(self, t_s: float, course_rad: float, heading_rad: float) -> None:
        """A course said at ``t_s``, and what she heads then."""
        since, before = t_s - self._t_s, self._course_rad
        self._t_s, self._course_rad = t_s, course_rad
        if not 0.0 < since <= 5.0:
            return
        rate = math.remainder(course_rad - before, math.tau) / since
        if abs(rate) < TURNS_RAD_S:
            return
        behind_s = math.remainder(course_rad - heading_rad, math.tau) / rate
        share = since / LEARNT_S
        self.follows_s += share * (min(max(behind_s, 0.0), MOST_AHEAD_S) - self.follows_s)


def steer(
    made: Way,
    place_m: tuple[float, float],
    heading_rad: float,
    since: int = 0,
    *,
    ahead_s: float = AHEAD_S,
    drift_m_s: tuple[float, float] | None = None,
) -> Steering:
    """The boat's transom at a place in the plane of the soundings.

    ``since``: the sample of the steering before; ``ahead_s``: how long she takes to follow; ``drift_m_s``: of the
    surface water over ground as it is found now (north, east), None: as it was planned.
    """
    over, path = made.over_ground_m, made.path
    begin = max(since - LOOK_BACK, 0)
    ahead = over[begin:]
    a, b = ahead[:-1], ahead[1:]
    along = share_along(a, b - a, np.array(place_m))
    off = np.hypot(*(np.array(place_m) - (a + along[:, None] * (b - a))).T)
    # The way may cross itself: take the piece that leads the way the boat points.
    away = np.abs(np.remainder(path.heading_rad[begin:-1] - heading_rad + math.pi, math.tau) - math.pi)
    k = int(np.argmin(off + 20.0 * (away > LOST_RAD)))
    sample, share = begin + k, float(along[k])
    now_s = float(path.time_s[sample] + share * path.step_s[sample])
    ground = math.atan2(b[k][1] - a[k][1], b[k][0] - a[k][0])
    side = (place_m[1] - a[k][1]) * math.cos(ground) - (place_m[0] - a[k][0]) * math.sin(ground)
    wanted = _heading_rad(made, now_s + ahead_s, drift_m_s)
    back = max(-MOST_BACK_RAD, min(side * BACK_RAD_M, MOST_BACK_RAD))
    turn_in, turn = _next_turn(made, now_s)
    lost = abs(side) > LOST_M or (turn_in != 0.0 and float(away[k]) > LOST_RAD)
    return Steering(
        course_deg=math.degrees(wanted - back) % 360.0,
        off_m=float(side),
        turn_in_s=turn_in,
        turn_deg=math.degrees(turn),
        pass_in_s=made.time_s - now_s,
        sample=sample,
        lost=lost and made.time_s > now_s,
    )


def _heading_rad(made: Way, t_s: float, drift_m_s: tuple[float, float] | None) -> float:
    """What she is to head so long after the way's beginning, so that she goes along it over ground."""
    path = made.path
    if drift_m_s is None:
        return float(np.interp(t_s, path.time_s, path.heading_rad))
    gone = np.diff(made.over_ground_m, axis=0)
    courses = np.unwrap(np.arctan2(gone[:, 1], gone[:, 0]))
    course = float(np.interp(t_s, 0.5 * (path.time_s[:-1] + path.time_s[1:]), courses))
    speed = max(float(np.interp(t_s, path.time_s, path.speed_m_s)), 0.1)
    across = drift_m_s[1] * math.cos(course) - drift_m_s[0] * math.sin(course)
    most = math.sin(MOST_ASIDE_RAD)
    return course - math.asin(max(-most, min(across / speed, most)))


def _next_turn(made: Way, now_s: float) -> tuple[float | None, float]:
    """Seconds to the next turn and how far it goes."""
    path = made.path
    bends = np.abs(np.diff(path.heading_rad)) > HAIR
    k = max(int(np.searchsorted(path.time_s, now_s, side="right")) - 1, 0)
    later = np.flatnonzero(bends[k:])
    if not len(later):
        return None, 0.0
    first = k + int(later[0])
    straight = np.flatnonzero(~bends[first:])
    last = first + int(straight[0]) if len(straight) else len(bends)
    begun = float(np.interp(max(now_s, path.time_s[first]), path.time_s, path.heading_rad))
    return max(float(path.time_s[first]) - now_s, 0.0), float(path.heading_rad[last]) - begun


# The words before the end of the way, and after it: of *again*, and of a whole pass.
ENDS, PASS_ENDS = ("pass in", "passed"), ("ends in", "it is over")


@dataclass(frozen=True, slots=True)
class Said:
    """A steering in words."""

    course: str  # "065°"
    off: str  # "12 ft left of it"
    turn: str  # "starboard 180° in 0:40"; empty where none is to come
    end: str  # "pass in 5:10"


def said(now: Steering, units: DisplaySystem, ends: tuple[str, str] = ENDS) -> Said:
    """What the helm reads of a way that is not lost."""
    off, turn = units.show(abs(now.off_m), Dimension.LENGTH), ""
    if now.turn_in_s is not None:
        side = side_of(now.turn_deg)
        when = "to go" if now.turn_in_s == 0.0 else f"in {m_ss(now.turn_in_s)}"
        turn = f"{side} {abs(now.turn_deg):.0f}° {when}"
    return Said(
        course=f"{round(now.course_deg) % 360:03d}°",
        off="on the way" if float(off.split()[0]) == 0 else f"{off} {'right' if now.off_m > 0 else 'left'} of it",
        turn=turn,
        end=f"{ends[0]} {m_ss(now.pass_in_s)}" if now.pass_in_s > 0 else ends[1],
    )


def steering_words(now: Steering, units: DisplaySystem, tag: str = "AGAIN", ends: tuple[str, str] = ENDS) -> str:
    """One line for the helm: "AGAIN steer 065° · 12 ft left of it · starboard 180° in 0:40 · pass in 5:10".

    ``tag``: the first word of the line.
    """
    if now.lost:
        return f"{tag} off the way: planned anew"
    told = said(now, units, ends)
    return f"{tag} " + " · ".join(part for part in (f"steer {told.course}", told.off, told.turn, told.end) if part)


def steering_bar(now: Steering) -> str:
    """The boat ``#`` beside the way ``|``, port to the left; beyond the ends a new plan is made: "[----|-#--]"."""
    if now.lost:
        return ""
    cells = ["-"] * (2 * BAR_CELLS + 1)
    cells[BAR_CELLS] = "|"
    cells[BAR_CELLS + max(-BAR_CELLS, min(round(now.off_m / LOST_M * BAR_CELLS), BAR_CELLS))] = "#"
    return f"[{''.join(cells)}]"
