"""A grid of depths on latitude and longitude: as read from a file, and as kept with its datum and level."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.bottom.soundings import local_degrees

Floats = NDArray[np.float64]

MOST_CELLS = 60_000_000  # a quarter of a gigabyte while it is read
MOST_BYTES = 1_000_000_000  # largest file to import
DEEPEST_M = 2000.0  # deeper than any lake (Baikal 1642 m, memory): a larger number is not in metres


class GridError(ValueError):
    """Raised for an unusable file: one sentence with the file, the field and what would be accepted."""


@dataclass(frozen=True, slots=True, eq=False)
class Raw:
    """The content of a file: values at nodes, the southernmost row first; nan where the file has none."""

    south_deg: float
    west_deg: float
    north_step_deg: float
    east_step_deg: float
    values: NDArray[np.float32]  # (rows, columns)
    kind: str  # the file's format, in words

    def checked(self, file: str) -> Raw:
        """Return itself if its places exist on the earth. Raises GridError."""
        rows, columns = self.values.shape
        north = self.south_deg + self.north_step_deg * (rows - 1)
        east = self.west_deg + self.east_step_deg * (columns - 1)
        if rows < 2 or columns < 2:
            raise GridError(f"{file}: it has {rows} rows and {columns} columns; accepted are two or more of each")
        if self.north_step_deg <= 0.0 or self.east_step_deg <= 0.0:
            raise GridError(f"{file}: the step of its cells is not positive; accepted are degrees above 0")
        if not (-90.0 <= self.south_deg < north <= 90.0 and -181.0 <= self.west_deg < east <= 361.0):
            raise GridError(
                f"{file}: it reaches from {self.west_deg:g} to {east:g} east and {self.south_deg:g} to {north:g} "
                "north; accepted are degrees of longitude and latitude, no metres of a projection"
            )
        if not np.isfinite(self.values).any():
            raise GridError(f"{file}: no cell has a value; accepted is a grid with depths or heights in it")
        return self


@dataclass(frozen=True, slots=True)
class About:
    """What is known of a kept grid besides its numbers."""

    name: str
    file: str  # the file it came from, without its folder
    kind: str
    datum: str  # the zero of its depths, in the words of the person who imported it
    level_m: float  # height of the lake above that datum
    south_deg: float
    west_deg: float
    north_step_deg: float
    east_step_deg: float
    rows: int
    columns: int
    imported: str  # day, ISO 8601
    invented: bool = False  # a made grid, for the demo and for tests
    error_m: float | None = None  # how far off its depths may be (95 %), as its maker states; None: not stated


@dataclass(frozen=True, slots=True, eq=False)
class LakeGrid:
    """Depths below the datum at nodes, the southernmost row first; nan on land and where there are none."""

    about: About
    below_datum_m: NDArray[np.float32]

    def label(self, units: DisplaySystem) -> str:
        """Its name with its datum and level, in words."""
        made = "INVENTED " if self.about.invented else ""
        level = f", {level_words(self.about.level_m, units)}" if self.about.level_m else ""
        return f"{made}{self.about.name}, {self.about.datum}{level}"

    def error_m(self, depth_m: float) -> float:
        """How far off a depth may be (95 %): as stated, else as surveys of order 2 may be.

        Of order 2: 1 m and 2.3 % of the depth, as the root of the sum of squares [IHO S-44, total vertical
        uncertainty; from memory].
        """
        stated = self.about.error_m
        return math.hypot(1.0, 0.023 * depth_m) if stated is None else stated

    def depths_m(self, origin_deg: tuple[float, float], north_m: Floats, east_m: Floats) -> Floats:
        """Depth below today's surface at (rows,) north by (columns,) east; nan where a corner around it has none."""
        lat = np.array([local_degrees(origin_deg, (north, 0.0))[0] for north in north_m])
        a = self.about
        off = [math.remainder(local_degrees(origin_deg, (0.0, east))[1] - a.west_deg, 360.0) for east in east_m]
        y = (lat - a.south_deg) / a.north_step_deg
        x = np.array(off) / a.east_step_deg
        row, column = np.floor(y).astype(np.int64), np.floor(x).astype(np.int64)
        inside = ((row >= 0) & (row < a.rows - 1))[:, None] & ((column >= 0) & (column < a.columns - 1))[None, :]
        row, column = np.clip(row, 0, a.rows - 2), np.clip(column, 0, a.columns - 2)
        v, u = (y - row)[:, None], (x - column)[None, :]
        d = self.below_datum_m
        low = d[np.ix_(row, column)] * (1.0 - u) + d[np.ix_(row, column + 1)] * u
        high = d[np.ix_(row + 1, column)] * (1.0 - u) + d[np.ix_(row + 1, column + 1)] * u
        found = np.asarray(low * (1.0 - v) + high * v + a.level_m, dtype=np.float64)
        return np.where(inside & (found > 0.0), found, np.nan)


def level_words(level_m: float, units: DisplaySystem) -> str:
    """How far the lake stands above its datum: -0.7 ft is below it."""
    return f"lake {'+' if level_m >= 0.0 else ''}{fine(level_m, units)}"


def fine(length_m: float, units: DisplaySystem) -> str:
    """A small length, finer than whole feet."""
    return units.show(length_m, Dimension.LENGTH, 2 if units.length == "m" else 1)


def below_datum(raw: Raw, file: str, *, heights: bool, datum_m: float) -> NDArray[np.float32]:
    """Depths below the datum, from the values of a file.

    Parameters
    ----------
    heights
        True: the numbers are heights, up; else depths, down.
    datum_m
        The datum on the file's own scale: the height of the lake's datum among heights (183.2 m, say),
        or its depth among depths, usually 0.

    Raises GridError where none of it is water, or where it is too deep for metres.
    """
    depth = (np.float32(datum_m) - raw.values) if heights else (raw.values - np.float32(datum_m))
    with np.errstate(invalid="ignore"):
        depth = np.where(depth > 0.0, depth, np.float32(np.nan))
    if not np.isfinite(depth).any():
        other = "depths" if heights else "heights"
        raise GridError(
            f"{file}: no cell lies below the datum with values as {'heights' if heights else 'depths'}; "
            f"accepted are numbers of which some are water: perhaps they are {other}, or the datum's height is wrong"
        )
    deepest = float(np.nanmax(depth))
    if deepest > DEEPEST_M:
        raise GridError(f"{file}: its deepest cell is {deepest:.0f}; accepted are metres, to {DEEPEST_M:.0f}")
    return np.asarray(depth, dtype=np.float32)
