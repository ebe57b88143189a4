"""Line out for a depth, what changes it, and the let-out card: each against the depth answer itself."""

from __future__ import annotations

import copy
import tomllib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import CARRIED, Draws
from sternwatch.answers.chains.arrays import RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.answers.depths.inverse import MOST_LINE_M, line_out_for_depth
from sternwatch.answers.depths.law import Places
from sternwatch.answers.depths.sensitivity import sensitivities
from sternwatch.answers.depths.table import CardMembers, alike, even_readings, let_out_card
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.places import shipped

SPEED = 2.3 * 0.44704
FT = 0.3048
FILED: dict[str, Any] = tomllib.loads((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))


def _demo(**rod: Any) -> Spread:
    data = copy.deepcopy(FILED)
    data["rod"][2].update(rod)
    return spread_from(data)


def _rod(spread: Spread, key: str) -> Rod:
    rod = spread.rod_by_key(key)
    assert rod is not None
    return rod


def _depth(spread: Spread, key: str, speed: float = SPEED, **now: Any) -> float:
    answer = depth_answer(spread, speed, now={key: RodNow(**now)})
    depth = next(rod.depth_m for rod in answer.rods if rod.key == key)
    assert depth is not None
    return depth


@pytest.mark.parametrize("key", ["2", "3", "4", "5", "7"])
@pytest.mark.parametrize("target", [10.0, 18.288, 22.0])
def test_the_line_out_it_gives_runs_at_the_depth(key: str, target: float) -> None:
    demo = _demo()
    found = line_out_for_depth(demo, _rod(demo, key), target, SPEED)
    assert found.why == ""
    assert found.line_out_as_counter_m is not None
    assert _depth(demo, key, line_out_as_counter_m=found.line_out_as_counter_m) == pytest.approx(target, abs=0.02)
    assert found.deepest_m is not None
    assert found.deepest_m > target


@pytest.mark.parametrize(
    "counter", [{"zero": "water"}, {"zero": "lure at water"}, {"scale": 1.1}, {"zero": "water", "scale": 0.95}]
)
def test_counter_zero_and_scale_count(counter: dict[str, Any]) -> None:
    plain, other = _demo(), _demo(counter=counter)
    read = line_out_for_depth(other, _rod(other, "3"), 20.0, SPEED).line_out_as_counter_m
    true = line_out_for_depth(plain, _rod(plain, "3"), 20.0, SPEED).line_out_as_counter_m
    assert read is not None
    assert true is not None
    assert abs(read - true) > 0.5
    assert _depth(other, "3", line_out_as_counter_m=read) == pytest.approx(20.0, abs=0.02)


def test_a_setting_not_in_the_file_can_be_asked() -> None:
    demo = _demo()
    low = line_out_for_depth(demo, _rod(demo, "3"), 20.0, SPEED, now=RodNow(setting="low"))
    high = line_out_for_depth(demo, _rod(demo, "3"), 20.0, SPEED, now=RodNow(setting="high"))
    assert high.setting == "high"
    assert (high.line_out_as_counter_m or 0) > (low.line_out_as_counter_m or 1e9) * 1.1


def test_out_of_reach_says_how_deep_it_can_get() -> None:
    demo = _demo()
    found = line_out_for_depth(demo, _rod(demo, "3"), 200.0, SPEED)
    assert found.line_out_as_counter_m is None
    assert found.depth_m is None
    assert found.why == "no length of line reaches it"
    assert found.deepest_m == pytest.approx(
        _depth(demo, "3", line_out_as_counter_m=found.deepest_line_out_as_counter_m), abs=0.05
    )
    assert found.deepest_line_out_as_counter_m == pytest.approx(MOST_LINE_M)


def test_line_to_a_board_does_not_set_the_depth_and_that_is_said() -> None:
    demo = _demo()
    found = line_out_for_depth(demo, _rod(demo, "1"), 8.5, SPEED)
    assert found.line_out_as_counter_m is None
    assert found.why == "line out hardly changes its depth"
    assert found.deepest_m == pytest.approx(_depth(demo, "1"), abs=0.2)


def test_a_clipped_rod_has_no_line_of_its_own() -> None:
    data = copy.deepcopy(FILED)
    data["rod"].append(
        {"key": "9", "name": "STACK", "side": "port", "clipped_to": {"rod": "4", "above_ball": "15 ft"},
         "chain": [{"line": "mono", "length": "20 ft"}, {"tackle": "spoon"}]}
    )  # fmt: skip
    demo = spread_from(data)
    found = line_out_for_depth(demo, _rod(demo, "9"), 15.0, SPEED)
    assert found.line_out_as_counter_m is None
    assert found.why == "hangs on rod 4's cable and has no line out of its own"
    assert let_out_card(demo, _rod(demo, "9"), [10.0], [1.0]).why == found.why
    # Its depth answers the cable's line.
    stacked = next(s for s in sensitivities(demo, SPEED) if s.key == "9")
    assert stacked.per_line_out == pytest.approx(1.0, abs=0.12)


def test_sensitivities_are_the_answers_differences() -> None:
    demo = _demo()
    found = {s.key: s for s in sensitivities(demo, SPEED)}
    assert list(found) == [rod.key for rod in demo.rods]
    for key in ("2", "3", "4", "8"):
        filed = _rod(demo, key).line_out_m
        assert filed is not None
        more = _depth(demo, key, line_out_as_counter_m=filed + 1.5) - _depth(demo, key)
        faster = _depth(demo, key, SPEED + 0.05) - _depth(demo, key, SPEED - 0.05)
        assert found[key].per_line_out == pytest.approx(more / 1.5, abs=0.02)
        assert found[key].per_speed_s == pytest.approx(faster / 0.1, rel=0.05)
    assert found["3"].by_setting_m == tuple(
        (label, pytest.approx(_depth(demo, "3", setting=label), abs=1e-6)) for label in ("straight", "low", "high")
    )
    assert found["4"].by_setting_m == ()
    # Heavy line and a ball rise with speed; more line is deeper for a diver and a ball.
    assert all((s.per_speed_s or 0) < 0 for s in found.values())
    assert all((found[key].per_line_out or 0) > 0.25 for key in "234567")


def test_a_boat_at_rest_has_sensitivities_too() -> None:
    for found in sensitivities(_demo(), 0.0):
        assert found.per_speed_s is None or np.isfinite(found.per_speed_s)


def test_a_card_is_the_depth_answer() -> None:
    demo = _demo()
    rod = _rod(demo, "3")
    readings, speeds = (20.0, 40.0, 60.0), (0.8, 1.0, 1.2)
    card = let_out_card(demo, rod, readings, speeds)
    assert [table.setting for table in card.tables] == ["straight", "low", "high"]
    assert card.rig == ("wire", "disc", "snub", "leader", "paddle", "leader", "fly")
    for table in card.tables:
        for i, reading in enumerate(readings):
            for k, speed in enumerate(speeds):
                cell = table.cells[i][k]
                wanted = _depth(demo, "3", speed, line_out_as_counter_m=reading, setting=table.setting)
                assert cell.depth_m == pytest.approx(wanted, abs=2e-3)
                assert cell.plus_minus_m is None


def test_a_cards_plus_minus_comes_from_the_members() -> None:
    demo = _demo()
    rod = _rod(demo, "4")
    z = Draws(None, CARRIED).normal("cable")

    def members(now: RodNow) -> CardMembers:
        rig = rig_of(demo, rod, now, water_of(demo))
        cable = rig.chain.items[0]
        chains = [
            replace(rig.chain, items=(replace(cable, drag_factor=factor), *rig.chain.items[1:]))  # type: ignore[type-var]
            for factor in np.exp(0.2 * z)
        ]
        places = Places(z[:, None], lambda numbers: numbers)
        return CardMembers(tuple(replace(rig, chain=chain) for chain in chains), (None,) * len(z), places)

    card = let_out_card(demo, rod, [15.0, 30.0], [1.0], members=members)
    assert card.tables[0].setting is None
    short, long = (row[0].plus_minus_m for row in card.tables[0].cells)
    assert short is not None
    assert long is not None
    assert 0.0 < short < long


def test_a_card_marks_what_does_not_hold() -> None:
    demo = _demo()
    cells = let_out_card(demo, _rod(demo, "3"), [40.0], [0.2, 1.0], settings=["low"]).tables[0].cells
    assert [cell.slack for cell in cells[0]] == [True, False]


@pytest.mark.parametrize("step", [10 * FT, 5.0, 100.0])
def test_rows_go_past_what_is_out(step: float) -> None:
    rod = _rod(_demo(), "3")
    rows = even_readings(rod, step)
    assert rod.line_out_m is not None
    assert rows[-1] >= 1.5 * rod.line_out_m - 1e-9
    assert 2 <= len(rows) <= 16
    assert np.allclose(np.array(rows) / step, np.round(np.array(rows) / step))


def test_rods_alike_are_those_whose_cards_are_the_same() -> None:
    demo = _demo()
    groups = [[rod.key for rod in group] for group in alike(demo, demo.rods)]
    assert groups == [["1"], ["2", "7"], ["3", "6"], ["4"], ["5"], ["8"]]
    for keys in (["2", "7"], ["3", "6"]):
        one, other = (let_out_card(demo, _rod(demo, key), [30.0, 50.0], [1.0]) for key in keys)
        for a, b in zip(one.tables, other.tables, strict=True):
            for row, other_row in zip(a.cells, b.cells, strict=True):
                assert row[0].depth_m == pytest.approx(other_row[0].depth_m, abs=1e-4)
    # Another tip, another scale, or a current that tells port from starboard make them differ.
    scaled = _demo(counter={"scale": 1.1})
    assert ["3"] in [[rod.key for rod in group] for group in alike(scaled, scaled.rods)]
    data = copy.deepcopy(FILED)
    data["water"]["current"] = [
        {"depth": "0 m", "speed": "0 m/s", "towards": "0 deg"},
        {"depth": "20 m", "speed": "0.2 m/s", "towards": "0 deg"},
    ]
    split = spread_from(data)
    assert len(alike(split, split.rods)) == 8


def test_a_card_whose_line_out_does_not_matter_is_flat() -> None:
    demo = _demo()
    assert let_out_card(demo, _rod(demo, "1"), [10.0, 30.0, 60.0], [1.0]).flat
    assert not let_out_card(demo, _rod(demo, "3"), [10.0, 30.0, 60.0], [1.0]).flat
    assert not let_out_card(demo, _rod(demo, "1"), [10.0], [1.0]).flat
