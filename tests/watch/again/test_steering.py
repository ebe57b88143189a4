"""Steering along a way made by hand: what to steer, how far off, how long to the turn and to the pass."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Cannot, Pass, Proposal, Target
from sternwatch.watch.again.rows import gpx, rows
from sternwatch.watch.again.steering import steer, steering_bar, steering_words
from sternwatch.watch.again.track import track_of
from sternwatch.watch.again.words import in_words


@pytest.fixture
def way() -> Proposal:
    """100 m north, half a circle to starboard of 40 m radius, 200 m south; the pass after 150 of them."""
    legs = (Leg(100.0), Leg(40.0 * math.pi, math.pi), Leg(200.0))
    path = track_of(legs, heading_rad=0.0, speed_m_s=1.0, to_speed_m_s=1.0)
    over = np.stack([path.north_m, path.east_m], axis=1)
    passed = Pass(100.0 + 40.0 * math.pi + 150.0, 1.0, 4.0, 0.5, 18.0, (16.0, 20.0), 0.95)
    target = Target("2", (-50.0, 80.0), 17.5, math.pi, 1.0)
    return Proposal(target, legs, math.pi, False, path, over, passed, 0.0, 16, None, (), ("soonest",))


def test_on_the_first_straight(way: Proposal) -> None:
    now = steer(way, (40.0, 0.0), 0.0)
    assert now.course_deg == pytest.approx(0.0, abs=0.01)
    assert now.off_m == pytest.approx(0.0, abs=1e-9)
    assert now.turn_in_s == pytest.approx(60.0, abs=0.1)
    assert now.turn_deg == pytest.approx(180.0)
    assert now.pass_in_s == pytest.approx(60.0 + 40.0 * math.pi + 150.0, abs=0.5)
    assert not now.lost


@pytest.mark.parametrize(("east", "back"), [(10.0, 350.0), (-10.0, 10.0), (40.0, 335.0)])
def test_beside_the_way_she_is_steered_back_to_it(way: Proposal, east: float, back: float) -> None:
    now = steer(way, (40.0, east), 0.0)
    assert now.off_m == pytest.approx(east)
    assert now.course_deg % 360.0 == pytest.approx(back, abs=0.1)


def test_in_the_turn_what_is_left_of_it(way: Proposal) -> None:
    now = steer(way, (100.0 + 40.0, 40.0), math.pi / 2, since=60)
    assert now.turn_in_s == 0.0
    assert now.turn_deg == pytest.approx(90.0, abs=5.0)
    assert now.pass_in_s == pytest.approx(20.0 * math.pi + 150.0, abs=3.0)


def test_on_the_last_straight_and_past_the_place(way: Proposal) -> None:
    now = steer(way, (0.0, 80.0), math.pi, since=80)
    assert now.turn_in_s is None
    assert now.pass_in_s == pytest.approx(50.0, abs=0.5)
    assert "pass in 0:50" in steering_words(now, SYSTEMS["us"])
    after = steer(way, (-80.0, 80.0), math.pi, since=100)
    assert after.pass_in_s < 0
    assert steering_words(after, SYSTEMS["metric"]).endswith("passed")


def test_far_off_or_going_elsewhere_is_lost(way: Proposal) -> None:
    assert steer(way, (40.0, 70.0), 0.0).lost
    assert steer(way, (40.0, 0.0), math.pi).lost
    assert "planned anew" in steering_words(steer(way, (40.0, 70.0), 0.0), SYSTEMS["us"])


@pytest.mark.parametrize(
    ("east", "bar"),
    [(0.0, "[------#------]"), (17.0, "[------|-#----]"), (-17.0, "[----#-|------]"), (49.0, "[------|-----#]")],
)
def test_the_bar_shows_her_beside_the_way(way: Proposal, east: float, bar: str) -> None:
    assert steering_bar(steer(way, (40.0, east), 0.0)) == bar


def test_off_the_way_there_is_no_bar(way: Proposal) -> None:
    assert steering_bar(steer(way, (40.0, 70.0), 0.0)) == ""


def test_words_say_side_and_time(way: Proposal) -> None:
    text = steering_words(steer(way, (40.0, 10.0), 0.0), SYSTEMS["us"])
    assert text == "AGAIN  steer 350°  33 ft right of it  starboard 180° in 1:00  pass in 5:36"
    told = in_words(way, SYSTEMS["us"], {"2": "S LOW"})
    assert told == (
        "000° for 1:40, starboard 180° in 2:06, then 180° at 2.2 mph; S LOW passes the place in 6:16 within 13 ft "
        "(90 %), 2 ft deeper; lines touch in none of 16"
    )


def test_rows_and_routes(way: Proposal) -> None:
    (row,) = json.loads(json.dumps(rows((way,)), allow_nan=False))["proposals"]
    assert row["legs"][1] == {"side": "starboard", "degrees": 180.0, "length_m": 125.664, "seconds": 125.664}
    assert (row["rod"], row["time_s"], row["deeper_m"]) == ("2", 375.664, 0.5)
    assert rows(Cannot("why not"))["why"] == "why not"
    root = ET.fromstring(gpx((way,), (47.0, -89.5), "again, hit 3"))
    space = {"g": "http://www.topografix.com/GPX/1/1"}
    assert root.findtext("g:rte/g:name", namespaces=space) == "again, hit 3: soonest"
    points = root.findall("g:rte/g:rtept", space)
    assert 6 <= len(points) <= 12
    assert float(points[0].get("lat", "nan")) == pytest.approx(47.0)
    assert float(points[-1].get("lat", "nan")) < 47.0
