"""Counter arithmetic, by hand: where the counter was zeroed, its scale, and back again."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.gear.spread_file.counter import SHORTEST_M, reading_m, true_line_m, zero_of
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.models import Rod, Spread


def _spread(first: str, counter: dict[str, Any]) -> tuple[Spread, Rod]:
    spread = spread_from(
        {
            "line": {"a": {"material": "nylon", "diameter": "0.5 mm"}},
            "tackle": {
                "ball": {"kind": "ball", "mass": "10 lb"},
                "disc": {"kind": "diver", "diameter": "4 in"},
                "lure": {"kind": "lure"},
            },
            "rod": [
                {
                    "key": "1",
                    "name": "R",
                    "side": "port",
                    "tip": {"height": "2 m"},
                    "counter": counter,
                    "chain": [
                        {"line": "a", "out": "50 m"},
                        {"tackle": first},
                        {"line": "a", "length": "6 m", "adjust": True},
                        {"tackle": "lure"},
                    ],
                }
            ],
        }
    )
    return spread, spread.rods[0]


@pytest.mark.parametrize(
    ("first", "counter", "true_m"),
    [
        ("disc", {}, 50.0),  # zeroed with the device at the tip
        ("disc", {"scale": 1.1}, 55.0),
        ("disc", {"zero": "water"}, 52.0),  # device at the water: 2 m of air were out already
        ("disc", {"zero": "lure at water"}, 46.0),  # 6 m hang below, 2 m of air: 4 m were still inside
        ("ball", {}, 52.0),  # a downrigger is zeroed at the water unless it says otherwise
        ("ball", {"zero": "tip"}, 50.0),
        ("ball", {"zero": "water", "scale": 0.9}, 47.0),
    ],
)
def test_true_line_past_the_tip(first: str, counter: dict[str, Any], true_m: float) -> None:
    spread, rod = _spread(first, counter)
    assert true_line_m(spread, rod, 50.0) == pytest.approx(true_m)
    assert reading_m(spread, rod, true_m) == pytest.approx(50.0)


def test_default_zero() -> None:
    assert zero_of(*_spread("ball", {})) == "water"
    assert zero_of(*_spread("disc", {})) == "tip"


def test_the_lead_now_counts_for_a_lure_zeroed_at_the_water() -> None:
    spread, rod = _spread("disc", {"zero": "lure at water"})
    assert true_line_m(spread, rod, 50.0, lead_m=10.0) == pytest.approx(42.0)


def test_never_less_than_a_knot() -> None:
    spread, rod = _spread("disc", {"zero": "lure at water"})
    assert true_line_m(spread, rod, 1.0) == SHORTEST_M


@given(st.floats(10, 500), st.sampled_from(["tip", "water", "lure at water"]), st.floats(0.5, 2))
def test_there_and_back(reading: float, zero: str, scale: float) -> None:
    spread, rod = _spread("disc", {"zero": zero, "scale": scale})
    true = true_line_m(spread, rod, reading)
    assert reading_m(spread, rod, true) == pytest.approx(reading) or true == SHORTEST_M
