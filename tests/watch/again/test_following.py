"""A place is followed while a session runs: planned beside it, steered, planned anew when lost, told when passed."""

from __future__ import annotations

import math
import time

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.following import Following
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.bottom.soundings import local_metres
from watch.again.test_plan import SPEED, Steered

US = SYSTEMS["us"]
NAMES = {"1": "P DIVER"}


def offered(boat: Steered, following: Following, wait_s: float = 30.0) -> None:
    """After a step; what is planned beside it is waited for, as a minute at the helm would."""
    following.offer(boat.watch, None, US)
    end = time.monotonic() + wait_s
    while following._asked > following._taken and time.monotonic() < end:
        time.sleep(0.02)
        following.offer(boat.watch, None, US)


@pytest.fixture
def boat(two_rods: Spread) -> Steered:
    made = Steered(two_rods)
    made.go(150)
    return made


def test_steered_by_its_words_alone_the_lure_comes_by(boat: Steered) -> None:
    """The helm steers the course that is said, two degrees off at times; nothing else of the plan is used."""
    north, east, depth = boat.lure("1")
    origin = boat.watch.bottom.origin_deg
    assert origin is not None
    place = local_metres(origin, (boat.watch.memory.moments[-1].rods["1"].position_deg or (0.0, 0.0)))
    boat.go(40)
    following = Following()
    following.want_place("1", place, depth)
    offered(boat, following)
    assert following.words(US, NAMES)[0].startswith("AGAIN  steer")
    nearest = math.inf
    for second in range(900):
        steering = following.steering
        assert steering is not None, following.words(US, NAMES)
        assert not steering.lost
        wanted = math.radians(steering.course_deg + (2.0 if second % 20 < 10 else -2.0))
        turn = math.remainder(wanted - boat.heading_rad, 2.0 * math.pi)
        boat.step(boat.heading_rad + max(-math.radians(3.0), min(turn, math.radians(3.0))), SPEED)
        offered(boat, following)
        at = boat.lure("1")
        nearest = min(nearest, math.dist(at[:2], (north, east)))
        if following.passed:
            break
    assert nearest < 10.0
    assert "passed" in following.words(US, NAMES)[0]
    assert "within" in following.passed
    following.stop()


def test_off_the_way_it_is_planned_anew(boat: Steered) -> None:
    following = Following()
    following.want_place("1", (-60.0, -60.0), 12.0)
    offered(boat, following)
    first = following.chosen
    assert first is not None
    for _ in range(120):  # straight on, whatever is said
        boat.go(1)
        offered(boat, following)
    assert following.chosen is not None
    assert following.chosen is not first
    following.stop()


def test_the_next_way_and_no_more(boat: Steered) -> None:
    following = Following()
    assert following.words(US, NAMES) == ("", "")
    following.want_place("1", (-60.0, -60.0), 12.0)
    assert "planning" in following.words(US, NAMES)[0]
    offered(boat, following)
    assert isinstance(following.found, tuple)
    before = following.chosen
    following.next()
    assert (following.chosen is before) is (len(following.found) == 1)
    following.drop()
    assert following.words(US, NAMES) == ("", "")
    following.stop()


def test_a_hit_that_nobody_knows_is_said(boat: Steered) -> None:
    following = Following()
    following.want_hit("no such hit")
    offered(boat, following)
    assert isinstance(following.found, Cannot)
    assert "Nothing is known" in following.words(US, NAMES)[0]
    following.stop()
