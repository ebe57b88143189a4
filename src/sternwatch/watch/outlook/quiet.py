"""Whether anything has changed that a look ahead depends on, told cheaply, so that a quiet course is not looked at
again for nothing.

On a course held for minutes every look finds what the one before found. What has been seen is kept at each look and
compared at each step. Small changes count from the last look, so that a slow one adds up to a new look too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sternwatch.answers.belief.priors import DECIDING, Z90
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.picture.manoeuvre import PLAN
from sternwatch.watch.picture.outlook import Outlook

if TYPE_CHECKING:
    from sternwatch.watch.chains.place import Place
    from sternwatch.watch.chains.rod_chain import RodChain
    from sternwatch.watch.core.engine import Watch

CALM_RATE_DEG_S = 1.0
CALM_SHARE = 0.05
# Changes below these count as none: shares of the speed, of a depth or length, and of the room to the bottom.
SPEED_SHARE, DEPTH_SHARE, ROOM_SHARE = 0.03, 0.02, 0.1
LEAST_M = 0.3  # a smaller change of any of these lengths counts as none, whatever its share


def is_calm(outlook: Outlook, *, with_limits: bool = True) -> bool:
    """Whether nothing is planned, she holds course and speed, the limits are known, and nothing threatens.

    What one look finds, the next ones must confirm soon: an alert needs several of them. ``with_limits``: limits are
    searched too, for which looks are needed.
    """
    going = any(one.manoeuvre.turn_rad or one.manoeuvre.to_speed_m_s is not None for one in outlook.forecasts)
    risky = any(one.known_crossing > CALM_SHARE for one in outlook.forecasts)
    planned = any(one.manoeuvre.name == PLAN for one in outlook.forecasts)
    threatened = outlook.alerts or outlook.touches or risky
    return not (going or planned or threatened) and (outlook.limits is not None or not with_limits)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a look depends on and a quiet course keeps, at one step."""

    t_s: float | None  # of the step
    spread: Spread
    speed_m_s: float | None  # the mean of the last seconds: a single second of a wheel scatters more than this allows
    room_m: float | None  # from the deepest lure to the newest sounding
    fighting: frozenset[str]
    moving: bool  # some line runs
    rods: dict[str, tuple[float, ...]]  # length past the tip, depth of the lure, its interval: of those in the water

    @classmethod
    def of(cls, watch: Watch) -> Seen:
        rods, deepest_m = {}, 0.0
        for key, chain in watch.chains.items():
            if chain.place is not None:
                depths_m = _depths_m(chain, chain.place)
                rods[key] = (chain.past_tip_m, *depths_m)
                deepest_m = max(deepest_m, depths_m[0])
        bottom_m = watch.bottom.soundings.newest_m
        return cls(
            watch.t_s,
            watch.spread,
            watch.boat.mean_m_s,
            None if bottom_m is None else bottom_m - deepest_m,
            frozenset(key for key, mine in watch.crew.rods.items() if mine.state == "fighting"),
            any(chain.moving for _, chain in watch.chains.items()),
            rods,
        )

    def is_still(self, before: Seen) -> bool:
        """Whether a look now would find what one found then."""
        if self.spread is not before.spread or self.moving or self.fighting != before.fighting:
            return False
        steady = _near(self.speed_m_s, before.speed_m_s, SPEED_SHARE, 0.0)
        if not steady or not _near(self.room_m, before.room_m, ROOM_SHARE, LEAST_M):
            return False
        return self.rods.keys() == before.rods.keys() and all(
            len(now) == len(before.rods[key])
            and all(_near(one, then, DEPTH_SHARE, LEAST_M) for one, then in zip(now, before.rods[key], strict=True))
            for key, now in self.rods.items()
        )


def _depths_m(chain: RodChain, place: Place) -> tuple[float, ...]:
    """Depth of the lure, and the ends of its interval if it has members: of those that decide about a look.

    The others sharpen the depth that is shown, and no look depends on them.
    """
    if chain.members is None:
        return (place.depth_m,)
    known = chain.members.depths()[:DECIDING]
    known = known[np.isfinite(known)]
    if not len(known):
        return (place.depth_m,)
    mean = float(np.add.reduce(known)) / len(known)
    off = known - mean
    half = Z90 * math.sqrt(float(np.add.reduce(off * off)) / len(known))
    return mean, mean - half, mean + half


def _near(one: float | None, other: float | None, share: float, least: float) -> bool:
    """Whether two values are the same but for what counts as none. Unknown is only like unknown."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= max(share * abs(other), least)


@dataclass(frozen=True, slots=True)
class Pace:
    """How long one look stands [s]: at least, in the calm, and in the calm while nothing has changed."""

    every_s: float
    calm_every_s: float
    still_every_s: float

    def is_due(
        self, past_s: float, rate_deg_s: float | None, outlook: Outlook | None, is_still: Callable[[], bool], *,
        with_limits: bool = True,
    ) -> bool:  # fmt: skip
        """Whether another look is due ``past_s`` after the last. ``is_still`` is asked only where it decides."""
        turning = abs(rate_deg_s or 0.0) >= CALM_RATE_DEG_S
        if turning or outlook is None or not is_calm(outlook, with_limits=with_limits):
            return past_s >= self.every_s
        if not self.calm_every_s <= past_s < self.still_every_s:
            return past_s >= self.calm_every_s
        return not is_still()
