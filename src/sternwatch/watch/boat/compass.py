"""Decides whether the compass and the course over ground can both be true. While they cannot, the course counts.

The innovation is the angle between the heading and her way through the water: the velocity over ground less a
current. As for the log, two currents may explain the angle: the one found from legs some time ago, and the one
believed before. A false compass bends what is found now. The allowed angle is the sum of a compass's deviation, the
variation if the sensor says that it is magnetic, and the angle that an ordinary error of the current makes if it runs
wholly across her way. These limits are wide (judgement). With way on, a receiver's course is the surer of the two.

So the test does not find a compass that is ten degrees off. What it finds within twenty seconds is more than that
angle and a receiver's own scatter of 0.05 m/s, twice: 59 deg at 0.8 m/s, 53 deg at 1 m/s, 45 deg at 1.5 m/s and
42 deg at 2 m/s; 20 deg more where the heading is magnetic.
"""

from __future__ import annotations

import copy
import math
from collections import deque
from dataclasses import dataclass, field
from typing import Final

from sternwatch.watch.boat.verdict import MEAN_S, Verdict

COMPASS_DEG: Final = 30.0
VARIATION_DEG: Final = 20.0  # it is hardly ever more where boats troll (memory)
CURRENT_SD: Final = 2.0  # how many standard deviations of current may run across her way
LEAST_M_S: Final = 0.8  # below it she drifts, and a drifting boat points anywhere
FAR: Final = 4.0 / 3.0  # an angle this many times the allowed one counts as much more time


@dataclass(frozen=True, slots=True)
class Way:
    """Her way through the water if one belief of the current is true: its direction and speed, and that belief's
    standard deviation across it."""

    deg: float
    speed_m_s: float
    sd_m_s: float

    @classmethod
    def of(cls, course_deg: float, ground_m_s: float, current_m_s: tuple[float, float], sd_m_s: float) -> Way:
        """From the velocity over ground. ``current_m_s``: (north, east)."""
        a = math.radians(course_deg)
        north, east = ground_m_s * math.cos(a) - current_m_s[0], ground_m_s * math.sin(a) - current_m_s[1]
        return cls(math.degrees(math.atan2(east, north)), math.hypot(north, east), sd_m_s)

    def allowed_deg(self, speed_m_s: float) -> float:
        """How far an error of the current may turn her way. ``speed_m_s``: the lesser of log and ground."""
        slowest = min(self.speed_m_s, speed_m_s)
        return math.degrees(math.asin(min(CURRENT_SD * self.sd_m_s / slowest, 1.0))) if slowest > 0.0 else 90.0


@dataclass(slots=True)
class HeadingAgainstCourse:
    """The test; a plain value. ``copy`` duplicates it."""

    heading_deg: float = math.nan  # when last compared
    course_deg: float = math.nan
    _angles: deque[tuple[float, tuple[float, ...]]] = field(default_factory=deque)  # feed time, cosines of the angles
    _verdict: Verdict = field(default_factory=Verdict)

    def copy(self) -> HeadingAgainstCourse:
        """An independent copy in the same state."""
        return HeadingAgainstCourse(self.heading_deg, self.course_deg, self._angles.copy(), copy.copy(self._verdict))

    @property
    def stands(self) -> bool:
        """Whether the two contradict each other."""
        return self._verdict.stands

    def step(
        self,
        t_s: float,
        heading_deg: float | None,
        course_deg: float | None,
        speed_m_s: float,
        ways: tuple[Way, ...],
        *,
        magnetic: bool,
    ) -> None:
        """Compare at feed time ``t_s``. Where one is silent, or she drifts, the state stays.

        ``speed_m_s``: the lesser of log and ground. ``ways``: each explains the heading if it may; always as many.
        """
        dt = self._verdict.passed_s(t_s)
        if heading_deg is None or course_deg is None or speed_m_s < LEAST_M_S:
            self._angles.clear()
            return
        self.heading_deg, self.course_deg = heading_deg, course_deg
        self._angles.append((t_s, tuple(math.cos(math.radians(heading_deg - way.deg)) for way in ways)))
        while self._angles[0][0] <= t_s - MEAN_S:
            self._angles.popleft()
        own = COMPASS_DEG + (VARIATION_DEG if magnetic else 0.0)
        least = math.inf
        for k, way in enumerate(ways):
            mean = sum(cosines[k] for _, cosines in self._angles) / len(self._angles)
            angle = math.degrees(math.acos(mean))
            least = min(least, angle / (own + way.allowed_deg(speed_m_s)))
        self._verdict.ask(dt, apart=least > 1.0, weight=max(1.0, min(least, FAR)))

    @property
    def words(self) -> str:
        """The contradiction in one line; empty while they agree."""
        if not self.stands:
            return ""
        return f"Heading {self.heading_deg:03.0f}° and course {self.course_deg:03.0f}° contradict each other"
