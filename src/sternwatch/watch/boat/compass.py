"""Whether the compass and the course over ground can both be true; while they cannot, the course counts.

The innovation is the angle between the two. What is allowed holds a compass's deviation, the variation where the
sensor says that it is magnetic, and the angle that an ordinary current makes, all of it across the way. These limits
are wide (judgement): a receiver's course is the surer of the two wherever she has way on, and a compass merely ten
degrees off is told by nobody here.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from typing import Final

MEAN_S: Final = 6.0
HOLDS_S: Final = 10.0  # so long the mean must be beyond what is allowed before it is said
AGREES_S: Final = 20.0  # and within before it is over
COMPASS_DEG: Final = 30.0
VARIATION_DEG: Final = 20.0  # hardly anywhere that boats troll is it more (memory)
CURRENT_SD: Final = 3.0  # so many standard deviations of current may run across the way
LEAST_M_S: Final = 0.8  # slower she drifts, and a drifting boat points anywhere


@dataclass(slots=True)
class HeadingAgainstCourse:
    """The test; a plain value. ``copy`` duplicates it."""

    heading_deg: float = 0.0  # when last compared
    course_deg: float = 0.0
    stands: bool = False
    _angles: deque[tuple[float, float]] = field(default_factory=deque)  # feed time, cosine of the angle
    _for_s: float = 0.0  # the other state was asked for, less for how long it was not; never under 0
    _t_s: float | None = None

    def copy(self) -> HeadingAgainstCourse:
        """An independent one in the same state."""
        return HeadingAgainstCourse(
            self.heading_deg, self.course_deg, self.stands, self._angles.copy(), self._for_s, self._t_s
        )

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
        """Compare at feed time ``t_s``. Where one is silent, or she drifts, what stood stands.

        ``speed_m_s``: the lesser of log and ground. ``current_m_s``: the most that may run across her way.
        """
        dt, self._t_s = 0.0 if self._t_s is None else t_s - self._t_s, t_s
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
        apart = mean < math.cos(math.radians(min(allowed, 180.0)))
        self._for_s = max(self._for_s + (dt if apart is not self.stands else -dt), 0.0)
        if self._for_s >= (AGREES_S if self.stands else HOLDS_S):
            self.stands, self._for_s = not self.stands, 0.0

    @property
    def words(self) -> str:
        """In one line; empty while they agree."""
        if not self.stands:
            return ""
        return f"Heading {self.heading_deg:03.0f}° and course {self.course_deg:03.0f}° contradict each other"
