"""Draws the outlook in the views: every chain at the forecast's worst moment, dotted, and the closest point.

All is drawn in the boat's axes at that moment, so that the boat in the view is the boat of that moment.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.raster import Raster
from sternwatch.console.paint.scene import Labels
from sternwatch.console.words import outlook as said
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.outlook import Forecast

Floats = NDArray[np.float64]
ToCells = Callable[[Floats], Floats]
"""From (n, 3) [astern, abeam, depth] to (n, 2) cells of the raster."""


def extent(made: Forecast | None, column: int) -> float:
    """The reach of the dotted lines astern (0), to either side (1) or down (2) [m]; 0 without any."""
    if made is None or not made.worst_shapes_m:
        return 0.0
    return max(float(np.nanmax(np.abs(shape[:, column]))) for shape in made.worst_shapes_m.values())


def draw(raster: Raster, made: Forecast | None, to_cells: ToCells) -> None:
    """Draw the dotted lines below the present ones, without the pair that comes closest."""
    if made is not None:
        for key, shape in made.worst_shapes_m.items():
            if key not in _pair(made):
                raster.dotted(to_cells(shape), "ahead")


def draw_pair(raster: Raster, made: Forecast | None, to_cells: ToCells) -> None:
    """Draw the pair that comes closest over everything, in its own ink."""
    if made is not None:
        for key in _pair(made):
            if (shape := made.worst_shapes_m.get(key)) is not None:
                raster.dotted(to_cells(shape), "ahead pair", dense=True)


def mark(grid: Grid, made: Forecast | None, to_cells: ToCells, units: DisplaySystem, look: Look,
         box: tuple[int, int, int, int]) -> list[tuple[int, int, int]]:  # fmt: skip
    """Mark the contact, or the closest point, with words. Returns the cells taken, (x, y, length).

    Other labels avoid these cells. The mark stands out only where a member crosses; else it says how near they come.
    """
    worst = made.worst if made is not None and made.worst_shapes_m else None
    if made is None or worst is None:
        return []
    place = worst.counting_contact or worst
    if place.depth_m is None or place.astern_m is None or place.abeam_m is None:
        return []
    left, top, width, height = box
    at = to_cells(np.array([[place.astern_m, place.abeam_m, place.depth_m]]))[0]
    if not np.isfinite(at).all():
        return []
    x, y = int(at[0]), int(at[1])
    if not (0 <= x < width and 0 <= y < height):
        return []
    ink = "ahead mark" if worst.probability else "ahead pair"
    grid.put(left + x, top + y, "X" if look.glyphs == "plain" else "╳", ink)
    taken = [(left + x, top + y, 1)]
    apart = units.show(worst.separation_m, Dimension.LENGTH, 0 if units.length == "ft" else 1)
    told = said.share(worst.probability) if worst.probability else apart
    text = f" {worst.keys[0]}×{worst.keys[1]} {told} "
    if look.glyphs == "plain":
        text = text.replace("×", "x")
    labels = Labels(width, height)
    labels.keep(x, y, 1)
    free = labels.place(x + 2 if x + 2 + len(text) <= width else x - 1 - len(text), y, len(text))
    if free is not None:
        grid.put(left + free[0], top + free[1], text, ink)
        taken.append((left + free[0], top + free[1], len(text)))
    return taken


def _pair(made: Forecast) -> tuple[str, ...]:
    return made.worst.keys if made.worst is not None else ()
