"""The own-boat filter against motions whose truth is known."""

from __future__ import annotations

import math
import random

import pytest

from sternwatch.watch.boat.motion_filter import COASTS_S, MotionFilter, RateFilter, wrap_deg


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
