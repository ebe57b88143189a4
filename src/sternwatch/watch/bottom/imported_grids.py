"""The bottom beyond every own sounding: grids that were imported, asked at one place after the other.

A grid is a stranger's survey of another year. It stands only where nothing of one's own does, and says how far off it
may be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TILE_M, NODE_M = 240.0, 6.0  # taken out of the grids at a time; between the places that are asked
MOST_TILES = 2000  # 29 MB


class Grid(Protocol):
    """A grid from elsewhere."""

    def depths_m(self, origin_deg: tuple[float, float], north_m: Floats, east_m: Floats) -> Floats:
        """Depth below today's surface at nodes (rows,) north and (columns,) east; nan where it has none."""
        ...

    def error_m(self, depth_m: float) -> float:
        """How far off a depth of it may be (95 %)."""
        ...


@dataclass(frozen=True, slots=True)
class Tile:
    depth_m: Floats
    grid: NDArray[np.int8]  # which of the grids says so
    shoalest_m: float  # inf: nothing is known in it


@dataclass(slots=True)
class Beyond:
    """Grids about an origin, the finest first."""

    grids: Sequence[Grid]
    origin_deg: tuple[float, float]
    _tiles: dict[tuple[int, int], Tile] = field(default_factory=dict)

    def at(self, north_m: float, east_m: float) -> tuple[float, float] | None:
        """Depth at the node nearest to a place, and how far off it may be; None where no grid has it."""
        tile = self._tile(math.floor(north_m / TILE_M), math.floor(east_m / TILE_M))
        if math.isinf(tile.shoalest_m):
            return None
        row, column = int((north_m % TILE_M) / NODE_M), int((east_m % TILE_M) / NODE_M)
        depth = float(tile.depth_m[row, column])
        if math.isnan(depth):
            return None
        return depth, self.grids[int(tile.grid[row, column])].error_m(depth)

    def shoalest_m(self, north_m: float, east_m: float, reach_m: float) -> float:
        """Nothing within reach is shoaler than this; inf where no grid has anything."""
        rows = range(math.floor((north_m - reach_m) / TILE_M), math.floor((north_m + reach_m) / TILE_M) + 1)
        columns = range(math.floor((east_m - reach_m) / TILE_M), math.floor((east_m + reach_m) / TILE_M) + 1)
        return min(self._tile(i, j).shoalest_m for i in rows for j in columns)

    def _tile(self, i: int, j: int) -> Tile:
        tile = self._tiles.get((i, j))
        if tile is None:
            if len(self._tiles) >= MOST_TILES:
                self._tiles = {}  # at once: outlooks ask on another thread
            tile = self._tiles[i, j] = self._made(i, j)
        return tile

    def _made(self, i: int, j: int) -> Tile:
        middles: Floats = NODE_M * (np.arange(round(TILE_M / NODE_M), dtype=np.float64) + 0.5)
        depth = np.full((len(middles), len(middles)), np.nan)
        which = np.zeros(depth.shape, dtype=np.int8)
        for number, grid in enumerate(self.grids):
            theirs = grid.depths_m(self.origin_deg, i * TILE_M + middles, j * TILE_M + middles)
            take = np.isnan(depth) & np.isfinite(theirs)
            depth[take], which[take] = theirs[take], number
        known = depth[np.isfinite(depth)]
        return Tile(depth, which, float(known.min()) if len(known) else math.inf)
