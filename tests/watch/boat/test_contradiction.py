"""The log against the speed over ground: said in time, never of a current, and no interval survives it."""

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.boat.contradiction import Explains, LogAgainstGround

MPH = 0.44704
PRIOR = Explains(0.0, 0.0912)


def _told_after(log, ground, explanations=(PRIOR,), seconds=60):
    test = LogAgainstGround()
    rng = np.random.default_rng(1)
    for t in range(seconds):
        test.take_log(t, log + rng.normal(0.0, 0.03))
        test.take_ground(t, ground + rng.normal(0.0, 0.05))
        test.step(float(t), 1.0, 0.0304, explanations)
        if test.stands:
            return t, test
    return None, test


@pytest.mark.parametrize(("log", "ground"), [(2.4, 5.2), (1.0, 2.5), (1.25, 2.5), (5.0, 2.5), (0.0, 2.4), (2.9, 1.3)])
def test_a_false_log_is_said_within_twenty_seconds(log, ground):
    after, test = _told_after(log * MPH, ground * MPH)
    assert after is not None
    assert after <= 20
    assert "contradict" in test.words(SYSTEMS["us"])
    assert "\n" not in test.words(SYSTEMS["us"])


@pytest.mark.parametrize(("log", "ground"), [(2.4, 2.5), (2.0, 2.5), (2.5, 1.9), (1.5, 1.9)])
def test_a_current_that_is_to_be_expected_is_no_contradiction(log, ground):
    assert _told_after(log * MPH, ground * MPH, seconds=600)[0] is None


def test_a_strong_current_that_the_legs_have_told_is_no_contradiction():
    assert _told_after(1.0, 1.9, (Explains(0.9, 0.05), PRIOR), seconds=600)[0] is None


def test_it_ends_when_they_agree_again():
    _, test = _told_after(0.5, 1.5)
    assert test.apart_m_s == pytest.approx(1.0, abs=0.15)
    for t in range(100, 140):
        test.take_log(t, 1.4)
        test.take_ground(t, 1.4)
        test.step(float(t), 1.0, 0.0304, (PRIOR,))
    assert not test.stands
    assert test.apart_m_s == 0.0


def test_a_log_that_jumps_is_said_though_its_mean_is_right():
    test = LogAgainstGround()
    rng = np.random.default_rng(3)
    for t in range(20):
        test.take_log(t, max(1.2 + rng.normal(0.0, 1.5), 0.0))
        test.take_ground(t, 1.2 + rng.normal(0.0, 0.05))
        test.step(float(t), 1.0, 0.0304, (Explains(0.0, 1.0),))
    assert test.stands


def test_a_boat_that_gathers_way_in_waves_is_no_jumping_log():
    test = LogAgainstGround()
    rng = np.random.default_rng(3)
    for t in range(60):
        speed = min(0.3 * t, 2.5)
        test.take_log(t, max(speed + rng.normal(0.0, 0.2), 0.0))
        test.take_ground(t, speed + rng.normal(0.0, 0.05))
        test.step(float(t), 1.0, 0.0304, (Explains(0.0, 0.3),))
        assert not test.stands
