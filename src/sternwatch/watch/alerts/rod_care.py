"""When a rod needs care: it has left its zone, its line was not checked for long, or its lure runs too fast.

Nothing is measured twice: all follows from the moments that the watch keeps anyway.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

from sternwatch.logbook.crew.state import Crew, CrewRod
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.memory.moments import Moment

# Out of the zone for this long before it is said to have left it: waves and yaw carry a lure out and in (memory).
LEFT_AFTER_S = 60.0
# A line unchecked for this long may tow weed or a small fish (common practice, no source).
UNCHECKED_AFTER_S = 40 * 60.0
MEAN_S = 30.0
# With fewer samples than this the mean of half a minute says nothing.
LEAST_S = 25.0
# In a faster turn than this, speeds differ between rods by nature.
TURN_DEG_S = 1.0
CALM_AFTER_S = 30.0


@dataclass(slots=True)
class _Rod:
    in_zone_s: float | None = None  # when it was last in the zone, since it went out
    speeds: deque[tuple[float, float]] = field(default_factory=deque)


@dataclass(slots=True)
class RodCare:
    """What this needs to remember of every rod, by key. Only ``step`` changes it."""

    rods: dict[str, _Rod] = field(default_factory=dict)
    restless_s: float = -math.inf  # when the boat last turned, a line last moved, or a fish was last on

    def copy(self) -> RodCare:
        rods = {key: _Rod(rod.in_zone_s, rod.speeds.copy()) for key, rod in self.rods.items()}
        return RodCare(rods, self.restless_s)

    def step(
        self, moment: Moment, crew: Crew, chains: Iterable[RodChain], zone_c: tuple[float, float] | None
    ) -> None:
        """Update the memory with one step's moment."""
        t_s, rate, zone = moment.t_s, moment.rate_of_turn_deg_s, zone_c
        fishing = all(mine.state in ("in", "fishing") for mine in crew.rods.values())
        if (rate is not None and abs(rate) > TURN_DEG_S) or not fishing or any(c.moving for c in chains):
            self.restless_s = t_s
        for key, rod in moment.rods.items():
            if not rod.in_water:
                self.rods.pop(key, None)
                continue
            mine = self.rods.setdefault(key, _Rod())
            if zone is not None and rod.temperature_c is not None and zone[0] <= rod.temperature_c <= zone[1]:
                mine.in_zone_s = t_s
            if rod.lure_speed_m_s is not None:
                mine.speeds.append((t_s, rod.lure_speed_m_s))
            while mine.speeds and mine.speeds[0][0] <= t_s - MEAN_S:
                mine.speeds.popleft()

    def left_zone_s(self, key: str, in_zone: bool | None, t_s: float) -> float | None:
        """How long ago a rod left the zone. None where it has not left it, or where that is not known."""
        mine = self.rods.get(key)
        if in_zone is not False or mine is None or mine.in_zone_s is None:
            return None
        gone = t_s - mine.in_zone_s
        return gone if gone >= LEFT_AFTER_S else None

    def mean_speed_m_s(self, key: str, t_s: float) -> float | None:
        """The lure's mean speed through the water over half a minute. None while things move or are not known."""
        mine = self.rods.get(key)
        if mine is None or t_s - self.restless_s < CALM_AFTER_S:
            return None
        if not mine.speeds or mine.speeds[-1][0] < t_s or t_s - mine.speeds[0][0] < LEAST_S:
            return None
        return sum(speed for _, speed in mine.speeds) / len(mine.speeds)


def unchecked(mine: CrewRod, t_s: float) -> bool:
    """Whether a line has been out for so long without being set or checked that it may drag weed."""
    seen = [when.elapsed_s for when in (mine.set_at, mine.checked_at) if when is not None]
    last = max((s for s in seen if s is not None), default=None)
    return mine.state != "in" and last is not None and t_s - last >= UNCHECKED_AFTER_S
