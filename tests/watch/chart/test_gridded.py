"""A grid of soundings against sums written out node by node: weights of distance and age, and the plane in them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.watch.chart.gridded import Window, gridded

# As agreed: a change of one is to be noticed.
HALF_LIFE_S = 90 * 86_400.0
MOST_CARRIED = 0.3
MOST_NODES = 260

STEP, REACH, NOW = 5.0, 60.0, 1e6
WINDOW = Window(100.0, -50.0, STEP, 13, 11)
SIGMA = REACH / 4.0


def places(seed: int, count: int = 14) -> np.ndarray:
    """Soundings at nodes of the lattice, in the window and a little around it; two at one place, one of no age."""
    rng = np.random.default_rng(seed)
    row, column = rng.integers(-4, 17, count), rng.integers(-4, 15, count)
    row[1], column[1] = row[0], column[0]
    depth = 20.0 + 0.05 * row * STEP + rng.normal(0.0, 0.5, count)
    said = NOW - rng.uniform(0.0, 2.0 * HALF_LIFE_S, count)
    made = np.stack([100.0 + STEP * row, -50.0 + STEP * column, depth, said], axis=1)
    made[2, 3] = np.nan
    return made


def written_out(soundings: np.ndarray, north: float, east: float, *, level: bool) -> tuple[float, float]:
    """Depth and age at one place."""
    age = np.where(np.isnan(soundings[:, 3]), 3.0 * HALF_LIFE_S, np.maximum(NOW - soundings[:, 3], 0.0))
    fresh = 0.5 ** (age / HALF_LIFE_S)
    keys = [tuple(place) for place in soundings[:, :2]]
    rows = []
    for key in dict.fromkeys(keys):
        own = np.array([one == key for one in keys])
        share = fresh[own] / fresh[own].sum()
        # One place has the weight of its newest sounding, and their mean by age.
        rows.append((*key, float(share @ soundings[own, 2]), float(share @ age[own]), float(fresh[own].max())))
    n, e, depth, old, weight = np.array(rows).T
    apart = np.hypot(n - north, e - east)
    if apart.min() > REACH + 1e-9:
        return math.nan, math.nan
    w = weight * np.exp(-0.5 * (apart / SIGMA) ** 2)
    w = np.where((np.abs(n - north) <= 5.0 * SIGMA) & (np.abs(e - east) <= 5.0 * SIGMA), w, 0.0)
    w = w / w.sum()
    mean, mean_age = float(w @ depth), float(w @ old)
    if level:
        return mean, mean_age
    x = np.stack([n, e]) / SIGMA
    off = x - (x @ w)[:, None]
    by = np.linalg.solve((w * off) @ off.T + 0.1 * np.eye(2), (w * off) @ (depth - mean))
    shift = float(by @ (np.array([north, east]) / SIGMA - x @ w))
    return mean + min(max(shift, -MOST_CARRIED * mean), MOST_CARRIED * mean), mean_age


@pytest.mark.parametrize("level", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_every_node_is_what_the_sums_say(seed: int, level: bool) -> None:
    soundings = places(seed)
    found = gridded(soundings, WINDOW, NOW, REACH, level=level)
    assert found.depth_m.shape == found.age_s.shape == (13, 11)
    for i, north in enumerate(WINDOW.norths_m):
        for j, east in enumerate(WINDOW.easts_m):
            depth, age = written_out(soundings, float(north), float(east), level=level)
            assert found.depth_m[i, j] == pytest.approx(depth, rel=1e-6, nan_ok=True), (i, j)
            assert found.age_s[i, j] == pytest.approx(age, rel=1e-6, nan_ok=True), (i, j)


def test_a_sounding_reaches_so_far_and_at_least_one_and_a_half_cells() -> None:
    one = np.array([(130.0, -25.0, 20.0, NOW)])
    found = gridded(one, WINDOW, NOW, 10.0)
    far = np.hypot(WINDOW.norths_m[:, None] - 130.0, WINDOW.easts_m[None] + 25.0)
    assert (np.isfinite(found.depth_m) == (far <= 10.0)).all()
    narrow = gridded(one, WINDOW, NOW, 1.0)
    assert (np.isfinite(narrow.depth_m) == (far <= 7.5)).all()
    assert np.isnan(gridded(one + np.array([900.0, 0.0, 0.0, 0.0]), WINDOW, NOW, 10.0).depth_m).all()
    later = gridded(one, WINDOW, NOW - 50.0, 10.0)
    assert later.age_s[6, 5] == 0.0, "from the future: as of now"


def test_a_window_lies_on_a_lattice_that_stays() -> None:
    window = Window.about(103.0, -47.0, (20.0, 30.0), 4.0)
    assert (window.south_m, window.west_m, window.step_m) == (80.0, -80.0, 4.0)
    assert window.norths_m[-1] >= 123.0 > window.norths_m[-2] - 4.0
    assert window.easts_m[-1] >= -17.0
    assert (len(window.norths_m), len(window.easts_m)) == (window.rows, window.columns)
    assert window.holds(83.0, -77.0, 123.0, -17.0)
    assert not window.holds(79.9, -77.0, 123.0, -17.0)
    assert not window.holds(83.0, -80.1, 123.0, -17.0)
    assert not window.holds(83.0, -77.0, window.norths_m[-1] + 0.1, -17.0)
    assert not window.holds(83.0, -77.0, 123.0, window.easts_m[-1] + 0.1)
    wide = Window.about(0.0, 0.0, (1000.0, 10.0), 1.0)
    assert wide.rows <= MOST_NODES
    assert wide.step_m == pytest.approx(2000.0 / (MOST_NODES - 2))
    point = Window.about(0.0, 0.0, (0.0, 0.0), 1.0)
    assert (point.rows, point.columns) == (2, 2)
    aside = Window.about(103.0, -47.0, (20.0, 30.0), 4.0)
    assert (aside.rows, aside.columns) == (12, 17), "80 to 124 m and -80 to -16"


@pytest.mark.parametrize("beyond", range(4))
def test_a_window_holds_itself_and_nothing_that_is_larger(beyond: int) -> None:
    window = Window(100.0, -50.0, 4.0, 6, 9)
    own = [100.0, -50.0, 120.0, -18.0]  # south, west, north, east
    assert (window.norths_m[-1], window.easts_m[-1]) == (120.0, -18.0)
    assert window.holds(*own)
    own[beyond] += 0.01 if beyond > 1 else -0.01
    assert not window.holds(*own)


def test_a_plane_carried_beyond_the_soundings_changes_the_depth_by_three_tenths_at_most() -> None:
    soundings = places(3, 6)
    soundings[:, 2] = 30.0 + 0.9 * (soundings[:, 0] - 100.0)
    found, cut = gridded(soundings, WINDOW, NOW, REACH), 0
    level = gridded(soundings, WINDOW, NOW, REACH, level=True)
    for i, north in enumerate(WINDOW.norths_m):
        for j, east in enumerate(WINDOW.easts_m):
            depth, _ = written_out(soundings, float(north), float(east), level=False)
            assert found.depth_m[i, j] == pytest.approx(depth, rel=1e-6, nan_ok=True), (i, j)
            cut += abs(found.depth_m[i, j] / level.depth_m[i, j] - 1.0) > 0.2999
    assert cut > 10


@pytest.mark.parametrize(("north_m", "known"), [(-9.9, True), (-14.9, False), (29.9, True), (34.9, False)])
def test_a_sounding_beyond_the_window_reaches_into_it(north_m: float, known: bool) -> None:
    """From south of it and from north of it: the outermost nodes lie 0 and 20 m to the north."""
    found = gridded(np.array([(north_m, 10.0, 20.0, NOW)]), Window(0.0, 0.0, 5.0, 5, 5), NOW, 10.0)
    assert np.isfinite(found.depth_m[0 if north_m < 0.0 else 4, 2]) == known
    across = gridded(np.array([(10.0, north_m, 20.0, NOW)]), Window(0.0, 0.0, 5.0, 5, 5), NOW, 10.0)
    assert np.isfinite(across.depth_m[2, 0 if north_m < 0.0 else 4]) == known


def test_so_it_does_where_cells_are_narrow() -> None:
    narrow = gridded(np.array([(-9.9, 1.0, 20.0, NOW)]), Window(0.0, 0.0, 0.5, 5, 5), NOW, 10.0)
    assert np.isfinite(narrow.depth_m[0, 2])
    assert not np.isfinite(narrow.depth_m[4]).any()
