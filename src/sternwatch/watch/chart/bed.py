"""The bottom of a window over ground: own soundings within their reach, an imported grid elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from sternwatch.gear.values.units import DisplaySystem, convert
from sternwatch.watch.chart.contours import Contour, contours, levels
from sternwatch.watch.chart.gridded import REACH_M, Floats, Mask, Window, gridded


class Chartlike(Protocol):
    """A grid from elsewhere."""

    def label(self, units: DisplaySystem) -> str:
        """Its name, with its datum and level, in words."""
        ...

    def depths_m(self, origin_deg: tuple[float, float], north_m: Floats, east_m: Floats) -> Floats:
        """Depth below today's surface at nodes (rows,) north and (columns,) east; nan where the grid has none."""
        ...


@dataclass(frozen=True, slots=True)
class Spot:
    """The bottom at one place."""

    depth_m: float
    age_s: float | None  # of own soundings; None: a grid's depth
    label: str = ""  # of the grid


@dataclass(frozen=True, slots=True, eq=False)
class Bed:
    """Depths at the nodes of a window, with the contours through them."""

    window: Window
    depth_m: Floats  # (rows, columns), the southernmost first; nan: unknown
    age_s: Floats  # of own soundings; nan elsewhere
    own: Mask
    contours: tuple[Contour, ...] = ()
    bands_m: tuple[float, ...] = ()  # depths at which the shade changes
    labels: tuple[str, ...] = ()  # of the grids used, in words

    def nodes(self, points_m: Floats) -> tuple[NDArrayInt, NDArrayInt, Mask]:
        """Rows and columns of the nodes nearest to (n, 2) [north, east], and which points are within."""
        w = self.window
        finite: Mask = np.isfinite(points_m.sum(axis=1))
        safe = np.where(finite[:, None], points_m, 0.0)
        row = np.rint((safe[:, 0] - w.south_m) / w.step_m).astype(np.int64)
        column = np.rint((safe[:, 1] - w.west_m) / w.step_m).astype(np.int64)
        inside = finite & (row >= 0) & (row < w.rows) & (column >= 0) & (column < w.columns)
        return np.clip(row, 0, w.rows - 1), np.clip(column, 0, w.columns - 1), inside

    def depths_at(self, points_m: Floats) -> Floats:
        """Depth at the node nearest to each of (n, 2) [north, east]; nan where unknown."""
        row, column, inside = self.nodes(points_m)
        return np.where(inside, self.depth_m[row, column], np.nan)

    def at(self, north_m: float, east_m: float) -> Spot | None:
        """The bottom at a place. None where unknown."""
        row, column, inside = self.nodes(np.array([[north_m, east_m]]))
        depth = float(self.depth_m[row[0], column[0]])
        if not inside[0] or not np.isfinite(depth):
            return None
        if self.own[row[0], column[0]]:
            return Spot(depth, float(self.age_s[row[0], column[0]]))
        return Spot(depth, None, " · ".join(self.labels))


NDArrayInt = np.ndarray[tuple[int, ...], np.dtype[np.int64]]


def bed(
    soundings: Floats,
    window: Window,
    now_s: float,
    *,
    units: DisplaySystem,
    charts: Sequence[Chartlike] = (),
    origin_deg: tuple[float, float] | None = None,
    reach_m: float = REACH_M,
) -> Bed:
    """The bottom of a window.

    Parameters
    ----------
    soundings
        (n, 4): north, east, depth [m], feed time [s] or nan; of all trips.
    units
        The crew's. Contours have round depths in their unit of length.
    charts
        Grids from elsewhere, the finest first. Own soundings replace them within ``reach_m``.
    origin_deg
        Latitude and longitude of the origin of north and east; needed for ``charts``.
    """
    mine = gridded(soundings, window, now_s, reach_m)
    own = np.isfinite(mine.depth_m)
    depth, used = mine.depth_m.copy(), []
    for chart in charts if origin_deg is not None else ():
        assert origin_deg is not None
        theirs = chart.depths_m(origin_deg, window.norths_m, window.easts_m)
        take = ~np.isfinite(depth) & np.isfinite(theirs)
        if take.any():
            depth[take] = theirs[take]
            used.append(chart.label(units))
    known = depth[np.isfinite(depth)]
    if not len(known):
        return Bed(window, depth, mine.age_s, own, labels=tuple(used))
    at = levels(float(known.min()), float(known.max()), convert(1.0, units.length))
    # Separately: where the two disagree, contours through both would draw a cliff that does not exist.
    lines = contours(np.where(own, depth, np.nan), window, at, own=True)
    lines += contours(np.where(own, np.nan, depth), window, at, own=False)
    return Bed(window, depth, mine.age_s, own, lines, _bands(at), tuple(used))


def _bands(at_m: tuple[float, ...]) -> tuple[float, ...]:
    """Three of the contours' depths, evenly chosen, where the shade changes."""
    if len(at_m) <= 3:
        return at_m
    return tuple(at_m[round(k * (len(at_m) - 1) / 4)] for k in (1, 2, 3))
