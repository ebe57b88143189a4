"""The bottom under every lure, ball and diver, and when one touches it if the boat goes straight on.

A long line runs over bottom that the boat sounded a minute or two ago. A ball hangs seconds behind the sounder: only
earlier passes and the slope just passed can warn of its bottom. The crew is told how short the warning may be.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sternwatch.quickly import quickly_made
from sternwatch.watch.bottom.over_ground import OverGround, Place2
from sternwatch.watch.bottom.slope import Slope, slope_of
from sternwatch.watch.bottom.soundings import Soundings

if TYPE_CHECKING:
    from sternwatch.watch.chains.place import Place
    from sternwatch.watch.chains.rod_chain import RodChain

Body = tuple[float, float, float]  # astern, to starboard, down
# Seconds and metres from now, and the bottom there: its depth, and whether that comes from the slope alone.
Seen = tuple[float, float, tuple[float, bool] | None]

# This near to the bottom counts as touching it: a sounder's own error on soft ground (memory).
TOUCH_M = 0.3
# Advice leaves this much room under the deep end of the interval (memory: three feet are a crew's least).
KEEP_M = 1.0
AHEAD_EVERY_S = 2.0
AHEAD_S = 120.0
STEP_M = 6.0
# In a turn no chain goes straight on; the outlook says what comes then.
STRAIGHT_DEG_S = 1.0
COURSE_S = 10.0
LEAST_COURSE_S = 5.0
LEAST_SPEED_M_S = 0.3
# With this much room or less, the length of the warning matters.
CLOSE_M = 4.5


@quickly_made
@dataclass(frozen=True, slots=True)
class Below:
    """The bottom under one body."""

    what: str
    room_m: float  # bottom there less the body's depth
    bottom_m: float
    off_m: float  # distance from the body to the sounding
    age_s: float | None
    earlier: bool  # on an earlier trip
    error_m: float | None = None  # an imported grid says so, which may be so far off; None: it was sounded


@dataclass(frozen=True, slots=True)
class Ahead:
    """What comes to one rod's tackle if the boat goes straight on."""

    what: str  # the body that touches first, else the one with the least room
    touches_s: float | None  # None: no touch on the known bottom
    raise_m: float  # how far it must come up to clear all known bottom with room to spare; 0: it clears
    known_s: float | None  # how long ahead of that body the bottom is known; None: computed only where it is close
    sloped: bool  # the depth there is only the continued slope
    bottom_m: float | None  # where it touches


@dataclass(slots=True)
class Ground:
    """The bottom under the chains and ahead of them, by rod key. Only ``step`` changes it.

    ``copy`` shares values that never change.
    """

    below: dict[str, tuple[Below | None, ...]] = field(default_factory=dict)  # one per body
    ahead: dict[str, Ahead] = field(default_factory=dict)
    velocity_m_s: Place2 | None = None  # over ground; None: unknown, or hardly moving
    turning: bool = False
    slope: Slope | None = None
    _places: deque[tuple[float, float, float]] = field(default_factory=deque)  # t_s, north, east
    _due_s: float = -math.inf

    def copy(self) -> Ground:
        return Ground(
            dict(self.below), dict(self.ahead), self.velocity_m_s, self.turning, self.slope, self._places.copy(),
            self._due_s,
        )  # fmt: skip

    def step(
        self,
        t_s: float,
        chains: Mapping[str, RodChain],
        soundings: Soundings,
        over: OverGround,
        rate_of_turn_deg_s: float | None,
    ) -> None:
        """Look at the bottom, after the step has moved the chains and taken its sounding."""
        self._go(t_s, over, rate_of_turn_deg_s)
        self.below = {
            key: tuple(
                [
                    None
                    if kind == "board"
                    else _below(soundings, over, t_s, what, body)  # a board floats and never touches the bottom
                    for what, kind, body in zip(_names(chain), _kinds(chain), _bodies(chain), strict=True)
                ]
            )
            for key, chain in chains.items()
            if chain.place is not None
        }
        if t_s < self._due_s and self.ahead.keys() <= self.below.keys():
            return
        self._due_s = t_s + AHEAD_EVERY_S
        self.slope = slope_of(soundings, t_s)
        self.ahead = {}
        for key, below in self.below.items():
            found = self._look(chains[key], below, soundings, over)
            if found is not None:
                self.ahead[key] = found

    def _go(self, t_s: float, over: OverGround, rate_deg_s: float | None) -> None:
        """Take the boat's velocity over ground as the mean of the last seconds."""
        place = over.place_m
        if place is None:
            self._places.clear()
            self.velocity_m_s = None
            return
        self._places.append((t_s, *place))
        while self._places[0][0] < t_s - COURSE_S:
            self._places.popleft()
        t0, north, east = self._places[0]
        self.turning = rate_deg_s is not None and abs(rate_deg_s) > STRAIGHT_DEG_S
        self.velocity_m_s = None
        if t_s - t0 >= LEAST_COURSE_S:
            velocity = ((place[0] - north) / (t_s - t0), (place[1] - east) / (t_s - t0))
            self.velocity_m_s = velocity if math.hypot(*velocity) >= LEAST_SPEED_M_S else None

    def _look(
        self, chain: RodChain, below: Sequence[Below | None], soundings: Soundings, over: OverGround
    ) -> Ahead | None:
        """The body of a chain that touches first, else the one with the least room now."""
        assert chain.place is not None
        least = self.least(chain, below)
        if least is None:
            return None
        spare = _spare_m(chain.place)
        found = [
            (under, self._way(self._seen(soundings, over, body), what, body, under, spare))
            for what, body, under in zip(_names(chain), _bodies(chain), below, strict=True)
            if under is not None and (under.room_m <= CLOSE_M or self._may_touch(soundings, over, body))
        ]
        touching = [(one.touches_s, one) for _, one in found if one.touches_s is not None]
        if chain.rod.bottom is not None:  # its lure may touch the bottom; the other bodies come first
            lure = _names(chain)[-1]
            touching = [entry for entry in touching if entry[1].what != lure] or touching
        if touching:
            return min(touching, key=lambda entry: entry[0])[1]
        return next((one for under, one in found if under is least and least.room_m <= CLOSE_M), None)

    def clearance_m(self, chain: RodChain) -> float | None:
        """Depth of the bottom under the lure less the lure's depth. Uses the sounding there, never the boat's."""
        below = self.below.get(chain.rod.key)
        if not below or chain.place is None or below[-1] is None:
            return None
        return below[-1].room_m

    @staticmethod
    def least(chain: RodChain, below: Sequence[Below | None]) -> Below | None:
        """The body with the least room. None where the bottom under the deepest one is unknown."""
        if chain.place is None or not below:
            return None
        deepest = max(zip(_bodies(chain), below, strict=True), key=lambda entry: entry[0][2])[1]
        return min((b for b in below if b is not None), key=lambda b: b.room_m) if deepest is not None else None

    def _may_touch(self, soundings: Soundings, over: OverGround, body: Body) -> bool:
        """Whether any bottom within reach is as shoal as the body is deep. A cheap test before the exact one."""
        at = over.at(body[0], body[1])
        if at is None or self.velocity_m_s is None or self.turning:
            return False
        depth = body[2] + TOUCH_M
        carried_on = self.slope is not None and self.slope.shoalest_m <= depth
        reach = AHEAD_S * math.hypot(*self.velocity_m_s) + STEP_M
        return carried_on or soundings.shoalest_m(*at, reach) <= depth

    @staticmethod
    def _way(way: Iterator[Seen], what: str, body: Body, under: Below, spare_m: float) -> Ahead:
        """What one body meets straight on from its present place. ``way``: the bottom ahead of it, in order."""
        depth = body[2] + TOUCH_M
        touches = 0.0 if under.room_m <= TOUCH_M else None
        touch_m = under.bottom_m if touches is not None else None
        shoalest, sloped = under.bottom_m, False
        known_s, unbroken = 0.0, True
        before: float | None = under.bottom_m
        for along_s, along_m, seen in way:
            unbroken = unbroken and seen is not None
            if seen is None:
                before = None
                continue
            bottom, guessed = seen
            known_s = along_s if unbroken else known_s
            if not guessed or touches is None or sloped:
                shoalest = min(shoalest, bottom)
            if touches is None and bottom < depth:
                back = (
                    STEP_M * (bottom - depth) / (bottom - before) if before is not None and before > bottom else 0.0
                )
                touches, sloped = along_s * (1.0 - min(back, STEP_M) / along_m), guessed
                touch_m = bottom
            before = bottom
        too_deep = body[2] + spare_m + KEEP_M - shoalest
        return Ahead(what, touches, max(too_deep, 0.0), known_s, sloped, touch_m)

    def _seen(self, soundings: Soundings, over: OverGround, body: Body) -> Iterator[Seen]:
        """The bottom straight ahead of a body: seconds and metres from now, and what is known there."""
        start = over.at(body[0], body[1])
        if start is None or self.velocity_m_s is None or self.turning:
            return
        speed = math.hypot(*self.velocity_m_s)
        one = (self.velocity_m_s[0] / speed, self.velocity_m_s[1] / speed)
        to_sounder_m = body[0] + over.antenna_m  # this pass has not sounded beyond it
        for k in range(1, int(AHEAD_S * speed / STEP_M) + 1):
            along = k * STEP_M
            at = (start[0] + along * one[0], start[1] + along * one[1])
            yield along / speed, along, self._bottom(soundings, at, beyond=along > to_sounder_m)

    def _bottom(self, soundings: Soundings, at: Place2, *, beyond: bool) -> tuple[float, bool] | None:
        """Depth at a place, and whether it comes from the slope alone."""
        if not beyond:
            there = soundings.about(*at)
            return None if there is None else (there.depth_m, False)
        there = soundings.near(*at)
        guessed = self.slope.at(*at) if self.slope is not None else None
        passed = there is not None and (there.earlier or self.slope is None or there.t_s != self.slope.t_s)
        if there is not None and (passed or guessed is None):
            return there.depth_m, False
        if guessed is not None:
            return guessed, True
        grid = soundings.imported(*at)
        return None if grid is None else (grid.depth_m, False)


def _names(chain: RodChain) -> tuple[str, ...]:
    """Names of the bodies in chain order. A bare line's end counts as one."""
    what = chain.rig.what if chain.rig is not None else ()
    return what or ("the line's end",)


def _kinds(chain: RodChain) -> tuple[str, ...]:
    return (chain.rig.kinds if chain.rig is not None else ()) or ("line",)


def _bodies(chain: RodChain) -> tuple[Body, ...]:
    """Places of the bodies: astern, to starboard, down."""
    assert chain.place is not None
    place = chain.place
    return place.bodies_m or ((place.astern_m, place.abeam_m, place.depth_m),)


def _below(soundings: Soundings, over: OverGround, t_s: float, what: str, body: Body) -> Below | None:
    at = over.at(body[0], body[1])
    there = soundings.about(*at) if at is not None else None
    if at is None or there is None:
        return None
    off = math.hypot(there.north_m - at[0], there.east_m - at[1])
    age = None if there.t_s is None else max(t_s - there.t_s, 0.0)
    return Below(what, there.depth_m - body[2], there.depth_m, off, age, there.earlier, there.error_m)


def _spare_m(place: Place) -> float:
    """How much deeper the lure may be than computed."""
    within = place.depth_interval_m
    return 0.0 if within is None else max(within[1] - place.depth_m, 0.0)
