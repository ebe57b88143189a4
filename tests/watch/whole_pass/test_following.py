"""A pass beside a session: planned, steered by its words, renewed as she goes, over when its time is."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.whole_pass.asking import _about
from sternwatch.watch.whole_pass.following import Passing
from sternwatch.watch.whole_pass.plan import WholePass
from sternwatch.watch.whole_pass.wish import Box, Wish
from watch.again.test_plan import SPEED, Steered
from watch.whole_pass.test_plan import OVER, US, Made, begun

NAMES = {"1": "P DIVER"}


def offered(boat: Steered, passing: Passing) -> None:
    passing.offer(boat.watch, None)
    end = time.monotonic() + 300.0  # the first run compiles
    while passing._asked > passing._taken and time.monotonic() < end:
        time.sleep(0.01)
        passing.offer(boat.watch, None)


def test_steered_by_its_words_and_renewed(two_rods: Spread) -> None:
    boat, wall = begun(two_rods), [0.0]
    passing = Passing(lambda: [Made()], clock=lambda: wall[0])
    assert passing.words(US, NAMES) == ("", "")
    passing.want(Wish(over_bottom_m=OVER, lasts_s=240.0))
    assert "looking for a way" in passing.words(US, NAMES)[0]
    offered(boat, passing)
    assert passing.words(US, NAMES)[0].startswith("PASS steer")
    assert "a first look, by 4 of 6 versions" in passing.words(US, NAMES)[1]
    boat.step(boat.heading_rad, SPEED)
    wall[0] += 2.0 * passing._took_s + 0.1  # the rest of the members are asked at once, at half a core
    offered(boat, passing)
    assert isinstance(passing.found, WholePass)
    assert not passing.found.provisional
    asked, off = [], []
    for second in range(100):
        steering = passing.steering
        assert steering is not None
        turn = math.remainder(math.radians(steering.course_deg) - boat.heading_rad, 2.0 * math.pi)
        boat.step(boat.heading_rad + max(-math.radians(3.0), min(turn, math.radians(3.0))), SPEED)
        if second % 30 == 20:  # no renewal before ten seconds of the wall's time, whatever the feed's
            wall[0] += 100.0
        offered(boat, passing)
        asked.append(passing._asked)
        off.append(abs(passing.steering.off_m))
        assert isinstance(passing.found, WholePass)
    assert max(off) < 12.0
    assert 3 <= asked[-1] <= 5
    # What is left of it grows less: a renewed pass ends when the first one would.
    assert passing.found.lasts_s < 240.0
    assert passing.steering.pass_in_s < 150.0
    # A way that stays is still steered from where it began; what is said of it begins where she was a moment ago.
    assert passing._told is not None
    assert passing._told.time_s < 175.0
    # However far she lags in a turn, what is kept of the way ends on the course that the turn was to end on.
    turning = passing.found.path.heading_rad
    passing.steering = replace(passing.steering, pass_in_s=passing.found.time_s, lost=False)
    passing.found = replace(passing.found, legs=(Leg(60.0, 1.0), Leg(100.0)))
    late = passing._kept(float(turning[0]) - 0.2)
    assert late[0].turn_rad == pytest.approx(1.2)
    assert late[0].length_m / late[0].turn_rad == pytest.approx(60.0)
    boat.go(210)
    offered(boat, passing)
    assert passing.wish is None
    assert passing.words(US, NAMES) == ("", "")
    passing.stop()


def test_what_cannot_be_is_said_and_put_away(two_rods: Spread) -> None:
    boat = Steered(two_rods)
    passing = Passing()
    passing.want(Wish(over_bottom_m=OVER))
    offered(boat, passing)
    assert passing.words(US, NAMES)[0] == "PASS There is no speed, or no rod in the water"
    passing.drop()
    assert passing.words(US, NAMES) == ("", "")
    passing.stop()


# -- by hand: no thread plans --------------------------------------------------------------------------------------


class Beside:
    """In place of the thread: it answers nothing."""

    made: Any = None
    trouble = ""


def test_before_there_is_a_way_the_helm_says_why() -> None:
    passing, beside = Passing(), Beside()
    passing._beside.stop()
    passing._beside = beside  # type: ignore[assignment]
    passing.want(Wish(over_bottom_m=OVER))
    assert passing.words(US, NAMES) == ("PASS looking for a way", "")
    beside.trouble = "the planner failed"
    passing._asked += 1
    assert passing.words(US, NAMES) == ("PASS the planner failed", "")
    assert not passing.waiting, "nothing comes of it"


def test_what_counts_is_the_smaller_of_a_box_and_of_what_she_reaches() -> None:
    box = Box(100.0, -50.0, 300.0, 350.0)
    assert _about((7.0, 8.0), 500.0, None) == ((7.0, 8.0), 500.0)
    assert _about((7.0, 8.0), 201.0, box) == ((200.0, 150.0), 200.0)
    assert _about((7.0, 8.0), 199.0, box) == ((7.0, 8.0), 199.0)
    assert _about((7.0, 8.0), 500.0, Box(100.0, -50.0, 700.0, 350.0)) == ((400.0, 150.0), 300.0)


def test_the_floor_reaches_as_far_as_she_goes_and_the_spread_is_wide(monkeypatch: pytest.MonkeyPatch) -> None:
    from sternwatch.watch.whole_pass import asking

    made: list[tuple[Any, ...]] = []
    monkeypatch.setattr(asking, "floor_of", lambda *given: made.append(given))
    monkeypatch.setattr(asking, "Casting", lambda: SimpleNamespace(fleet=lambda _: "fleet"))
    for name in ("required_of", "radii_of", "on_purpose"):
        monkeypatch.setattr(asking, name, lambda _: None)
    soundings = SimpleNamespace(rows=lambda: np.ones((2, 4)), earlier_rows=lambda: np.zeros((3, 4)))
    ground: Any = SimpleNamespace(place_m=(5.0, 6.0), soundings=soundings, t_s=900.0)
    now: Any = SimpleNamespace(speed_m_s=1.5, spread=None)
    wish = Wish(lasts_s=600.0, over_bottom_m=(2.0, 3.0))
    one = asking.asked_of(asking.Taken(wish, now, ground, None, (), None, None), ("chart",))  # type: ignore[arg-type]
    ((rows, t_s, centre, half, charts, origin),) = made
    assert rows.tolist() == [[1.0] * 4] * 2 + [[0.0] * 4] * 3
    assert (t_s, centre, half) == (900.0, (5.0, 6.0), 1.5 * 600.0 + 120.0)
    assert (charts, origin, one.speed_m_s) == (("chart",), None, 1.5)
