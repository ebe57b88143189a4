"""Which depths a rod can be brought to, and how they are handed out: against depths computed by themselves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.answers.depths.hand_out import beginnings, unevenness_m
from sternwatch.answers.depths.reach import (
    BOARD_LINES_M,
    Curve,
    Reach,
    Wanted,
    level_of,
    levels_m,
    off_band_m,
    reaches,
)
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread

SPREAD = """
[boat]
name = "hand boat"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { low = "20 deg", high = "45 deg" }
[tackle.ball]
kind = "ball"
mass = "10 lb"
[tackle.plane]
kind = "board"
[tackle.fly]
kind = "lure"
[[rod]]
key = "1"
name = "BOARD"
side = "port"
tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }
chain = [
  { line = "mono", out = "100 ft" }, { tackle = "plane" }, { line = "mono", length = "20 ft" }, { tackle = "fly" } ]
[[rod]]
key = "2"
name = "DIVER"
side = "port"
target_depth = "10 m"
tip = { astern = "1 ft", abeam = "6 ft", height = "5 ft" }
chain = [
  { line = "wire", out = "120 ft" }, { tackle = "disc", setting = "high" },
  { line = "mono", length = "8 ft" }, { tackle = "fly" } ]
[[rod]]
key = "3"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [ { line = "wire", out = "60 ft" }, { tackle = "ball" },
  { line = "mono", length = "20 ft", adjust = true }, { tackle = "fly" } ]
"""
SPEED_M_S = 1.0
BAND = Wanted(8.0, 14.0, SPEED_M_S, ("2", "3"))


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread(SPREAD)


@pytest.fixture(scope="module")
def both(spread: Spread) -> tuple[Reach, ...]:
    return reaches(spread, BAND)


def test_levels_lie_evenly_over_the_band() -> None:
    assert levels_m(BAND, 4).tolist() == [8.0, 10.0, 12.0, 14.0]
    assert levels_m(BAND, 1).tolist() == [11.0]
    assert [level_of(levels_m(BAND, 4), depth) for depth in (0.0, 9.1, 12.9, 99.0)] == [0, 1, 2, 3]
    assert off_band_m(BAND, np.array([7.0, 8.0, 11.0, 14.0, 16.5])).tolist() == [1.0, 0.0, 0.0, 0.0, 2.5]


def test_every_choice_brings_its_rod_to_its_level(spread: Spread, both: tuple[Reach, ...]) -> None:
    assert [reach.key for reach in both] == ["2", "3"]
    for reach in both:
        assert (reach.fixed, reach.why) == (False, "")
        for choice in reach.choices:
            assert choice.level is not None
            assert choice.depth_m == (8.0, 14.0)[choice.level]
            found = depth_answer(spread, SPEED_M_S, now={reach.key: choice.now})
            (rod,) = [one for one in found.rods if one.key == reach.key]
            assert rod.depth_m == pytest.approx(choice.depth_m, abs=0.05)
    diver, down = both
    assert {(c.now.setting, c.level) for c in diver.choices} == {(s, k) for s in ("low", "high") for k in (0, 1)}
    assert {(c.now.setting, c.level) for c in down.choices} == {(None, 0), (None, 1)}
    assert diver.present_m == pytest.approx(120.0 * 0.3048)


def test_what_a_rod_is_set_to_now_counts(spread: Spread) -> None:
    (reach,) = reaches(spread, replace(BAND, keys=("3",)), {"3": RodNow(line_out_as_counter_m=12.0, lead_m=3.0)})
    assert reach.present_m == 12.0
    assert all(choice.now.lead_m == 3.0 for choice in reach.choices)
    assert [choice.level for choice in reach.choices] == [0], "one rod alone takes the middle"
    assert reach.choices[0].depth_m == 11.0


def test_a_rod_whose_line_sets_no_depth_says_so(spread: Spread) -> None:
    """A board's own line: how far out it runs, and not how deep."""
    board = depth_answer(spread, SPEED_M_S).rods[0].depth_m
    assert board is not None
    (near,) = reaches(spread, Wanted(board + 0.4, 14.0, SPEED_M_S, ("1",)))
    assert (near.fixed, near.why) == (True, "line out hardly changes its depth")
    lines = [choice.now.line_out_as_counter_m for choice in near.choices]
    assert lines == [pytest.approx(30.48), *BOARD_LINES_M]
    assert {choice.level for choice in near.choices} == {0}
    (far,) = reaches(spread, Wanted(board + 0.6, 14.0, SPEED_M_S, ("1",)))
    assert far.fixed
    assert far.why == "line out hardly changes its depth, and that lies outside the band"
    assert {choice.level for choice in far.choices} == {None}


def test_a_rod_that_cannot_come_to_the_band_says_why_and_how_near_it_comes(spread: Spread) -> None:
    (deep,) = reaches(spread, Wanted(300.0, 310.0, SPEED_M_S, ("2",)))
    assert deep.why == "no length of line brings it down to the band"
    as_now, *nearest = deep.choices
    assert as_now.now.setting == "high"
    assert as_now.now.line_out_as_counter_m == pytest.approx(120.0 * 0.3048)
    assert {choice.now.setting for choice in nearest} == {"low", "high"}
    assert all(choice.depth_m > as_now.depth_m for choice in nearest)
    (shallow,) = reaches(spread, Wanted(0.01, 0.02, SPEED_M_S, ("3",)))
    assert shallow.why == "it runs below the band even with the least line out"


def test_a_curve_is_flat_where_no_length_of_some_metres_changes_the_depth() -> None:
    readings = np.array([1.0, 2.9, 3.0, 10.0, 50.0])
    assert Curve(None, readings, np.array([0.0, 0.5, 2.0, 2.1, 2.29])).flat
    assert not Curve(None, readings, np.array([0.0, 0.5, 2.0, 2.1, 2.31])).flat
    assert Curve(None, readings, np.array([0.0, 0.5, np.nan, 2.1, 2.31])).flat
    assert not Curve(None, readings, np.full(5, np.nan)).flat


def test_how_even_depths_are() -> None:
    assert unevenness_m(BAND, []) == 0.0
    assert unevenness_m(BAND, [14.0, 8.0]) == 0.0
    assert unevenness_m(BAND, [9.0, 14.0]) == pytest.approx(np.sqrt(0.5))
    assert unevenness_m(BAND, [13.0]) == pytest.approx(2.0)


def test_every_beginning_gives_every_level_to_one_rod(spread: Spread, both: tuple[Reach, ...]) -> None:
    found = beginnings(spread, both, levels_m(BAND, 2))
    assert all(sorted(c.level for c in one.values()) == [0, 1] for one in found)
    assert {one["2"].level for one in found} == {0, 1}, "the outer rod shallow, and deep"
    assert beginnings(spread, (), levels_m(BAND, 2)) == []
    # The first keeps lines apart: the outer rod is the shallow one, and its only diver is set widest.
    assert found[0]["2"].level == 0
    assert found[0]["2"].now.setting == "high"


def test_two_rods_for_one_level_both_take_it(spread: Spread, both: tuple[Reach, ...]) -> None:
    shallow = [replace(reach, choices=tuple(c for c in reach.choices if c.level == 0)) for reach in both]
    for one in beginnings(spread, shallow, levels_m(BAND, 2)):
        assert [choice.level for choice in one.values()] == [0, 0]
