"""Converts metres over ground to cells and back. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
CELL = 2.0  # a cell is about twice as high as wide


@dataclass(frozen=True, slots=True)
class Plane:
    """``width`` by ``height`` cells around a place, to scale. ``up_deg``: the bearing that points up the screen."""

    width: int
    height: int
    north_m: float
    east_m: float
    per_column_m: float
    up_deg: float = 0.0

    @property
    def per_row_m(self) -> float:
        return CELL * self.per_column_m

    @property
    def half_m(self) -> float:
        """The greatest distance of a corner from the centre."""
        return math.hypot(self.width * self.per_column_m, self.height * self.per_row_m) / 2.0

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """South, west, north, east around all that is shown."""
        w, h = float(self.width), float(self.height)
        corners = self.to_ground(np.array([(0.0, 0.0), (w, 0.0), (0.0, h), (w, h)]))
        (south, west), (north, east) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        return south, west, north, east

    def to_cells(self, places_m: Floats) -> Floats:
        """(n, 2) [north, east] as (n, 2) cells, x right and y down, fractions within a cell."""
        c, s = math.cos(math.radians(self.up_deg)), math.sin(math.radians(self.up_deg))
        north, east = places_m[:, 0] - self.north_m, places_m[:, 1] - self.east_m
        up, right = north * c + east * s, east * c - north * s
        return np.column_stack(
            [self.width / 2.0 + right / self.per_column_m, self.height / 2.0 - up / self.per_row_m]
        )

    def to_ground(self, cells: Floats) -> Floats:
        """The inverse of ``to_cells``."""
        c, s = math.cos(math.radians(self.up_deg)), math.sin(math.radians(self.up_deg))
        right = (cells[:, 0] - self.width / 2.0) * self.per_column_m
        up = (self.height / 2.0 - cells[:, 1]) * self.per_row_m
        return np.column_stack([self.north_m + up * c - right * s, self.east_m + up * s + right * c])

    def centres(self) -> Floats:
        """The places of the middles of all cells, (height * width, 2), row by row."""
        x, y = np.meshgrid(np.arange(self.width) + 0.5, np.arange(self.height) + 0.5)
        return self.to_ground(np.column_stack([x.ravel(), y.ravel()]))

    def within(self, cell: Floats) -> bool:
        """Whether a place, in cells, is on the screen."""
        return bool(np.isfinite(cell).all() and 0.0 <= cell[0] < self.width and 0.0 <= cell[1] < self.height)
