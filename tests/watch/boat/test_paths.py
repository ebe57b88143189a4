"""Tracks of manoeuvres against a plain integration in steps of a hundredth of a second."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.watch.boat.manoeuvres import as_it_goes, carried_off, is_held, path_of, turn
from sternwatch.watch.picture.manoeuvre import Manoeuvre

# As agreed: a change of one is to be noticed.
AFTER_S = 120.0
LEAST_S = 180.0
MOST_S = 600.0

HEADING = math.radians(70.0)


def integrated(speed_of, rate_of, until_s: float) -> np.ndarray:
    """(north, east, heading) at ``until_s`` from small steps."""
    h = 0.01
    t = np.arange(0.0, until_s - h / 2, h) + h / 2
    heading = HEADING + np.cumsum([rate_of(s) * h for s in t]) - np.array([rate_of(s) for s in t]) * h / 2
    speed = np.array([speed_of(s) for s in t])
    return np.array([(speed * np.cos(heading)).sum() * h, (speed * np.sin(heading)).sum() * h,
                     HEADING + sum(rate_of(s) for s in t) * h])  # fmt: skip


def at(path, t_s: float) -> np.ndarray:
    k = int(np.argmin(np.abs(path.time_s - t_s)))
    assert path.time_s[k] == pytest.approx(t_s, abs=1e-6), "a sample is there"
    return np.array([path.north_m[k], path.east_m[k], path.heading_rad[k]])


@pytest.mark.parametrize(("side", "sign"), [("port", -1.0), ("starboard", 1.0)])
def test_a_turn_by_time(side, sign: float) -> None:
    path = path_of(turn(side, 120.0, seconds=60.0), heading_rad=HEADING, speed_m_s=1.2)
    rate = sign * math.radians(2.0)
    assert path.ends_s == pytest.approx(60.0)
    assert at(path, 60.0) == pytest.approx(integrated(lambda _: 1.2, lambda _: rate, 60.0), abs=1e-3)
    assert path.time_s[-1] == pytest.approx(max(60.0 + AFTER_S, LEAST_S))
    end = at(path, 60.0)
    ahead = 1.2 * (path.time_s[-1] - 60.0)
    assert path.north_m[-1] == pytest.approx(end[0] + ahead * math.cos(end[2]), abs=1e-6)
    assert path.east_m[-1] == pytest.approx(end[1] + ahead * math.sin(end[2]), abs=1e-6)


def test_a_turn_by_radius_is_a_circle_whatever_the_speed() -> None:
    slower = Manoeuvre("slow", math.pi, radius_m=30.0, to_speed_m_s=0.6, speed_change_s=20.0)
    path = path_of(slower, heading_rad=HEADING, speed_m_s=1.2)
    ends = int(np.argmin(np.abs(path.heading_rad - HEADING - math.pi)))
    centre = np.array([-30.0 * math.sin(HEADING), 30.0 * math.cos(HEADING)])
    off = np.hypot(path.north_m[: ends + 1] - centre[0], path.east_m[: ends + 1] - centre[1])
    assert off == pytest.approx(30.0, abs=0.05)
    # 0.9 m/s on average for 20 s, then 0.6 for the rest of half a circle.
    assert path.time_s[ends] == pytest.approx(20.0 + (math.pi * 30.0 - 18.0) / 0.6, abs=0.05)
    assert path.speed_m_s[-1] == pytest.approx(0.6)


def test_a_change_of_speed_after_a_wait() -> None:
    later = Manoeuvre("slow", to_speed_m_s=0.4, speed_change_s=10.0, wait_s=15.0)
    path = path_of(later, heading_rad=HEADING, speed_m_s=1.2)
    assert (path.starts_s, path.ends_s) == (15.0, pytest.approx(25.0))

    def speed(t: float) -> float:
        return float(np.interp(t, [15.0, 25.0], [1.2, 0.4]))

    for t in (15.0, 25.0):
        assert at(path, t) == pytest.approx(integrated(speed, lambda _: 0.0, t), abs=1e-6)
    assert path.time_s[-1] == pytest.approx(LEAST_S + 15.0)


def test_a_stop_and_on_again() -> None:
    stop = Manoeuvre("stop", stop_s=60.0, speed_change_s=5.0)
    path = path_of(stop, heading_rad=HEADING, speed_m_s=1.0)
    assert path.ends_s == pytest.approx(70.0)
    gone = math.hypot(*at(path, 70.0)[:2])
    assert gone == pytest.approx(5.0, abs=1e-6), "half the speed for five seconds, twice"
    assert path.speed_m_s[np.searchsorted(path.time_s, 30.0)] == 0.0
    assert path.speed_m_s[-1] == 1.0


def test_a_boat_without_way_does_not_turn() -> None:
    path = path_of(turn("port", 90.0, seconds=30.0), heading_rad=HEADING, speed_m_s=0.05)
    assert path.heading_rad[-1] == HEADING
    assert path.time_s[-1] == pytest.approx(LEAST_S)
    moving = path_of(turn("port", 90.0, seconds=30.0), heading_rad=HEADING, speed_m_s=0.06)
    assert moving.heading_rad[-1] == pytest.approx(HEADING - math.pi / 2.0)
    # With her speed to come back, she turns once she has way on again.
    waits = Manoeuvre("go", math.pi / 2.0, math.radians(3.0), to_speed_m_s=1.0, speed_change_s=20.0)
    path = path_of(waits, heading_rad=HEADING, speed_m_s=0.0)
    assert path.heading_rad[-1] == pytest.approx(HEADING + math.pi / 2.0)
    assert path.heading_rad[1] == HEADING
    stops = path_of(Manoeuvre("stop", 2.0, 0.02, stop_s=60.0, speed_change_s=5.0), heading_rad=HEADING, speed_m_s=1.0)
    at_rest = (stops.time_s > 5.0 - 1e-6) & (stops.time_s < 65.0)
    assert np.ptp(stops.heading_rad[at_rest]) == 0.0
    assert stops.heading_rad[-1] == pytest.approx(HEADING + 2.0)


def test_no_step_is_long_while_something_happens_and_none_runs_for_ever() -> None:
    path = path_of(turn("port", 180.0, seconds=180.0), heading_rad=0.0, speed_m_s=1.0)
    during = path.step_s[path.time_s[:-1] < 180.0 - 1e-6]
    assert during.max() <= 4.0 + 1e-9
    late = path.step_s[path.time_s[:-1] > 180.0 + 41.0]
    soon = path.step_s[(path.time_s[:-1] > 180.0) & (path.time_s[:-1] < 219.0)]
    assert soon.max() == pytest.approx(2.0)
    assert late.max() == pytest.approx(4.0)
    assert (
        path_of(turn("port", 180.0, seconds=180.0), heading_rad=0.0, speed_m_s=1.0, longest_s=1.5).step_s.max() <= 1.5
    )
    endless = path_of(Manoeuvre("round", 100.0, 0.01, wait_s=5.0), heading_rad=0.0, speed_m_s=1.0)
    assert endless.time_s[-1] == pytest.approx(MOST_S + 5.0)


def test_as_it_goes_is_half_a_circle_at_her_rate_and_a_quarter_of_a_minute_of_her_pace() -> None:
    quiet = as_it_goes(math.radians(0.39), 0.009, 1.0)
    assert is_held(quiet)
    turning = as_it_goes(-math.radians(0.4), 0.0, 1.0)
    assert (turning.turn_rad, turning.rate_rad_s) == (-math.pi, math.radians(0.4))
    assert turning.to_speed_m_s is None
    slowing = as_it_goes(0.0, -0.02, 1.0)
    assert (slowing.to_speed_m_s, slowing.speed_change_s) == (pytest.approx(0.7), pytest.approx(15.0))
    assert as_it_goes(0.0, -0.2, 1.0).to_speed_m_s == 0.0
    assert as_it_goes(0.0, 0.2, 1.0).to_speed_m_s == pytest.approx(2.0), "no more than twice"
    usual = as_it_goes(0.0, -0.1, 1.0, (0.6, 1.4))
    assert (usual.to_speed_m_s, usual.speed_change_s) == (pytest.approx(0.6), pytest.approx(4.0))
    assert as_it_goes(0.0, 0.1, 1.0, (0.6, 1.4)).to_speed_m_s == pytest.approx(1.4)
    assert as_it_goes(0.0, -0.1, 0.5, (0.6, 1.4)).to_speed_m_s == pytest.approx(0.5), "slower than usual already"
    assert as_it_goes(0.0, 0.2, 1.0, (0.6, 1.1)).speed_change_s == 1.0


def test_what_drifts_with_her_turns_with_her_and_fades_with_her_way() -> None:
    path = path_of(turn("starboard", 90.0, seconds=60.0), heading_rad=HEADING, speed_m_s=1.2)
    off = carried_off(path)
    k = int(np.argmin(np.abs(path.time_s - 60.0)))
    # A quarter circle of one metre a second for 60 s: its radius is 60 / (pi/2).
    assert off[k] == pytest.approx([120.0 / math.pi, 120.0 / math.pi], abs=0.02)
    stop = path_of(Manoeuvre("stop", stop_s=60.0, speed_change_s=10.0), heading_rad=HEADING, speed_m_s=1.0)
    k = int(np.argmin(np.abs(stop.time_s - 80.0)))
    assert carried_off(stop)[k] == pytest.approx([10.0, 0.0], abs=1e-6)
    drifting = path_of(Manoeuvre("hold"), heading_rad=HEADING, speed_m_s=0.01)
    assert carried_off(drifting)[-1] == pytest.approx([LEAST_S, 0.0])


def test_a_speed_that_changes_at_once_takes_a_tenth_of_a_second() -> None:
    at_once = path_of(Manoeuvre("jump", to_speed_m_s=2.0, speed_change_s=0.0), heading_rad=HEADING, speed_m_s=1.0)
    first = int(np.flatnonzero(at_once.speed_m_s == 2.0)[0])
    assert at_once.time_s[first] == pytest.approx(0.1)
