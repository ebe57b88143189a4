"""The bottom is found again by place, and copies do not disturb one another."""

from __future__ import annotations

import math
import random
import tracemalloc
from dataclasses import replace

import pytest

from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_degrees, local_metres

# As agreed: a change of one is to be noticed.
ASKED = 48
REACH_M, WIDE_M = 12.0, 30.0


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


def test_the_newest_depth_is_the_last_one_of_this_copy() -> None:
    s = Soundings()
    assert s.newest_m is None
    s.add(Sounding(70.0, 1.0, 2.0, 10.0))
    kept = s.copy()
    s.add(Sounding(80.0, 3.0, 4.0, 11.0))
    assert (kept.newest_m, s.newest_m) == (10.0, 11.0)


def test_local_metres_against_the_length_of_a_degree() -> None:
    # A minute of latitude on the mean sphere is 1,853.2 m (IUGG mean radius 6,371.0088 km).
    north, east = local_metres((47.0, -90.0), (47.0 + 1 / 60, -90.0))
    assert north == pytest.approx(1853.25, abs=0.1)
    assert east == 0.0
    _, east = local_metres((0.0, 179.999), (0.0, -179.999))
    assert east == pytest.approx(222.39, abs=0.01)


def test_the_nearest_is_found_among_many_and_the_newest_of_equals():
    rng, s, made = random.Random(1), Soundings(), list[Sounding]()
    for t in range(400):
        made.append(Sounding(float(t), rng.uniform(-90.0, 90.0), rng.uniform(-90.0, 90.0), 30.0 + rng.random()))
        s.add(made[-1])
    made.append(replace(made[200], t_s=400.0))
    s.add(made[-1])
    assert s.near(made[200].north_m, made[200].east_m) == made[-1]
    found = 0
    for _ in range(200):
        north, east = rng.uniform(-100.0, 100.0), rng.uniform(-100.0, 100.0)
        off = {math.hypot(one.north_m - north, one.east_m - east): one for one in made}
        nearest = min(off)
        assert s.near(north, east) == (off[nearest] if nearest <= REACH_M else None)
        found += nearest <= REACH_M
    assert 100 < found < 200
    assert s.rows(399)[:, 3].tolist() == [399.0, 400.0]


def test_abreast_the_nearest_within_the_wider_reach_is_found() -> None:
    rng, s, made = random.Random(2), Soundings(), list[Sounding]()
    for t in range(60):
        made.append(Sounding(float(t), rng.uniform(-90.0, 90.0), rng.uniform(-90.0, 90.0), 30.0))
        s.add(made[-1])
    wide = 0
    for _ in range(300):
        north, east = rng.uniform(-130.0, 130.0), rng.uniform(-130.0, 130.0)
        off = {math.hypot(one.north_m - north, one.east_m - east): one for one in made}
        nearest = min(off)
        assert s.about(north, east) == (off[nearest] if nearest <= WIDE_M else None)
        wide += REACH_M < nearest <= WIDE_M
    assert 100 < wide < 250


@pytest.mark.parametrize(("later", "found_m"), [(ASKED - 1, 30.0), (ASKED, 40.0)])
def test_of_one_cell_so_many_of_the_newest_are_asked_and_no_more(later: int, found_m: float) -> None:
    s = Soundings()
    s.add(Sounding(0.0, 5.0, 5.0, 30.0))
    for t in range(later):
        s.add(Sounding(1.0 + t, 5.25, 5.0, 40.0))
    found = s.near(5.0, 5.0)
    assert found is not None
    assert found.depth_m == found_m


def test_a_place_that_is_worked_all_day_is_asked_for_its_newest() -> None:
    s = Soundings()
    for t in range(ASKED + 10):
        s.add(Sounding(float(t), 5.0 + 0.1 * (t % 2), 5.0, 30.0 + 0.1 * t))
    assert s.near(5.0, 5.0) == Sounding(56.0, 5.0, 5.0, 35.6)
    s.add(Sounding(99.0, 9.0, 9.0, 20.0))
    assert s.near(5.0, 5.0) == Sounding(56.0, 5.0, 5.0, 35.6)
    for t in range(100, 100 + ASKED):
        s.add(Sounding(float(t), 7.0, 5.0, 40.0))
    assert s.near(5.0, 5.0) == Sounding(99.0 + ASKED, 7.0, 5.0, 40.0)


def test_a_day_of_soundings_takes_six_megabytes():
    rng = random.Random(2)
    places = [(1.05 * t, 3.0 * rng.random()) for t in range(10_000)]
    tracemalloc.start()
    try:
        s = Soundings()
        for t, place in enumerate(places):
            s.add(Sounding(float(t), *place, 30.0 + rng.random()))
        used = tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
    assert used / 10_000 * 86_400 < 6e6


def test_of_five_in_a_row_the_middle_ones_place_has_the_median_depth() -> None:
    """Within twenty seconds, and a metre farther than the last that was kept."""
    kept = Soundings()
    for k, depth in enumerate((20.0, 21.0, 60.0, 22.0, 23.0)):
        kept.take(Sounding(float(k), 2.0 * k, 0.0, depth))
    assert [(s.t_s, s.north_m, s.depth_m) for s in kept.since(0)] == [(2.0, 4.0, 22.0)]
    kept.take(Sounding(5.0, 4.0 + 2.0 * 3, 0.0, 24.0))
    assert [(s.t_s, s.north_m, s.depth_m) for s in kept.back()] == [(3.0, 6.0, 23.0), (2.0, 4.0, 22.0)]
    still = Soundings()
    for k in range(12):
        still.take(Sounding(float(k), 700.0 + 0.09 * k, 900.0 - 0.02 * k, 20.0))
    assert len(still) == 1, "a boat at rest sounds one place"
    seldom = Soundings()
    for k in range(8):
        seldom.take(Sounding(5.1 * k, 2.0 * k, 0.0, 20.0))
    assert len(seldom) == 0
    often = Soundings()
    for k in range(8):
        often.take(Sounding(5.0 * k, 2.0 * k, 0.0, 20.0))
    assert len(often) == 4


def test_nothing_within_reach_is_shoaler_than_what_is_said_of_a_square() -> None:
    kept = Soundings()
    kept.add(Sounding(0.0, 10.0, 10.0, 30.0))
    kept.add(Sounding(1.0, 110.0, 10.0, 12.0))
    kept.add(Sounding(2.0, 130.0, 10.0, 5.0))
    assert kept.shoalest_m(20.0, 20.0, 30.0) == 12.0, "of the whole square of 120 m"
    assert kept.shoalest_m(100.0, 20.0, 30.0) == 5.0
    assert kept.shoalest_m(-300.0, 20.0, 30.0) == math.inf


def test_abreast_counts_where_nothing_is_near_and_rows_say_all() -> None:
    kept = Soundings()
    kept.add(Sounding(None, 0.0, 0.0, 30.0))
    assert kept.near(0.0, 12.1) is None
    found = kept.about(0.0, 29.9)
    assert found is not None
    assert (found.depth_m, found.t_s) == (30.0, None)
    assert kept.about(0.0, 30.1) is None
    assert kept.near(0.0, 11.9) is not None
    rows = kept.rows()
    assert rows.shape == (1, 4)
    assert rows[0, :3].tolist() == [0.0, 0.0, 30.0]
    assert math.isnan(rows[0, 3])
    assert kept.earlier_rows().shape == (0, 4)


def test_local_degrees_are_the_way_back_also_over_the_date_line() -> None:
    for origin, metres in (
        ((47.0, -90.0), (1200.0, -800.0)),
        ((0.0, 179.9), (0.0, 20_000.0)),
        ((0.0, -179.9), (0.0, -20_000.0)),
    ):
        place = local_degrees(origin, metres)
        assert -180.0 <= place[1] < 180.0
        assert local_metres(origin, place) == pytest.approx(metres, abs=1e-6)


def test_back_to_a_time_has_all_since_and_that_moment_itself() -> None:
    s = Soundings()
    for k in range(10):
        s.add(Sounding(float(k), 2.0 * k, 3.0 * k, 20.0 + k))
    assert s.back_to(7.0).tolist() == [[18.0, 16.0, 14.0], [27.0, 24.0, 21.0], [29.0, 28.0, 27.0], [9.0, 8.0, 7.0]]
    assert s.back_to(7.1).shape == (4, 2)
    assert s.back_to(9.1).shape == (4, 0)
    assert s.back_to(-5.0).shape == (4, 10)
    assert s.copy().back_to(0.0)[3].tolist() == [9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.0]
