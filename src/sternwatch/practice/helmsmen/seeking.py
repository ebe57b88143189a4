"""How helmsmen return to a place and follow an edge: by hand and eye, or by the console's plan.

Each is a generator of the orders of one second, like a task. How a human hand does it is from memory.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Final, Protocol

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.practice.drills.model import Drill
from sternwatch.practice.sessions.headless import Order, View, order
from sternwatch.watch.picture.model import RodState

if TYPE_CHECKING:
    from sternwatch.watch.again.following import Following
    from sternwatch.watch.picture.outlook import Limits
    from sternwatch.watch.whole_pass.following import Passing

Steps = Iterator[list[Order]]

BACK_PER_M: Final = 1.0  # he steers back by so many degrees for each metre off his track ...
MOST_BACK_DEG: Final = 25.0  # ... at most
EDGE_EVERY_S: Final = 5.0  # he looks at the sounder at this interval,
EDGE_PER_M: Final = 6.0  # steers so many degrees to the shoal side for each metre that it is too deep,
MOST_EDGE_DEG: Final = 40.0  # at most this far off the edge's own course
PLANNED_WITHIN_S: Final = 120.0  # of wall time


class Handed(Protocol):
    """What this module needs of a helmsman: what he sees, and how he turns."""

    drill: Drill

    @property
    def now(self) -> View: ...
    @property
    def heading_deg(self) -> float: ...
    @property
    def fighting(self) -> bool: ...
    def turn(self, degrees: float) -> Steps: ...


class Asking(Handed, Protocol):
    """What it needs of one who asks the console."""

    def ask_limits(self) -> Limits | None: ...


def _struck(helmsman: Handed) -> Iterator[list[Order]]:
    """Wait until a hit is entered and its fight is over."""
    while not helmsman.now.picture.hits or helmsman.fighting:
        yield []


def back_along_his_track(helmsman: Handed) -> Steps:
    """Turn round and go back along his own track, through the mark set at the bite."""
    while not helmsman.now.picture.hits:
        yield []
    mark, course = helmsman.now.place_m, helmsman.now.picture.own.course_deg
    yield from _struck(helmsman)
    yield from helmsman.turn(180.0)
    back = math.radians((helmsman.heading_deg + 180.0 if course is None else course) + 180.0)
    while True:
        place = helmsman.now.place_m
        if mark is None or place is None:
            yield []
            continue
        north, east = place[0] - mark[0], place[1] - mark[1]
        off = east * math.cos(back) - north * math.sin(back)
        aside = max(-MOST_BACK_DEG, min(BACK_PER_M * off, MOST_BACK_DEG))
        yield [order("helm", heading_deg=round((math.degrees(back) - aside) % 360.0, 1))]


def by_the_sounder(helmsman: Handed) -> Steps:
    """Follow an edge: steer to the shoal side where the water is too deep for the lures, else away from it.

    The drill's shelf says which side shoals; a real crew sees that on the sounder.
    """
    drill = helmsman.drill
    shelf, wanted = drill.lake.shelf, drill.wanted
    if shelf is None or wanted is None:
        return
    course = math.degrees(drill.start.heading_rad)
    side = math.copysign(1.0, math.sin(shelf.towards_rad - drill.start.heading_rad))
    while True:
        view = helmsman.now
        fishing = (rod for rod in view.picture.rods if rod.state is RodState.FISHING)
        depths = [rod.depth_m for rod in fishing if rod.depth_m is not None]
        bottom = view.picture.bottom_m
        if bottom is None or not depths or round(view.t_s) % EDGE_EVERY_S:
            yield []
            continue
        over = bottom - sum(depths) / len(depths) - sum(wanted.over_bottom_m) / 2.0
        aside = side * max(-MOST_EDGE_DEG, min(EDGE_PER_M * over, MOST_EDGE_DEG))
        yield [order("helm", heading_deg=round((course + aside) % 360.0, 1))]


def as_again_says(helmsman: Asking) -> Steps:
    """Steer exactly as *again* says."""
    from sternwatch.watch.again.following import Following

    yield from _struck(helmsman)
    hits = [hit for hit in helmsman.now.picture.hits if hit.rod is not None]
    following, limits = Following(), helmsman.ask_limits()
    following.want_hit(hits[-1].id)
    while following.wanted is not None and not following.passed:
        yield _steered(following, partial(following.offer, helmsman.now.watch, limits, SYSTEMS["us"]))
    following.stop()


def as_the_pass_says(helmsman: Asking) -> Steps:
    """Steer the planned pass until the drill ends."""
    from sternwatch.watch.whole_pass.following import Passing
    from sternwatch.watch.whole_pass.wish import LEAST_S, MOST_S, Wish

    wanted = helmsman.drill.wanted
    if wanted is None:
        return
    left_s = (helmsman.drill.goal.elapsed_s if helmsman.drill.goal is not None else None) or helmsman.drill.time_s
    lasts_s = min(max(left_s - helmsman.now.drill_s, LEAST_S), MOST_S)
    passing, limits = Passing(clock=lambda: helmsman.now.t_s), helmsman.ask_limits()
    passing.want(Wish(over_bottom_m=wanted.over_bottom_m, depth_m=wanted.depth_m, lasts_s=lasts_s))
    while passing.wish is not None:
        yield _steered(passing, partial(passing.offer, helmsman.now.watch, limits))
    passing.stop()


def _steered(following: Following | Passing, offer: Callable[[], None]) -> list[Order]:
    """The course that the console says now. The world waits during planning, which takes seconds on a real trip."""
    until = time.monotonic() + PLANNED_WITHIN_S
    offer()
    while following.waiting and time.monotonic() < until:
        time.sleep(0.005)
        offer()
    steering = following.steering
    return [] if steering is None else [order("helm", heading_deg=round(steering.course_deg % 360.0, 1))]
