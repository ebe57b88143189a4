"""A proposal in words: the legs, how near it passes, and what must be done first."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.words import called_out, in_words, legs_in_words

METRIC = SYSTEMS["metric"]


def leg(length_m: float, turn_deg: float = 0.0) -> Any:
    return SimpleNamespace(length_m=length_m, turn_rad=math.radians(turn_deg))


def proposal(*legs: Any, **more: Any) -> Any:
    target = SimpleNamespace(key="2", longer_m=0.0, put_out=False, as_then=None)
    passed = SimpleNamespace(within_m=7.0, time_s=130.0, deeper_m=None)
    path = SimpleNamespace(speed_m_s=np.array([0.9, 1.0]), heading_rad=np.array([math.radians(350.0), 0.0]))
    given = {"legs": legs, "path": path, "heading_rad": math.radians(65.2), "target": target, "passed": passed,
             "risk": 0.0, "members": 16, "worst": None, "touching": ()}  # fmt: skip
    return SimpleNamespace(**(given | more))


def test_legs_with_their_times_and_headings() -> None:
    legs = [leg(35.0, 40.0), leg(130.0), leg(20.0, -90.0), leg(10.0)]
    assert called_out(legs, math.radians(350.0), 1.0) == [
        "starboard 40° in 0:35", "030° for 2:10", "port 90° in 0:20", "300° for 0:10"
    ]  # fmt: skip
    assert called_out([leg(35.0)], math.radians(359.7), 0.5) == ["000° for 1:10"]


def test_the_last_leg_is_a_course_and_a_speed() -> None:
    assert (
        legs_in_words(proposal(leg(35.0, 75.0), leg(99.0)), METRIC) == "starboard 75° in 0:35, then 065° at 3.6 km/h"
    )
    assert legs_in_words(proposal(leg(99.0)), METRIC) == "065° at 3.6 km/h"
    north = proposal(leg(99.0), heading_rad=math.radians(359.7))
    assert legs_in_words(north, METRIC) == "000° at 3.6 km/h"


BEGIN = "065° at 3.6 km/h; DOWN passes the place in 2:10 within 7 m (90 %)"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, f"{BEGIN}; lines touch in none of 16"),
        ({"risk": 0.25, "worst": ("1", "2")}, f"{BEGIN}; 1 and 2 touch in 25 %"),
        ({"touching": ("3",)}, f"{BEGIN}; lines touch in none of 16; 3 comes to the bottom"),
        ({"touching": ("3", "4")}, f"{BEGIN}; lines touch in none of 16; 3, 4 come to the bottom"),
    ],
)
def test_the_whole_of_it(more: dict[str, Any], said: str) -> None:
    assert in_words(proposal(leg(99.0), **more), METRIC, {"2": "DOWN"}) == said


@pytest.mark.parametrize(
    ("deeper_m", "said"),
    [(0.4, ", at the same depth"), (-0.4, ", at the same depth"), (2.0, ", 2 m deeper"), (-3.0, ", 3 m shallower")],
)
def test_how_deep_it_passes(deeper_m: float, said: str) -> None:
    passed = SimpleNamespace(within_m=7.0, time_s=130.0, deeper_m=deeper_m)
    assert in_words(proposal(leg(99.0), passed=passed), METRIC, {"2": "DOWN"}).startswith(f"{BEGIN}{said}; ")


@pytest.mark.parametrize(
    ("longer_m", "put_out", "out_m", "said"),
    [(0.0, False, None, ""), (5.0, False, None, "first let out 5.0 m; "),
     (-5.0, False, None, "first take in 5.0 m; "), (0.31, False, None, "first let out 0.3 m; "),
     (-0.5, False, None, "first take in 0.5 m; "), (5.0, True, None, "first put it out; "),
     (5.0, True, 30.0, "first put it out to 30 m by its counter; ")],
)  # fmt: skip
def test_what_must_be_done_first(longer_m: float, put_out: bool, out_m: float | None, said: str) -> None:
    then = SimpleNamespace(line_out_as_counter_m=out_m)
    target = SimpleNamespace(key="2", longer_m=longer_m, put_out=put_out, as_then=then)
    assert in_words(proposal(leg(99.0), target=target), METRIC, {"2": "DOWN"}).startswith(f"{said}{BEGIN}")


def test_in_feet_a_length_is_whole() -> None:
    target = SimpleNamespace(key="2", longer_m=0.31, put_out=False, as_then=None)
    assert in_words(proposal(leg(99.0), target=target), SYSTEMS["us"], {}).startswith("first let out 1 ft; 065°")
