"""Paints a rod's coming minutes: its lure's forecast depth by time, with the band of the members."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.raster import Raster
from sternwatch.watch.picture.outlook import RodForecast

Floats = NDArray[np.float64]

LEAST_SPAN_M = 6.0  # the least span, so that a nearly constant depth looks constant


def span_of(rods: list[RodForecast]) -> tuple[float, float] | None:
    """The least and greatest depths of these rods, for strips with one scale."""
    depths = [rod.depth_m for rod in rods if np.isfinite(rod.depth_m).any()]
    if not depths:
        return None
    return _wide(min(float(np.nanmin(d)) for d in depths), max(float(np.nanmax(d)) for d in depths))


def own_span(rod: RodForecast) -> tuple[float, float] | None:
    """The same for one rod alone."""
    return span_of([rod])


def _wide(low: float, high: float) -> tuple[float, float]:
    short = max(LEAST_SPAN_M - (high - low), 0.0)
    low = max(low - 0.5 * short, 0.0)
    return low, max(high, low + LEAST_SPAN_M)


def paint_strip(
    grid: Grid,
    box: tuple[int, int, int, int],
    rod: RodForecast,
    time_s: Floats,
    horizon_s: float,
    span_m: tuple[float, float],
    look: Look,
    bottom_m: float | None = None,
) -> None:
    """Paint one strip into ``box`` (left, top, width, height): time to the right, depth downward.

    The band from 5 to 95 % of the members is dotted, the median a line, and ``bottom_m`` a heavy
    level with the bed beneath: at night its colour is near that of the line.
    """
    left, top, width, height = box
    if width < 3 or height < 1 or not np.isfinite(rod.depth_m).any():
        return
    low, high = span_m
    raster = Raster(width, height, look.glyphs)

    def cells(depth: Floats) -> Floats:
        x = np.minimum(time_s / horizon_s, 1.0) * (width - 0.01)
        y = (depth - low) / (high - low) * (height - 0.02)
        return np.column_stack([x, y])

    if bottom_m is not None and low < bottom_m < high:
        level = cells(np.full(len(time_s), bottom_m))
        raster.curve(level, "bottom", heavy=True, plain_sign="%")
        row = round(float(level[0, 1]))
        grid.tint(left, top + row, width, height - row, "bed")
    if height > 1:
        for column in (0, 2):
            raster.dotted(cells(rod.depth_m[:, column]), "ahead")
    raster.curve(cells(rod.depth_m[:, 1]), "line chosen")
    raster.stamp(grid, left, top)
