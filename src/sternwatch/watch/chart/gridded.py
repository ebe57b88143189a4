"""Makes a grid of soundings: a smooth bottom with its age near soundings, nothing beyond their reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

# On a chart a sounding holds for the bottom this far around it, at least one and a half cells (memory). That is
# twice what the watch allows for the room under a lure, because a chart shows shape and decides nothing.
REACH_M = 60.0
# A sounding this much older than another counts half as much: sand moves, and the lake's level changes from season
# to season (memory).
HALF_LIFE_S = 90 * 86_400.0
_UNKNOWN_AGE_S = 3 * HALF_LIFE_S
FLAT = 0.1  # of a standard deviation's square: so far apart soundings must lie to tell a slope
MOST_CARRIED = 0.3
MOST_NODES = 260  # along one side


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle over ground with square cells. Nodes are ``step_m`` apart, from (south, west) on."""

    south_m: float
    west_m: float
    step_m: float
    rows: int
    columns: int

    @classmethod
    def about(cls, north_m: float, east_m: float, half_m: Floats | tuple[float, float], step_m: float) -> Window:
        """The window ``half_m`` around a centre. Its nodes are on a fixed lattice that stays when the centre moves.

        The step is wider where a side would have more than ``MOST_NODES``.
        """
        step = max(step_m, 2.0 * max(half_m[0], half_m[1]) / (MOST_NODES - 2))
        south = float(np.floor((north_m - half_m[0]) / step)) * step
        west = float(np.floor((east_m - half_m[1]) / step)) * step
        rows = int(np.ceil((north_m + half_m[0] - south) / step)) + 1
        columns = int(np.ceil((east_m + half_m[1] - west) / step)) + 1
        return cls(south, west, step, max(rows, 2), max(columns, 2))

    @property
    def norths_m(self) -> Floats:
        return self.south_m + self.step_m * np.arange(self.rows, dtype=np.float64)

    @property
    def easts_m(self) -> Floats:
        return self.west_m + self.step_m * np.arange(self.columns, dtype=np.float64)

    def holds(self, south_m: float, west_m: float, north_m: float, east_m: float) -> bool:
        """Whether a rectangle is within the window."""
        return (
            self.south_m <= south_m
            and self.west_m <= west_m
            and north_m <= self.south_m + self.step_m * (self.rows - 1)
            and east_m <= self.west_m + self.step_m * (self.columns - 1)
        )


@dataclass(frozen=True, slots=True)
class Gridded:
    """Arrays (rows, columns), the southernmost row first; nan where no sounding reaches."""

    depth_m: Floats
    age_s: Floats  # weighted mean age of the soundings used


def gridded(
    soundings: Floats, window: Window, now_s: float, reach_m: float = REACH_M, *, level: bool = False
) -> Gridded:
    """Soundings as a grid.

    Parameters
    ----------
    soundings
        (n, 4): north, east, depth [m], feed time [s] or nan.
    now_s
        Feed time from which ages count.
    level
        A mean is taken instead of a plane: for what has no slope, as the error of a chart.

    Each node lies on the plane fitted to the soundings about it, weighed by a normal curve of distance with half the
    reach as its two standard deviations and halved with every ``HALF_LIFE_S`` of age (normalised convolution of first
    order: Knutsson and Westin 1993, memory). A mean alone would make steps of a slope between lines sounded. Nodes
    further than the reach from every sounding are nan.
    """
    from scipy.ndimage import distance_transform_edt, gaussian_filter  # on the thread beside, never at the start

    shape = (window.rows, window.columns)
    nothing = Gridded(np.full(shape, np.nan), np.full(shape, np.nan))
    reach = max(reach_m, 1.5 * window.step_m)
    margin = int(np.ceil(reach / window.step_m)) + 1
    row = np.rint((soundings[:, 0] - window.south_m) / window.step_m).astype(np.int64) + margin
    column = np.rint((soundings[:, 1] - window.west_m) / window.step_m).astype(np.int64) + margin
    rows, columns = shape[0] + 2 * margin, shape[1] + 2 * margin
    inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    if not inside.any():
        return nothing
    at = row[inside] * columns + column[inside]
    depth, t = soundings[inside, 2], soundings[inside, 3]
    age = np.where(np.isfinite(t), np.maximum(now_s - t, 0.0), _UNKNOWN_AGE_S)
    # One weight for each place, however long a boat stayed there: the newest counts, older ones by their age.
    weight = np.exp2(-age / HALF_LIFE_S)
    total = np.bincount(at, weight, rows * columns).reshape(rows, columns)
    depths = np.bincount(at, weight * depth, rows * columns).reshape(rows, columns)
    ages = np.bincount(at, weight * age, rows * columns).reshape(rows, columns)
    there = total > 0.0
    freshest = np.zeros(rows * columns)
    np.maximum.at(freshest, at, weight)
    scale = np.where(there, freshest.reshape(rows, columns) / np.where(there, total, 1.0), 0.0)
    sigma = reach / 4.0 / window.step_m
    north, east = np.mgrid[0:rows, 0:columns] / sigma
    weights, levels = total * scale, depths * scale
    kinds = [weights, levels, ages * scale]
    if not level:
        kinds += [weights * north, weights * east, weights * north * north, weights * north * east]
        kinds += [weights * east * east, levels * north, levels * east]
    smooth = gaussian_filter(np.stack(kinds), (0.0, sigma, sigma), mode="constant", truncate=5.0)
    far = distance_transform_edt(~there) * window.step_m
    known = (far <= reach) & (smooth[0] > 0.0)
    mean = np.where(known, smooth[1:] / np.where(known, smooth[0], 1.0), np.nan)
    inner = (slice(margin, -margin), slice(margin, -margin))
    if level:
        return Gridded(mean[0][inner], mean[1][inner])
    return Gridded(_on_plane(mean, north, east)[inner], mean[1][inner])


def _on_plane(mean: Floats, north: Floats, east: Floats) -> Floats:
    """Depth at every node on the plane through the soundings about it; lengths are in standard deviations.

    ``mean``: of depth, age, north, east, their squares and product, and of depth times north and east.
    """
    depth, _, n, e, nn, ne, ee, dn, de = mean
    # Where soundings lie in one line nothing tells the slope across it, and it is level there.
    vn, ve, vne = nn - n * n + FLAT, ee - e * e + FLAT, ne - n * e
    cn, ce = dn - depth * n, de - depth * e
    least = vn * ve - vne * vne
    by_n, by_e = (cn * ve - ce * vne) / least, (ce * vn - cn * vne) / least
    shift = by_n * (north - n) + by_e * (east - e)
    # A plane carried beyond the soundings is a guess: it changes the depth by no more than a part of it.
    return np.asarray(depth + np.clip(shift, -MOST_CARRIED * depth, MOST_CARRIED * depth), dtype=np.float64)
