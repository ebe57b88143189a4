"""The bottom for a pass, at nodes for quick lookup: own soundings, and outside their reach an imported grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.chart.bed import Chartlike
from sternwatch.watch.chart.gridded import REACH_M, Window, gridded

Floats = NDArray[np.float64]

STEP_M = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """Depths at the nodes of a window; nan where unknown."""

    window: Window
    depths_m: Floats

    def depth_m(self, north_m: Floats, east_m: Floats) -> Floats:
        """Depth of the bottom between nodes; nan where one of the four nodes around is unknown."""
        w = self.window
        y, x = (north_m - w.south_m) / w.step_m, (east_m - w.west_m) / w.step_m
        inside = (y >= 0.0) & (y < w.rows - 1) & (x >= 0.0) & (x < w.columns - 1)
        y, x = np.where(inside, y, 0.0), np.where(inside, x, 0.0)
        row, column = y.astype(np.int64), x.astype(np.int64)
        v, u = y - row, x - column
        flat, at = self.depths_m.ravel(), row * w.columns + column
        low = flat[at] * (1.0 - u) + flat[at + 1] * u
        high = flat[at + w.columns] * (1.0 - u) + flat[at + w.columns + 1] * u
        return np.where(inside, low * (1.0 - v) + high * v, np.nan)

    def nodes(self, north_m: Floats, east_m: Floats) -> NDArray[np.int64]:
        """The node nearest to each place, counted row by row; one more than the last beyond the window."""
        w = self.window
        row = np.rint((north_m - w.south_m) / w.step_m).astype(np.int64)
        column = np.rint((east_m - w.west_m) / w.step_m).astype(np.int64)
        inside = (row >= 0) & (row < w.rows) & (column >= 0) & (column < w.columns)
        return np.where(inside, row * w.columns + column, w.rows * w.columns)

    @property
    def known(self) -> float:
        """Share of its nodes with a known depth."""
        return float(np.isfinite(self.depths_m).mean())


def floor_of(
    soundings: Floats,
    now_s: float,
    centre_m: tuple[float, float],
    half_m: float,
    charts: Sequence[Chartlike] = (),
    origin_deg: tuple[float, float] | None = None,
) -> Floor:
    """Of soundings (n, 4) [north, east, depth, feed time], about a place, ``half_m`` to every side.

    Where a grid was imported, soundings correct it within their reach: they tell how far off it is there, and its
    shape goes on between them.
    """
    window = Window.about(*centre_m, (half_m, half_m), STEP_M)
    theirs = np.full((window.rows, window.columns), np.nan)
    for chart in charts if origin_deg is not None else ():
        assert origin_deg is not None
        more = chart.depths_m(origin_deg, window.norths_m, window.easts_m)
        theirs = np.where(np.isfinite(theirs), theirs, more)
    grid = Floor(window, np.ascontiguousarray(theirs))
    off = soundings.copy()
    off[:, 2] -= grid.depth_m(soundings[:, 0], soundings[:, 1])
    told = np.isfinite(off[:, 2])
    own = gridded(soundings[~told], window, now_s, REACH_M).depth_m
    correct = gridded(off[told], window, now_s, REACH_M, level=True).depth_m
    corrected = theirs + np.where(np.isfinite(correct), correct, 0.0)
    return Floor(window, np.ascontiguousarray(np.where(np.isfinite(theirs), corrected, own)))
