"""Rows of the boat and her rods from a moment, and a rig in words."""

from __future__ import annotations

from typing import Any

import pytest

from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.memory.moments import Moment, RodMoment
from sternwatch.watch.memory.sample_rows import boat_of, rig_of, row_of, sample_of
from sternwatch.watch.picture.model import RodState, SolverState, SpeedSource

HEAD = """
[boat]
name = "hand boat"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[line.core]
material = "lead-core"
strength = "27 lbf"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { low = "30 deg", high = "31 deg" }
[tackle.ball]
kind = "ball"
mass = "10 lb"
[tackle.plane]
kind = "board"
[tackle.paddle]
kind = "attractor"
length = "8 in"
[tackle.fly]
kind = "lure"
colour = "green"
"""


def rod(key: str, chain: str, side: str = "port") -> str:
    tip = 'tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }'
    return f'[[rod]]\nkey = "{key}"\nname = "R{key}"\nside = "{side}"\n{tip}\nchain = [{chain}]\n'


FLY = '{ line = "mono", length = "8 ft" }, { tackle = "fly" }'
DIVER = '{ line = "wire", out = "120 ft" }, { tackle = "disc", setting = "high" }, '


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread(
        HEAD
        + rod("1", DIVER + '{ line = "mono", length = "8 ft" }, { tackle = "paddle" }, ' + FLY)
        + rod("2", '{ line = "wire", out = "60 ft" }, { tackle = "ball" }, ' + FLY, "starboard")
        + rod(
            "3",
            '{ line = "mono", out = "100 ft" }, { tackle = "plane" }, { line = "core", length = "30 ft" }, ' + FLY,
        )
        + rod("4", '{ line = "core", out = "100 ft" }, ' + FLY)
        + rod("5", '{ line = "mono", out = "100 ft" }, { tackle = "fly" }')
        + rod(
            "6",
            '{ line = "mono", out = "100 ft" }, { tackle = "plane" }, { line = "mono", length = "30 ft" }, '
            '{ tackle = "disc", setting = "low" }, ' + FLY,
        )
    )


@pytest.mark.parametrize(
    ("key", "setting", "words", "level"),
    [
        ("1", "high", "diver: paddle, fly", "high diver"), ("1", "low", "diver: paddle, fly", "low diver"),
        ("1", None, "diver: paddle, fly", ""), ("2", None, "downrigger: fly", ""),
        ("3", None, "lead-core on a board: fly", ""), ("4", None, "lead-core: fly", ""),
        ("5", None, "flat line: fly", ""), ("6", "low", "diver, board: fly", "low diver"),
    ],
)  # fmt: skip
def test_a_rig_in_words(spread: Spread, key: str, setting: str | None, words: str, level: str) -> None:
    one = spread.rod_by_key(key)
    assert one is not None
    rig = rig_of(spread, one, setting)
    assert (rig.words, rig.level) == (words, level)
    assert (rig.lure, rig.colour, rig.rod, rig.setting) == ("fly", "green", key, setting or "")
    assert rig_of(spread, one, setting) is rig, "kept"


def moment(spread: Spread, states: dict[str, RodState], **more: Any) -> Moment:
    rods = {}
    for key, state in states.items():
        one = spread.rod_by_key(key)
        assert one is not None
        rods[key] = RodMoment(
            spread, one, state, SolverState.NONE, 30.5, None, None, depth_m=11.0, depth_interval_m=(10.0, 12.5),
            lure_speed_m_s=1.2, clearance_m=3.0, trend="steady", turn="inside",
        )  # fmt: skip
    given: dict[str, Any] = {
        "utc_s": 1_784_000_000.25, "silent_s": 0.5, "speed_source": SpeedSource.OVER_GROUND, "speed_m_s": 1.1,
        "sog_m_s": 1.0, "stw_m_s": None, "course_deg": 40.0, "heading_deg": 42.0, "rate_of_turn_deg_s": 0.5,
        "position_deg": (45.0, -87.0), "water_temperature_c": 12.0, "bottom_m": 30.0, "pace": "steady",
        "current": "with", "sensors": {}, "points_deg": 42.0,
    }  # fmt: skip
    return Moment(100.1234, rods=rods, **{**given, **more})


def test_the_boats_row(spread: Spread) -> None:
    row = boat_of(moment(spread, {}))
    assert (row.at_s, row.time_ms) == (100.123, 1_784_000_000_250)
    assert (row.speed_m_s, row.sog_m_s, row.stw_m_s) == (1.1, 1.0, None)
    assert (row.latitude_deg, row.longitude_deg, row.bottom_m) == (45.0, -87.0, 30.0)
    assert (row.pace, row.current, row.course_deg, row.heading_deg) == ("steady", "with", 40.0, 42.0)
    dark = boat_of(moment(spread, {}, utc_s=None, position_deg=None))
    assert (dark.time_ms, dark.latitude_deg, dark.longitude_deg) == (None, None, None)


def test_only_rods_in_the_water_and_only_in_fishing_time(spread: Spread) -> None:
    states = {"5": RodState.FISHING, "1": RodState.LETTING_OUT, "2": RodState.REELING, "4": RodState.IN}
    made = sample_of(moment(spread, states), fishing=True)
    assert [row.rig.rod for row in made.rods] == ["1", "2", "5"]
    assert sample_of(moment(spread, states), fishing=False).rods == ()


def test_a_rods_row(spread: Spread) -> None:
    row = row_of(moment(spread, {"1": RodState.FISHING}).rods["1"])
    assert (row.line_out_m, row.depth_m, row.depth_low_m, row.depth_high_m) == (30.5, 11.0, 10.0, 12.5)
    assert (row.lure_speed_m_s, row.clearance_m, row.lead_m) == (1.2, 3.0, None)
    assert (row.trend, row.turn) == ("steady", "inside")
