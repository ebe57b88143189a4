"""Where exactly two sensors begin to contradict each other: the gates by hand, and the times."""

from __future__ import annotations

import math

import pytest

from sternwatch.watch.boat.contradiction import Explains, LogAgainstGround, Was
from sternwatch.watch.boat.verdict import Verdict

NOISE = 0.024**2 + 0.05**2  # leeway, and the scatter of means of some seconds


def said_after(
    log: float, ground: float, *explanations: Explains, scale_sd: float = 0.0, seconds: int = 60
) -> int | None:
    """Readings without noise, once a second: the second at which it is said."""
    test = LogAgainstGround()
    for t in range(seconds):
        test.take_log(t, log)
        test.take_ground(t, ground)
        test.step(float(t), 1.0, scale_sd, explanations or (Explains(0.0, 0.0),))
        if test.stands:
            return t
    return None


@pytest.mark.parametrize(
    ("ground", "scale_sd", "along", "sd"),
    [
        (1.2, 0.0, 0.0, 0.0), (1.2, 0.03, 0.0, 0.0), (1.2, 0.0, 0.3, 0.1), (2.5, 0.0, 0.0, 0.0), (4.5, 0.0, 0.0, 0.0),
        (4.5, 0.03, -0.2, 0.05),
    ],
)  # fmt: skip
def test_time_counts_from_two_and_six_tenths_of_a_standard_deviation(
    ground: float, scale_sd: float, along: float, sd: float
) -> None:
    """Of the current, leeway, scatter and scale; faster than she trolls a tenth of the excess besides. Three tenths
    beyond, a second counts as one; half of that way, as half of one."""
    excess = 0.1 * max(ground - 2.5, 0.0)
    one = math.sqrt(sd**2 + NOISE + (scale_sd * ground) ** 2 + excess**2)

    def after(off_sd: float) -> int | None:
        return said_after(ground - along - off_sd * one, ground, Explains(along, sd), scale_sd=scale_sd)

    assert after(2.59) is None
    assert after(2.751) == 22
    assert after(2.901) == 11
    assert after(9.0) == 11


def test_one_explanation_is_enough() -> None:
    assert said_after(0.5, 1.2, Explains(0.0, 0.0), Explains(0.7, 0.0)) is None
    assert said_after(0.5, 1.2, Explains(0.0, 0.0), Explains(-0.7, 0.0)) is not None


@pytest.mark.parametrize(("together_s", "said"), [(12, False), (3, True)])
def test_time_within_counts_against_time_apart(together_s: int, said: bool) -> None:
    test = LogAgainstGround()
    for t in range(300):
        test.take_log(t, 0.2 if t % (7 + together_s) < 7 else 1.2)
        test.take_ground(t, 1.2)
        test.step(float(t), 1.0, 0.0, (Explains(0.0, 0.0),))
        if test.stands:
            break
    assert test.stands is said


def test_while_she_hardly_moves_a_wheel_may_stand() -> None:
    assert said_after(0.0, 0.6) is None
    assert said_after(0.0, 0.61) is not None


def test_a_silent_sensor_contradicts_nothing_and_what_was_said_is_over() -> None:
    test = LogAgainstGround()
    for t in range(40):
        test.take_log(t, 0.2)
        if t < 30:
            test.take_ground(t, 1.2)
        test.step(float(t), 1.0, 0.0, (Explains(0.0, 0.0),))
        assert test.stands is (11 <= t < 35), t
    assert test.apart_m_s == 0.0


@pytest.mark.parametrize(
    ("between", "said_s"),
    [
        (None, 23),  # neither speaks for three seconds: the eleven seconds begin anew
        (0.3, 17),  # she drifts for three seconds, which count against it
    ],
)
def test_eight_seconds_apart_and_three_of_something_else(between: float | None, said_s: int) -> None:
    test = LogAgainstGround()
    for t in range(said_s + 1):
        assert not test.stands, t
        for readings in (test._logs, test._grounds):
            if 8 < t <= 11:
                readings.clear()
        if not 8 < t <= 11:
            test.take_log(t, 0.2)
            test.take_ground(t, 1.2)
        elif between is not None:
            test.take_log(t, between)
            test.take_ground(t, between)
        test.step(float(t), 1.0, 0.0, (Explains(0.0, 0.0),))
    assert test.stands


def test_readings_that_jump_are_said_though_their_mean_is_right() -> None:
    """Their scatter from one to the next beyond that of the speed over ground: more than 0.6 m/s."""
    for jump, told in ((0.59, None), (0.61, 10)):
        test, said = LogAgainstGround(), None
        for t in range(40):
            swing = jump * (1.0 if t % 2 else -1.0) / math.sqrt(2.0)
            test.take_log(t, 1.2 + swing)
            test.take_ground(t, 1.2)
            test.step(float(t), 1.0, 0.0, (Explains(0.0, 1.0),))
            if test.stands and said is None:
                said = t
        assert said is None if told is None else said is not None
        if said is not None:
            assert said <= 13


def test_a_verdict_needs_its_time_in_either_direction() -> None:
    verdict = Verdict()
    assert verdict.passed_s(100.0) == 0.0
    assert verdict.passed_s(102.5) == 2.5
    for _ in range(7):
        verdict.ask(1.0, apart=True)
    verdict.ask(1.0, apart=False)
    verdict.ask(1.0, apart=True)
    assert not verdict.stands, "seven, less one, and one"
    verdict.ask(1.0, apart=True)
    assert verdict.stands
    for _ in range(19):
        verdict.ask(1.0, apart=False)
    verdict.ask(2.0, apart=True, weight=4.0)
    for _ in range(8):
        verdict.ask(1.0, apart=False)
    assert verdict.stands, "nineteen, less eight, and eight"
    verdict.ask(1.0, apart=False)
    assert not verdict.stands
    heavy = Verdict()
    for _ in range(4):
        heavy.ask(1.0, apart=True, weight=2.0)
    assert heavy.stands, "time apart may count more"
    never = Verdict()
    for _ in range(100):
        never.ask(1.0, apart=False)
        never.ask(0.5, apart=True)
    assert not never.stands


def test_a_log_that_speaks_every_three_seconds_is_not_taken_for_one_that_jumps() -> None:
    """Two readings in six seconds tell nothing of how much they jump."""
    test = LogAgainstGround()
    for t in range(60):
        if t % 3 == 0:
            test.take_log(t, 1.2)
        test.take_ground(t, 1.2)
        test.step(float(t), 1.0, 0.03, (Explains(0.0, 0.15),))
        assert not test.stands


def test_the_earlier_difference_is_the_mean_of_twenty_seconds_that_ended_forty_seconds_ago() -> None:
    """Its time is that of its newest reading, its course the mean one. None while she turned, or of few readings."""
    test = LogAgainstGround()
    for t in range(101):
        test._offs.append((float(t), 358.0 + 0.1 * t, 0.01 * t))
    was = test._before(100.0)
    assert was is not None
    assert (was.t_s, was.off_m_s) == (60.0, pytest.approx(0.5))
    assert math.remainder(was.course_deg - 3.0, 360.0) == pytest.approx(0.0, abs=1e-9)
    for turned_deg, known in ((25.0, True), (25.1, False)):
        test._offs.clear()
        test._offs.extend((float(t), 350.0 + (turned_deg if t > 10 else 0.0), 0.2) for t in range(20))
        assert (test._before(60.0) is not None) is known
    for readings, known in ((15, True), (14, False)):
        test._offs.clear()
        test._offs.extend((float(t), 10.0, 0.2) for t in range(readings))
        assert (test._before(60.0) is not None) is known


@pytest.mark.parametrize(
    ("speed", "current_sd", "age_s", "turned_deg", "limit"),
    [
        (1.0, 0.0, 60.0, 90.0, 0.2777),  # pace and scatter alone
        (2.0, 0.0, 0.0, 0.0, 0.3532),
        (1.0, 0.2, 0.0, 180.0, 1.4273),  # all of the current, turned round
        (1.0, 0.2, 600.0, 0.0, 0.8346),  # what a current may have become in ten minutes
    ],
)  # fmt: skip
def test_how_much_a_difference_may_have_changed_by(
    speed: float, current_sd: float, age_s: float, turned_deg: float, limit: float
) -> None:
    test = LogAgainstGround(speed, speed, stands=True)
    test._now_s, test._was = age_s, Was(0.0, 350.0, 0.1)
    for off, changed in ((limit - 0.001, False), (limit + 0.001, True)):
        assert test._changed(age_s, 350.0 + turned_deg, 0.1 + off, current_sd) is changed
        assert test._changed(age_s, 350.0 + turned_deg, 0.1 - off, current_sd) is changed
