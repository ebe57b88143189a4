"""Steering along a way made by hand: what to steer, how far off, how long to the turn and to the pass."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Cannot, Proposal
from sternwatch.watch.again.rows import route_names, routes, row, rows
from sternwatch.watch.again.steering import Helm, steer, steering_bar, steering_words
from sternwatch.watch.again.track import track_of
from sternwatch.watch.again.words import in_words

# As agreed: a change of one is to be noticed.
AHEAD_S = 5.0
MOST_AHEAD_S = 20.0


def test_on_the_first_straight(way: Proposal) -> None:
    now = steer(way, (40.0, 0.0), 0.0)
    assert now.course_deg == pytest.approx(0.0, abs=0.01)
    assert now.off_m == pytest.approx(0.0, abs=1e-9)
    assert now.turn_in_s == pytest.approx(60.0, abs=0.1)
    assert now.turn_deg == pytest.approx(180.0)
    assert now.pass_in_s == pytest.approx(60.0 + 40.0 * math.pi + 150.0, abs=0.5)
    assert not now.lost


@pytest.mark.parametrize(("east", "back"), [(10.0, 345.0), (-10.0, 15.0), (40.0, 335.0)])
def test_beside_the_way_she_is_steered_back_to_it(way: Proposal, east: float, back: float) -> None:
    now = steer(way, (40.0, east), 0.0)
    assert now.off_m == pytest.approx(east)
    assert now.course_deg % 360.0 == pytest.approx(back, abs=0.1)


def test_a_current_found_since_is_steered_against(way: Proposal) -> None:
    """Planned in still water: 0.2 m/s to the east now want asin 0.2 to the west of a way to the north."""
    now = steer(way, (40.0, 0.0), 0.0, drift_m_s=(0.05, 0.2))
    assert now.course_deg == pytest.approx(360.0 - math.degrees(math.asin(0.2)), abs=0.05)


def test_a_helm_that_follows_late_is_told_of_a_turn_earlier(way: Proposal) -> None:
    slow, quick = (steer(way, (92.0, 0.0), 0.0, ahead_s=s).course_deg for s in (18.0, 5.0))
    assert quick == pytest.approx(0.0, abs=0.5)
    assert slow == pytest.approx(math.degrees(10.0 / 40.0), abs=1.5)


@pytest.mark.parametrize(("late_s", "learnt_s"), [(12.0, 12.0), (2.0, 2.0), (60.0, MOST_AHEAD_S)])
def test_how_late_a_helm_follows_is_learnt_in_a_turn(late_s: float, learnt_s: float) -> None:
    helm, rate = Helm(), math.radians(1.5)
    for second in range(120):
        helm.said(float(second), rate * second, rate * (second - late_s))
    assert helm.follows_s == pytest.approx(learnt_s, abs=0.2)


def test_on_a_straight_nothing_is_learnt_of_the_helm() -> None:
    helm = Helm()
    for second in range(120):
        helm.said(float(second), 1.0, 0.8)
    assert helm.follows_s == AHEAD_S


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
    assert text == "AGAIN steer 345° · 33 ft right of it · starboard 180° in 1:00 · pass in 5:36"
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
    root = ET.fromstring(routes(zip(route_names([way], "again, hit 3"), [way], strict=True), (47.0, -89.5)))
    space = {"g": "http://www.topografix.com/GPX/1/1"}
    assert root.findtext("g:rte/g:name", namespaces=space) == "again, hit 3: soonest"
    points = root.findall("g:rte/g:rtept", space)
    assert 6 <= len(points) <= 12
    assert float(points[0].get("lat", "nan")) == pytest.approx(47.0)
    assert float(points[-1].get("lat", "nan")) < 47.0
    assert max(len(point.get("lat", "").partition(".")[2]) for point in points) == 7, "to the centimetre"
    assert route_names([replace(way, names=()), way], "again") == ["again: 1", "again: soonest"]


@pytest.mark.parametrize(("heading_deg", "told"), [(-10.0, 350.0), (10.0, 10.0), (370.0, 10.0), (359.9999, 360.0)])
def test_a_row_says_the_course_within_one_circle(way: Proposal, heading_deg: float, told: float) -> None:
    made = replace(way, heading_rad=math.radians(heading_deg))
    assert row(made)["heading_deg"] == pytest.approx(told, abs=1e-3)


@pytest.mark.parametrize("way_deg", [0.0, 40.0, 130.0, 250.0])
@pytest.mark.parametrize("drift", [(0.2, 0.0), (0.05, -0.15), (-0.1, 0.1)])
def test_what_is_steered_keeps_her_on_the_way_in_a_current(way_deg: float, drift: tuple[float, float]) -> None:
    """Speed through the water and the current together go along the way, whichever way that leads."""
    way = straight(way_deg)
    now = steer(way, tuple(way.over_ground_m[2]), math.radians(way_deg), drift_m_s=drift)
    steered = math.radians(now.course_deg)
    north, east = math.cos(steered) + drift[0], math.sin(steered) + drift[1]
    off = math.remainder(math.degrees(math.atan2(east, north)) - way_deg, 360.0)
    assert off == pytest.approx(0.0, abs=1e-3)


def straight(way_deg: float) -> Any:
    path = track_of((Leg(300.0),), heading_rad=math.radians(way_deg), speed_m_s=1.0, to_speed_m_s=1.0)
    return SimpleNamespace(path=path, over_ground_m=np.stack([path.north_m, path.east_m], axis=1), time_s=250.0)


def test_a_turn_is_over_where_it_ends_and_comes_where_it_begins(way: Proposal) -> None:
    """Half a circle from 100 s on; just before its end something is left of it, just after nothing."""
    from sternwatch.watch.again.steering import _next_turn

    begins, ends = 100.0, 100.0 + 40.0 * math.pi
    assert _next_turn(way, begins - 30.0) == (pytest.approx(30.0, abs=1e-6), pytest.approx(math.pi))
    in_s, left = _next_turn(way, 0.5 * (begins + ends))
    assert (in_s, left) == (0.0, pytest.approx(0.5 * math.pi, abs=0.1))
    assert _next_turn(way, ends - 1.0)[0] == 0.0
    assert _next_turn(way, ends + 1e-6) == (None, 0.0)
    assert _next_turn(way, 9999.0) == (None, 0.0)
