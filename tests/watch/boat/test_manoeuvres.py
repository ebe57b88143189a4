"""Manoeuvres as tracks: geometry that is known in closed form, and the rules of the horizon."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sternwatch.watch.boat.manoeuvres import Path, as_it_goes, carried_off, hold, path_of, turn
from sternwatch.watch.picture.manoeuvre import Manoeuvre

SPEED = 1.03


def test_hold_runs_three_minutes_straight() -> None:
    path = path_of(hold(), heading_rad=math.radians(30), speed_m_s=SPEED)
    assert path.time_s[-1] == pytest.approx(180.0)
    assert path.north_m[-1] == pytest.approx(180 * SPEED * math.cos(math.radians(30)))
    assert path.east_m[-1] == pytest.approx(180 * SPEED * math.sin(math.radians(30)))
    assert np.ptp(path.heading_rad) == 0.0


@pytest.mark.parametrize(("side", "sign"), [("port", -1.0), ("starboard", 1.0)])
def test_a_half_circle_lies_on_its_circle(side: str, sign: float) -> None:
    path = path_of(turn(side, 180, radius_m=60.0), heading_rad=0.0, speed_m_s=SPEED)  # type: ignore[arg-type]
    assert path.ends_s == pytest.approx(math.pi * 60 / SPEED)
    turning = path.time_s <= path.ends_s + 1e-9
    from_centre = np.hypot(path.north_m[turning], path.east_m[turning] - sign * 60.0)
    assert from_centre == pytest.approx(60.0, abs=1e-9)
    assert path.heading_rad[-1] == pytest.approx(sign * math.pi)
    # Two minutes after the turn, still at speed, on the reciprocal course.
    assert path.time_s[-1] == pytest.approx(path.ends_s + 120.0)
    assert path.north_m[-1] == pytest.approx(-120 * SPEED, abs=1e-6)
    assert path.east_m[-1] == pytest.approx(sign * 120.0, abs=1e-6)


def test_a_turn_by_time_takes_that_time() -> None:
    path = path_of(turn("starboard", 90, seconds=50.0), heading_rad=1.0, speed_m_s=SPEED)
    assert path.ends_s == pytest.approx(50.0)
    assert path.heading_rad[-1] - 1.0 == pytest.approx(math.pi / 2)
    assert path.time_s[-1] == pytest.approx(180.0)  # 50 + 120 is less than the least


def test_the_horizon_is_never_longer_than_ten_minutes() -> None:
    path = path_of(turn("port", 180, radius_m=400.0), heading_rad=0.0, speed_m_s=0.5)
    assert path.time_s[-1] == pytest.approx(600.0)


def test_a_wait_is_sailed_straight_before() -> None:
    plan = Manoeuvre("plan", -math.pi, radius_m=30.0, wait_s=30.0)
    path = path_of(plan, heading_rad=0.0, speed_m_s=SPEED)
    assert path.starts_s == 30.0
    assert 30.0 in path.time_s
    before = path.time_s <= 30.0
    assert path.north_m[before] == pytest.approx(SPEED * path.time_s[before])
    assert path.ends_s == pytest.approx(30.0 + math.pi * 30 / SPEED)


def test_a_stop_comes_to_nothing_and_back() -> None:
    path = path_of(Manoeuvre("plan", stop_s=20.0), heading_rad=0.0, speed_m_s=SPEED)
    lying = (path.time_s >= 8.0 - 1e-9) & (path.time_s <= 28.0 + 1e-9)
    assert path.speed_m_s[lying] == pytest.approx(0.0, abs=1e-12)
    assert path.speed_m_s[-1] == pytest.approx(SPEED)
    assert path.ends_s == pytest.approx(36.0)
    # Down and up evenly: half the speed for 16 s.
    assert path.north_m[-1] == pytest.approx(SPEED * (8.0 + path.time_s[-1] - 36.0), abs=1e-9)


def test_a_turn_without_way_is_given_up() -> None:
    path = path_of(Manoeuvre("plan", math.pi, radius_m=30.0, to_speed_m_s=0.0), heading_rad=0.0, speed_m_s=SPEED)
    assert path.time_s[-1] <= 600.0
    assert path.heading_rad[-1] < 1.0


def test_small_wandering_is_no_turn() -> None:
    assert as_it_goes(math.radians(0.3), 0.0, SPEED).turn_rad == 0.0
    going = as_it_goes(math.radians(-1.0), 0.0, SPEED)
    assert going.turn_rad == pytest.approx(-math.pi)
    assert going.rate_rad_s == pytest.approx(math.radians(1.0))


def test_slowing_down_ends_at_nothing_at_the_least() -> None:
    assert as_it_goes(0.0, -1.0, SPEED).to_speed_m_s == 0.0
    gained = as_it_goes(0.0, 0.02, SPEED)
    assert gained.to_speed_m_s == pytest.approx(SPEED + 0.3)


@settings(max_examples=80, deadline=None)
@given(
    st.floats(-2 * math.pi, 2 * math.pi),
    st.one_of(st.none(), st.floats(3, 300)),
    st.floats(0.05, 3.0),
    st.one_of(st.none(), st.floats(0.0, 3.0)),
    st.one_of(st.none(), st.floats(0.0, 120.0)),
)
def test_any_manoeuvre_is_a_track(
    turn_rad: float, radius: float | None, speed: float, to: float | None, stop: float | None
) -> None:
    path = path_of(
        Manoeuvre("any", turn_rad, radius_m=radius, to_speed_m_s=to, stop_s=stop), heading_rad=0.2, speed_m_s=speed
    )
    steps = path.step_s
    assert (steps > 0.0).all()
    assert (steps <= 4.0 + 1e-9).all()
    assert 180.0 - 1e-6 <= path.time_s[-1] <= 600.0 + 1e-6
    # Never faster over a step than the greater of its two speeds, and no more than it can turn.
    gone = np.hypot(np.diff(path.north_m), np.diff(path.east_m))
    assert (gone <= np.maximum(path.speed_m_s[1:], path.speed_m_s[:-1]) * steps + 1e-9).all()
    assert abs(path.heading_rad[-1] - 0.2) <= abs(turn_rad) + 1e-9


def test_a_boat_that_slows_is_not_taken_to_stop_but_to_slow_as_helms_do() -> None:
    usual = (0.5 * SPEED, 1.2 * SPEED)
    slowing = as_it_goes(0.0, -0.1, SPEED, usual)
    assert slowing.to_speed_m_s == pytest.approx(0.5 * SPEED)
    assert slowing.speed_change_s == pytest.approx(0.5 * SPEED / 0.1)
    assert as_it_goes(0.0, 0.1, SPEED, usual).to_speed_m_s == pytest.approx(1.2 * SPEED)
    # Slower already than is usual: as slow as she is, and no slower.
    assert as_it_goes(0.0, -0.1, 0.3 * SPEED, usual).to_speed_m_s == pytest.approx(0.3 * SPEED)


@pytest.mark.parametrize("steps", [1, 3])
def test_a_drift_that_turns_with_her_is_exact_over_steps_of_any_length(steps: int) -> None:
    """A quarter of a circle in ten seconds: the integrals of cosine and sine over it."""
    along = np.linspace(0.0, 1.0, steps + 1)
    still = np.zeros_like(along)
    path = Path(10.0 * along, still, still, 1.0 + 0.5 * math.pi * along, still + 1.2, 0.0, 10.0)
    assert carried_off(path)[-1] == pytest.approx([20.0 / math.pi] * 2)
    assert carried_off(path)[0].tolist() == [0.0, 0.0]
