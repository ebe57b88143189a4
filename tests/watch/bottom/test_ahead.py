"""What lies under a body and what it meets straight on, over a bottom that is known to the metre."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.room import Ahead, Ground

Bottom = Callable[[float], float | None]


class Bed:
    """A bottom by metres north. Ahead of the boat it is what an earlier trip sounded."""

    def __init__(self, depth: Bottom, passed: list[Any] | None = None, ahead: Bottom | None = None) -> None:
        self.depth, self.passed, self.ahead, self.reaches = depth, passed or [], ahead or depth, []

    def _at(self, depth: Bottom, north: float, east: float) -> Any:
        found = depth(north)
        return found if found is None else SimpleNamespace(
            north_m=north + 3.0, east_m=east - 4.0, depth_m=found, t_s=-20.0, earlier=True, error_m=None
        )  # fmt: skip

    def about(self, north: float, east: float) -> Any:
        return self._at(self.depth, north, east)

    def near(self, north: float, east: float) -> Any:
        return self._at(self.ahead, north, east)

    def imported(self, *_at: float) -> Any:
        return None

    def shoalest_m(self, north: float, east: float, reach: float) -> float:
        self.reaches.append((north, east, reach))
        return min((d for n in range(-300, 400) if (d := self.depth(n)) is not None), default=1e9)

    def back_to(self, t_s: float) -> Any:
        return (
            np.array([(s.north_m, s.east_m, s.depth_m, s.t_s) for s in self.passed if s.t_s >= t_s]).reshape(-1, 4).T
        )


def chain(*bodies: tuple[str, str, tuple[float, float, float]], deeper_m: float = 0.0, may: bool = False) -> Any:
    """A chain with bodies of some kind, each at (astern, to starboard, down)."""
    depth = bodies[-1][2][2]
    place = SimpleNamespace(
        bodies_m=tuple(at for _, _, at in bodies), depth_m=depth, depth_interval_m=(depth, depth + deeper_m)
    )
    rig = SimpleNamespace(what=tuple(b[0] for b in bodies), kinds=tuple(b[1] for b in bodies))
    return SimpleNamespace(place=place, rig=rig, rod=SimpleNamespace(key="1", bottom=object() if may else None))


def gone(bed: Bed, one: Any, *, north_m: float = 10.0, seconds: float = 5.0, rate: float | None = 0.0) -> Ground:
    """From the plane's middle to the north in some seconds; the antenna is 3 m before the transom."""
    ground = Ground()
    for t, north in ((0.0, 0.0), (seconds, north_m)):
        ground.step(t, {"1": one}, bed, OverGround((north, 0.0), antenna_m=3.0), rate)  # type: ignore[arg-type]
    return ground


LURE = ("the lure", "lure", (60.0, 2.0, 20.0))  # 53 m south of the plane's middle once the boat is 10 m north of it


def wall(north: float) -> float:
    return 30.0 if north < -20.0 else 15.0


def rise(north: float) -> float:
    return 30.0 - 0.1 * (north + 53.0)


def holed(north: float) -> float | None:
    return None if -30.0 < north < -20.0 else wall(north)


@pytest.mark.parametrize(
    ("depth", "boat", "touches_s", "raise_m", "known_s", "bottom_m"),
    [
        # 30 m at 30 m ahead, 15 m at 36 m: between them 20.3 m, the lure and 0.3 m, is met at 33.88 m
        pytest.param(wall, {}, 16.94, 6.0, 120.0, 15.0, id="wall"),
        # 0.1 m to a metre: 20.3 m are met 97 m on; 240 m on it is 6 m deep
        pytest.param(rise, {}, 48.5, 15.0, 120.0, 20.4 - 0.6, id="rise"),
        # nothing known at 24 and 30 m: the known way ends at 18 m, the touch is where it is known again
        pytest.param(holed, {}, 18.0, 6.0, 9.0, 15.0, id="hole"),
        # half as fast, twice as late, and half the way looked at: 120 m on the rise is 18 m deep
        pytest.param(rise, {"north_m": 10.0, "seconds": 10.0}, 97.0, 3.0, 120.0, 19.8, id="half as fast"),
    ],
)
def test_when_and_where_a_lure_touches_straight_on(
    depth: Bottom, boat: dict[str, float], touches_s: float, raise_m: float, known_s: float, bottom_m: float
) -> None:
    ahead = gone(Bed(depth), chain(LURE), **boat).ahead["1"]
    assert ahead.touches_s == pytest.approx(touches_s)
    assert (ahead.raise_m, ahead.known_s, ahead.bottom_m) == pytest.approx((raise_m, known_s, bottom_m))
    assert (ahead.what, ahead.sloped) == ("the lure", False)


def test_a_lure_that_may_be_deeper_comes_up_by_as_much_more() -> None:
    assert gone(Bed(wall), chain(LURE, deeper_m=1.5)).ahead["1"].raise_m == pytest.approx(7.5)


@pytest.mark.parametrize(
    ("bottom_m", "ahead"),
    [
        pytest.param(24.6, None, id="more than 4.5 m of room"),
        pytest.param(24.5, Ahead("the lure", None, 0.0, 120.0, sloped=False, bottom_m=None), id="4.5 m"),
        pytest.param(20.5, Ahead("the lure", None, 0.5, 120.0, sloped=False, bottom_m=None), id="it clears by half"),
        pytest.param(20.35, Ahead("the lure", None, 0.65, 120.0, sloped=False, bottom_m=None), id="just off"),
        pytest.param(20.25, Ahead("the lure", 0.0, 0.75, 120.0, sloped=False, bottom_m=20.25), id="it touches"),
    ],
)
def test_over_an_even_bottom_only_little_room_is_told(bottom_m: float, ahead: Ahead | None) -> None:
    found = gone(Bed(lambda _: bottom_m), chain(LURE)).ahead.get("1")
    if ahead is None or found is None:
        assert found is ahead
        return
    assert (found.what, found.touches_s, found.known_s, found.bottom_m) == (
        ahead.what, ahead.touches_s, ahead.known_s, ahead.bottom_m,
    )  # fmt: skip
    assert found.raise_m == pytest.approx(ahead.raise_m)


BALL = ("the ball", "ball", (10.0, 0.0, 22.0))


@pytest.mark.parametrize(
    ("bodies", "may", "what"),
    [
        # the lure reaches the wall at 33.88 m; the ball is beyond it, 7 m deeper than the bottom
        pytest.param((BALL, LURE), False, "the ball", id="the first to touch"),
        pytest.param((LURE,), True, "the lure", id="a lure that may touch, if nothing else does"),
        pytest.param((("the ball", "ball", (65.0, 0.0, 20.0)), LURE), True, "the ball", id="it may, the ball not"),
        pytest.param((("the ball", "ball", (65.0, 0.0, 20.0)), LURE), False, "the lure", id="neither may"),
        pytest.param((("the board", "board", (70.0, 0.0, 16.0)), LURE), False, "the lure", id="a board floats"),
    ],
)
def test_which_body_is_told(bodies: Any, may: bool, what: str) -> None:
    ground = gone(Bed(wall), chain(*bodies, may=may))
    assert ground.ahead["1"].what == what
    assert [below is None for below in ground.below["1"]] == [kind == "board" for _, kind, _ in bodies]


def test_below_a_body_its_room_and_how_far_and_how_old_the_sounding_is() -> None:
    bed = Bed(wall)
    (below,) = gone(bed, chain(LURE)).below["1"]
    assert below is not None
    assert (below.what, below.room_m, below.bottom_m, below.off_m) == ("the lure", 10.0, 30.0, 5.0)
    assert (below.age_s, below.earlier, below.error_m) == (25.0, True, None)
    assert bed.reaches[-1] == (-53.0, 2.0, 246.0), "two minutes at 2 m/s, and a step"


@pytest.mark.parametrize(
    ("boat", "told"),
    [
        pytest.param({"rate": 1.0}, True, id="a degree a second is straight on"),
        pytest.param({"rate": -1.01}, False, id="more is a turn"),
        pytest.param({"rate": None}, True, id="no rate"),
        pytest.param({"seconds": 4.9}, False, id="too short a course"),
        pytest.param({"north_m": 1.5, "seconds": 5.0}, True, id="0.3 m/s"),
        pytest.param({"north_m": 1.45, "seconds": 5.0}, False, id="she hardly moves"),
    ],
)
def test_what_comes_is_known_only_where_she_goes_straight_on(boat: dict[str, Any], told: bool) -> None:
    ground = gone(Bed(lambda n: 30.0 if n < -45.0 else 15.0), chain(LURE), **boat)
    assert ("1" in ground.ahead) is told
    assert (ground.velocity_m_s is not None and not ground.turning) is told


def test_her_velocity_is_that_of_the_last_ten_seconds() -> None:
    ground, bed = Ground(), Bed(lambda _: 50.0)
    for t, north in ((0.0, 0.0), (10.0, 20.0), (20.0, 60.0)):
        ground.step(t, {}, bed, OverGround((north, -t)), 0.0)  # type: ignore[arg-type]
    assert ground.velocity_m_s == (4.0, -1.0)
    ground.step(21.0, {}, bed, OverGround(None), 0.0)  # type: ignore[arg-type]
    assert ground.velocity_m_s is None
    ground.step(25.0, {}, bed, OverGround((70.0, 0.0)), 0.0)  # type: ignore[arg-type]
    assert ground.velocity_m_s is None, "the course begins anew where the place was lost"


def test_what_comes_is_looked_at_every_two_seconds() -> None:
    bed, ground, one = Bed(wall), Ground(), chain(LURE)
    looked = []
    for t in range(10):
        ground.step(float(t), {"1": one}, bed, OverGround((2.0 * t, 0.0), antenna_m=3.0), 0.0)  # type: ignore[arg-type]
        looked.append(len(bed.reaches))
    assert looked == [0, 0, 0, 0, 0, 0, 1, 1, 2, 2], "the first course is known after five seconds"


def test_a_slope_just_passed_is_carried_on_beyond_the_sounder() -> None:
    """Half a metre to a metre; 20.3 m are met 19.4 m north, 14.4 m from a lure that is 5 m north."""
    slope = lambda n: 30.0 - 0.5 * n  # noqa: E731
    passed = [
        SimpleNamespace(t_s=5.0 - k, north_m=10.0 - 2.0 * k, east_m=0.0, depth_m=slope(10.0 - 2.0 * k), earlier=False)
        for k in range(15)
    ]
    bed = Bed(lambda n: slope(n) if n <= 10.0 else None, passed)
    ahead = gone(bed, chain(("the lure", "lure", (2.0, 0.0, 20.0)))).ahead["1"]
    assert (ahead.touches_s, ahead.bottom_m, ahead.known_s) == pytest.approx((7.2, 18.5, 15.0))
    assert ahead.sloped
    # the slope is carried on as far as it was measured, 28 m: at the last step, 35 m north, it is 12.5 m deep
    assert ahead.raise_m == pytest.approx(20.0 + 1.0 - 12.5)
