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
from sternwatch.watch.again.plan import Cannot
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
    """In place of the thread: what it was asked, and an answer that is set by hand."""

    def __init__(self) -> None:
        self.asked: list[Any] = []
        self.made: Any = None
        self.trouble = ""

    def ask(self, question: Any) -> None:
        self.asked.append(question)


def alone(wall: list[float]) -> tuple[Passing, Beside]:
    passing, beside = Passing(clock=lambda: wall[0]), Beside()
    passing._beside.stop()
    passing._beside = beside  # type: ignore[assignment]
    passing.want(Wish(over_bottom_m=OVER))
    return passing, beside


def way(*, members: int = 6, lasts_s: float = 600.0) -> WholePass:
    path: Any = SimpleNamespace(time_s=np.array([0.0, lasts_s]))
    return WholePass(
        (Leg(lasts_s),), path, np.zeros((2, 2)), 60.0, (50.0, 70.0), {"1": 60.0}, 30.0, lasts_s, 0.0, members, 6,
        None, (), True,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("feed_s", "wall_s", "took_s", "due"),
    [
        (10.0, 10.0, 0.0, True), (9.9, 10.0, 0.0, False), (10.0, 9.9, 0.0, False), (90.0, 11.9, 6.0, False),
        (90.0, 12.0, 6.0, True), (480.0, 480.0, 1.0, True), (481.0, 481.0, 1.0, False),
    ],
)  # fmt: skip
def test_a_pass_is_renewed_every_ten_seconds_half_of_the_time_and_no_longer_near_its_end(
    feed_s: float, wall_s: float, took_s: float, due: bool
) -> None:
    wall = [0.0]
    passing, _ = alone(wall)
    assert passing._is_due(0.0), "what is wanted is planned at once"
    passing._asked_s = passing._wall_s = 0.0
    passing.found, passing._took_s, passing._ends_s = way(), took_s, 600.0
    wall[0] = wall_s
    assert passing._is_due(feed_s) is due
    passing._asked += 1
    assert not passing._is_due(feed_s), "one is being made"
    assert passing.waiting


def test_all_members_confirm_a_first_look_as_soon_as_half_a_core_allows() -> None:
    wall = [5.0]
    passing, _ = alone(wall)
    passing._asked_s = passing._wall_s = 0.0
    passing.found, passing._took_s = way(members=4), 2.5
    assert passing._is_due(0.0)
    wall[0] = 4.9
    assert not passing._is_due(90.0)
    assert passing._how((Leg(60.0),)) == "all members"
    assert passing._how(()) == "anew", "nothing is left of it"
    passing.found = way()
    assert passing._how((Leg(60.0),)) == "anew"
    passing.found = None
    assert passing._how(()) == "soon"


def test_what_is_answered_late_or_cannot_be_does_not_take_a_way_from_her() -> None:
    passing, beside = alone([0.0])
    passing._asked, passing._asked_s = 3, 40.0
    first, cannot = way(), Cannot("no water")
    beside.made = SimpleNamespace(number=1, found=first, seconds=1.5)
    passing._take()
    assert (passing.found, passing._told, passing._took_s, passing._ends_s) == (first, first, 1.5, 640.0)
    beside.made = SimpleNamespace(number=1, found=cannot, seconds=9.0)
    passing._take()
    assert passing._took_s == 1.5, "taken already"
    passing._asked_s = 70.0
    beside.made = SimpleNamespace(number=2, found=cannot, seconds=2.0)
    passing._take()
    assert passing.found is first
    second = way(lasts_s=500.0)
    beside.made = SimpleNamespace(number=3, found=second, seconds=2.0)
    passing.steering = SimpleNamespace(lost=True)  # type: ignore[assignment]
    passing._take()
    assert (passing.found, passing.steering, passing._ends_s) == (second, None, 640.0)
    passing.steering = SimpleNamespace(lost=True)  # type: ignore[assignment]
    beside.made = SimpleNamespace(number=4, found=cannot, seconds=2.0)
    passing._take()
    assert passing.found is cannot, "she has left the way that there was"
    assert passing.words(US, NAMES) == ("PASS no water", "")
    assert (passing.way_m, passing.bar) == (None, "")


def test_before_there_is_a_way_the_helm_says_why() -> None:
    passing, beside = alone([0.0])
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
