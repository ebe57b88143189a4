"""Where exactly a way back turns one way or the other: its track's steps, its steering, its helm."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.legs import Leg, _turned, end_of, way_of
from sternwatch.watch.again.steering import Helm, Steering, _heading_rad, said, steer, steering_bar
from sternwatch.watch.again.track import track_of
from sternwatch.watch.again.words import called_out

METRIC = SYSTEMS["metric"]


def steps(*legs: Leg, speed: float = 1.0, to: float = 1.0) -> list[tuple[float, int]]:
    """The lengths of a track's steps, as (seconds, how many in a row)."""
    found: list[tuple[float, int]] = []
    for step in track_of(legs, heading_rad=0.4, speed_m_s=speed, to_speed_m_s=to).step_s.round(6).tolist():
        if found and abs(found[-1][0] - step) < 1e-5:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((step, 1))
    return found


def test_steps_of_a_way_are_those_of_a_manoeuvre() -> None:
    """A second for eight seconds, two until forty, then four; four degrees of an arc, and two seconds after it."""
    assert steps(Leg(200.0)) == [(1.0, 8), (2.0, 16), (4.0, 40)]
    assert steps(Leg(43.0)) == [(1.0, 8), (2.0, 16), (3.0, 1)]
    arc = steps(Leg(100.0), Leg(40.0 * math.pi, math.pi), Leg(100.0))
    assert arc[:3] == [(1.0, 8), (2.0, 16), (4.0, 15)]
    degrees_4 = 40.0 * math.radians(4.0)
    assert arc[3] == (pytest.approx(degrees_4, abs=1e-5), 45)
    assert arc[4][0] == 2.0
    assert 20 <= arc[4][1] <= 21
    assert arc[5][0] == 4.0
    wide = steps(Leg(50.0), Leg(200.0 * math.pi, math.pi))
    assert (4.0, pytest.approx(157, abs=1)) in wide, "four seconds at most"


def test_a_track_is_exact_on_its_arcs_and_in_its_pace() -> None:
    made = track_of(
        (Leg(30.0), Leg(20.0 * math.pi, -math.pi / 2), Leg(10.0)), heading_rad=0.0, speed_m_s=0.4, to_speed_m_s=1.2
    )
    assert (made.north_m[-1], made.east_m[-1]) == pytest.approx((30.0 + 40.0, -40.0 - 10.0))
    assert made.heading_rad[-1] == pytest.approx(-math.pi / 2)
    assert made.starts_s == 0.0
    assert made.ends_s == made.time_s[-1]
    for k, t in enumerate(made.time_s[:9]):
        assert made.speed_m_s[k] == pytest.approx(min(0.4 + 0.1 * t, 1.2))
    assert made.speed_m_s[-1] == pytest.approx(1.2)
    gone = 0.5 * (made.speed_m_s[1:] + made.speed_m_s[:-1]) * made.step_s
    assert gone.sum() == pytest.approx(30.0 + 20.0 * math.pi + 10.0, rel=1e-3)
    begun = track_of((Leg(20.0 * math.pi, math.pi),), heading_rad=0.0, speed_m_s=-1.0, to_speed_m_s=1.0)
    assert begun.speed_m_s[0] == 0.0
    assert begun.step_s[0] == pytest.approx(1.0)


def test_many_short_legs_keep_the_pace() -> None:
    """Her speed changes by a tenth of a metre a second in each, also where a leg ends within a step."""
    made = track_of(tuple(Leg(0.3) for _ in range(12)), heading_rad=0.0, speed_m_s=0.4, to_speed_m_s=1.2)
    assert made.north_m[-1] == pytest.approx(3.6)
    assert len(made.time_s) > 12
    for t, speed in zip(made.time_s, made.speed_m_s, strict=True):
        assert speed == pytest.approx(min(0.4 + 0.1 * t, 1.2), abs=1e-9)


def test_a_turn_of_all_but_a_circle_is_none() -> None:
    assert _turned(1.0, 2.0 * math.pi - 0.5e-6) == 0.0
    assert _turned(1.0, -0.5e-6) == 0.0
    assert _turned(1.0, -2e-6) == pytest.approx(2.0 * math.pi)
    assert _turned(-1.0, -1.0) == pytest.approx(1.0)
    assert _turned(-1.0, 1.0) == pytest.approx(2.0 * math.pi - 1.0)


def test_two_circles_in_one_are_a_single_arc_or_no_way() -> None:
    radii: Any = {"port": 40.0, "starboard": 25.0}
    quarter = way_of((0.0, 0.0, 0.0), (25.0, 25.0, math.pi / 2), ("starboard", "starboard"), radii)
    assert quarter is not None
    assert [(leg.length_m, leg.turn_rad) for leg in quarter] == [
        (pytest.approx(25.0 * math.pi / 2), pytest.approx(math.pi / 2))
    ]
    start = (3.0, 4.0, 0.5)
    third = way_of(start, end_of(start, (Leg(25.0, 1.0),)), ("starboard", "starboard"), radii)
    assert third is not None
    assert [(leg.length_m, leg.turn_rad) for leg in third] == [(pytest.approx(25.0), pytest.approx(1.0))]
    assert way_of((0.0, 0.0, 0.0), (0.0, 10.0, math.pi), ("starboard", "port"), radii) is None
    assert way_of((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), ("port", "port"), radii) == ()


# -- steering ------------------------------------------------------------------------------------------------------


def straight(way_deg: float = 0.0, speed: float = 1.0) -> Any:
    path = track_of((Leg(300.0),), heading_rad=math.radians(way_deg), speed_m_s=speed, to_speed_m_s=speed)
    return SimpleNamespace(path=path, over_ground_m=np.stack([path.north_m, path.east_m], axis=1), time_s=250.0)


@pytest.mark.parametrize(
    ("off_m", "back_deg"), [(0.0, 0.0), (1.0, 1.5), (-4.0, -6.0), (16.6, 24.9), (17.0, 25.0), (-40.0, -25.0)]
)
def test_she_is_steered_back_by_a_degree_and_a_half_a_metre_and_25_at_most(off_m: float, back_deg: float) -> None:
    now = steer(straight(), (100.0, off_m), 0.0)
    assert math.remainder(now.course_deg + back_deg, 360.0) == pytest.approx(0.0, abs=1e-6)
    assert (now.off_m, now.pass_in_s, now.turn_in_s, now.turn_deg) == (
        pytest.approx(off_m), pytest.approx(150.0), None, 0.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("off_m", "heading_deg", "lost"),
    [(50.0, 0.0, False), (50.1, 0.0, True), (-50.1, 0.0, True), (0.0, 74.9, False), (0.0, 75.1, True),
     (0.0, -75.1, True)],
)  # fmt: skip
def test_fifty_metres_off_or_75_degrees_away_is_lost(off_m: float, heading_deg: float, lost: bool) -> None:
    assert steer(straight(), (100.0, off_m), math.radians(heading_deg)).lost is lost
    assert not steer(straight(), (255.0, off_m), math.radians(heading_deg)).lost, "after the pass nothing is lost"


@pytest.mark.parametrize(
    ("drift", "aside_deg"), [(0.3, 17.4576), (0.76, 49.4642), (0.77, 50.0), (3.0, 50.0), (-3.0, -50.0)]
)
def test_she_points_fifty_degrees_beside_her_way_at_most(drift: float, aside_deg: float) -> None:
    found = _heading_rad(straight(), 100.0, (0.0, drift))
    assert math.degrees(found) == pytest.approx(-aside_deg, abs=1e-3)
    slow = straight(speed=0.05)
    assert math.degrees(_heading_rad(slow, 100.0, (0.0, 0.05))) == pytest.approx(-30.0, abs=1e-6)
    assert _heading_rad(straight(40.0), 100.0, None) == pytest.approx(math.radians(40.0))


def test_where_a_way_crosses_itself_the_piece_counts_that_leads_where_she_points() -> None:
    legs = (Leg(100.0), Leg(30.0 * 1.5 * math.pi, 1.5 * math.pi), Leg(100.0))
    path = track_of(legs, heading_rad=0.0, speed_m_s=1.0, to_speed_m_s=1.0)
    way: Any = SimpleNamespace(path=path, over_ground_m=np.stack([path.north_m, path.east_m], axis=1), time_s=400.0)
    here = (70.0, 0.0)  # where the last straight, to the west, crosses the first, to the north
    assert steer(way, here, 0.0).sample < 40
    assert steer(way, here, math.radians(270.0)).sample > 60
    assert steer(way, here, 0.0, since=90).sample >= 87, "no more than three samples back"


@pytest.mark.parametrize(("off_m", "first"), [(19.0, True), (21.0, False), (-19.0, True), (-21.0, False)])
def test_a_piece_that_leads_another_way_counts_as_twenty_metres_farther(off_m: float, first: bool) -> None:
    """There and back on one line: abreast of the way out, heading back, the way back is 20 m farther than it lies."""
    legs = (Leg(100.0), Leg(0.01 * math.pi, math.pi), Leg(100.0))
    path = track_of(legs, heading_rad=0.0, speed_m_s=1.0, to_speed_m_s=1.0)
    over = np.stack([path.north_m, path.east_m], axis=1)
    back = np.arange(len(over)) > len(over) // 2
    over[back, 1] += off_m
    way: Any = SimpleNamespace(path=path, over_ground_m=over, time_s=400.0)
    assert (steer(way, (50.0, 0.0), math.pi).sample < len(over) // 2) is not first
    assert steer(way, (50.0, 0.0), 0.0).sample < len(over) // 2


def test_a_helm_is_learnt_in_turns_alone_and_by_a_twentieth_a_second() -> None:
    def after(rate_deg: float, *times: float, late_s: float = 12.0) -> float:
        helm, rate = Helm(), math.radians(rate_deg)
        for t in times:
            helm.said(t, rate * t, rate * (t - late_s))
        return helm.follows_s

    assert after(1.5, 0.0) == 5.0
    assert after(1.5, 0.0, 1.0) == pytest.approx(5.0 + 7.0 / 20.0)
    assert after(1.5, 0.0, 5.0) == pytest.approx(5.0 + 7.0 / 4.0)
    assert after(1.5, 0.0, 5.1) == 5.0, "after a gap nothing is known"
    assert after(1.5, 0.0, 0.0) == 5.0
    assert after(0.39, 0.0, 1.0) == 5.0
    assert after(0.41, 0.0, 1.0) == pytest.approx(5.35)
    assert after(-0.41, 0.0, 1.0) == pytest.approx(5.35)
    assert after(1.5, 0.0, 5.0, late_s=60.0) == pytest.approx(5.0 + 15.0 / 4.0), "twenty seconds at most"
    assert after(1.5, 0.0, 5.0, late_s=-4.0) == pytest.approx(5.0 - 5.0 / 4.0)


def now(**more: Any) -> Steering:
    given: dict[str, Any] = {"course_deg": 65.0, "off_m": 0.0, "turn_in_s": None, "turn_deg": 0.0, "pass_in_s": 310.0}
    return Steering(**{**given, "sample": 3, **more})


@pytest.mark.parametrize(
    ("given", "course", "off", "turn", "end"),
    [
        ({}, "065°", "on the way", "", "pass in 5:10"),
        ({"course_deg": 359.6}, "000°", "on the way", "", "pass in 5:10"),
        ({"off_m": 0.04}, "065°", "on the way", "", "pass in 5:10"),
        ({"off_m": 4.0}, "065°", "4 m right of it", "", "pass in 5:10"),
        ({"off_m": -4.0}, "065°", "4 m left of it", "", "pass in 5:10"),
        ({"pass_in_s": 0.0}, "065°", "on the way", "", "passed"),
        ({"turn_in_s": 40.0, "turn_deg": 180.0}, "065°", "on the way", "starboard 180° in 0:40", "pass in 5:10"),
        ({"turn_in_s": 0.0, "turn_deg": -30.0}, "065°", "on the way", "port 30° to go", "pass in 5:10"),
    ],
)  # fmt: skip
def test_what_the_helm_reads(given: dict[str, Any], course: str, off: str, turn: str, end: str) -> None:
    told = said(now(**given), METRIC)
    assert (told.course, told.off, told.turn, told.end) == (course, off, turn, end)


@pytest.mark.parametrize(
    ("off_m", "bar"),
    [(0.0, "[------#------]"), (4.1, "[------#------]"), (4.2, "[------|#-----]"), (-12.6, "[----#-|------]"),
     (50.0, "[------|-----#]"), (-60.0, "[#-----|------]")],
)  # fmt: skip
def test_the_bar_has_six_cells_for_fifty_metres(off_m: float, bar: str) -> None:
    assert steering_bar(now(off_m=off_m)) == bar
    assert steering_bar(now(off_m=off_m, lost=True)) == ""


def test_between_two_samples_she_goes_the_mean_of_their_courses() -> None:
    """Ten seconds north, then ten east: after ten she is on her way to the north-east."""
    path = SimpleNamespace(
        time_s=np.array([0.0, 10.0, 20.0]), heading_rad=np.array([0.0, 0.0, math.pi / 2]), speed_m_s=np.ones(3)
    )
    made: Any = SimpleNamespace(path=path, over_ground_m=np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0]]))
    told = [math.degrees(_heading_rad(made, t_s, (0.0, 0.0))) for t_s in (5.0, 10.0, 15.0)]
    assert told == pytest.approx([0.0, 45.0, 90.0])


def test_legs_are_called_out_with_the_heading_that_they_lead_to() -> None:
    legs = (Leg(100.0), Leg(50.0, math.pi / 2), Leg(60.0), Leg(30.0, -math.radians(91.0)), Leg(10.0))
    assert called_out(legs, math.radians(300.0), 2.0) == [
        "300° for 0:50", "starboard 90° in 0:25", "030° for 0:30", "port 91° in 0:15", "299° for 0:05",
    ]  # fmt: skip


def test_a_route_has_the_ends_of_straights_and_points_of_arcs() -> None:
    """Ten metres between samples: the second is a straight's end, and so is the last but one."""
    from sternwatch.watch.again.rows import _points

    def kept(*headings: float, apart_m: float = 10.0) -> list[float]:
        over = np.stack([apart_m * np.arange(len(headings)), np.zeros(len(headings))], axis=1)
        made: Any = SimpleNamespace(over_ground_m=over, path=SimpleNamespace(heading_rad=np.array(headings)))
        return [round(north / apart_m, 6) for north, _ in _points(made)]

    assert kept(0.0, 0.0, 0.5, 1.0, 1.5, 1.5) == [0.0, 1.0, 4.0, 5.0]
    assert kept(0.0, 0.0, 0.0, 0.0) == [0.0, 3.0]
    assert kept(*(0.1 * k for k in range(10))) == [0.0, 3.0, 6.0, 9.0], "thirty metres, since 25 are due"
    narrow = kept(*(0.1 * k for k in range(10)), apart_m=12.4)
    assert narrow == [0.0, 3.0, 6.0, 9.0], "counted from the last one"


def test_two_turns_with_one_straight_step_between_are_two() -> None:
    from sternwatch.watch.again.steering import _next_turn

    path = SimpleNamespace(time_s=np.arange(6.0), heading_rad=np.array([0.0, 0.5, 1.0, 1.0, 0.5, 0.0]))
    way: Any = SimpleNamespace(path=path)
    assert _next_turn(way, 0.0) == (0.0, 1.0)
    assert _next_turn(way, 1.0) == (0.0, 0.5)
    assert _next_turn(way, 2.5) == (0.5, -1.0)
    assert _next_turn(way, 4.0) == (0.0, -0.5)
