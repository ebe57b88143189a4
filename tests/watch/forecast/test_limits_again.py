"""Limits searched again from the last ones: the edges alone, and everything where the last no longer hold."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.chains.ensemble import Fleet
from sternwatch.watch.forecast import turn_limit
from sternwatch.watch.forecast.turn_limit import finish, side_limit, slowest
from sternwatch.watch.picture.manoeuvre import Manoeuvre

RADII_M = (60.0, 40.0, 25.0, 15.0)
FLEET, REQUIRED = cast(Fleet, None), Required(0.3, 0.3, 1.0)


class Lake:
    """Where turns tighter than ``least_m`` and speeds under ``least_m_s`` make lines cross, in so many runs."""

    def __init__(self, least_m: float, least_m_s: float) -> None:
        self.least_m, self.least_m_s, self.runs = least_m, least_m_s, 0

    def risk(self, fleet: Fleet, manoeuvre: Manoeuvre, *, speed_m_s: float, required: Required) -> Any:
        del fleet, required, speed_m_s
        self.runs += 1
        tight = manoeuvre.radius_m is not None and manoeuvre.radius_m < self.least_m
        slow = manoeuvre.to_speed_m_s is not None and manoeuvre.to_speed_m_s < self.least_m_s
        return SimpleNamespace(any=1.0 if tight or slow else 0.0, worst=("1", "2"), run=None)


@pytest.fixture
def lake(monkeypatch: pytest.MonkeyPatch) -> Lake:
    made = Lake(40.0, 0.65)
    monkeypatch.setattr(turn_limit, "risk", made.risk)
    return made


def runs(lake: Lake, search: Any) -> tuple[Any, int]:
    before = lake.runs
    return finish(search), lake.runs - before


def turns(lake: Lake, before: Any = None) -> tuple[Any, int]:
    return runs(lake, side_limit(FLEET, "port", speed_m_s=1.0, required=REQUIRED, radii_m=RADII_M, before=before))


def speeds(lake: Lake, before: Any = None, speed_m_s: float = 1.0) -> tuple[Any, int]:
    return runs(lake, slowest(FLEET, speed_m_s=speed_m_s, required=REQUIRED, before=before))


def test_the_same_limits_are_found_from_their_edges(lake: Lake) -> None:
    whole, first = turns(lake)
    again, second = turns(lake, whole)
    assert again == whole
    assert again.radius_m == 40.0
    assert (first, second) == (4, 3)  # one between them
    whole_slow, first = speeds(lake)
    again_slow, second = speeds(lake, whole_slow)
    assert again_slow == whole_slow
    assert again_slow.speed_m_s == pytest.approx(0.7)
    assert (first, second) == (5, 2)


def test_a_limit_moves_tighter_from_its_edge(lake: Lake) -> None:
    whole, _ = turns(lake)
    lake.least_m = 10.0
    again, _ = turns(lake, whole)
    assert again.radius_m == 15.0
    assert [radius for radius, _ in again.tried_m] == list(RADII_M)
    assert turns(lake, again)[1] == 1  # the tightest of all: nothing beyond its edge


def test_a_limit_that_no_longer_holds_is_searched_whole(lake: Lake) -> None:
    whole, _ = turns(lake)
    slow, _ = speeds(lake)
    lake.least_m, lake.least_m_s = 50.0, 0.75
    assert turns(lake, whole)[0] == turns(lake)[0]
    assert turns(lake)[0].radius_m == 60.0
    assert speeds(lake, slow)[0] == speeds(lake)[0]
    lake.least_m = 70.0
    again, _ = turns(lake, whole)
    assert again.radius_m is None
    assert len(again.tried_m) == 1


def test_after_no_limit_everything_is_tried(lake: Lake) -> None:
    lake.least_m, lake.least_m_s = 70.0, 2.0
    none, none_slow = turns(lake)[0], speeds(lake)[0]
    assert none.radius_m is None
    assert none_slow.speed_m_s is None
    lake.least_m, lake.least_m_s = 40.0, 0.65
    assert turns(lake, none) == turns(lake)
    assert speeds(lake, none_slow) == speeds(lake)


def test_the_nearest_share_is_tried_where_the_speed_changed_a_little(lake: Lake) -> None:
    slow, _ = speeds(lake)
    again, tried = speeds(lake, slow, speed_m_s=1.02)
    assert again.speed_m_s == pytest.approx(0.7 * 1.02)
    assert tried == 2
    assert np.all(np.diff([speed for speed, _ in again.tried_m_s]) < 0.0)


def test_where_nothing_crosses_turns_from_120_to_12_m_and_speeds_down_to_three_tenths_are_tried(lake: Lake) -> None:
    lake.least_m = lake.least_m_s = 0.0
    limit, _ = runs(lake, side_limit(FLEET, "starboard", speed_m_s=2.0, required=REQUIRED))
    radii = [120.0, 100.0, 80.0, 60.0, 50.0, 40.0, 32.0, 25.0, 20.0, 15.0, 12.0]
    assert [radius for radius, _ in limit.tried_m] == radii
    assert (limit.radius_m, limit.half_circle_s) == (12.0, pytest.approx(math.pi * 6.0))
    assert limit.rate_deg_s == pytest.approx(30.0 / math.pi)
    slow, _ = speeds(lake, speed_m_s=2.0)
    tried = [2.0, 1.8, 1.6, 1.4, 1.2, 1.0, 0.8, 0.6]
    assert [speed for speed, _ in slow.tried_m_s] == pytest.approx(tried)
    assert slow.speed_m_s == pytest.approx(0.6)


@pytest.mark.parametrize(("wide_m", "tried"), [(115.1, 3), (114.9, 2), (110.0, 2)])
def test_between_two_radii_one_more_is_tried_unless_they_are_near(lake: Lake, wide_m: float, tried: int) -> None:
    lake.least_m = 100.5
    limit, _ = runs(lake, side_limit(FLEET, "port", speed_m_s=1.0, required=REQUIRED, radii_m=(wide_m, 100.0)))
    assert len(limit.tried_m) == tried
