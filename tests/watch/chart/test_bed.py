"""The chart's bottom: against scipy's own interpolation, against exact surfaces, and where it must be silent."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import LinearNDInterpolator

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.chart.bed import bed
from sternwatch.watch.chart.contours import contours, levels
from sternwatch.watch.chart.gridded import Window, gridded

# As agreed: a change of one is to be noticed.
HALF_LIFE_S = 90 * 86_400.0
REACH_M = 60.0

METRIC = SYSTEMS["metric"]
FOOT = 1.0 / 0.3048


def hump(north, east):
    """An invented bottom: a hump of 12 m in 30 m of water."""
    return 30.0 - 12.0 * np.exp(-(north**2 + east**2) / 180.0**2) + 0.01 * east


def runs(spacing_m=45.0, along_m=5.0, half_m=300.0):
    """Parallel runs of a boat over the hump."""
    easts, norths = np.meshgrid(np.arange(-half_m, half_m + 1, spacing_m), np.arange(-half_m, half_m + 1, along_m))
    north, east = norths.ravel(), easts.ravel()
    return np.column_stack([north, east, hump(north, east), np.zeros(len(north))])


def test_a_surveyed_bottom_is_told_as_linear_interpolation_between_its_soundings_tells_it():
    soundings = runs()
    window = Window.about(0.0, 0.0, (220.0, 220.0), 8.0)
    mine = gridded(soundings, window, 0.0).depth_m
    norths, easts = np.meshgrid(window.norths_m, window.easts_m, indexing="ij")
    theirs = LinearNDInterpolator(soundings[:, :2], soundings[:, 2])(norths, easts)
    assert np.isfinite(mine).all()
    assert np.abs(mine - theirs).max() < 0.6  # smoothed over the width of a run, it may be this much flatter
    assert np.sqrt(np.mean((mine - hump(norths, easts)) ** 2)) < 0.25


def test_beyond_the_reach_of_every_sounding_nothing_is_told():
    window = Window.about(0.0, 0.0, (300.0, 300.0), 5.0)
    found = gridded(np.array([[0.0, 0.0, 20.0, 0.0]]), window, 60.0)
    norths, easts = np.meshgrid(window.norths_m, window.easts_m, indexing="ij")
    known = np.isfinite(found.depth_m)
    assert known[np.hypot(norths, easts) < REACH_M - 8.0].all()
    assert not known[np.hypot(norths, easts) > REACH_M + 8.0].any()
    assert np.nanmax(np.abs(found.depth_m - 20.0)) < 1e-9
    assert np.nanmax(np.abs(found.age_s - 60.0)) < 1e-9


def test_of_two_trips_over_one_place_the_newer_counts_more_and_the_age_says_so():
    window = Window(-10.0, -10.0, 10.0, 3, 3)
    rows = np.array([[0.0, 0.0, 20.0, 0.0], [0.0, 0.0, 26.0, -HALF_LIFE_S]])
    found = gridded(rows, window, 0.0)
    assert found.depth_m[1, 1] == pytest.approx((20.0 * 2 + 26.0) / 3)
    assert found.age_s[1, 1] == pytest.approx(HALF_LIFE_S / 3)


def test_lying_at_one_place_does_not_drown_the_soundings_beside_it():
    window = Window(-20.0, -20.0, 10.0, 5, 5)
    once = np.array([[0.0, -10.0, 20.0, 0.0], [0.0, 10.0, 30.0, 0.0]])
    often = np.concatenate([np.repeat(once[:1], 200, axis=0), once[1:]])
    assert gridded(often, window, 0.0).depth_m[2, 2] == pytest.approx(gridded(once, window, 0.0).depth_m[2, 2])


def test_no_soundings_give_a_bottom_of_which_nothing_is_known():
    made = bed(np.zeros((0, 4)), Window.about(0.0, 0.0, (50.0, 50.0), 5.0), 0.0, units=SYSTEMS["us"])
    assert not np.isfinite(made.depth_m).any()
    assert made.contours == ()
    assert made.at(0.0, 0.0) is None


def test_contours_run_at_their_depth_and_round_the_hump_as_circles():
    window = Window.about(0.0, 0.0, (220.0, 220.0), 6.0)
    made = bed(runs(), window, 0.0, units=SYSTEMS["us"])
    assert len(made.contours) >= 4
    for line in made.contours:
        assert round(line.depth_m * FOOT, 6) % 1.0 == 0.0
        assert line.own
        assert np.abs(hump(line.points_m[:, 0], line.points_m[:, 1]) - line.depth_m).max() < 0.8


def test_levels_are_round_in_the_crews_unit_and_few():
    feet = [depth * FOOT for depth in levels(10.0, 30.0, FOOT)]
    assert feet == pytest.approx([40, 50, 60, 70, 80, 90])
    assert levels(10.0, 12.0, 1.0) == (11.0,)
    assert levels(10.0, 10.0, 1.0) == ()
    assert levels(float("nan"), 1.0, 1.0) == ()
    assert len(levels(1.0, 400.0, FOOT)) <= 9


class Sloping:
    """A made grid from elsewhere: 50 m everywhere, none in the south."""

    def label(self, units):
        assert units in SYSTEMS.values()
        return "made"

    def depths_m(self, origin_deg, north_m, east_m):
        assert origin_deg == (47.0, -90.0)
        return np.where(north_m[:, None] < -100.0, np.nan, 50.0 + 0.0 * east_m[None, :])


def test_own_soundings_stand_before_a_grid_from_elsewhere_within_their_reach():
    window = Window.about(0.0, 0.0, (200.0, 200.0), 10.0)
    rows = np.array([[0.0, 0.0, 20.0, 0.0]])
    made = bed(rows, window, 100.0, units=METRIC, charts=[Sloping()], origin_deg=(47.0, -90.0))
    near, far = made.at(0.0, 0.0), made.at(0.0, 150.0)
    assert near is not None
    assert far is not None
    assert (near.depth_m, near.age_s, near.label) == (pytest.approx(20.0), pytest.approx(100.0), "")
    assert (far.depth_m, far.age_s, far.label) == (50.0, None, "made")
    assert made.at(-150.0, 0.0) is None
    assert made.labels == ("made",)
    assert not made.own[made.depth_m == 50.0].any()


def test_the_lattice_holds_still_while_the_view_moves():
    one, two = Window.about(0.0, 0.0, (100.0, 100.0), 5.0), Window.about(13.0, -7.0, (100.0, 100.0), 5.0)
    assert (one.south_m - two.south_m) % 5.0 == 0.0
    assert (one.west_m - two.west_m) % 5.0 == 0.0
    assert one.holds(-90.0, -90.0, 90.0, 90.0)
    assert not one.holds(-190.0, -90.0, 90.0, 90.0)


def test_where_soundings_and_grid_disagree_no_contour_runs_along_the_seam():
    """Own soundings say 20.5 m, the grid 50 m: nothing between was ever sounded."""
    window = Window.about(0.0, 0.0, (200.0, 200.0), 10.0)
    made = bed(
        np.array([[0.0, 0.0, 20.5, 0.0]]),
        window,
        0.0,
        units=METRIC,
        charts=[Sloping()],
        origin_deg=(47.0, -90.0),
    )
    assert made.bands_m
    assert made.contours == ()


def test_a_slope_between_lines_sounded_is_a_slope():
    """A plane of 0.2 m a metre, sounded on lines 45 m apart: a mean would stand level about each line."""
    norths = np.arange(-200.0, 201.0, 5.0)
    lines = [np.column_stack([norths, np.full(len(norths), e), 30.0 + 0.2 * e + 0.0 * norths]) for e in (-45, 0, 45)]
    rows = np.column_stack([np.concatenate(lines), np.zeros(3 * len(norths))])
    window = Window.about(0.0, 0.0, (80.0, 80.0), 5.0)
    found = gridded(rows, window, 0.0).depth_m
    off = np.abs(found - (30.0 + 0.2 * window.easts_m)[None, :])
    assert off[:, np.abs(window.easts_m) <= 45.0].max() < 0.3


def test_one_line_of_soundings_tells_no_slope_across_it():
    norths = np.arange(-200.0, 201.0, 5.0)
    rows = np.column_stack([norths, 0.0 * norths, 30.0 + 0.1 * norths, 0.0 * norths])
    window = Window.about(0.0, 0.0, (40.0, 40.0), 5.0)
    found = gridded(rows, window, 0.0).depth_m
    assert np.abs(found - (30.0 + 0.1 * window.norths_m)[:, None]).max() < 0.2


@pytest.mark.parametrize(
    ("count", "chosen"),
    [(0, ()), (1, (0,)), (3, (0, 1, 2)), (4, (1, 2, 2)), (5, (1, 2, 3)), (9, (2, 4, 6)), (13, (3, 6, 9))],
)
def test_the_shade_changes_at_a_quarter_a_half_and_three_quarters(count: int, chosen: tuple[int, ...]) -> None:
    from sternwatch.watch.chart.bed import _bands

    assert _bands(tuple(map(float, range(count)))) == tuple(map(float, chosen))


@pytest.mark.parametrize(
    ("units", "depths_m"),
    [
        ("metric", [12.0, 14.0, 16.0, 18.0]),
        ("us", [0.3048 * feet for feet in (35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0)]),
    ],
)
def test_contours_have_round_depths_in_the_crews_unit(units, depths_m):
    """A slope from 10 to 20 m: each 2 m, or each 5 ft."""
    north = np.arange(0.0, 301.0, 10.0)
    rows = np.array([(n, e, 10.0 + n / 30.0, 0.0) for n in north for e in (0.0, 10.0, 20.0, 30.0, 40.0)])
    made = bed(rows, Window(0.0, 0.0, 10.0, 31, 5), 0.0, units=SYSTEMS[units])
    assert sorted({round(one.depth_m, 6) for one in made.contours}) == pytest.approx(depths_m, abs=1e-5)


@pytest.mark.parametrize(("rows", "drawn"), [(3, 0), (4, 1)])
def test_a_contour_of_three_points_is_a_speck(rows, drawn):
    """Each row of a slope to the east has one point of it."""
    depth = np.tile([10.0, 20.0], (rows, 1))
    assert len(contours(depth, Window(0.0, 0.0, 10.0, rows, 2), (15.0,), own=True)) == drawn
