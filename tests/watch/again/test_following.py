"""A place is followed while a session runs: planned beside it, steered, planned anew when lost, told when passed."""

from __future__ import annotations

import itertools
import math
import time
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.asking import asked_now, of_place, over_ground
from sternwatch.watch.again.following import Following, Wanted, _Question
from sternwatch.watch.again.plan import Cannot, Target
from sternwatch.watch.again.steering import Steering
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.forecast.snapshot import snapshot
from watch.again.test_plan import SPEED, Steered

US = SYSTEMS["us"]
NAMES = {"1": "P DIVER"}


def offered(boat: Steered, following: Following, wait_s: float = 300.0) -> None:
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
    assert following.words(US, NAMES)[0].startswith("AGAIN steer")
    nearest, first, aimed, passes = math.inf, following.chosen, set(), []
    assert first is not None
    for second in range(900):
        steering, chosen = following.steering, following.chosen
        assert steering is not None, following.words(US, NAMES)
        assert chosen is not None
        assert chosen.reverse is first.reverse
        aimed.add(id(chosen))
        passes.append(steering.pass_in_s)
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
    # Aimed anew on the straights it is the same way: the time to the pass runs on and does not begin again.
    assert len(aimed) > 1
    assert max(later - sooner for sooner, later in itertools.pairwise(passes)) < 40.0
    assert "passed" in following.words(US, NAMES)[0]
    assert "90 %: within" in following.passed
    assert "in depth" in following.passed
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


def test_asked_by_ground_the_pass_is_at_the_speed_over_ground(boat: Steered) -> None:
    """She makes 1 m/s through the water and less over ground here: 0.10 north and 0.12 west on 40 degrees."""
    following = Following()
    following.by_ground(True)
    following.want_place("1", (-60.0, -60.0), 12.0)
    offered(boat, following)
    assert isinstance(following.found, tuple)
    slow = math.hypot(math.cos(math.radians(40.0)) + 0.10, math.sin(math.radians(40.0)) - 0.12)
    for one in following.found:
        over = np.diff(one.over_ground_m[-3:], axis=0)[-1] / one.path.step_s[-1]
        assert math.hypot(*over) == pytest.approx(slow, abs=0.02)
    following.stop()


def test_a_speed_over_ground_that_cannot_be_had_is_said_with_what_can(boat: Steered) -> None:
    """A current of 0.16 m/s across a course leaves nothing of 0.05 m/s over ground."""
    following = Following()
    target = of_place("1", (-60.0, -60.0), 12.0, boat.watch.boat)
    assert isinstance(target, Target)
    target = over_ground(target, 0.05)
    asked = asked_now(target, snapshot(boat.watch), boat.watch.bottom, boat.watch.boat)
    assert not isinstance(asked, Cannot)
    answer = following._plan(_Question(1, asked, 0.0, False))
    assert isinstance(answer.found, tuple)
    assert "through the water" in answer.instead
    following.stop()


def test_a_place_that_is_asked_for_while_she_lies_still_waits_until_she_makes_way() -> None:
    """It is passed on the course and at the speed that she has then."""
    boat = SimpleNamespace(speed_m_s=0.0, heading_deg=90.0)
    watch: Any = SimpleNamespace(boat=boat, sensors=dict)
    following = Following()
    following.want_place("1", (-60.0, -60.0), 12.0)
    for still in (0.0, 0.2):
        boat.speed_m_s = still
        made = following._target_of(watch)
        assert isinstance(made, Cannot)
        assert "no way through the water" in made.why
    boat.speed_m_s, boat.heading_deg = 0.9, 270.0
    made = following._target_of(watch)
    assert made == Target("1", (-60.0, -60.0), 12.0, math.radians(270.0), 0.9)
    boat.speed_m_s = 0.0
    assert following._target_of(watch) is made, "as it was asked for"
    assert following.wanted == Wanted(rod="1", place_m=(-60.0, -60.0), depth_m=12.0)
    following.stop()


def test_a_hit_that_nobody_knows_is_said(boat: Steered) -> None:
    following = Following()
    following.want_hit("no such hit")
    offered(boat, following)
    assert isinstance(following.found, Cannot)
    assert "Nothing is known" in following.words(US, NAMES)[0]
    following.stop()


def test_what_was_said_of_a_pass_goes_after_a_minute_wherever_she_is_by_then() -> None:
    """A boat that comes back to the way she has passed along is not followed again."""
    following = Following()
    following.want_hit("h")
    following.passed, following._past_s = "AGAIN passed 10 ft from the place", 100.0
    back_on_it = Steering(
        course_deg=0.0, off_m=0.0, turn_in_s=None, turn_deg=0.0, pass_in_s=300.0, sample=0, lost=False
    )
    for now_s, stands in ((150.0, True), (161.0, False)):
        following._look_back(SimpleNamespace(now_s=now_s), None, back_on_it, US)
        assert (following.wanted is not None) is stands
    assert following.words(US, NAMES) == ("", "")


@pytest.mark.parametrize(
    ("over", "sog", "ground"), [(True, 1.3, True), (True, None, False), (True, 0.0, False), (False, 1.3, False)]
)
def test_a_place_is_asked_for_at_her_speed_over_ground_where_that_is_known(
    monkeypatch: pytest.MonkeyPatch, over: bool, sog: float | None, ground: bool
) -> None:
    """With the course and speed of the moment at which it was asked for."""
    from sternwatch.watch.again import following as module

    monkeypatch.setattr(module, "of_place", lambda *given: given)
    monkeypatch.setattr(module, "over_ground", lambda _, speed: ("over ground", speed))
    monkeypatch.setattr(module, "usable", lambda told: told)
    wanted = SimpleNamespace(rod="1", place_m=(10.0, 20.0), depth_m=15.0)
    mine: Any = SimpleNamespace(_wanted=wanted, _at_first=None, over_ground=over)
    watch: Any = SimpleNamespace(boat="boat", sensors=lambda: {module.Quantity.SOG: sog})
    found: Any = module.Following._target_of(mine, watch)
    assert found == (("over ground", sog) if ground else ("1", (10.0, 20.0), 15.0, "boat"))
    watch.boat, mine.over_ground = "turned", False
    assert module.Following._target_of(mine, watch) is found
