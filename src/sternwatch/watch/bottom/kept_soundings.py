"""The soundings of one trip in arrays, and the nearest of them to a place.

A day has 80,000, which as objects would be most of what a session holds. Those of a cell of the plane are linked from
the newest to the oldest; a table says which is the newest of a cell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Cells = NDArray[np.int64]
Numbers = NDArray[np.int32]

CELL_M = 12.0
HAIR_M2 = 1e-6  # a cell's edge is only as exact as its numbers
# Of one cell only so many of the newest are asked: four passes. A boat that works one place all day has hundreds.
ASKED = 48
_FIRST = 256  # how many soundings there is room for at first, and half of how many cells
_NOBODY = np.iinfo(np.int64).min  # in the table: no cell
_SPREAD = np.uint64(0x9E3779B97F4A7C15)  # makes neighbours' places in the table differ [Knuth 1973, from memory]


class Arrays(NamedTuple):
    """Always replaced as a whole, so that a reader in another thread never has two of different sizes."""

    numbers: Floats  # (room, 4) north, east, depth, feed time; nan: the feed has no clock
    before: Numbers  # (room,) the next older one in the same cell; -1: none
    cells: Cells  # (slots,) numbers of cells, or nobody's; slots are a power of two
    newest: Numbers  # (slots,) the newest sounding of that cell


@njit(cache=True, error_model="numpy")
def _slot(cells: Cells, cell: int) -> int:
    """Where a cell stands in the table, or would."""
    last = np.uint64(len(cells) - 1)
    at = ((np.uint64(cell) * _SPREAD) >> np.uint64(32)) & last
    while cells[at] != cell and cells[at] != _NOBODY:
        at = (at + np.uint64(1)) & last
    return int(at)


@njit(cache=True, error_model="numpy")
def _nearest(
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
            at = _slot(cells, cell)
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


@dataclass(slots=True, eq=False)
class KeptSoundings:
    """Append-only."""

    count: int = 0
    _cells: int = 0  # how many of them hold soundings
    _arrays: Arrays = field(
        default_factory=lambda: Arrays(
            np.empty((_FIRST, 4)), np.empty(_FIRST, np.int32),
            np.full(2 * _FIRST, _NOBODY), np.empty(2 * _FIRST, np.int32),
        )
    )  # fmt: skip

    def __len__(self) -> int:
        return self.count

    @property
    def numbers(self) -> Floats:
        """(n, 4) north, east, depth, feed time (nan where unknown): a view."""
        return self._arrays.numbers[: self.count]

    def add(self, north_m: float, east_m: float, depth_m: float, t_s: float) -> None:
        """``t_s``: nan without a clock."""
        if self.count == len(self._arrays.numbers):
            self._arrays = self._with_more_room()
        if 2 * self._cells >= len(self._arrays.cells):
            self._arrays = self._with_more_slots()
        numbers, before, cells, newest = self._arrays
        cell = (math.floor(north_m / CELL_M) << 32) + math.floor(east_m / CELL_M)
        at = _slot(cells, cell)
        numbers[self.count] = north_m, east_m, depth_m, t_s
        known = cells[at] == cell
        before[self.count] = newest[at] if known else -1
        newest[at] = self.count
        if not known:
            cells[at] = cell
            self._cells += 1
        self.count += 1

    def _with_more_room(self) -> Arrays:
        old, room = self._arrays, self.count + self.count // 4
        numbers, before = np.empty((room, 4)), np.empty(room, np.int32)
        numbers[: self.count], before[: self.count] = old.numbers, old.before
        return Arrays(numbers, before, old.cells.copy(), old.newest.copy())

    def _with_more_slots(self) -> Arrays:
        old, slots = self._arrays, 2 * len(self._arrays.cells)
        cells, newest = np.full(slots, _NOBODY), np.empty(slots, np.int32)
        for held in np.flatnonzero(old.cells != _NOBODY):
            at = _slot(cells, old.cells[held])
            cells[at], newest[at] = old.cells[held], old.newest[held]
        return Arrays(old.numbers, old.before, cells, newest)

    def nearest(self, count: int, north_m: float, east_m: float, reach_m: float) -> tuple[int, float]:
        """Of the first ``count`` the closest within reach, and the square of its distance; -1: there is none.

        Of equals the newest. Cells are asked from the place outward; those that lie farther off than what was found
        are left out.
        """
        return _nearest(*self._arrays, count, float(north_m), float(east_m), float(reach_m))
