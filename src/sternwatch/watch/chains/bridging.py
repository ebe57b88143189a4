"""Tows the chains through a time without speed or direction, so that they need not be laid anew at its end.

Laid anew, a line would hang as at rest at the speed that came back: after a hole in a slow-down for a fish, copper
ten metres too deep. Nobody knows how the boat went meanwhile. She is taken to have gone straight, along the
direction that she has at the end, at a speed that changed evenly from the last known one to the present one. What
comes of it is unsettled until it no longer matters.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.motion import fleet as motion
from sternwatch.watch.boat.axes import Towing
from sternwatch.watch.chains.member_water import Beliefs

Floats = NDArray[np.float64]

BRIDGED_S = 60.0  # after a longer hole the lines are laid anew (memory: by then she may have done anything)
STEP_S = 4.0  # the longest step


@dataclass(frozen=True, slots=True)
class Pose:
    """A boat at one moment: what tows chains."""

    north_m: float
    east_m: float
    heading_deg: float
    velocity_m_s: tuple[float, float]

    @classmethod
    def of(cls, boat: Towing) -> Pose:
        return cls(boat.north_m, boat.east_m, boat.heading_deg, boat.velocity_m_s)

    @property
    def speed_m_s(self) -> float:
        return math.hypot(*self.velocity_m_s)


@dataclass(frozen=True, slots=True)
class Moved:
    """How a chain's points move with its boat across a hole: turned about her last place, then shifted."""

    about_m: Floats  # (n, 2) north, east: one place for every row of a state
    to_m: Floats  # (n, 2)
    turned_rad: float

    def state(self, state: motion.State) -> motion.State:
        """A copy of the state, so moved. Depths and tensions stay."""
        made = state.copy()
        c, s = math.cos(self.turned_rad), math.sin(self.turned_rad)
        turn = np.array([[c, s], [-s, c]])  # rows are points
        for points in (made.position_m, made.before_m):
            points[:, :, :2] = (points[:, :, :2] - self.about_m[:, None]) @ turn + self.to_m[:, None]
        for velocity in (made.velocity_m_s, made.velocity_before_m_s):
            velocity[:, :, :2] = velocity[:, :, :2] @ turn
        return made


@dataclass(frozen=True, slots=True)
class Bridge:
    """The track through a hole, of the boat and of every member's boat. It ends at their present places."""

    began_s: float
    ends_s: float
    before: Pose
    after: Pose
    members_before_m_s: Floats | None = None  # (M, 2)

    @property
    def turned_rad(self) -> float:
        return math.radians(self.after.heading_deg - self.before.heading_deg)

    def nominal(self) -> Moved:
        """How the chains of the boat herself move to the hole's beginning."""
        begun = self._at(0.0, self._first(np.array([self.before.velocity_m_s])), _row(self.after.velocity_m_s))
        place = _row((self.after.north_m, self.after.east_m))
        return Moved(_row((self.before.north_m, self.before.east_m)), place + begun[0], self.turned_rad)

    def members(self, beliefs: Beliefs) -> Moved:
        """The same of the members' chains."""
        assert self.members_before_m_s is not None
        begun = self._at(0.0, self._first(self.members_before_m_s), beliefs.velocity_m_s)
        return Moved(beliefs.place_m, beliefs.place_m + begun[0], self.turned_rad)

    def moments(self, beliefs: Beliefs | None) -> Iterator[tuple[float, Pose, Beliefs | None]]:
        """The ends of its steps: feed time, boat and members there."""
        steps = max(math.ceil((self.ends_s - self.began_s) / STEP_S - 1e-9), 1)
        first = self._first(np.array([self.before.velocity_m_s]))
        for k in range(1, steps + 1):
            share = k / steps
            off, velocity = self._at(share, first, _row(self.after.velocity_m_s))
            (north, east), (vn, ve) = off[0].tolist(), velocity[0].tolist()
            at = Pose(self.after.north_m + north, self.after.east_m + east, self.after.heading_deg, (vn, ve))
            own = beliefs
            if beliefs is not None and self.members_before_m_s is not None:
                off, velocity = self._at(share, self._first(self.members_before_m_s), beliefs.velocity_m_s)
                own = replace(beliefs, place_m=beliefs.place_m + off, velocity_m_s=velocity)
            yield self.began_s + share * (self.ends_s - self.began_s), at, own

    def _first(self, velocity_m_s: Floats) -> Floats:
        """The speed that she had before the hole, along the direction after it."""
        c, s = math.cos(self.turned_rad), math.sin(self.turned_rad)
        made: Floats = velocity_m_s @ np.array([[c, s], [-s, c]])
        return made

    def _at(self, share: float, first: Floats, last: Floats) -> tuple[Floats, Floats]:
        """Distance from the present place (n, 2), and velocity there, after a share of the hole."""
        velocity = first + share * (last - first)
        left_s = (1.0 - share) * (self.ends_s - self.began_s)
        return -0.5 * left_s * (velocity + last), velocity


def _row(pair: tuple[float, float]) -> Floats:
    return np.array([pair])
