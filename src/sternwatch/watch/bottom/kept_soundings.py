"""The soundings of one trip in arrays, and the nearest of them to a place.

A day has 80,000, which as objects would be most of what a session holds. Those of a cell of the plane are linked from
the newest to the oldest; a table says which is the newest of a cell. What is compiled comes with the first sounding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache
from types import ModuleType
from typing import NamedTuple

import numpy as np

from sternwatch.watch.bottom.cells import CELL_M, NOBODY, Cells, Floats, Numbers
from sternwatch.watch.bottom.over_ground import OverGround

_FIRST = 256  # how many soundings there is room for at first, and half of how many cells


@cache  # an import takes as long as the search
def _compiled() -> ModuleType:
    from sternwatch.watch.bottom import nearest_sounding

    return nearest_sounding


class Arrays(NamedTuple):
    """Always replaced as a whole, so that a reader in another thread never has two of different sizes."""

    numbers: Floats  # (room, 4) north, east, depth, feed time; nan: the feed has no clock
    before: Numbers  # (room,) the next older one in the same cell; -1: none
    cells: Cells  # (slots,) numbers of cells, or nobody's; slots are a power of two
    newest: Numbers  # (slots,) the newest sounding of that cell


@dataclass(slots=True, eq=False)
class KeptSoundings:
    """Append-only."""

    count: int = 0
    _cells: int = 0  # how many of them hold soundings
    _arrays: Arrays = field(
        default_factory=lambda: Arrays(
            np.empty((_FIRST, 4)), np.empty(_FIRST, np.int32),
            np.full(2 * _FIRST, NOBODY), np.empty(2 * _FIRST, np.int32),
        )
    )  # fmt: skip

    def __len__(self) -> int:
        return self.count

    @property
    def numbers(self) -> Floats:
        """(n, 4) north, east, depth, feed time (nan where unknown): a view."""
        return self._arrays.numbers[: self.count]

    def at(self, number: int) -> list[float]:
        """North, east, depth, feed time of one of them."""
        made: list[float] = self._arrays.numbers[number].tolist()
        return made

    def add(self, north_m: float, east_m: float, depth_m: float, t_s: float) -> None:
        """``t_s``: nan without a clock."""
        slot = _compiled().slot
        if self.count == len(self._arrays.numbers):
            self._arrays = self._with_more_room()
        if 2 * self._cells >= len(self._arrays.cells):
            self._arrays = self._with_more_slots()
        numbers, before, cells, newest = self._arrays
        cell = (math.floor(north_m / CELL_M) << 32) + math.floor(east_m / CELL_M)
        at = slot(cells, cell)
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
        slot = _compiled().slot
        old, slots = self._arrays, 2 * len(self._arrays.cells)
        cells, newest = np.full(slots, NOBODY), np.empty(slots, np.int32)
        for held in np.flatnonzero(old.cells != NOBODY):
            at = slot(cells, old.cells[held])
            cells[at], newest[at] = old.cells[held], old.newest[held]
        return Arrays(old.numbers, old.before, cells, newest)

    def nearest(self, count: int, north_m: float, east_m: float, reach_m: float) -> tuple[int, float]:
        """Of the first ``count`` the closest within reach, and the square of its distance; -1: there is none.

        Of equals the newest. Cells are asked from the place outward; those that lie farther off than what was found
        are left out.
        """
        found: tuple[int, float] = _compiled().nearest(
            *self._arrays, count, float(north_m), float(east_m), float(reach_m)
        )
        return found

    def depths_astern(self, count: int, over: OverGround, step_m: float, many: int, reach_m: float) -> list[float]:
        """The depths of those ``nearest`` to ``many`` places straight astern, a step apart; nan: there is none."""
        assert over.place_m is not None
        made: list[float] = _compiled().depths_astern(
            *self._arrays, count, over.place_m, over.turn, over.antenna_m, step_m, many, reach_m
        ).tolist()  # fmt: skip
        return made
