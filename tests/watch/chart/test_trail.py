"""Her track over ground, its holes, and where fish struck."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sternwatch.watch.chart.trail import struck, trail_through

ORIGIN = (45.0, 179.999)
RADIUS_M = 6_371_008.8  # mean radius of the earth (IUGG)


def rows(*made: tuple[float, float, float]) -> np.ndarray:
    """Times and places, with depth 20, temperature 11 and speed 1.2."""
    return np.array([(*one, 20.0, 11.0, 1.2) for one in made])


def test_places_in_metres_from_the_origin_over_the_date_line_too() -> None:
    trail = trail_through(rows((0.0, 45.001, 179.999), (10.0, 45.0, -179.999)), ORIGIN)
    degree = math.radians(1.0) * RADIUS_M
    assert trail.places_m[0] == pytest.approx([0.001 * degree, 0.0], abs=1e-3)
    assert trail.places_m[1] == pytest.approx([0.0, 0.002 * degree * math.cos(math.radians(45.0))], abs=1e-3)
    assert {name: list(found) for name, found in trail.values.items()} == {
        "depth": [20.0, 20.0], "temperature": [11.0, 11.0], "speed": [1.2, 1.2]
    }  # fmt: skip


def test_a_hole_of_more_than_a_minute_breaks_it() -> None:
    trail = trail_through(rows((0.0, 45.0, 179.0), (60.0, 45.0, 179.0), (120.1, 45.0, 179.0)), ORIGIN)
    assert np.isnan(trail.places_m[:, 0]).tolist() == [False, False, True, False]
    assert np.isnan(trail.values["speed"]).tolist() == [False, False, True, False]


def test_samples_without_a_place_are_left_out_and_soundings_need_both() -> None:
    made = rows((0.0, 45.0, 179.0), (10.0, math.nan, 179.0), (20.0, 45.0, math.nan), (30.0, 45.0, 179.0))
    made[3, 3] = math.nan
    trail = trail_through(made, ORIGIN)
    assert len(trail.places_m) == 2
    assert trail.soundings.shape == (1, 4)
    assert trail.soundings[0, :3] == pytest.approx([*trail.places_m[0], 20.0])
    assert np.isnan(trail.soundings[0, 3])


def test_hits_that_count_at_their_lures_places() -> None:
    def hit(rod: str, place: tuple[float, float] | None, counts: bool = True) -> SimpleNamespace:
        return SimpleNamespace(rod=rod, lure_deg=place, counts=counts)

    found = struck([hit("1", (45.0, 179.999)), hit("2", None), hit("3", (45.0, 179.0), counts=False)], ORIGIN)
    assert [(one.rod, one.north_m, one.east_m) for one in found] == [("1", 0.0, 0.0)]
