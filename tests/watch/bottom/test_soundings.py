"""The bottom is found again by place, and copies do not disturb one another."""

from __future__ import annotations

import pytest

from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_metres


def test_the_nearest_sounding_within_reach_is_found() -> None:
    s = Soundings()
    for k in range(100):
        s.add(Sounding(float(k), 1.2 * k, 0.0, 20.0 + 0.1 * k))
    found = s.near(60.0, 3.0)
    assert found is not None
    assert found.north_m == pytest.approx(60.0)
    assert s.near(60.0, 40.0) is None


def test_the_newest_of_two_passes_over_one_place_wins() -> None:
    s = Soundings()
    s.add(Sounding(0.0, 5.0, 5.0, 30.0))
    s.add(Sounding(900.0, 5.0, 5.0, 31.0))
    found = s.near(5.0, 5.0)
    assert found is not None
    assert found.depth_m == 31.0


def test_a_copy_keeps_its_own_end() -> None:
    s = Soundings()
    s.add(Sounding(0.0, 0.0, 0.0, 10.0))
    kept = s.copy()
    s.add(Sounding(1.0, 1.0, 0.0, 11.0))
    assert len(kept) == 1
    assert kept.near(1.0, 0.0).depth_m == 10.0  # type: ignore[union-attr]
    kept.add(Sounding(1.0, 1.0, 0.0, 99.0))
    assert s.near(1.0, 0.0).depth_m == 11.0  # type: ignore[union-attr]
    assert kept.near(1.0, 0.0).depth_m == 99.0  # type: ignore[union-attr]


def test_local_metres_against_the_length_of_a_degree() -> None:
    # A minute of latitude on the mean sphere is 1,853.2 m (IUGG mean radius 6,371.0088 km).
    north, east = local_metres((47.0, -90.0), (47.0 + 1 / 60, -90.0))
    assert north == pytest.approx(1853.25, abs=0.1)
    assert east == 0.0
    _, east = local_metres((0.0, 179.999), (0.0, -179.999))
    assert east == pytest.approx(222.39, abs=0.01)
