"""Whether the log and the speed over ground can both be true, told from what is believed of the current.

The innovation is the difference of the two, the log's taken times its believed scale. Its standard deviation holds
what is not known of the current along the course, of leeway, of the scale, and the scatter of means of a few
seconds. The current may be the one told by legs or the one believed before: a current that was found explains a
difference, and a false log that has bent what was found does not, so both must fail to explain it before the two
are said to contradict each other. A log whose readings jump from one to the next, where the ground's do not, is no
speed either, whatever its mean. The factor and the times are chosen so that real recordings of a sound log raise
nothing (`tests/watch/boat/test_sensor_faults.py`).
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from typing import Final

from sternwatch.gear.values.units import Dimension, DisplaySystem

MEAN_S: Final = 6.0
HOLDS_S: Final = 9.0  # for so long means must disagree before it is said
AGREES_S: Final = 20.0  # and agree before it is over
GATE_SD: Final = 4.5
SCATTER_M_S: Final = 0.05
LEEWAY_SD_M_S: Final = 0.024
JUMPS_M_S: Final = 0.6  # the scatter from one reading to the next, as a standard deviation; waves make a third of it
LEAST_READINGS: Final = 4
MOVING_M_S: Final = 0.6  # both below this: she drifts, and a paddle wheel may stand


@dataclass(frozen=True, slots=True)
class Explains:
    """A current along the course and how well it is known, as one explanation of the difference [m/s]."""

    along_m_s: float
    sd_m_s: float


@dataclass(slots=True)
class LogAgainstGround:
    """The test; a plain value. ``copy`` duplicates it."""

    log_m_s: float = 0.0  # the means when last compared
    ground_m_s: float = 0.0
    stands: bool = False
    _logs: deque[tuple[float, float]] = field(default_factory=deque)
    _grounds: deque[tuple[float, float]] = field(default_factory=deque)
    _since_s: float | None = None  # since when the other state's condition holds

    def copy(self) -> LogAgainstGround:
        """An independent one in the same state."""
        return LogAgainstGround(
            self.log_m_s, self.ground_m_s, self.stands, self._logs.copy(), self._grounds.copy(), self._since_s
        )

    def take_log(self, t_s: float, value_m_s: float) -> None:
        """A reading of the log."""
        self._logs.append((t_s, value_m_s))

    def take_ground(self, t_s: float, value_m_s: float) -> None:
        """A speed over ground."""
        self._grounds.append((t_s, value_m_s))

    def step(self, t_s: float, scale: float, scale_sd: float, explanations: tuple[Explains, ...]) -> None:
        """Compare at feed time ``t_s``. With one of the two silent there is nothing to contradict the other."""
        log, ground = _mean(self._logs, t_s), _mean(self._grounds, t_s)
        if log is None or ground is None:
            self.stands, self._since_s = False, None
            return
        self.log_m_s, self.ground_m_s = log, ground
        off = ground - scale * log
        known = scale_sd * max(log, ground)
        jumps = _jump(self._logs) > JUMPS_M_S + _jump(self._grounds)
        unexplained = all(
            abs(off - e.along_m_s) > GATE_SD * math.sqrt(e.sd_m_s**2 + LEEWAY_SD_M_S**2 + known**2 + SCATTER_M_S**2)
            for e in explanations
        )
        apart = max(log, ground) > MOVING_M_S and (jumps or unexplained)
        if apart is self.stands:
            self._since_s = None
            return
        if self._since_s is None:
            self._since_s = t_s
        if t_s - self._since_s >= (AGREES_S if self.stands else HOLDS_S):
            self.stands, self._since_s = apart, None

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
