"""Decides whether the compass and the course over ground can both be true. While they cannot, the course counts.

The innovation is the angle between the two. The allowed angle is the sum of a compass's deviation, the variation if
the sensor says that it is magnetic, and the angle that an ordinary current makes if it runs wholly across her way.
These limits are wide (judgement). With way on, a receiver's course is the surer of the two. The test does not find a
compass that is only ten degrees off.
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


@dataclass(slots=True)
class HeadingAgainstCourse:
    """The test; a plain value. ``copy`` duplicates it."""

    heading_deg: float = 0.0  # when last compared
    course_deg: float = 0.0
    _angles: deque[tuple[float, float]] = field(default_factory=deque)  # feed time, cosine of the angle
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
        current_m_s: float,
        *,
        magnetic: bool,
    ) -> None:
        """Compare at feed time ``t_s``. Where one is silent, or she drifts, the state stays.

        ``speed_m_s``: the lesser of log and ground. ``current_m_s``: the most that may run across her way.
        """
        dt = self._verdict.passed_s(t_s)
        if heading_deg is None or course_deg is None or speed_m_s < LEAST_M_S:
            self._angles.clear()
            return
        self.heading_deg, self.course_deg = heading_deg, course_deg
        self._angles.append((t_s, math.cos(math.radians(heading_deg - course_deg))))
        while self._angles[0][0] <= t_s - MEAN_S:
            self._angles.popleft()
        allowed = COMPASS_DEG + math.degrees(math.asin(min(current_m_s / speed_m_s, 1.0)))
        if magnetic:
            allowed += VARIATION_DEG
        mean = sum(cosine for _, cosine in self._angles) / len(self._angles)
        self._verdict.ask(dt, apart=mean < math.cos(math.radians(min(allowed, 180.0))))

    @property
    def words(self) -> str:
        """The contradiction in one line; empty while they agree."""
        if not self.stands:
            return ""
        return f"Heading {self.heading_deg:03.0f}° and course {self.course_deg:03.0f}° contradict each other"
