"""A place is passed again: planned from the watch of a made boat, then steered, and looked at where the lure went.

The boat of these tests is steered along the way over ground with a current that the plan has from the sensors alone;
where the lure passes is what the watch says while it is stepped, second by second, and not what the plan said.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.plan import Asked, Cannot, Proposal, Target, propose
from sternwatch.watch.again.words import in_words, legs_in_words
from sternwatch.watch.bottom.soundings import local_degrees, local_metres
from sternwatch.watch.chains.ensemble import required_of
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.bottom_ahead import ground_of
from sternwatch.watch.forecast.snapshot import Casting, snapshot

ORIGIN = (47.0, -89.5)
CURRENT = (0.10, -0.12)  # north, east
SPEED = 1.0


class Steered:
    """A boat that goes where she is steered, and says so once a second."""

    def __init__(self, spread: Spread) -> None:
        self.watch: Watch = new_watch(Setup(spread, start="fishing", members=6))
        self.north_m = self.east_m = 0.0
        self.heading_rad = math.radians(40.0)
        self.t_s = 0.0
        self.bottom_m: Callable[[float, float], float] = lambda _north, _east: 60.0

    def go(self, seconds: int, speed: float = SPEED) -> None:
        for _ in range(seconds):
            self.step(self.heading_rad, speed)

    def step(self, heading_rad: float, speed: float) -> None:
        self.heading_rad, self.t_s = heading_rad, self.t_s + 1.0
        north = speed * math.cos(heading_rad) + CURRENT[0]
        east = speed * math.sin(heading_rad) + CURRENT[1]
        self.north_m, self.east_m = self.north_m + north, self.east_m + east
        self._say(math.hypot(north, east), math.degrees(math.atan2(east, north)) % 360.0, speed)

    def _say(self, sog: float, course: float, speed: float) -> None:
        place = local_degrees(ORIGIN, (self.north_m, self.east_m))
        for quantity, value in (
            (Quantity.CLOCK, 1_784_000_000.0 + self.t_s), (Quantity.POSITION, place), (Quantity.SOG, sog),
            (Quantity.COG, course), (Quantity.HEADING, math.degrees(self.heading_rad) % 360.0),
            (Quantity.STW, speed), (Quantity.BOTTOM, self.bottom_m(self.north_m, self.east_m)),
        ):  # fmt: skip
            self.watch.observe(Reading(self.t_s, "boat", quantity, value, "TST"))
        self.watch.advance(self.t_s)

    def lure(self, key: str) -> tuple[float, float, float]:
        """Where a rod's lure is over ground (north, east) from ORIGIN, and its depth."""
        moment = self.watch.memory.moments[-1]
        rod = moment.rods[key]
        assert rod.position_deg is not None
        assert rod.depth_m is not None
        return (*local_metres(ORIGIN, rod.position_deg), rod.depth_m)


def asked_of(boat: Steered, target: Target) -> Asked:
    watch = boat.watch
    now = snapshot(watch)
    assert now is not None
    ground = ground_of(now.t_s, watch.bottom, watch.boat)
    assert ground is not None
    return Asked(
        target,
        Casting().fleet(now),
        ground,
        now.speed_m_s,
        required_of(now.spread),
        {"port": 60.0, "starboard": 60.0},
    )


@pytest.fixture(scope="module")
def struck(two_rods: Spread) -> tuple[Steered, Target, tuple[float, float]]:
    """A fish on rod 1 after four minutes of a straight course, and three minutes more."""
    boat = Steered(two_rods)
    boat.go(240)
    north, east, depth = boat.lure("1")
    origin = boat.watch.bottom.origin_deg
    assert origin is not None
    place = local_metres(origin, local_degrees(ORIGIN, (north, east)))
    target = Target("1", place, depth, boat.heading_rad, SPEED)
    boat.go(120)
    return boat, target, (north, east)


@pytest.fixture(scope="module")
def made(struck: tuple[Steered, Target, tuple[float, float]]) -> tuple[Proposal, ...]:
    found = propose(asked_of(struck[0], struck[1]))
    assert not isinstance(found, Cannot)
    return found


def test_two_or_three_ways_the_soonest_first(made: tuple[Proposal, ...]) -> None:
    assert 1 <= len(made) <= 3
    assert [one.time_s for one in made] == sorted(one.time_s for one in made)
    assert "soonest" in made[0].names
    assert {name for one in made for name in one.names} == {"soonest", "surest", "same direction"}
    same = next(one for one in made if "same direction" in one.names)
    assert not same.reverse
    for one in made:
        assert one.passed.off_m <= one.passed.within_m < 8.0  # members differ by metres; the aim is their middle
        assert one.passed.near > 0.8
        assert abs(one.passed.deeper_m or 0.0) < 1.5


def test_steered_so_the_lure_passes_the_place_at_its_depth(
    struck: tuple[Steered, Target, tuple[float, float]], made: tuple[Proposal, ...]
) -> None:
    boat, target, place = struck
    one = made[0]
    nearest = (math.inf, math.nan)
    way = one.path
    for second in range(1, int(way.time_s[-1])):
        heading = float(np.interp(second, way.time_s, way.heading_rad))
        boat.step(heading, float(np.interp(second, way.time_s, way.speed_m_s)))
        north, east, depth = boat.lure("1")
        nearest = min(nearest, (math.hypot(north - place[0], east - place[1]), depth))
    assert nearest[0] < 5.0
    assert nearest[1] == pytest.approx(target.depth_m, abs=1.0)


def test_in_words(made: tuple[Proposal, ...]) -> None:
    text = in_words(made[0], SYSTEMS["us"], {"1": "P DIVER"})
    assert "P DIVER passes the place in" in text
    assert "(90 %)" in text
    assert "mph" in text
    assert "°" in legs_in_words(made[0], SYSTEMS["us"])
    assert "safe" not in text


def test_a_net_in_every_way_is_said(two_rods: Spread) -> None:
    boat = Steered(two_rods)
    boat.go(150)
    target = Target("1", (0.0, 0.0), 10.0, 0.0, SPEED)
    asked = replace(asked_of(boat, target), dangers_m=(((boat.north_m, boat.east_m), 1000.0),))
    found = propose(asked)
    assert isinstance(found, Cannot)
    assert "net" in found.why


def test_what_cannot_be_is_said(struck: tuple[Steered, Target, tuple[float, float]]) -> None:
    boat, target, _ = struck
    for other, why in (
        (replace(target, key="9"), "not in the water"),
        (replace(target, longer_m=-500.0), "cannot be taken in"),
        (replace(target, place_m=(9000.0, 0.0)), "half an hour"),
    ):
        found = propose(asked_of(boat, other))
        assert isinstance(found, Cannot)
        assert why in found.why
