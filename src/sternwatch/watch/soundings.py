"""Where the boat has sounded the bottom: one sounding a step, found again by place.

A lure far astern is over bottom that the boat passed a minute or two ago, so its clearance needs the sounding
taken *there*. Only soundings that no rate gate doubts come in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

CELL_M = 12.0
# A sounding stands for the bottom within this distance of it: about the footprint of a 20 deg cone in 60 m.
REACH_M = 12.0

EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG


def local_metres(origin_deg: tuple[float, float], place_deg: tuple[float, float]) -> tuple[float, float]:
    """(north, east) of a place from an origin, metres; a plane touching at the origin, good for tens of km."""
    north = math.radians(place_deg[0] - origin_deg[0]) * EARTH_RADIUS_M
    turn = (place_deg[1] - origin_deg[1] + 180.0) % 360.0 - 180.0
    east = math.radians(turn) * EARTH_RADIUS_M * math.cos(math.radians(origin_deg[0]))
    return north, east


@dataclass(frozen=True, slots=True)
class Sounding:
    """Depth of the bottom below the surface at a place, and when it was taken."""

    t_s: float
    north_m: float
    east_m: float
    depth_m: float


@dataclass(slots=True)
class Soundings:
    """Append-only; a copy shares what is already there, so a checkpoint costs nothing."""

    _all: list[Sounding] = field(default_factory=list)
    _cells: dict[tuple[int, int], list[int]] = field(default_factory=dict)
    _count: int = 0

    def copy(self) -> Soundings:
        return Soundings(self._all, self._cells, self._count)

    def __len__(self) -> int:
        return self._count

    def add(self, sounding: Sounding) -> None:
        if self._count != len(self._all):
            self._branch()
        cell = (math.floor(sounding.north_m / CELL_M), math.floor(sounding.east_m / CELL_M))
        self._all.append(sounding)
        self._cells.setdefault(cell, []).append(self._count)
        self._count += 1

    def _branch(self) -> None:
        """Another copy has gone on from here: take our own part before adding to it."""
        self._all = self._all[: self._count]
        self._cells = {}
        for i, s in enumerate(self._all):
            cell = (math.floor(s.north_m / CELL_M), math.floor(s.east_m / CELL_M))
            self._cells.setdefault(cell, []).append(i)

    def near(self, north_m: float, east_m: float) -> Sounding | None:
        """The closest sounding within reach, the newest of equals; None where none was taken."""
        ci, cj = math.floor(north_m / CELL_M), math.floor(east_m / CELL_M)
        best: Sounding | None = None
        least = REACH_M
        for i in (ci - 1, ci, ci + 1):
            for j in (cj - 1, cj, cj + 1):
                for k in self._cells.get((i, j), ()):
                    if k >= self._count:
                        break
                    s = self._all[k]
                    distance = math.hypot(s.north_m - north_m, s.east_m - east_m)
                    if distance <= least:
                        best, least = s, distance
        return best

    def back(self) -> Iterator[Sounding]:
        """Newest first."""
        for k in range(self._count - 1, -1, -1):
            yield self._all[k]
