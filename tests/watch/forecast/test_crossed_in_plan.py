"""Lines that cross seen from above, and the shoalest sounding about a path: against what is written out."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.forecast.bottom_ahead import _over_ground, _shoalest
from sternwatch.watch.forecast.meetings import _crossed_in_plan, over_until

# As agreed: a change of one is to be noticed.
REACH_M = 12.0


def meets(p: np.ndarray, q: np.ndarray, r: np.ndarray, s: np.ndarray) -> bool:
    """Two segments by solving for where they meet."""
    along = np.stack([q - p, r - s], axis=1)
    if abs(np.linalg.det(along)) < 1e-12:
        return False
    return bool(((shares := np.linalg.solve(along, r - p)) > 0.0).all() and (shares < 1.0).all())


@pytest.mark.parametrize("seed", range(5))
def test_any_two_segments_that_cross_are_found(seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, other = (
        np.cumsum(rng.normal(0.0, 1.0, (40, 4, 3)), axis=1),
        np.cumsum(rng.normal(0.3, 1.0, (40, 5, 3)), axis=1),
    )
    written = [
        any(meets(a[i, :2], a[i + 1, :2], b[j, :2], b[j + 1, :2]) for i in range(3) for j in range(4))
        for a, b in zip(one, other, strict=True)
    ]
    assert _crossed_in_plan(one, other).tolist() == written
    assert 5 < sum(written) < 35


def test_how_long_lines_stay_crossed() -> None:
    """Crossed in samples 2 to 4 of 8, two seconds apart."""
    one = np.tile(np.array([[-5.0, 0.0, 0.0], [5.0, 0.0, 0.0]]), (8, 1, 1))
    other = np.tile(np.array([[0.0, 1.0, 3.0], [0.0, 2.0, 9.0]]), (8, 1, 1))
    other[2:5, 0, 1] = -1.0
    times = 2.0 * np.arange(8.0)
    assert over_until(one, other, times, 5.0) == 10.0
    assert over_until(one, other, times, 10.0) == 10.0
    assert over_until(one, other, times, 10.1) is None
    other[7, 0, 1] = -1.0
    assert over_until(one, other, times, 5.0) == 14.0


def test_the_shoalest_sounding_is_asked_for_about_the_middle_of_a_path() -> None:
    asked: list[tuple[float, float, float]] = []
    soundings = SimpleNamespace(shoalest_m=lambda *given: (asked.append(given), 7.0)[1])
    ground: Any = SimpleNamespace(soundings=soundings)
    assert _shoalest(ground, np.array([10.0, 50.0, 30.0]), np.array([-200.0, -100.0, -90.0])) == 7.0
    assert asked == [(30.0, -145.0, 55.0 + REACH_M)]


@pytest.mark.parametrize(("heading_deg", "place"), [(0.0, (70.0, 5.0)), (90.0, (95.0, -30.0))])
def test_a_place_behind_her_over_a_ground_that_drifts_under_it(
    heading_deg: float, place: tuple[float, float]
) -> None:
    """25 m astern and 5 m to starboard of the transom, the antenna 5 m forward of it."""
    ground: Any = SimpleNamespace(heading_rad=np.radians(heading_deg), antenna_m=5.0, place_m=(100.0, 0.0))
    times = np.array([0.0, 10.0])
    north, east = _over_ground(ground, (0.2, -0.1), times, np.full(2, 25.0), np.full(2, 5.0))
    assert (north[0], east[0]) == pytest.approx(place)
    assert (north[1] - north[0], east[1] - east[0]) == pytest.approx((2.0, -1.0))
