"""Means of ten seconds of sensor values of the boat's motion, and whether she held one course."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

WINDOW_S: Final = 10.0
# She turns where the halves of a window differ by more than this.
STEADY_RAD: Final = math.radians(8.0)
SPEED_STEADY_M_S: Final = 0.15
# After a turn she needs this many windows to find her speed again.
AFTER_TURN: Final = 1
LEAST_FIXES: Final = 5
# She trolls only within these speeds.
TROLLING_M_S: Final = (0.3, 3.0)


@dataclass(frozen=True, slots=True)
class Means:
    """The means of a closed window. None: not measured in it."""

    t_s: float
    usable: bool
    ground_m_s: tuple[float, float] = (math.nan, math.nan)
    ground_sd_m_s: float = math.nan  # of the mean, from the scatter of the fixes
    heading_rad: float | None = None
    log_m_s: float | None = None
    probe_m_s: float | None = None


@dataclass(slots=True)
class Window:
    """The open window. Times are feed times in order."""

    begun_s: float | None = None
    ground: list[tuple[float, float]] = field(default_factory=list)
    headings: list[tuple[float, float]] = field(default_factory=list)
    logs: list[float] = field(default_factory=list)
    probes: list[float] = field(default_factory=list)
    turning: int = 0  # windows to wait

    def copy(self) -> Window:
        return Window(
            self.begun_s, list(self.ground), list(self.headings), list(self.logs), list(self.probes), self.turning
        )

    def take_ground(self, sog_m_s: float, cog_deg: float) -> None:
        """Take a fix's speed and course."""
        a = math.radians(cog_deg)
        self.ground.append((sog_m_s * math.cos(a), sog_m_s * math.sin(a)))

    def take_heading(self, heading_deg: float) -> None:
        """Take a true heading."""
        a = math.radians(heading_deg)
        self.headings.append((math.cos(a), math.sin(a)))

    def close(self, t_s: float) -> Means | None:
        """The means if the window is full at ``t_s``, else None."""
        if self.begun_s is None:
            self.begun_s = t_s
            self._empty()
        if t_s - self.begun_s < WINDOW_S:
            return None
        made = self._means(t_s)
        self.begun_s = t_s
        self._empty()
        return made

    def _empty(self) -> None:
        for part in (self.ground, self.headings, self.logs, self.probes):
            part.clear()

    def _means(self, t_s: float) -> Means:
        count = len(self.ground)
        if count < LEAST_FIXES:
            return Means(t_s, usable=False)
        north, east = _mean(self.ground)
        speed = math.hypot(north, east)
        if not TROLLING_M_S[0] <= speed <= TROLLING_M_S[1]:
            return Means(t_s, usable=False)
        if not self._steady():
            self.turning = AFTER_TURN
            return Means(t_s, usable=False)
        if self.turning:
            self.turning -= 1
            return Means(t_s, usable=False)
        squares = sum((n - north) ** 2 + (e - east) ** 2 for n, e in self.ground) / 2.0
        heading = None
        if len(self.headings) >= LEAST_FIXES:
            c, s = _mean(self.headings)
            heading = math.atan2(s, c)
        return Means(
            t_s,
            usable=True,
            ground_m_s=(north, east),
            ground_sd_m_s=math.sqrt(squares / (count - 1) / count),
            heading_rad=heading,
            log_m_s=_scalar(self.logs),
            probe_m_s=_scalar(self.probes),
        )

    def _steady(self) -> bool:
        first, second = _mean(self.ground[: len(self.ground) // 2]), _mean(self.ground[len(self.ground) // 2 :])
        if abs(math.hypot(*first) - math.hypot(*second)) > SPEED_STEADY_M_S or _angle(first, second) > STEADY_RAD:
            return False
        half = len(self.headings) // 2
        if half < LEAST_FIXES // 2:
            return True
        return _angle(_mean(self.headings[:half]), _mean(self.headings[half:])) <= STEADY_RAD


def _mean(vectors: list[tuple[float, float]]) -> tuple[float, float]:
    return sum(v[0] for v in vectors) / len(vectors), sum(v[1] for v in vectors) / len(vectors)


def _angle(one: tuple[float, float], other: tuple[float, float]) -> float:
    return abs(math.remainder(math.atan2(one[1], one[0]) - math.atan2(other[1], other[0]), math.tau))


def _scalar(values: list[float]) -> float | None:
    return sum(values) / len(values) if len(values) >= LEAST_FIXES // 2 else None
