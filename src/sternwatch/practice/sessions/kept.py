"""Keeps what really happens in a practice session, moment by moment, to look back at afterwards."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sternwatch.practice.world.tally import vessel_away_m
from sternwatch.practice.world.world import World
from sternwatch.watch.picture.outlook import Limits, Outlook, SideLimit

Floats = NDArray[np.float64]

EVERY_S: Final = 2.0
REMEMBERED: Final = 1800  # moments: an hour
TURN_S: Final = 10.0  # turns are given over this time, as on the helm


@dataclass(frozen=True, slots=True)
class Allowed:
    """What the outlook allowed at a moment; nan where it found nothing within the risk.

    ``port_deg`` and ``starboard_deg`` are turns in ten seconds. ``speed_m_s`` is the slowest speed through the water,
    None where no speed was too slow. ``risk`` is the risk that they allow.
    """

    port_deg: float
    starboard_deg: float
    speed_m_s: float | None
    risk: float

    @classmethod
    def of(cls, limits: Limits) -> Allowed:
        """Make it from the helm's outlook."""
        slow = limits.slowest
        speed = None if not slow.limited_by else np.nan if slow.speed_m_s is None else slow.speed_m_s
        return cls(_in_ten(limits.port), _in_ten(limits.starboard), speed, limits.risk)

    def turn_deg(self, turned_deg: float) -> float:
        """The limit to the side of a turn, positive to starboard."""
        return self.starboard_deg if turned_deg > 0.0 else self.port_deg


def _in_ten(side: SideLimit) -> float:
    return float("nan") if side.rate_deg_s is None else TURN_S * side.rate_deg_s


@dataclass(frozen=True, slots=True)
class Moment:
    """The truth at one moment of the drill."""

    drill_s: float
    turned_deg: float  # in the ten seconds before, positive to starboard
    speed_m_s: float  # through the water
    allowed: Allowed | None  # None: no limits were computed
    held_s: float | None  # how long the goal has held; None: it does not hold
    vessel_m: float | None
    room_m: Mapping[str, float]  # bottom under each lure minus its depth
    depth_m: Mapping[str, float]
    shapes_m: Mapping[str, Floats]  # (nodes, 3) astern, to starboard, down


@dataclass(slots=True)
class Kept:
    """The moments of a session, oldest first. ``take`` may be called as often as the world steps."""

    moments: deque[Moment] = field(default_factory=lambda: deque(maxlen=REMEMBERED))
    _headings: deque[tuple[float, float]] = field(default_factory=deque)

    def take(self, world: World, outlook: Outlook | None = None) -> None:
        """Keep this moment if one is due. ``outlook``: the outlook that the crew saw."""
        now = world.drill_s
        if not self._headings or now - self._headings[-1][0] >= 0.5:
            self._headings.append((now, world.boat.turned_deg))
            while len(self._headings) > 2 and self._headings[1][0] <= now - TURN_S:
                self._headings.popleft()
        if now < 0.0 or (self.moments and now - self.moments[-1].drill_s < EVERY_S - 1e-6):
            return
        since, heading = self._headings[0]
        turned = (world.boat.turned_deg - heading) * TURN_S / max(now - since, TURN_S)
        places = world.below.places
        chains = world.below.chains
        self.moments.append(
            Moment(
                now, turned, world.boat.surge_m_s,
                None if outlook is None or outlook.limits is None else Allowed.of(outlook.limits),
                world.tally.held_s, vessel_away_m(world.drill, now, world.place_m),
                {key: place.clearance_m for key, place in places.items()},
                {key: place.depth_m for key, place in places.items()},
                {key: place.shape_m for key in places if (place := chains[key].place) is not None},
            )
        )  # fmt: skip

    def between(self, from_s: float, to_s: float) -> list[Moment]:
        """The moments between two times of the drill."""
        return [one for one in self.moments if from_s <= one.drill_s <= to_s]
