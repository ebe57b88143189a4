"""The log against the speed over ground: said in time, never of a current, and no interval survives it."""

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.boat.contradiction import Explains, LogAgainstGround

MPH = 0.44704
PRIOR = Explains(0.0, 0.0912)
PLAIN = Explains(0.0, 0.152)


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


def _drifting(rate_per_s, seconds, course=lambda _: 60.0):
    """A minute and a half of a sound log, then one whose error grows: when it was said, and how far off it was."""
    test, rng = LogAgainstGround(), np.random.default_rng(5)
    for t in range(-90, seconds):
        test.take_log(t, 1.2 + rate_per_s * max(t, 0) + rng.normal(0.0, 0.03))
        test.take_ground(t, 1.2 + rng.normal(0.0, 0.05))
        test.step(float(t), 1.0, 0.0304, (Explains(0.0, 0.152),), course(t), 0.152)
        if test.stands:
            return t, rate_per_s * t, test
    return None, 0.0, test


def test_a_log_that_drifts_is_said_before_a_current_could_no_longer_explain_it():
    after, off, _ = _drifting(0.01, 120)
    assert after is not None
    assert off < 0.7  # where all that is believed of currents reaches to 0.77, and some seconds on


def test_a_current_that_comes_over_ten_minutes_is_no_drift():
    assert _drifting(0.0005, 600)[0] is None


def test_a_difference_that_a_turn_makes_is_no_drift():
    after, _, _ = _drifting(0.005, 60, lambda t: 60.0 + 2.0 * min(max(t, 0), 90))
    assert after is None


def test_a_log_that_drifts_in_a_turn_is_said_though_no_earlier_difference_can_be_compared():
    after, off, _ = _drifting(0.01, 120, lambda t: 60.0 + 2.0 * t)
    assert after is not None
    assert off < 0.48 + 0.01 * 20.0  # twenty seconds after the readings differ by more than is stated of both


def test_a_paddle_wheel_that_reads_too_much_is_said_though_it_sticks_now_and_then():
    """At a walking pace it sticks for two seconds of twelve, and a mean would take that for agreement."""
    test = LogAgainstGround()
    for t in range(30):
        test.take_log(t, 0.0 if t % 12 in (10, 11) else 1.25)
        test.take_ground(t, 0.62)
        test.step(float(t), 1.0, 0.0304, (Explains(0.0, 0.152),), 60.0, 0.152)
        if test.stands:
            break
    assert test.stands
    assert t <= 20


def test_spikes_of_the_receiver_are_no_contradiction():
    """Two seconds of every twenty are off by two metres a second; the fast lake boat has seen worse."""
    test = LogAgainstGround()
    for t in range(600):
        test.take_log(t, 2.9)
        test.take_ground(t, 0.9 if t % 20 < 2 else 2.8)
        test.step(float(t), 1.0, 0.0304, (Explains(0.0, 0.152),), 60.0, 0.152)
        assert not test.stands


def _steady(test, begin, seconds, off, current=PLAIN):
    for t in range(begin, begin + seconds):
        test.take_log(t, 1.2 + off)
        test.take_ground(t, 1.2)
        test.step(float(t), 1.0, 0.0304, (current,), 60.0, 0.152)
    return begin + seconds


def test_a_log_that_drifted_is_over_only_when_it_came_back_or_the_crew_say_what_runs():
    after, off, test = _drifting(0.01, 120)
    t = _steady(test, after + 1, 600, off)  # a current of so much could be, but none was a minute before
    assert test.stands
    told = test.copy()
    _steady(test, t, 40, 0.0)
    assert not test.stands
    told.forget()
    _steady(told, t, 40, off, Explains(-off, 0.057))
    assert not told.stands
