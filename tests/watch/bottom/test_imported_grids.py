"""An imported grid under the lures: where no own sounding reaches, and with the error that it states."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.watch.bottom.imported_grids import Beyond
from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.room import _below
from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_degrees
from sternwatch.watch.grids.model import About, LakeGrid

ORIGIN = (47.0, -89.5)


def grid(error_m: float | None = None, step_deg: float = 0.0005) -> LakeGrid:
    """20 m deep, deeper to the north by 1 m in 100; nothing west of the origin by 500 m."""
    rows, columns = 61, 61
    south, west = ORIGIN[0] - 30 * step_deg, ORIGIN[1] - 30 * step_deg
    north_m = (np.arange(rows) - 30) * step_deg * math.pi / 180.0 * 6_371_008.8
    depth = np.repeat((20.0 + 0.01 * north_m)[:, None], columns, axis=1).astype(np.float32)
    east_m = (np.arange(columns) - 30) * step_deg * math.pi / 180.0 * 6_371_008.8 * math.cos(math.radians(47.0))
    depth[:, east_m < -500.0] = np.nan
    about = About("lake", "lake.asc", "made", "low water", 0.3, south, west, step_deg, step_deg, rows, columns,
                  "2026-01-01", error_m=error_m)  # fmt: skip
    return LakeGrid(about, depth)


def known(*grids: LakeGrid) -> Soundings:
    return Soundings(beyond=Beyond(grids, ORIGIN))


def test_it_tells_the_bottom_with_the_lakes_level_and_how_far_off_it_may_be() -> None:
    there = known(grid()).about(200.0, 100.0)
    assert there is not None
    assert there.depth_m == pytest.approx(20.0 + 2.0 + 0.3, abs=0.05)
    assert there.error_m == pytest.approx(math.hypot(1.0, 0.023 * there.depth_m))
    stated = known(grid(0.4)).about(200.0, 100.0)
    assert stated is not None
    assert stated.error_m == 0.4
    assert known(grid()).about(0.0, -700.0) is None
    assert known(grid()).near(200.0, 100.0) is None  # never where what was sounded is asked for


def test_an_own_sounding_stands_before_it_within_its_reach_alone() -> None:
    soundings = known(grid())
    soundings.add(Sounding(1.0, 0.0, 0.0, 26.0))
    assert soundings.about(0.0, 20.0).depth_m == 26.0
    beside = soundings.about(0.0, 60.0)
    assert (beside.depth_m, beside.error_m is None) == (pytest.approx(20.3, abs=0.05), False)
    assert soundings.copy().about(0.0, 60.0) == beside


def test_the_finer_of_two_counts_and_the_other_where_it_ends() -> None:
    both = known(grid(0.1, 0.0002), grid(0.9))
    assert [both.about(north, 0.0).error_m for north in (0.0, 900.0)] == [0.1, 0.9]


def test_nothing_shoaler_is_promised_than_the_grid_has() -> None:
    beyond = Beyond([grid()], ORIGIN)
    assert beyond.shoalest_m(0.0, 0.0, 100.0) <= 20.3 - 1.0
    assert beyond.shoalest_m(0.0, -2500.0, 50.0) == math.inf


class Shoal:
    """30 m deep, and 5 m in one square of 6 m."""

    def __init__(self, north_m: float, east_m: float) -> None:
        self.at = (north_m, east_m)

    def depths_m(self, _: object, north_m: np.ndarray, east_m: np.ndarray) -> np.ndarray:
        near = (np.abs(north_m - self.at[0]) < 3.0)[:, None] & (np.abs(east_m - self.at[1]) < 3.0)[None, :]
        return np.where(near, 5.0, 30.0)

    def error_m(self, _: float) -> float:
        return 0.5


@pytest.mark.parametrize("at_m", [(505.0, -700.0), (-500.0, 700.0), (5.0, 3.0), (-5.0, -3.0)])
@pytest.mark.parametrize("way", [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])
def test_a_shoal_within_reach_is_never_missed_and_one_far_off_is_none(
    at_m: tuple[float, float], way: tuple[float, float]
) -> None:
    """It is told by squares of 240 m: a shoal as far beyond the reach as that is not."""
    beyond = Beyond([Shoal(*at_m)], ORIGIN)

    def shoalest(off_m: float, reach_m: float) -> float:
        return beyond.shoalest_m(at_m[0] + off_m * way[0], at_m[1] + off_m * way[1], reach_m)

    assert [shoalest(off, reach) for off, reach in ((0.0, 1.0), (290.0, 290.0), (60.0, 500.0))] == [5.0] * 3
    assert [shoalest(off, reach) for off, reach in ((300.0, 50.0), (900.0, 650.0))] == [30.0] * 2
    assert beyond.at(*at_m) == (5.0, 0.5)


def test_the_room_under_a_lure_says_that_a_grid_tells_it() -> None:
    over = OverGround((0.0, 0.0))
    room = _below(known(grid()), over, 5.0, "spoon", (80.0, 25.0, 12.0))
    assert room is not None
    assert room.room_m == pytest.approx(20.3 - 0.8 - 12.0, abs=0.1)
    assert (room.age_s, room.earlier) == (None, False)
    assert room.error_m == pytest.approx(1.1, abs=0.02)


def test_a_place_and_its_degrees_agree() -> None:
    """What a tile has is what the grid has at the same latitude and longitude."""
    lat, lon = local_degrees(ORIGIN, (300.0, 400.0))
    mine = Beyond([grid()], ORIGIN).at(300.0, 400.0)
    theirs = grid().depths_m((lat, lon), np.zeros(1), np.zeros(1))[0, 0]
    assert mine is not None
    assert mine[0] == pytest.approx(theirs, abs=0.05)
