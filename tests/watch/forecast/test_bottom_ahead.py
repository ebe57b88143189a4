"""Tackle on its forecast way against what was sounded there: straight lines on a plane, known answers."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import TIMES, forecast, rod

from sternwatch.watch.bottom.soundings import Sounding, Soundings
from sternwatch.watch.forecast.bottom_ahead import Ground, _meets, ground_of, level_m, touches

# As agreed: a change of one is to be noticed.
NEAR_M = 0.5

SPEED = 1.0


def ground(depth_at: dict[float, float], drift: tuple[float, float] = (0.0, 0.0)) -> Ground:
    """The boat at the origin on a course north; soundings along her track, north -> depth."""
    soundings = Soundings()
    for k, (north, depth) in enumerate(sorted(depth_at.items())):
        soundings.add(Sounding(float(k), north, 0.0, depth))
    return Ground(float(len(depth_at)), (0.0, 0.0), 0.0, 0.0, drift, soundings)


def shelf(begins_north: float, deep: float = 40.0, shoal: float = 20.0) -> dict[float, float]:
    """Sounded every 4 m from 200 m astern to the boat: deep, and shoal north of a line."""
    return {float(n): shoal if n >= begins_north else deep for n in range(-200, 1, 4)}


def towed(key: str, astern: float, depth: float) -> object:
    """A rod whose lure follows the boat straight north at SPEED, in the axes of now."""
    way = np.column_stack([astern - SPEED * TIMES, np.zeros(len(TIMES)), np.full(len(TIMES), depth)])
    return rod(key, way[None])


def test_a_bottom_that_rises_under_a_long_line() -> None:
    # 100 m back and 22 m deep; the shelf begins 40 m astern of the boat: 60 m to go, less the reach of a sounding.
    made = forecast("hold", rods=(towed("1", 100.0, 22.0), towed("2", 100.0, 12.0)))  # type: ignore[arg-type]
    (found,) = touches(made, ground(shelf(-40.0)))
    assert found.key == "1"
    assert 54.0 <= found.time_s <= 60.0
    assert found.by_m == pytest.approx(22.0 + NEAR_M - 20.0)


def test_a_ball_that_is_at_the_bottom_already() -> None:
    made = forecast("hold", rods=(towed("5", 10.0, 19.8),))  # type: ignore[arg-type]
    (found,) = touches(made, ground(shelf(-60.0)))
    assert found.time_s == 0.0
    assert found.by_m == pytest.approx(19.8 + NEAR_M - 20.0)


def test_one_sounding_alone_is_never_believed() -> None:
    depths = shelf(1000.0) | {-40.0: 5.0}
    made = forecast("hold", rods=(towed("1", 100.0, 22.0),))  # type: ignore[arg-type]
    assert touches(made, ground(depths)) == ()


def test_two_soundings_that_agree_are() -> None:
    depths = {float(n): 40.0 for n in range(-200, 1, 20)}
    depths |= {-60.0: 20.0, -40.0: 20.0}
    made = forecast("hold", rods=(towed("1", 100.0, 22.0),))  # type: ignore[arg-type]
    (found,) = touches(made, ground(depths))
    assert found.by_m == pytest.approx(22.0 + NEAR_M - 20.0)
    depths[-40.0] = 40.0
    assert not touches(made, ground(depths))


def test_nothing_is_said_of_a_bottom_that_nobody_has_sounded() -> None:
    made = forecast("hold", rods=(towed("1", 5.0, 500.0),))  # type: ignore[arg-type]
    beside = Ground(0.0, (0.0, 300.0), 0.0, 0.0, (0.0, 0.0), ground(shelf(-40.0)).soundings)
    assert touches(made, beside) == ()


def test_rods_fished_on_the_bottom_on_purpose_touch_unheard() -> None:
    made = forecast("hold", rods=(towed("1", 100.0, 22.0),))  # type: ignore[arg-type]
    assert touches(made, ground(shelf(-40.0)), {"1"}) == ()


def test_a_turn_back_over_sounded_ground_is_seen() -> None:
    """She goes east and her lure swings back over the shoal track astern, which holding on would never reach."""
    there = np.column_stack([np.full(len(TIMES), 60.0), np.zeros(len(TIMES)), np.full(len(TIMES), 25.0)])
    there[:, 1] = np.maximum(60.0 - TIMES, 0.0)  # from 60 m abeam onto the track, and along it
    there[:, 0] -= 0.25 * np.maximum(TIMES - 48.0, 0.0)
    made = forecast("as it goes", rods=(rod("1", there[None]),))
    (found,) = touches(made, ground(shelf(-200.0)))
    assert found.time_s == pytest.approx(48.0, abs=3.0)


def test_the_water_carries_boat_and_lines_over_the_ground() -> None:
    """Set north at 0.5 m/s, what is towed north through the water comes to the shelf in two thirds of the time."""
    made = forecast("hold", rods=(towed("1", 100.0, 22.0),))  # type: ignore[arg-type]
    (still,) = touches(made, ground(shelf(-40.0)))
    (set_north,) = touches(made, ground(shelf(-40.0), (0.5, 0.0)))
    assert set_north.time_s == pytest.approx(still.time_s / 1.5, abs=3.0)


def test_one_level_for_the_slowest_speed() -> None:
    assert level_m(None) is None
    assert level_m(ground({0.0: 30.0})) is None
    level = level_m(ground(shelf(-40.0)))
    assert level == pytest.approx(20.0)
    assert math.isfinite(level)


def test_tackle_touches_within_half_a_metre_of_two_soundings_and_by_how_much() -> None:
    """Straight down the line of soundings at 1 m/s: the bottom rises from 20 m to 15 m after 30 m."""
    soundings = Soundings()
    for k in range(60):
        soundings.add(Sounding(float(k), 3.0 * k, 0.0, 20.0 if k < 10 else 15.0))
    ground = Ground(60.0, (0.0, 0.0), 0.0, 0.0, (1.0, 0.0), soundings)
    times = np.array([0.0, 120.0])

    def met(depth_m: float, **more: object) -> object:
        way = np.array([[(0.0, 0.0, depth_m), (0.0, 0.0, depth_m)]])
        return _meets(ground, (1.0, 0.0), times, way, **more)  # type: ignore[arg-type]

    assert met(14.4).first_s == math.inf
    found = met(14.6)
    # Soundings hold for the nearest place: the first of 15 m lies at 30 m, and half way to it counts as its own.
    assert found.first_s == pytest.approx(30.0, abs=3.0)
    assert found.by_m == pytest.approx(0.1)
    assert found.sounded == 1.0
    assert met(19.6).by_m == pytest.approx(5.1)
    assert met(19.6, look_s=12.0).first_s == 0.0
    assert met(14.6, look_s=12.0).first_s == math.inf
    assert met(10.0, all_of_it=True).sounded == 1.0
    half = Ground(60.0, (100.0, 0.0), 0.0, 0.0, (1.0, 0.0), soundings)
    way = np.array([[(0.0, 0.0, 10.0), (0.0, 0.0, 10.0)]])
    share = _meets(half, (1.0, 0.0), times, way, all_of_it=True).sounded
    assert share == pytest.approx((77.0 + 12.0) / 120.0, abs=0.05)


def test_the_level_is_that_which_nine_in_ten_of_the_last_two_minutes_exceed() -> None:
    soundings = Soundings()
    for k in range(200):
        soundings.add(Sounding(float(k), 3.0 * k, 0.0, 10.0 if k < 80 else 20.0 + 0.1 * (k - 80)))
    ground = Ground(200.0, (0.0, 0.0), 0.0, 0.0, (0.0, 0.0), soundings)
    assert level_m(ground) == pytest.approx(float(np.quantile(20.0 + 0.1 * np.arange(120), 0.1)))
    assert level_m(None) is None
    few = Soundings()
    few.add(Sounding(199.0, 0.0, 0.0, 20.0))
    assert level_m(Ground(200.0, (0.0, 0.0), 0.0, 0.0, (0.0, 0.0), few)) is None
    few.add(Sounding(None, 5.0, 0.0, 20.0))
    assert level_m(Ground(200.0, (0.0, 0.0), 0.0, 0.0, (0.0, 0.0), few)) is None, "nobody knows when"


@pytest.mark.parametrize(("now_m_s", "drift_m_s"), [((0.3, -0.1), (0.3, -0.1)), (None, (0.0, 0.0))])
def test_water_of_which_no_drift_is_known_stays_over_ground(
    now_m_s: tuple[float, float] | None, drift_m_s: tuple[float, float]
) -> None:
    bottom: Any = SimpleNamespace(over=SimpleNamespace(place_m=(1.0, 2.0), antenna_m=0.5), soundings=Soundings())
    boat: Any = SimpleNamespace(heading_deg=180.0, drift=SimpleNamespace(now_m_s=now_m_s))
    assert ground_of(7.0, bottom, boat) is None
    made = ground_of(7.0, bottom, boat, unsounded=True)
    assert made is not None
    assert (made.t_s, made.place_m, made.antenna_m, made.drift_m_s) == (7.0, (1.0, 2.0), 0.5, drift_m_s)
    assert made.heading_rad == pytest.approx(math.pi)
