"""Soundings of the bottom from this trip and earlier ones, found by place.

A lure far astern is over bottom that the boat passed a minute or two ago, so its clearance needs the sounding
taken *there*. Readings that a rate gate doubts never come in. A single reading is never kept either: only the
median of five in a row is, at the place of the middle one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sternwatch.logbook.store.soundings import Charted
from sternwatch.quickly import quickly_made
from sternwatch.watch.bottom.cells import CELL_M
from sternwatch.watch.bottom.imported_grids import Beyond
from sternwatch.watch.bottom.kept_soundings import KeptSoundings
from sternwatch.watch.bottom.over_ground import OverGround

# A sounding holds for the bottom within this distance: about the footprint of a 20 deg cone in 60 m.
REACH_M = 12.0
# Where no sounding is that near, one abreast on the boat's own track is better than none (memory): a lure on a
# board runs 20 to 30 m to the side of every sounding.
WIDE_M = 30.0
# This many readings in a row make one that is kept. With fewer in this time, the bottom counts as lost.
AGREE = 5
AGREE_WITHIN_S = 20.0
# A boat at rest sounds one place over and over.
STEP_M = 1.0
# Earlier trips' soundings are loaded within this distance of where the session began.
TAKEN_UP_WITHIN_M = 20_000.0

EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG

# The shoalest sounding is kept for squares of this side, so that a deep place needs no closer look.
SQUARE_M = 120.0

_Cell: TypeAlias = tuple[int, int]


def local_metres(origin_deg: tuple[float, float], place_deg: tuple[float, float]) -> tuple[float, float]:
    """(north, east) of a place from an origin, metres, in the plane that touches there; good for tens of km."""
    north = math.radians(place_deg[0] - origin_deg[0]) * EARTH_RADIUS_M
    turn = math.remainder(place_deg[1] - origin_deg[1], 360.0)
    east = math.radians(turn) * EARTH_RADIUS_M * math.cos(math.radians(origin_deg[0]))
    return north, east


def local_degrees(origin_deg: tuple[float, float], place_m: tuple[float, float]) -> tuple[float, float]:
    """The inverse of ``local_metres``: (latitude, longitude)."""
    latitude, longitude = origin_deg
    east = math.degrees(place_m[1] / (EARTH_RADIUS_M * math.cos(math.radians(latitude))))
    return latitude + math.degrees(place_m[0] / EARTH_RADIUS_M), math.remainder(longitude + east, 360.0)


@quickly_made
@dataclass(frozen=True, slots=True)
class Sounding:
    """Depth of the bottom below the surface at a place, and when it was taken."""

    t_s: float | None  # feed time, negative for an earlier trip's; None: the feed has no clock
    north_m: float
    east_m: float
    depth_m: float
    earlier: bool = False  # of an earlier trip
    error_m: float | None = None  # of an imported grid, which may be so far off; None: it was sounded


@dataclass(slots=True)
class Soundings:
    """Append-only. A copy shares the soundings already there, so a checkpoint costs nothing."""

    _kept: KeptSoundings = field(default_factory=KeptSoundings)
    _count: int = 0
    _squares: dict[_Cell, float] = field(default_factory=dict)  # a copy may count another's shoals
    _row: tuple[Sounding, ...] = ()  # the last readings, which must agree
    _earlier: Mapping[_Cell, tuple[Sounding, ...]] = field(default_factory=dict)
    _earlier_squares: Mapping[_Cell, float] = field(default_factory=dict)
    beyond: Beyond | None = None  # what is imported; never changed, so copies share it

    def copy(self) -> Soundings:
        return Soundings(
            self._kept, self._count, self._squares, self._row, self._earlier, self._earlier_squares, self.beyond
        )

    def __len__(self) -> int:
        return self._count

    @property
    def newest_m(self) -> float | None:
        """The depth of this trip's newest sounding. None without any."""
        return float(self._kept.numbers[self._count - 1, 2]) if self._count else None

    def take(self, reading: Sounding) -> None:
        """Take the next reading that no gate doubts. It is kept once its neighbours are there."""
        assert reading.t_s is not None
        row = (*(s for s in self._row if s.t_s is not None and s.t_s >= reading.t_s - AGREE_WITHIN_S), reading)
        self._row = row = row[-AGREE:]
        if len(row) < AGREE:
            return
        middle = row[AGREE // 2]
        depth = sorted(s.depth_m for s in row)[AGREE // 2]
        last = self._at(self._count - 1) if self._count else None
        if last is None or math.hypot(last.north_m - middle.north_m, last.east_m - middle.east_m) >= STEP_M:
            self.add(Sounding(middle.t_s, middle.north_m, middle.east_m, depth))

    def add(self, sounding: Sounding) -> None:
        """Keep a sounding that is known to be good."""
        if self._count != len(self._kept):  # a copy has added its own
            own, self._kept, self._squares = self.since(0), KeptSoundings(), {}
            for one in own:
                self._keep(one)
        self._keep(sounding)
        self._count += 1

    def _keep(self, one: Sounding) -> None:
        self._kept.add(one.north_m, one.east_m, one.depth_m, math.nan if one.t_s is None else one.t_s)
        _note(self._squares, one)

    def _at(self, k: int) -> Sounding:
        north, east, depth, t_s = self._kept.at(k)
        return Sounding(None if math.isnan(t_s) else t_s, north, east, depth)

    def recall(self, charted: Iterable[Charted], origin_deg: tuple[float, float], utc_offset_s: float | None) -> None:
        """Load earlier trips' soundings near ``origin_deg``, the origin of this trip's plane."""
        cells: dict[_Cell, list[Sounding]] = {}
        squares: dict[_Cell, float] = {}
        for one in charted:
            north, east = local_metres(origin_deg, (one.latitude_deg, one.longitude_deg))
            if math.hypot(north, east) <= TAKEN_UP_WITHIN_M:
                t_s = None if utc_offset_s is None else one.time_s - utc_offset_s
                sounding = Sounding(t_s, north, east, one.depth_m, earlier=True)
                cells.setdefault(_cell(sounding), []).append(sounding)
                _note(squares, sounding)
        self._earlier_squares = MappingProxyType(squares)
        self._earlier = MappingProxyType({cell: tuple(found) for cell, found in cells.items()})

    def near(self, north_m: float, east_m: float) -> Sounding | None:
        """The closest sounding within reach, the newest of equals; this trip's before earlier ones. Else None."""
        k, _ = self._kept.nearest(self._count, north_m, east_m, REACH_M)
        return self._at(k) if k >= 0 else self._of_earlier(north_m, east_m, REACH_M)

    def astern(self, over: OverGround, step_m: float, many: int) -> list[tuple[float, Sounding | None]]:
        """The depths ``near`` so many places straight astern, a step apart, with what is an earlier trip's.

        nan where there is none.
        """
        depths = self._kept.depths_astern(self._count, over, step_m, many, REACH_M)
        if not self._earlier:
            return [(depth_m, None) for depth_m in depths]
        found = []
        for k, depth_m in enumerate(depths):
            at, earlier = over.at(k * step_m, 0.0), None
            if math.isnan(depth_m) and at is not None:
                earlier = self._of_earlier(*at, REACH_M)
            found.append((depth_m if earlier is None else earlier.depth_m, earlier))
        return found

    def about(self, north_m: float, east_m: float) -> Sounding | None:
        """The same, where nothing is that near the closest one abreast, and beyond these an imported grid."""
        k, off_m2 = self._kept.nearest(self._count, north_m, east_m, WIDE_M)
        if k >= 0 and off_m2 <= REACH_M * REACH_M:
            return self._at(k)
        return (
            self._of_earlier(north_m, east_m, REACH_M)
            or (self._at(k) if k >= 0 else self._of_earlier(north_m, east_m, WIDE_M))
            or self.imported(north_m, east_m)
        )

    def imported(self, north_m: float, east_m: float) -> Sounding | None:
        """What an imported grid has at a place."""
        found = None if self.beyond is None else self.beyond.at(north_m, east_m)
        return None if found is None else Sounding(None, north_m, east_m, found[0], error_m=found[1])

    def _of_earlier(self, north_m: float, east_m: float, reach_m: float) -> Sounding | None:
        best: Sounding | None = None
        least = reach_m
        if self._earlier:
            for cell in _around(north_m, east_m, reach_m):
                for s in self._earlier.get(cell, ()):
                    distance = math.hypot(s.north_m - north_m, s.east_m - east_m)
                    if distance <= least:
                        best, least = s, distance
        return best

    def shoalest_m(self, north_m: float, east_m: float, reach_m: float) -> float:
        """Nothing known within reach is shoaler than this; inf where nothing is known."""
        columns = _reached(east_m, reach_m, SQUARE_M)
        sounded = math.inf
        for i in _reached(north_m, reach_m, SQUARE_M):
            for j in columns:
                for squares in (self._squares, self._earlier_squares) if self._earlier_squares else (self._squares,):
                    shoalest = squares.get((i, j))
                    if shoalest is not None and shoalest < sounded:
                        sounded = shoalest
        return sounded if self.beyond is None else min(sounded, self.beyond.shoalest_m(north_m, east_m, reach_m))

    def since(self, first: int) -> list[Sounding]:
        """This trip's from the ``first`` on, made for the caller."""
        return [self._at(k) for k in range(first, self._count)]

    def rows(self, first: int = 0) -> NDArray[np.float64]:
        """This trip's from the ``first`` on as (n, 4): north, east, depth, feed time (nan where unknown)."""
        return self._kept.numbers[first : self._count].copy()

    def earlier_rows(self) -> NDArray[np.float64]:
        """Earlier trips', likewise."""
        found = [s for cell in self._earlier.values() for s in cell]
        rows = [(s.north_m, s.east_m, s.depth_m, math.nan if s.t_s is None else s.t_s) for s in found]
        return np.array(rows, dtype=np.float64).reshape(-1, 4)

    def back(self) -> Iterator[Sounding]:
        """This trip's, newest first."""
        return (self._at(k) for k in range(self._count - 1, -1, -1))

    def back_to(self, t_s: float) -> NDArray[np.float64]:
        """This trip's since a feed time, newest first, as (4, n): north, east, depth, feed time."""
        numbers, first = self._kept.numbers, self._count
        while first > 0 and numbers[first - 1, 3] >= t_s:
            first -= 1
        return numbers[first : self._count][::-1].T.copy()


def _cell(sounding: Sounding, side_m: float = CELL_M) -> _Cell:
    return math.floor(sounding.north_m / side_m), math.floor(sounding.east_m / side_m)


def _note(squares: dict[_Cell, float], sounding: Sounding) -> None:
    square = _cell(sounding, SQUARE_M)
    squares[square] = min(squares.get(square, math.inf), sounding.depth_m)


def _around(north_m: float, east_m: float, reach_m: float, side_m: float = CELL_M) -> list[_Cell]:
    """Every cell that can hold a place within reach."""
    rows, columns = _reached(north_m, reach_m, side_m), _reached(east_m, reach_m, side_m)
    return [(i, j) for i in rows for j in columns]


def _reached(at_m: float, reach_m: float, side_m: float = CELL_M) -> range:
    return range(math.floor((at_m - reach_m) / side_m), math.floor((at_m + reach_m) / side_m) + 1)
