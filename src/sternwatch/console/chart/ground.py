"""Draws the bottom of a chart: shades by depth, contours, their numbers. Pure painting."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.console.chart.plane import Plane
from sternwatch.console.paint.canvas import ink_id
from sternwatch.console.paint.look import Glyphs
from sternwatch.console.paint.raster import Raster
from sternwatch.console.paint.scene import Labels
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import DisplaySystem

if TYPE_CHECKING:
    from sternwatch.watch.chart.bed import Bed

SHADES = ("depth a", "depth b", "depth c", "depth d")
_LEAST_CELLS = 6.0  # a contour shorter than this on the screen needs no number
_OFF = 20.0  # cells beyond the screen's edge
_BETWEEN = 14  # cells between two numbers of the same depth


@lru_cache(maxsize=2)
def still(bed: Bed, plane: Plane, glyphs: Glyphs) -> tuple[NDArray[np.int16], Raster]:
    """The drawn bottom of a plane: grounds of the cells, and contours. It is redrawn only when either changes.

    Callers must copy what they change.
    """
    raster = Raster(plane.width, plane.height, glyphs)
    contours(raster, bed, plane)
    return shades(bed, plane), raster


def shades(bed: Bed, plane: Plane) -> NDArray[np.int16]:
    """The ground of every cell by the depth in its middle; none (-1) where that is unknown."""
    depth = bed.depths_at(plane.centres()).reshape(plane.height, plane.width)
    known = np.isfinite(depth)
    band = np.digitize(np.where(known, depth, 0.0), bed.bands_m)
    inks = np.array([ink_id(ink) for ink in SHADES], dtype=np.int16)
    return np.where(known, inks[np.minimum(band, len(SHADES) - 1)], np.int16(-1))


def contours(raster: Raster, bed: Bed, plane: Plane) -> None:
    """Lines of equal depth: full where the boat sounded, dotted from an imported grid."""
    for line in bed.contours:
        cells = plane.to_cells(line.points_m)
        off = (cells < -_OFF) | (cells > np.array([plane.width, plane.height]) + _OFF)
        cells[off.any(axis=1)] = np.nan  # far off the screen
        if line.own:
            raster.curve(cells, "contour")
        else:
            raster.dotted(cells, "contour", dense=True)


def numbers(bed: Bed, plane: Plane, units: DisplaySystem, labels: Labels) -> Iterable[tuple[int, int, str]]:
    """(x, y, depth) of numbers for contours, longest contour first, in free places."""
    seen = []
    for line in bed.contours:
        cells = plane.to_cells(line.points_m)
        x, y = cells.T
        inside = (x >= 1) & (x < plane.width - 4) & (y >= 0) & (y < plane.height)
        steps = np.abs(np.diff(cells, axis=0)).sum(axis=1)
        length = float(steps[inside[1:]].sum())
        if length >= _LEAST_CELLS:
            seen.append((length, line.depth_m, cells[inside]))
    put: list[tuple[float, int, int]] = []
    for _, depth, cells in sorted(seen, key=lambda one: -one[0]):
        text = words.whole(depth, units)
        for at in (len(cells) // 2, len(cells) // 4, 3 * len(cells) // 4):
            column, row = int(cells[at, 0]) - len(text) // 2, int(cells[at, 1])
            near = any(d == depth and abs(c - column) < _BETWEEN and abs(r - row) < _BETWEEN / 2 for d, c, r in put)
            if not near and labels.exactly(column, row, len(text)):
                put.append((depth, column, row))
                yield column, row, text
                break
