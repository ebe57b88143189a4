"""Ways as numbers: what is possible, what is held, and that legs, numbers and tracks tell of one way."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.again.legs import Leg, end_of
from sternwatch.watch.whole_pass.ways import (
    between_m,
    held_of,
    legs_of,
    rest_of,
    tamed,
    tracks,
    turns_for,
    way_of_legs,
)
from sternwatch.watch.whole_pass.wish import LEAST_S, MOST_S, USUAL_S

# As agreed: a change of one is to be noticed.
EACH_S = 6.0

SPEED = 1.2
RADII = {"port": 40.0, "starboard": 60.0}
ASKED: Any = SimpleNamespace(
    wish=SimpleNamespace(lasts_s=600.0), speed_m_s=SPEED, radius=RADII.__getitem__,
    fleet=SimpleNamespace(heading_rad=0.4),
)  # fmt: skip
DEG = math.pi / 180.0


def test_so_many_turns_as_minutes_within_limits() -> None:
    assert [turns_for(s) for s in (0.0, 180.0, 209.0, 211.0, 1440.0, 9999.0)] == [3, 3, 3, 4, 24, 24]
    assert [turns_for(s) for s in (LEAST_S, USUAL_S, MOST_S)] == [10, 20, 24]
    assert MOST_S == 4.0 * LEAST_S
    assert between_m(ASKED) == pytest.approx(3.6)


def test_ways_are_made_possible() -> None:
    way = np.array([[-5.0, 300.0 * DEG, 20.0, 3.9 * DEG, 7.0, -4.1 * DEG]])
    made = tamed(way)
    assert made[0] == pytest.approx([0.0, 220.0 * DEG, 20.0, 0.0, 7.0, -4.1 * DEG])
    assert way[0, 0] == -5.0, "the given one stays"
    held = tamed(way, np.array([2.0, 0.5]))
    assert held[0] == pytest.approx([2.0, 0.5, 20.0, 0.0, 7.0, -4.1 * DEG])


def test_a_turn_that_comes_within_ten_seconds_is_held() -> None:
    assert held_of((Leg(12.0), Leg(60.0, 1.0)), SPEED) == pytest.approx([10.0, 1.0])
    assert held_of((Leg(12.1), Leg(60.0, 1.0)), SPEED) is None
    assert held_of((Leg(60.0, -1.0), Leg(5.0)), SPEED) == pytest.approx([0.0, -1.0])
    assert held_of((Leg(1.0), Leg(1.0), Leg(60.0, 1.0)), SPEED) is None
    assert held_of((), SPEED) is None


def test_legs_of_a_way_fill_its_time_and_no_more() -> None:
    way = np.array([30.0, 90.0 * DEG, 20.0, 0.0, 10.0, -45.0 * DEG])
    legs = legs_of(way, ASKED)
    assert [leg.length_m for leg in legs] == pytest.approx(
        [36.0, 60.0 * math.pi / 2.0, 36.0, 40.0 * math.pi / 4.0, 720.0 - 72.0 - 30.0 * math.pi - 10.0 * math.pi]
    )
    assert [leg.turn_rad for leg in legs] == pytest.approx([0.0, 90.0 * DEG, 0.0, -45.0 * DEG, 0.0])
    short = SimpleNamespace(**{**vars(ASKED), "wish": SimpleNamespace(lasts_s=50.0)})
    legs = legs_of(way, short)
    assert [leg.length_m for leg in legs] == pytest.approx([36.0, 24.0])
    assert legs[1].turn_rad == pytest.approx(24.0 / 60.0)
    at_once = legs_of(np.array([0.0, 1.0]), short)
    assert [leg.turn_rad for leg in at_once] == pytest.approx([1.0])
    assert at_once[0].length_m == pytest.approx(60.0)


def test_legs_become_the_same_numbers_again() -> None:
    way = np.array([30.0, 90.0 * DEG, 25.0, -45.0 * DEG, 0.0, 0.0])
    legs = legs_of(way, ASKED)
    assert way_of_legs(legs, 3, SPEED) == pytest.approx(way)
    assert way_of_legs(legs, 1, SPEED) == pytest.approx(way[:2])
    assert way_of_legs((Leg(6.0), Leg(6.0), Leg(30.0, 0.5)), 1, SPEED) == pytest.approx([10.0, 0.5])


def test_the_rest_of_legs() -> None:
    legs = (Leg(10.0), Leg(20.0, 1.0), Leg(5.0))
    assert rest_of(legs, 0.0) == legs
    assert rest_of(legs, 10.0) == legs[1:]
    first, last = rest_of(legs, 15.0)
    assert (first.length_m, first.turn_rad, last) == (pytest.approx(15.0), pytest.approx(0.75), legs[2])
    assert rest_of(legs, 32.0) == (Leg(pytest.approx(3.0), 0.0),)  # type: ignore[arg-type]
    assert rest_of(legs, 35.0) == ()


def test_a_track_goes_where_its_legs_go() -> None:
    ways = np.array([[30.0, 90.0 * DEG, 42.0, -45.0 * DEG], [0.0, -180.0 * DEG, 0.0, 0.0]])
    north, east, heading = tracks(ways, ASKED)
    assert north.shape == east.shape == heading.shape == (2, 101)
    for k in range(2):
        for at in (5, 20, 40, 100):
            gone = rest = at * EACH_S * SPEED
            begun: list[Leg] = []
            for leg in legs_of(ways[k], ASKED):
                part = min(leg.length_m, rest)
                begun.append(Leg(part, leg.turn_rad * part / leg.length_m))
                rest -= part
                if rest <= 0.0:
                    break
            n, e, h = end_of((0.0, 0.0, 0.4), tuple(begun))
            assert heading[k, at] == pytest.approx(h, abs=1e-9)
            assert math.hypot(north[k, at] - n, east[k, at] - e) < 0.01 * gone + 0.5
