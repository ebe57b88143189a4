"""Wind and waves as functions of time: seeded and without state, so that moments can be computed in any order.

Waves move a small boat about her mean course at the frequencies at which she meets them. Gusts come and go over a
minute or two. Both are sums of sines with random phases, the usual way to make a sea of a given spectrum (Fossen,
Handbook of Marine Craft Hydrodynamics and Motion Control, 2011, chapter 8, which also adds the wave-frequency motion
to the low-frequency one).
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

# The response of an 8 m boat to waves at trolling speed: root mean square per metre of significant height (memory).
YAW_DEG_PER_M = 8.0
SURGE_M_S_PER_M = 0.22
COMPONENTS = 7


@dataclass(frozen=True, slots=True)
class Sines:
    """A sum of sines with zero mean and a given root mean square."""

    amplitude: tuple[float, ...]
    omega: tuple[float, ...]
    phase: tuple[float, ...]

    @classmethod
    def around(cls, rng: random.Random, rms: float, period_s: float, width: float = 0.35) -> Sines:
        """Sines with periods around ``period_s``, spread by the share ``width`` to either side."""
        share = [rng.uniform(0.5, 1.0) for _ in range(COMPONENTS)]
        norm = math.sqrt(2.0) * rms / math.sqrt(sum(a * a for a in share))
        omega = [2.0 * math.pi / (period_s * (1.0 + width * rng.uniform(-1.0, 1.0))) for _ in share]
        phase = [rng.uniform(0.0, 2.0 * math.pi) for _ in share]
        return cls(tuple(norm * a for a in share), tuple(omega), tuple(phase))

    def at(self, t_s: float) -> float:
        """The sum at a time."""
        return sum(a * math.sin(w * t_s + p) for a, w, p in zip(self.amplitude, self.omega, self.phase, strict=True))

    def integral(self, t_s: float) -> float:
        """An antiderivative of the sum, with zero mean."""
        return -sum(
            a / w * math.cos(w * t_s + p) for a, w, p in zip(self.amplitude, self.omega, self.phase, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Squall:
    """A rising wind: from ``at_s`` on, over ``over_s``, to ``speed_m_s``."""

    at_s: float
    over_s: float
    speed_m_s: float


@dataclass(frozen=True, slots=True)
class Sea:
    """Wind, and the boat's motion in waves."""

    wind_m_s: float
    wind_from_deg: float
    gust: Sines  # m/s
    veer: Sines  # deg
    yaw: Sines  # deg
    surge: Sines  # m/s
    squall: Squall | None = None

    @classmethod
    def made(
        cls, seed: int, wind_m_s: float, wind_from_deg: float, height_m: float, period_s: float,
        squall: Squall | None = None,
    ) -> Sea:  # fmt: skip
        """A sea from its significant height, mean period of encounter and wind."""
        rng = random.Random(f"{seed} sea")
        return cls(
            wind_m_s,
            wind_from_deg,
            gust=Sines.around(rng, 0.15 * wind_m_s, 60.0, 0.6),
            veer=Sines.around(rng, 6.0, 90.0, 0.6),
            yaw=Sines.around(rng, YAW_DEG_PER_M * height_m, 1.4 * period_s),
            surge=Sines.around(rng, SURGE_M_S_PER_M * height_m, period_s),
            squall=squall,
        )

    def wind(self, t_s: float) -> tuple[float, float]:
        """The (north, east) velocity of the air [m/s]."""
        speed = self.wind_m_s + self.gust.at(t_s)
        if self.squall is not None:
            risen = min(max((t_s - self.squall.at_s) / max(self.squall.over_s, 1.0), 0.0), 1.0)
            speed += risen * (self.squall.speed_m_s - self.wind_m_s)
        towards = math.radians(self.wind_from_deg + self.veer.at(t_s) + 180.0)
        speed = max(speed, 0.0)
        return speed * math.cos(towards), speed * math.sin(towards)
