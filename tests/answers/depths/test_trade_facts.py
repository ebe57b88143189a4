"""What every crew knows: orderings (common practice, no source) and wide bands (common practice, from memory).

Depths come from spreads as a user would write them, with nothing given but what is printed on the spool and the disc.
"""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.spread_file.load import spread_from

FT, MPH = 0.3048, 0.44704
TROLLING = 2.3 * MPH

BASE: dict[str, Any] = {
    "line": {
        "wire": {"material": "stainless steel", "diameter": "0.38 mm"},
        "thick wire": {"material": "stainless steel", "diameter": "0.50 mm"},
        "leadcore": {"material": "lead-core 27 lb"},
        "copper": {"material": "copper 45 lb"},
        "braid": {"material": "UHMWPE braid", "diameter": "0.45 mm"},
        "backing": {"material": "UHMWPE braid", "diameter": "0.32 mm"},
        "leader": {"material": "fluorocarbon", "diameter": "0.50 mm"},
        "cable": {"material": "stainless steel", "diameter": "0.9 mm"},
    },
    "tackle": {
        "disc": {
            "kind": "diver",
            "diameter": "120 mm",
            "settings": {"straight": "0 deg", "low": "20 deg", "middle": "32 deg", "high": "45 deg"},
        },
        "ring": {"kind": "diver", "diameter": "120 mm", "ring": True, "settings": {"low": "20 deg"}},
        "big": {"kind": "diver", "diameter": "145 mm", "settings": {"low": "20 deg"}},
        "ball": {"kind": "ball", "mass": "10 lb"},
        "board": {"kind": "board"},
        "weight": {"kind": "weight", "mass": "6 oz"},
        "paddle": {"kind": "attractor"},
        "fly": {"kind": "lure", "form": "fly"},
        "spoon": {"kind": "lure", "form": "spoon"},
        "lipped": {"kind": "lure", "form": "lipped plug"},
        "plain": {"kind": "lure", "form": "plug"},
    },
}
ATTRACTOR = [
    {"line": "leader", "length": "8 ft"},
    {"tackle": "paddle"},
    {"line": "leader", "length": "22 in"},
    {"tackle": "fly"},
]
SPOON = [{"line": "leader", "length": "20 ft"}, {"tackle": "spoon"}]


def _rod(chain: list[dict[str, Any]], key: str = "1", side: str = "port", **more: Any) -> dict[str, Any]:
    tip = {"abeam": "6 ft", "height": "5 ft"}
    return {"key": key, "name": f"R{key}", "side": side, "tip": tip, "chain": chain, **more}


def _run(chain: list[dict[str, Any]], speed: float = TROLLING, side: str = "port") -> Any:
    data = copy.deepcopy(BASE) | {"rod": [_rod(chain, side=side)]}
    answer = depth_answer(spread_from(data), speed).rods[0]
    assert answer.why == ""
    return answer


def _diver(setting: str = "low", line: str = "wire", out: float = 180.0, disc: str = "disc", **more: Any) -> Any:
    return _run(
        [{"line": line, "out": f"{out} ft"}, {"tackle": disc, "setting": setting, **more}, *ATTRACTOR]
    ).points[0]


def test_a_diver_set_straight_runs_behind_its_tip() -> None:
    assert _diver("straight").abeam_m == pytest.approx(-6 * FT, abs=1e-6)


def test_a_higher_setting_runs_wider_and_shallower() -> None:
    places = [_diver(setting) for setting in ("straight", "low", "middle", "high")]
    depths, out = [p.depth_m for p in places], [-p.abeam_m for p in places]
    assert depths == sorted(depths, reverse=True)
    assert out == sorted(out)
    assert len(set(depths)) == 4


@pytest.mark.parametrize("setting", ["straight", "low", "high"])
def test_more_line_is_deeper(setting: str) -> None:
    depths = [_diver(setting, out=out).depth_m for out in (40, 80, 120, 160, 200, 240)]
    assert (np.diff(depths) > 1.0).all()


def test_a_larger_disc_or_a_ring_is_deeper() -> None:
    assert _diver().depth_m < _diver(disc="ring").depth_m
    assert _diver().depth_m < _diver(disc="big").depth_m


def test_thin_wire_runs_deeper_than_thicker_braid_and_thicker_wire() -> None:
    """Which of the two is the deeper hangs on how hard the wire hums, 1.0 to 1.7, and no fact says it."""
    assert _diver().depth_m > max(_diver(line=line).depth_m for line in ("thick wire", "braid"))


def test_a_tripped_diver_pulls_far_less_and_comes_up() -> None:
    chain = [{"line": "wire", "out": "180 ft"}, {"tackle": "disc", "setting": "low"}, *SPOON]
    held = _run(chain)
    chain[1] = {"tackle": "disc", "setting": "low", "tripped": True}
    tripped = _run(chain)
    assert tripped.tension_N < 0.4 * held.tension_N
    assert tripped.depth_m < 0.8 * held.depth_m


def test_low_inside_and_high_outside_divers_stay_apart_on_a_straight_course() -> None:
    from sternwatch.answers.checks.check import check_spread

    low = [{"line": "wire", "out": "180 ft"}, {"tackle": "disc", "setting": "low"}, *ATTRACTOR]
    high = [{"line": "wire", "out": "160 ft"}, {"tackle": "disc", "setting": "high"}, *ATTRACTOR]
    inside = {"abeam": "5 ft", "height": "4 ft"}
    outside = {"abeam": "8 ft", "height": "5 ft"}
    rods = [
        _rod(high, "1", "port") | {"tip": outside}, _rod(low, "2", "port") | {"tip": inside},
        _rod(low, "3", "starboard") | {"tip": inside}, _rod(high, "4", "starboard") | {"tip": outside},
    ]  # fmt: skip
    found = check_spread(spread_from(copy.deepcopy(BASE) | {"rod": rods}), TROLLING)
    assert [f for f in found.findings if f.kind == "neighbours"] == []
    swapped = [rods[0] | {"tip": inside, "chain": low}, rods[1] | {"tip": inside, "chain": low}]
    found = check_spread(spread_from(copy.deepcopy(BASE) | {"rod": swapped}), TROLLING)
    assert [f.keys for f in found.findings if f.kind == "neighbours"] == [("1", "2")]


def test_slower_is_deeper_most_of_all_for_heavy_line() -> None:
    def gain(chain: list[dict[str, Any]]) -> float:
        slow, fast = (_run(chain, speed * MPH).depth_m for speed in (1.8, 2.6))
        assert slow > fast
        return float(slow / fast)

    copper = gain([{"line": "copper", "out": "200 ft"}, *SPOON])
    diver = gain([{"line": "wire", "out": "180 ft"}, {"tackle": "disc", "setting": "low"}, *ATTRACTOR])
    ball = gain([{"line": "cable", "out": "80 ft"}, {"tackle": "ball"}, *SPOON])
    assert copper > 1.4 > diver > 1.0
    assert copper > 1.4 > ball > 1.0


def test_a_lip_takes_a_plug_down_and_a_weight_takes_a_spoon_down() -> None:
    def flat(lure: str) -> float:
        return float(_run([{"line": "leader", "out": "80 ft"}, {"tackle": lure}]).depth_m)

    assert flat("lipped") > flat("plain") + 1.0
    weighted = [{"line": "leader", "out": "80 ft"}, {"tackle": "weight"}, {"line": "leader", "length": "4 ft"}]
    assert _run([*weighted, {"tackle": "spoon"}]).depth_m > flat("spoon") + 1.0


def test_a_board_goes_to_its_side_and_holds_lead_core_up() -> None:
    chain = [
        {"line": "backing", "out": "90 ft"},
        {"tackle": "board"},
        {"line": "leadcore", "length": "4 colours"},
        *SPOON,
    ]
    for side, sign in (("port", -1.0), ("starboard", 1.0)):
        rod = _run(chain, side=side)
        board = rod.points[0]
        assert sign * board.abeam_m > 12.0
        assert abs(board.depth_m) < 0.1
        assert rod.remarks == ()


# --- bands: common practice, from memory -------------------------------------------------------------------------


@pytest.mark.parametrize("colours", [3, 5, 8, 10])
def test_lead_core_sinks_5_to_7_feet_a_colour_at_2_mph(colours: int) -> None:
    """27 lb grade, within 25 %: from one colour more, leader and backing left out of the reckoning."""

    def depth(n: int) -> float:
        chain = [{"line": "backing", "out": "50 ft"}, {"line": "leadcore", "length": f"{n} colours"}, *SPOON]
        return float(_run(chain, 2.0 * MPH).depth_m / FT)

    assert 5.0 * 0.75 <= depth(colours) - depth(colours - 1) <= 7.0 * 1.25
    assert 5.0 * 0.75 <= depth(colours) / colours <= 7.0 * 1.25


@pytest.mark.parametrize("length", [100, 200, 300])
def test_copper_runs_20_to_26_feet_down_a_hundred_at_2_3_mph(length: int) -> None:
    """45 lb grade, within 25 %."""
    depth = _run([{"line": "copper", "out": f"{length} ft"}, *SPOON]).depth_m / FT
    assert 20.0 * 0.75 <= depth / length * 100 <= 26.0 * 1.25


@pytest.mark.parametrize("out", [180, 215, 250])
def test_a_low_diver_on_wire_goes_down_a_foot_for_2_to_2_6_let_out(out: int) -> None:
    """With an attractor and a fly behind it; on less line, or with a spoon alone, it is steeper than that."""
    assert 2.0 <= out * FT / _diver("low", out=out).depth_m <= 2.6
