"""Whether the log and the speed over ground can both be true, told from what is believed of the current.

The innovation is the difference of the two, the log's taken times its believed scale. Its standard deviation holds
what is not known of the current along the course, of leeway, of the scale, and the scatter of means of a few
seconds. The current may be the one told by legs or the one believed before: a current that was found explains a
difference, and a false log that has bent what was found does not, so both must fail to explain it before the two
are said to contradict each other. A log whose readings jump from one to the next, where the ground's do not, is no
speed either, whatever its mean. And the current of a minute ago is nearly that of now: a difference that has changed
by more than water and a turn make of it in so short a time is a log that drifts or stands. The factor and the times
are chosen so that real recordings of a sound log raise nothing (`tests/watch/boat/test_sensor_faults.py`).
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from typing import Final

from sternwatch.gear.values.units import Dimension, DisplaySystem

MEAN_S: Final = 6.0
HOLDS_S: Final = 12.0  # for so long means must disagree before it is said; less, down to three quarters, if by far
CHANGE_HOLDS_S: Final = 12.0  # and have changed: a receiver's spike of some seconds is gone by then
AGREES_S: Final = 20.0  # and agree before it is over
GATE_SD: Final = 3.25
FAR: Final = 4.0 / 3.0  # so many times the gate is far
# Faster than anybody trolls, a receiver's noise and a wheel's error grow by so much of the rest, from the recordings.
FASTER_M_S: Final = 2.5
FASTER_SHARE: Final = 0.1
CHANGE_SD: Final = 3.5
SCATTER_M_S: Final = 0.05
LEEWAY_SD_M_S: Final = 0.024
JUMPS_M_S: Final = 0.6  # the scatter from one reading to the next, as a standard deviation; waves make a third of it
LEAST_READINGS: Final = 4
# The difference as it was: its mean over so long, so long ago, on one course.
BEFORE_S: Final = (60.0, 40.0)
ONE_COURSE_DEG: Final = 25.0
LEAST_BEFORE: Final = 15
CURRENT_HOLDS_S: Final = 600.0  # within it, where she goes, a current becomes another one: memory
PACE_SHARE: Final = 0.036  # of the speed: how a log's error changes with the boat's pace, from the recordings
MOVING_M_S: Final = 0.6  # both below this: she drifts, and a paddle wheel may stand


@dataclass(frozen=True, slots=True)
class Explains:
    """A current along the course and how well it is known, as one explanation of the difference [m/s]."""

    along_m_s: float
    sd_m_s: float


@dataclass(frozen=True, slots=True)
class Was:
    """The difference as it was before: when, the course that was held, and the mean [m/s]."""

    t_s: float
    course_deg: float
    off_m_s: float


@dataclass(slots=True)
class LogAgainstGround:
    """The test; a plain value. ``copy`` duplicates it."""

    log_m_s: float = 0.0  # the means when last compared
    ground_m_s: float = 0.0
    stands: bool = False
    _logs: deque[tuple[float, float]] = field(default_factory=deque)
    _grounds: deque[tuple[float, float]] = field(default_factory=deque)
    # For how long the other state was asked for, less for how long it was not, never under 0: by what is told of the
    # current, and by what the difference was before.
    _for_s: float = 0.0
    _changed_for_s: float = 0.0
    _t_s: float | None = None
    _now_s: float = 0.0  # when the difference was last held against what it was, or when that was said
    _offs: deque[tuple[float, float, float]] = field(default_factory=deque)  # (t_s, course, difference), both moving
    _was: Was | None = None  # kept while a contradiction stands, so that it is over only when that comes back

    def copy(self) -> LogAgainstGround:
        """An independent one in the same state."""
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
        """Hold nothing against what was before: the crew has said what runs now."""
        self._offs.clear()
        self._was = None

    def take_log(self, t_s: float, value_m_s: float) -> None:
        """A reading of the log."""
        self._logs.append((t_s, value_m_s))

    def take_ground(self, t_s: float, value_m_s: float) -> None:
        """A speed over ground."""
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
        """Compare at feed time ``t_s``. With one of the two silent there is nothing to contradict the other.

        ``course_deg``: over ground. ``current_sd_m_s``: of a current's component before anything was told.
        """
        log, ground = _mean(self._logs, t_s), _mean(self._grounds, t_s)
        if log is None or ground is None:
            self.stands, self._for_s, self._changed_for_s, self._t_s, self._was = False, 0.0, 0.0, None, None
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
        apart = max(log, ground) > MOVING_M_S and (jumps or least > GATE_SD)
        weight = FAR if jumps else min(max(least / GATE_SD, 1.0), FAR)
        self._for_s = max(self._for_s + (dt * (weight if apart else 1.0) if apart is not self.stands else -dt), 0.0)
        self._changed_for_s = max(self._changed_for_s + (dt if changed is not self.stands else -dt), 0.0)
        if self.stands:
            turned = min(self._for_s, self._changed_for_s) >= AGREES_S
        else:
            turned = self._for_s >= HOLDS_S or self._changed_for_s >= CHANGE_HOLDS_S
        if turned:
            self.stands = not self.stands
            self._for_s = self._changed_for_s = 0.0

    def _changed(self, t_s: float, course_deg: float, off: float, current_sd: float) -> bool:
        """Whether the difference is another one than water makes of what it was.

        What it was does not grow old while a contradiction stands, and nothing is told of it while she hardly moves.
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
        turned = math.radians(math.remainder(course_deg - was.course_deg, 360.0))
        wander = 2.0 * current_sd**2 * -math.expm1((was.t_s - self._now_s) / CURRENT_HOLDS_S)
        turning = (2.0 * current_sd * math.sin(0.5 * turned)) ** 2
        pace = PACE_SHARE * max(self.log_m_s, self.ground_m_s)
        return abs(off - was.off_m_s) > CHANGE_SD * math.sqrt(wander + turning + pace**2 + 2.0 * SCATTER_M_S**2)

    def _before(self, t_s: float) -> Was | None:
        """The mean of what was `BEFORE_S` ago; None where she was not under way then, or turned."""
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
        """How far the two are from one another while they contradict each other, else 0."""
        return abs(self.ground_m_s - self.log_m_s) if self.stands else 0.0

    def words(self, units: DisplaySystem) -> str:
        """In one line; empty while they agree."""
        if not self.stands:
            return ""
        log = units.show(self.log_m_s, Dimension.SPEED, 1, label=False)
        ground = units.show(self.ground_m_s, Dimension.SPEED, 1)
        return f"The log ({log}) and speed over ground ({ground}) contradict each other"


def _jump(values: deque[tuple[float, float]]) -> float:
    """Standard deviation of readings as told by the steps between neighbours: a ramp has hardly any [m/s]."""
    if len(values) < LEAST_READINGS:
        return 0.0
    steps = [(values[i + 1][1] - values[i][1]) ** 2 for i in range(len(values) - 1)]
    return math.sqrt(0.5 * sum(steps) / len(steps))


def _mean(values: deque[tuple[float, float]], t_s: float) -> float | None:
    while values and values[0][0] <= t_s - MEAN_S:
        values.popleft()
    return sum(value for _, value in values) / len(values) if values else None
