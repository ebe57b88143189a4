"""How the chart is looked at: to scale, turned, moved, and never by degrees of latitude."""

from __future__ import annotations

from dataclasses import replace

import made_chart
import numpy as np
import pytest

from sternwatch.console.chart.looking import LADDER_M, Looking
from sternwatch.console.chart.plane import Plane


def test_north_is_up_east_is_right_and_a_row_is_twice_a_column():
    plane = Plane(80, 20, 100.0, 50.0, 2.0)
    assert plane.to_cells(np.array([[100.0, 50.0], [120.0, 50.0], [100.0, 70.0]])).tolist() == [
        [40.0, 10.0], [40.0, 5.0], [50.0, 10.0],
    ]  # fmt: skip


def test_with_the_course_up_what_lies_ahead_is_above():
    plane = Plane(80, 20, 0.0, 0.0, 1.0, up_deg=90.0)
    ahead, starboard = plane.to_cells(np.array([[0.0, 10.0], [-10.0, 0.0]]))
    assert ahead == pytest.approx([40.0, 5.0])
    assert starboard == pytest.approx([50.0, 10.0])


def test_there_and_back_again():
    plane = Plane(77, 31, -30.0, 12.0, 0.7, up_deg=213.0)
    cells = np.array([[0.0, 0.0], [12.3, 7.7], [77.0, 31.0]])
    assert plane.to_cells(plane.to_ground(cells)) == pytest.approx(cells)
    corner = plane.to_ground(np.array([[0.0, 0.0]]))[0] - (-30.0, 12.0)
    assert float(np.hypot(*corner)) == pytest.approx(plane.half_m)


def test_it_follows_the_boat_until_a_place_is_chosen_and_again_after_home():
    looking, picture = Looking(), made_chart.picture()
    plane = looking.plane(picture, 100, 25)
    boat = picture.ground.boat_m
    half = plane.per_column_m / 4.0  # it follows in steps of half a column
    assert (plane.north_m, plane.east_m) == pytest.approx(boat, abs=half)
    assert looking.chosen_place is None
    assert looking.key("right")
    assert looking.key("up")
    east, north = looking.chosen_place
    assert east == pytest.approx(plane.east_m + 4 * plane.per_column_m)
    assert north == pytest.approx(plane.north_m + 2 * plane.per_row_m)
    moved = looking.plane(replace(picture, t_s=picture.t_s + 60.0), 100, 25)
    assert (moved.east_m, moved.north_m) == (east, north)
    looking.key("home")
    assert looking.chosen_place is None


def test_zoom_stays_on_the_ladder_and_keeps_the_middle():
    looking, picture = Looking(), made_chart.picture()
    looking.plane(picture, 100, 25)
    for _ in range(20):
        looking.key("pagedown")
    assert looking.plane(picture, 100, 25).per_column_m == LADDER_M[-1]
    for _ in range(20):
        looking.key("pageup")
    assert looking.plane(picture, 100, 25).per_column_m == LADDER_M[0]


def test_another_trip_counts_from_another_origin_so_no_place_is_kept():
    looking, picture = Looking(), made_chart.picture()
    looking.plane(picture, 100, 25)
    looking.key("left")
    looking.plane(replace(picture, trip="another"), 100, 25)
    assert looking.chosen_place is None


def test_the_course_up_chart_does_not_turn_with_every_wave():
    looking, picture = Looking(north_up=False), made_chart.picture()
    first = looking.plane(picture, 100, 25).up_deg
    assert first == pytest.approx(picture.ground.points_deg % 360.0)
    for off, turned in ((5.0, 0.0), (-5.0, 0.0), (12.0, 12.0)):
        yawed = replace(picture, ground=replace(picture.ground, points_deg=picture.ground.points_deg + off))
        assert looking.plane(yawed, 100, 25).up_deg == pytest.approx((first + turned) % 360.0)


def test_an_outlook_is_drawn_from_where_she_was_when_it_was_made():
    looking = Looking()
    for t in (100.0, 101.0, 102.0):
        looking.take(made_chart.picture(now_s=t))
    assert looking.ground_at(101.2).boat_m == made_chart.picture(now_s=101.0).ground.boat_m
    assert looking.ground_at(90.0) is None
    looking.take(made_chart.picture(now_s=50.0))  # a recording that went back
    assert looking.ground_at(101.2) is None
