"""The depth of a spread: stacked rods, current, remarks; orderings the trade relies on are in their own file."""

from __future__ import annotations

import copy
import math
import tomllib
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.chains.arrays import RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes, depth_answer, steady_rigs
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.places import shipped

SPEED_M_S = 2.3 * 0.44704
FILED: dict[str, Any] = tomllib.loads((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))


def _demo(**more: Any) -> Spread:
    data = copy.deepcopy(FILED)
    data["rod"] += more.pop("rods", [])
    for table, fields in more.items():
        data[table].update(fields)
    return spread_from(data, "demo")


def test_the_demo_spread_lies_where_its_targets_are() -> None:
    demo = _demo()
    answer = depth_answer(demo, SPEED_M_S)
    assert [rod.key for rod in answer.rods] == [rod.key for rod in demo.rods]
    for rod, filed in zip(answer.rods, demo.rods, strict=True):
        assert rod.depth_m is not None
        assert filed.target_depth_m is not None
        assert rod.depth_m == pytest.approx(filed.target_depth_m, abs=3.0), rod.name
        assert rod.why == ""
        assert rod.remarks == ()
        assert [p.what for p in rod.points][-1] in ("fly", "spoon")
        assert rod.points[-1].depth_m == pytest.approx(rod.depth_m, abs=0.05)


def test_neighbours_keep_their_order_across_the_stern() -> None:
    # Each lure and each device, port to starboard, on a straight course; boards carry theirs widest at the board.
    answer = depth_answer(_demo(), SPEED_M_S)
    widest = [min(p.abeam_m or 0 for p in rod.points) for rod in answer.rods[:4]]
    assert widest == sorted(widest)
    widest = [max(p.abeam_m or 0 for p in rod.points) for rod in answer.rods[4:]]
    assert widest == sorted(widest)


def test_port_and_starboard_mirror() -> None:
    data = copy.deepcopy(FILED)
    data["rod"][6]["chain"] = data["rod"][1]["chain"]
    answer = depth_answer(spread_from(data), SPEED_M_S)
    port, starboard = answer.rods[1], answer.rods[6]
    assert port.depth_m == pytest.approx(starboard.depth_m, abs=1e-9)
    assert port.abeam_m == pytest.approx(-(starboard.abeam_m or 0), abs=1e-9)


def test_a_stacked_rod_starts_on_the_cable() -> None:
    stack = {
        "key": "9",
        "name": "STACK",
        "side": "port",
        "clipped_to": {"rod": "4", "above_ball": "15 ft"},
        "chain": [{"line": "mono", "length": "20 ft"}, {"tackle": "spoon"}],
    }
    demo = _demo(rods=[stack])
    water = water_of(demo)
    rigs = {rod.key: rig_of(demo, rod) for rod in demo.rods}
    states = steady_rigs(rigs, SPEED_M_S, water=water, current=None)
    ball, start = states["4"].body_m[0], states["9"].shape_m[0]
    # Cable between clip and ball: 15 ft of it, nearly straight.
    assert math.dist(ball, start) == pytest.approx(15 * 0.3048, rel=0.01)
    answer = depth_answer(demo, SPEED_M_S).rods[-1]
    assert answer.depth_m is not None
    assert start[2] < answer.depth_m < start[2] + 20 * 0.3048
    assert answer.entry_angle_deg is None


def test_current_is_relative_to_the_surface_water_and_turned_to_the_boat() -> None:
    layers = [
        {"depth": "0 m", "speed": "0.2 m/s", "towards": "90 deg"},
        {"depth": "20 m", "speed": "0.5 m/s", "towards": "90 deg"},
    ]
    spec = _demo(water={"current": layers}).water
    heading_east = current_in_boat_axes(spec, math.pi / 2)
    heading_north = current_in_boat_axes(spec, 0.0)
    assert heading_east is not None
    assert heading_north is not None
    np.testing.assert_allclose(heading_east[0], [0, 20])
    np.testing.assert_allclose(heading_east[1], [[0, 0], [0.3, 0]], atol=1e-12)
    np.testing.assert_allclose(heading_north[1], [[0, 0], [0, 0.3]], atol=1e-12)
    assert current_in_boat_axes(_demo().water, 0.0) is None
    assert current_in_boat_axes(_demo(water={"current": layers[:1]}).water, 0.0) is None


def test_a_following_current_below_lets_a_ball_hang_deeper_and_a_head_current_lifts_it() -> None:
    layers = [
        {"depth": "0 m", "speed": "0 m/s", "towards": "0 deg"},
        {"depth": "10 m", "speed": "0.3 m/s", "towards": "0 deg"},
    ]
    demo = _demo(water={"current": layers})
    following = depth_answer(demo, SPEED_M_S, heading_rad=0.0).rods[3]
    ahead = depth_answer(demo, SPEED_M_S, heading_rad=math.pi).rods[3]
    still = depth_answer(_demo(), SPEED_M_S).rods[3]
    assert following.depth_m is not None
    assert still.depth_m is not None
    assert ahead.depth_m is not None
    assert following.depth_m > still.depth_m > ahead.depth_m


def test_what_differs_from_the_file_counts() -> None:
    demo = _demo()
    shorter = depth_answer(demo, SPEED_M_S, now={"3": RodNow(line_out_as_counter_m=30.0)}).rods[2]
    tripped = depth_answer(demo, SPEED_M_S, now={"3": RodNow(tripped=True)}).rods[2]
    filed = depth_answer(demo, SPEED_M_S).rods[2]
    assert shorter.depth_m is not None
    assert filed.depth_m is not None
    assert shorter.depth_m < 0.7 * filed.depth_m
    assert filed.tension_N is not None
    assert tripped.tension_N is not None
    assert tripped.tension_N < 0.5 * filed.tension_N


def test_without_the_rods_own_line_the_output_says_so() -> None:
    data = copy.deepcopy(FILED)
    del data["rod"][3]["rod_line"]
    rod = depth_answer(spread_from(data), SPEED_M_S).rods[3]
    assert rod.remarks == ("the pull of the rod's own line is left out",)


def test_a_board_pulled_under_is_said() -> None:
    data = copy.deepcopy(FILED)
    chain = data["rod"][0]["chain"]
    data["rod"][0]["chain"] = [*chain[:3], {"tackle": "disc", "setting": "low"}, *chain[4:]]
    rod = depth_answer(spread_from(data), SPEED_M_S).rods[0]
    assert "the board is pulled under" in rod.remarks


def test_a_line_clipped_to_a_masts_tow_line_starts_at_the_clip() -> None:
    data = copy.deepcopy(FILED)
    rod = data["rod"][0]
    rod["tip"] = {"astern": "20 ft", "abeam": "60 ft", "height": "0 ft"}
    rod["chain"] = [{"line": "backing", "out": "10 ft"}, *rod["chain"][3:]]
    clipped = depth_answer(spread_from(data), SPEED_M_S).rods[0]
    behind_a_board = depth_answer(_demo(), SPEED_M_S).rods[0]
    assert clipped.abeam_m == pytest.approx(-60 * 0.3048, abs=0.01)
    assert clipped.depth_m is not None
    # The same line behind an in-line board, which floats at the surface too, runs as deep.
    assert clipped.depth_m == pytest.approx(behind_a_board.depth_m, abs=0.05)


def test_temperature_at_the_lure_is_unknown_outside_the_readings() -> None:
    readings = [
        {"depth": "0 m", "temperature": "14 degC"},
        {"depth": "10 m", "temperature": "12 degC"},
        {"depth": "22 m", "temperature": "6 degC"},
    ]
    answer = depth_answer(_demo(water={"profile": readings}), SPEED_M_S)
    for rod in answer.rods:
        assert rod.depth_m is not None
        if rod.depth_m > 22:
            assert rod.temperature_c is None
        elif rod.depth_m < 10:
            assert rod.temperature_c == pytest.approx(14 - 0.2 * rod.depth_m)
        else:
            assert rod.temperature_c == pytest.approx(12 - 0.5 * (rod.depth_m - 10))
    assert {rod.temperature_c is None for rod in answer.rods} == {True, False}
    assert all(rod.temperature_c is None for rod in depth_answer(_demo(), SPEED_M_S).rods)


def test_a_boat_at_rest_lets_everything_hang() -> None:
    answer = depth_answer(_demo(), 0.0)
    down = answer.rods[3]
    assert down.depth_m is None or down.depth_m > 22.0
    assert all(rod.depth_m is not None or rod.why for rod in answer.rods)
