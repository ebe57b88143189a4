"""Contours of a grid at round depths of the crew's unit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sternwatch.gear.values.units import round_step
from sternwatch.watch.chart.gridded import Floats, Window

MOST_LEVELS = 9
_SHORTEST = 4  # fewer points are a speck


@dataclass(frozen=True, slots=True, eq=False)
class Contour:
    """A line of equal depth. ``own``: from the boat's soundings, else from an imported grid."""

    depth_m: float
    own: bool
    points_m: Floats  # (n, 2) north, east


def levels(least_m: float, greatest_m: float, per_m: float, most: int = MOST_LEVELS) -> tuple[float, ...]:
    """Round depths between two depths, in metres, at most ``most`` of them. ``per_m`` of the unit make a metre.

    Steps are 1, 2 or 5 times a power of ten of the unit, and at least one unit.
    """
    low, high = least_m * per_m, greatest_m * per_m
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        return ()
    step = max(round_step((high - low) / most), 1.0)
    first = math.floor(low / step) + 1
    return tuple(n * step / per_m for n in range(first, math.ceil(high / step)))[:most]


def contours(depth_m: Floats, window: Window, at_m: tuple[float, ...], *, own: bool) -> tuple[Contour, ...]:
    """Lines through a grid (rows, columns) that may have holes (nan)."""
    import contourpy  # on the thread beside, never at the start

    if not np.isfinite(depth_m).any():
        return ()
    made = contourpy.contour_generator(
        window.easts_m, window.norths_m, np.ma.masked_invalid(depth_m), line_type=contourpy.LineType.Separate
    )
    lines = ((level, np.asarray(line, dtype=np.float64)[:, ::-1]) for level in at_m for line in made.lines(level))
    return tuple(Contour(level, own, points) for level, points in lines if len(points) >= _SHORTEST)
