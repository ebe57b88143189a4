"""Contours of a grid at round depths of the crew's unit."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.chart.gridded import Floats, Mask, Window

MOST_LEVELS = 9
_SHORTEST = 4  # points: less is a speck


@dataclass(frozen=True, slots=True)
class Contour:
    """A line of equal depth; ``own``: as the boat sounded it, else as an imported grid has it."""

    depth_m: float
    own: bool
    points_m: Floats = field(compare=False, repr=False)  # (n, 2) north, east


def levels(least_m: float, greatest_m: float, per_m: float, most: int = MOST_LEVELS) -> tuple[float, ...]:
    """Round depths between two, in a unit of which ``per_m`` make a metre; metres, at most ``most`` of them.

    Steps are 1, 2 or 5 times a power of ten of the unit, one at the least.
    """
    low, high = least_m * per_m, greatest_m * per_m
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        return ()
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = max(next(digit * power for digit in (1.0, 2.0, 5.0, 10.0) if digit * power >= rough * (1 - 1e-9)), 1.0)
    first = math.floor(low / step) + 1
    return tuple(n * step / per_m for n in range(first, math.ceil(high / step)))[:most]


def contours(depth_m: Floats, own: Mask, window: Window, at_m: tuple[float, ...]) -> tuple[Contour, ...]:
    """Lines through a grid (rows, columns) that may have holes (nan), parted where ``own`` begins and ends."""
    import contourpy  # on the thread beside, never at the start

    made = contourpy.contour_generator(
        window.easts_m, window.norths_m, np.ma.masked_invalid(depth_m), line_type=contourpy.LineType.Separate
    )
    found: list[Contour] = []
    for level in at_m:
        for line in made.lines(level):
            points: NDArray[np.float64] = np.asarray(line, dtype=np.float64)[:, ::-1]
            row = np.clip(np.rint((points[:, 0] - window.south_m) / window.step_m).astype(int), 0, window.rows - 1)
            column = np.clip(
                np.rint((points[:, 1] - window.west_m) / window.step_m).astype(int), 0, window.columns - 1
            )
            mine = own[row, column]
            cuts = [0, *(np.flatnonzero(mine[1:] != mine[:-1]) + 1).tolist(), len(points)]
            for begin, end in itertools.pairwise(cuts):
                part = points[begin : end + 1]  # to where the next begins, so that no gap shows
                if len(part) >= _SHORTEST:
                    found.append(Contour(level, bool(mine[begin]), part))
    return tuple(found)
