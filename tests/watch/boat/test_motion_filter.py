"""The own-boat filter against motions whose truth is known."""

from __future__ import annotations

import math
import random

import pytest

from sternwatch.watch.boat.motion_filter import MotionFilter, RateFilter, wrap_deg

# As agreed: a change of one is to be noticed.
COASTS_S = 3.0


@pytest.mark.parametrize(("angle", "wrapped"), [(180.0, 180.0), (-180.0, 180.0), (190.0, -170.0), (720.5, 0.5)])
def test_angles_wrap_into_one_turn(angle: float, wrapped: float) -> None:
    assert wrap_deg(angle) == pytest.approx(wrapped)


def test_noisy_speed_is_smoothed_well_below_its_noise() -> None:
    rng = random.Random(1)
    f = MotionFilter()
    errors = []
    for k in range(400):
        f.take_speed(float(k), 1.2 + rng.gauss(0.0, 0.1))
        if k > 60:
            errors.append(f.speed.x - 1.2)
    rms = math.sqrt(sum(e * e for e in errors) / len(errors))
    assert 0.0 < rms < 0.085


def test_a_turn_across_north_is_followed_without_a_jump() -> None:
    f = MotionFilter()
    for k in range(120):
        f.take_heading(float(k), (300.0 + 3.0 * k) % 360.0)
    f.advance(119.0)
    assert abs(wrap_deg(f.heading.x - (300.0 + 3.0 * 119))) < 1.0
    assert f.heading.v == pytest.approx(3.0, abs=0.1)


def test_current_is_taken_off_the_ground_velocity() -> None:
    # 1.0 m/s north through the water in a current of 0.3 m/s to the east.
    f = MotionFilter(current_m_s=(0.0, 0.3))
    for k in range(60):
        f.take_ground_velocity(float(k), math.hypot(1.0, 0.3), math.degrees(math.atan2(0.3, 1.0)))
    assert f.speed.x == pytest.approx(1.0, abs=1e-6)
    assert f.direction.x == pytest.approx(0.0, abs=1e-6)


def test_course_of_a_boat_at_rest_is_not_a_direction() -> None:
    f = MotionFilter()
    f.take_ground_velocity(0.0, 1.0, 90.0)
    for k in range(1, 50):
        f.take_ground_velocity(float(k), 0.05, (k * 77.0) % 360.0)
    assert f.direction.x == pytest.approx(90.0)


def test_the_filter_matches_a_textbook_kalman_filter_in_matrix_form() -> None:
    # Independent check: the same constant-rate model written with matrices (Bar-Shalom, Li & Kirubarajan 2001).
    np = pytest.importorskip("numpy")
    rng = random.Random(3)
    q, noise = 0.02, 0.1
    f = RateFilter(q)
    x = P = None
    t_before = 0.0
    for k in range(200):
        t = k + rng.uniform(-0.3, 0.3)
        z = math.sin(t / 20.0) + rng.gauss(0.0, noise)
        f.measure(t, z, noise)
        if x is None:
            x, P = np.array([z, 0.0]), np.diag([noise**2, 4.0 * q])
        else:
            dt = t - t_before
            F = np.array([[1.0, dt], [0.0, 1.0]])
            x = F @ x
            P = F @ P @ F.T + q * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
            H = np.array([[1.0, 0.0]])
            K = P @ H.T / (H @ P @ H.T + noise**2)
            x = x + (K * (z - x[0])).ravel()
            P = (np.eye(2) - K @ H) @ P
        t_before = t
    assert f.x == pytest.approx(x[0], rel=1e-9)
    assert f.v == pytest.approx(x[1], rel=1e-9)
    assert f.pvv == pytest.approx(P[1, 1], rel=1e-9)


def test_without_readings_a_speed_stays_what_it_became() -> None:
    f = MotionFilter()
    for k in range(20):
        f.take_speed(float(k), 1.0 + 0.05 * k)
    at_last = f.speed.x
    f.advance(19.0 + COASTS_S)
    coasted = f.speed.x
    f.advance(60.0)
    assert at_last < coasted < at_last + 0.05 * COASTS_S + 0.02
    assert f.speed.x == coasted
    assert f.speed.v == 0.0


def test_readings_of_value_and_rate_match_the_same_filter_in_matrix_form() -> None:
    np = pytest.importorskip("numpy")
    rng = random.Random(5)
    q = 0.7
    mine = RateFilter(q)
    mine.measure_rate(0.0, 2.0, 1.0)
    assert mine.t_s is None, "a rate alone begins nothing"
    mine.measure(0.0, 10.0, 4.0)
    state, cov, last = np.array([10.0, 0.0]), np.diag([16.0, 4.0 * q]), 0.0
    for k in range(40):
        t = last + rng.uniform(0.2, 1.5)
        dt, last = t - last, t
        step = np.array([[1.0, dt], [0.0, 1.0]])
        noise_of_step = q * np.array([[dt**3 / 3.0, dt**2 / 2.0], [dt**2 / 2.0, dt]])
        state, cov = step @ state, step @ cov @ step.T + noise_of_step
        by_rate, value, noise = k % 3 == 1, rng.gauss(0.0, 3.0), rng.uniform(0.5, 2.0)
        (mine.measure_rate if by_rate else mine.measure)(t, value, noise)
        look = np.array([0.0, 1.0] if by_rate else [1.0, 0.0])
        gain = cov @ look / (look @ cov @ look + noise**2)
        state, cov = state + gain * (value - look @ state), cov - np.outer(gain, look @ cov)
        assert (mine.x, mine.v) == pytest.approx(tuple(state), rel=1e-9)
        assert (mine.pxx, mine.pxv, mine.pvv) == pytest.approx((cov[0, 0], cov[0, 1], cov[1, 1]), rel=1e-9)
        assert mine.read_s == t


def test_a_sensor_of_the_rate_turns_her_where_no_heading_comes() -> None:
    f = MotionFilter()
    f.take_heading(0.0, 350.0)
    f.direction.measure(0.0, 350.0, 4.0)
    for k in range(1, 30):
        f.take_rate(float(k), 4.0)
    for one in (f.heading, f.direction):
        assert one.v == pytest.approx(4.0, abs=0.2)
        assert abs(wrap_deg(one.x - (350.0 + 4.0 * 29))) < 12.0
        assert -180.0 < one.x <= 180.0
        assert one.read_since(29.0)
        assert not one.read_since(29.1)


def test_a_current_without_a_course_leaves_the_speed_as_it_is() -> None:
    f = MotionFilter(current_m_s=(0.0, 0.3))
    f.take_ground_velocity(0.0, 1.4, None)
    assert f.speed.x == 1.4
    assert f.direction.t_s is None
    slow = MotionFilter(current_m_s=(0.9, 0.0))
    slow.take_ground_velocity(0.0, 1.0, 0.0)
    assert slow.speed.x == pytest.approx(0.1)
    assert slow.direction.t_s is None, "no way on through the water"
    still = MotionFilter()
    still.take_ground_velocity(0.0, 0.3, 77.0)
    assert still.direction.x == 77.0
    still.direction.reset()
    assert not still.direction.read_since(0.0)


@pytest.mark.parametrize(("seconds", "moved"), [(1.0, 2.0), (3.0, 6.0), (5.0, 6.0), (60.0, 6.0)])
def test_a_value_goes_on_for_three_seconds_without_a_reading(seconds: float, moved: float) -> None:
    f = RateFilter(1.0, x=10.0, v=2.0, t_s=100.0, read_s=100.0)
    f.advance(100.0 + seconds)
    assert f.x == pytest.approx(10.0 + moved)
    assert f.v == (2.0 if seconds <= 3.0 else 0.0)
    twice = RateFilter(1.0, x=10.0, v=2.0, t_s=100.0, read_s=100.0)
    twice.advance(100.0 + 0.5 * seconds)
    twice.advance(100.0 + seconds)
    assert twice.x == pytest.approx(f.x), "however often anybody looks"
    twice.advance(100.0)
    assert twice.t_s == 100.0 + seconds
