"""The compiled search for the nearest sounding. ``kept_soundings`` imports it when the first one comes.

So the screen, which knows of soundings too, comes up without the compiler.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sternwatch.watch.bottom.cells import CELL_M, NOBODY, Cells, Floats, Numbers

HAIR_M2 = 1e-6  # a cell's edge is only as exact as its numbers
# Of one cell only so many of the newest are asked: four passes. A boat that works one place all day has hundreds.
ASKED = 48
# Make neighbours' places in the table differ; no product of a cell's two halves leaves an int64.
NORTH, EAST = 73_856_093, 19_349_663  # primes, from memory


@njit(cache=True, error_model="numpy")
def slot(cells: Cells, cell: int) -> int:
    """Where a cell stands in the table, or would."""
    last = len(cells) - 1
    at = (((cell >> 32) * NORTH + (cell & 0xFFFFFFFF) * EAST) >> 16) & last
    while cells[at] != cell and cells[at] != NOBODY:
        at = (at + 1) & last
    return at


@njit(cache=True, error_model="numpy")
def nearest(
    numbers: Floats, before: Numbers, cells: Cells, newest: Numbers, count: int, north_m: float, east_m: float,
    reach_m: float,
) -> tuple[int, float]:  # fmt: skip
    """See ``KeptSoundings.nearest``."""
    best, least = -1, reach_m * reach_m
    home_i, home_j = math.floor(north_m / CELL_M), math.floor(east_m / CELL_M)
    inside_i, inside_j = north_m - home_i * CELL_M, east_m - home_j * CELL_M
    most = math.ceil(reach_m / CELL_M)
    for p in range(2 * most + 1):  # rows of cells from the place's own one outward
        i = (p + 1) // 2 if p % 2 == 0 else -((p + 1) // 2)
        off = 0.0 if i == 0 else i * CELL_M - inside_i if i > 0 else inside_i - (i + 1) * CELL_M
        if off * off > least + HAIR_M2:
            continue
        for q in range(2 * most + 1):
            j = (q + 1) // 2 if q % 2 == 0 else -((q + 1) // 2)
            aside = 0.0 if j == 0 else j * CELL_M - inside_j if j > 0 else inside_j - (j + 1) * CELL_M
            if off * off + aside * aside > least + HAIR_M2:
                continue
            cell = ((home_i + i) << 32) + home_j + j
            at = slot(cells, cell)
            k, asked = newest[at] if cells[at] == cell else -1, 0
            while k >= 0 and asked < ASKED:
                if k < count:
                    asked += 1
                    north, east = numbers[k, 0] - north_m, numbers[k, 1] - east_m
                    distance = north * north + east * east
                    if distance < least or (distance == least and k > best):
                        best, least = k, distance
                k = before[k]
    return best, least


@njit(cache=True, error_model="numpy")
def depths_astern(
    numbers: Floats, before: Numbers, cells: Cells, newest: Numbers, count: int, antenna_m: tuple[float, float],
    turn: tuple[float, float], forward_m: float, step_m: float, many: int, reach_m: float,
) -> Floats:  # fmt: skip
    """See ``KeptSoundings.depths_astern``."""
    depths = np.full(many, np.nan)
    for k in range(many):
        forward = -(k * step_m) - forward_m
        north, east = antenna_m[0] + forward * turn[0], antenna_m[1] + forward * turn[1]
        found, _ = nearest(numbers, before, cells, newest, count, north, east, reach_m)
        if found >= 0:
            depths[k] = numbers[found, 2]
    return depths
