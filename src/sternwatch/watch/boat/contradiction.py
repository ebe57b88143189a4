"""Decides whether the log and the speed over ground can both be true, given what is believed of the current.

The innovation is the speed over ground less the log's speed times its believed scale. Both are medians of a few
seconds: a spike, or a paddle wheel that sticks now and then, does not bend a median. Its standard deviation covers
the uncertainty of the current along the course, of leeway and of the scale, and the scatter of those medians. Two
currents may explain the difference: the one found from legs, and the one believed before. A false log bends the one
that is found, so the two speeds contradict each other only where neither current explains them.
The test is a cumulative sum (Page 1954, from memory): time counts by how far the innovation is beyond what is stated
of both, and against it by how far it is within. A step is said as soon as a fixed time allows, a ramp a little later.
A log also fails when its readings jump from one to the next and those over ground do not, whatever its mean.
And the current of a minute ago is nearly the current of now. Where the difference has changed by more than water
and a turn can explain in so short a time, the log drifts or is stuck. The factor and the times
are chosen so that real recordings of a sound log raise nothing (`tests/watch/boat/test_sensor_faults.py`).
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from statistics import median
from typing import Final

from sternwatch.gear.values.units import Dimension, DisplaySystem

MEDIAN_S: Final = 6.0
HOLDS_S: Final = 11.0  # they must be far apart this long before it is said; sound recordings reach 7.9 s
CHANGE_HOLDS_S: Final = 12.0  # the same for a changed difference: a receiver's spike of some seconds is over by then
AGREES_S: Final = 20.0  # they must agree this long before it is over
# What is stated of both is two standard deviations of the current, of the scale and of the receiver, added up. For
# ordinary currents at trolling speeds that is 2.7 to 3.0 of the innovation's own. Time counts from a little less,
# since medians follow a ramp seconds late.
BEGINS_SD: Final = 2.6
FAR_SD: Final = 0.3  # this far beyond that is far apart: a second counts as one
# Above any trolling speed, receiver noise and wheel error grow by this share of the excess (from the recordings).
FASTER_M_S: Final = 2.5
FASTER_SHARE: Final = 0.1
CHANGE_SD: Final = 3.5
SCATTER_M_S: Final = 0.05
LEEWAY_SD_M_S: Final = 0.024
JUMPS_M_S: Final = 0.6  # standard deviation from one reading to the next; waves cause a third of this
LEAST_READINGS: Final = 4
# The earlier difference is the mean between these two times ago, on one course.
BEFORE_S: Final = (60.0, 40.0)
ONE_COURSE_DEG: Final = 25.0
LEAST_BEFORE: Final = 15
CURRENT_HOLDS_S: Final = 600.0  # the time in which a moving boat comes into another current: memory
PACE_SHARE: Final = 0.036  # share of the speed: how a log's error changes with the boat's pace, from the recordings
MOVING_M_S: Final = 0.6  # with both below this she drifts, and a paddle wheel may stand still


@dataclass(frozen=True, slots=True)
class Explains:
    """A current along the course that may explain the difference, and its standard deviation [m/s]."""

    along_m_s: float
    sd_m_s: float


@dataclass(frozen=True, slots=True)
class Was:
    """The earlier difference: when, on which course, and its mean [m/s]."""

    t_s: float
    course_deg: float
    off_m_s: float


@dataclass(slots=True)
class LogAgainstGround:
    """The test; a plain value. ``copy`` duplicates it."""

    log_m_s: float = math.nan  # the medians when last compared
    ground_m_s: float = math.nan
    stands: bool = False
    _logs: deque[tuple[float, float]] = field(default_factory=deque)
    _grounds: deque[tuple[float, float]] = field(default_factory=deque)
    # How long each test has asked for the other state, less how long it has not, never under 0. The first test uses
    # the current, the second the earlier difference.
    _for_s: float = 0.0
    _changed_for_s: float = 0.0
    _t_s: float | None = None
    _now_s: float = math.nan  # last comparison with the earlier difference; it stops while a contradiction stands
    _offs: deque[tuple[float, float, float]] = field(default_factory=deque)  # (t_s, course, difference), both moving
    _was: Was | None = None  # kept while a contradiction stands: it ends only when this difference comes back

    def copy(self) -> LogAgainstGround:
        """An independent copy in the same state."""
        return LogAgainstGround(
            self.log_m_s,
            self.ground_m_s,
            self.stands,
            self._logs.copy(),
            self._grounds.copy(),
            self._for_s,
            self._changed_for_s,
            self._t_s,
            self._now_s,
            self._offs.copy(),
            self._was,
        )

    def forget(self) -> None:
        """Drop the earlier difference: the crew has said what current runs now."""
        self._offs.clear()
        self._was = None

    def take_log(self, t_s: float, value_m_s: float) -> None:
        """Take a reading of the log."""
        self._logs.append((t_s, value_m_s))

    def take_ground(self, t_s: float, value_m_s: float) -> None:
        """Take a speed over ground."""
        self._grounds.append((t_s, value_m_s))

    def step(
        self,
        t_s: float,
        scale: float,
        scale_sd: float,
        explanations: tuple[Explains, ...],
        course_deg: float = 0.0,
        current_sd_m_s: float = 0.0,
    ) -> None:
        """Compare at feed time ``t_s``. Where one of the two is silent, nothing contradicts the other.

        ``course_deg``: over ground. ``current_sd_m_s``: of a current's component before anything was measured.
        """
        log, ground = _median(self._logs, t_s), _median(self._grounds, t_s)
        if log is None or ground is None:
            self.stands, self._t_s, self._was = False, None, None
            self._for_s = self._changed_for_s = 0.0
            self._offs.clear()
            return
        dt, self._t_s = 0.0 if self._t_s is None else t_s - self._t_s, t_s
        self.log_m_s, self.ground_m_s = log, ground
        off = ground - scale * log
        known = math.hypot(scale_sd * max(log, ground), FASTER_SHARE * max(max(log, ground) - FASTER_M_S, 0.0))
        jumps = _jump(self._logs) > JUMPS_M_S + _jump(self._grounds)
        least = min(
            abs(off - e.along_m_s) / math.sqrt(e.sd_m_s**2 + LEEWAY_SD_M_S**2 + known**2 + SCATTER_M_S**2)
            for e in explanations
        )
        changed = self._changed(t_s, course_deg, off, current_sd_m_s)
        apart = _share(least, jumps=jumps) if max(log, ground) > MOVING_M_S else -1.0
        if self.stands:
            apart = -1.0 if apart > 0.0 else 1.0
        self._for_s = max(self._for_s + dt * apart, 0.0)
        self._changed_for_s = max(self._changed_for_s + (dt if changed is not self.stands else -dt), 0.0)
        if self.stands:
            turned = min(self._for_s, self._changed_for_s) >= AGREES_S
        else:
            turned = self._for_s >= HOLDS_S or self._changed_for_s >= CHANGE_HOLDS_S
        if turned:
            self.stands = not self.stands
            self._for_s = self._changed_for_s = 0.0

    def _changed(self, t_s: float, course_deg: float, off: float, current_sd: float) -> bool:
        """Whether the difference has changed by more than water can explain.

        The earlier difference does not age while a contradiction stands. While she hardly moves nothing is decided.
        """
        if min(self.log_m_s, self.ground_m_s) <= MOVING_M_S:
            return self.stands and self._was is not None
        if not self.stands:
            self._now_s = t_s
            self._offs.append((t_s, course_deg, off))
            if not self._for_s and not self._changed_for_s:
                self._was = self._before(t_s)
        was = self._was
        if was is None:
            return False
        turned = math.radians(course_deg - was.course_deg)
        wander = 2.0 * current_sd**2 * -math.expm1((was.t_s - self._now_s) / CURRENT_HOLDS_S)
        turning = (2.0 * current_sd * math.sin(0.5 * turned)) ** 2
        pace = PACE_SHARE * max(self.log_m_s, self.ground_m_s)
        return abs(off - was.off_m_s) > CHANGE_SD * math.sqrt(wander + turning + pace**2 + 2.0 * SCATTER_M_S**2)

    def _before(self, t_s: float) -> Was | None:
        """The mean difference of `BEFORE_S` ago. None where she was not under way then, or turned."""
        while self._offs and self._offs[0][0] < t_s - BEFORE_S[0]:
            self._offs.popleft()
        old = [one for one in self._offs if one[0] <= t_s - BEFORE_S[1]]
        if len(old) < LEAST_BEFORE:
            return None
        first = old[0][1]
        turned = [math.remainder(course - first, 360.0) for _, course, _ in old]
        if max(turned) - min(turned) > ONE_COURSE_DEG:
            return None
        return Was(old[-1][0], first + sum(turned) / len(turned), sum(off for *_, off in old) / len(old))

    @property
    def apart_m_s(self) -> float:
        """The difference of the two speeds while they contradict each other, else 0."""
        return abs(self.ground_m_s - self.log_m_s) if self.stands else 0.0

    def words(self, units: DisplaySystem) -> str:
        """The contradiction in one line; empty while they agree."""
        if not self.stands:
            return ""
        log = units.show(self.log_m_s, Dimension.SPEED, 1, label=False)
        ground = units.show(self.ground_m_s, Dimension.SPEED, 1)
        return f"The log ({log}) and speed over ground ({ground}) contradict each other"


def _jump(values: deque[tuple[float, float]]) -> float:
    """Standard deviation of readings, from the steps between neighbours [m/s]. A ramp has hardly any."""
    if len(values) < LEAST_READINGS:
        return 0.0
    steps = [(values[i + 1][1] - values[i][1]) ** 2 for i in range(len(values) - 1)]
    return math.sqrt(0.5 * sum(steps) / len(steps))


def _share(least_sd: float, *, jumps: bool) -> float:
    """The share of the time that counts for a contradiction; negative where it counts against one."""
    return 1.0 if jumps else max(-1.0, min((least_sd - BEGINS_SD) / FAR_SD, 1.0))


def _median(values: deque[tuple[float, float]], t_s: float) -> float | None:
    while values and values[0][0] <= t_s - MEDIAN_S:
        values.popleft()
    return median(value for _, value in values) if values else None
