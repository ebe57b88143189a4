"""Reads grids as lists of points: longitude, latitude and a value on each line."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.grids.model import MOST_CELLS, GridError, Raw

Floats = NDArray[np.float64]
MOST_POINTS = 20_000_000
_HEADS = ("lon", "longitude", "x", "lat", "latitude", "y", "depth", "elevation", "z", "#", "%")
_POINTS_A_CELL = 2.0  # points on no lattice get cells so wide that each has about this many
_FILLED_CELLS = 2.5  # a hole farther than this from every point stays a hole


def read_xyz(path: Path) -> Raw:
    """Read points on a lattice as they are, and make a grid of others. Raises GridError, OSError."""
    points: list[tuple[float, float, float]] = []
    with path.open(encoding="utf-8", errors="replace") as lines:
        for number, line in enumerate(lines, 1):
            parts = line.replace(",", " ").replace(";", " ").split()
            if not parts or (not points and parts[0].lower().lstrip("#%\ufeff") in ("", *_HEADS)):
                continue
            try:
                lon, lat, value = (float(part) for part in parts[:3])
            except ValueError:
                raise GridError(
                    f'{path.name}, line {number}: accepted are longitude, latitude and a value, as "-89.5 47.1 42.0"'
                ) from None
            if not (-180.0 <= lon <= 360.0 and -90.0 <= lat <= 90.0):
                raise GridError(
                    f"{path.name}, line {number}: {lon:g} {lat:g} is no place; accepted are degrees, "
                    "longitude before latitude"
                )
            if math.isfinite(value):
                points.append((lon, lat, value))
            if len(points) > MOST_POINTS:
                raise GridError(f"{path.name}: accepted are at most {MOST_POINTS:,} points")
    if len(points) < 4:
        raise GridError(f"{path.name}: {len(points)} points with a value; accepted are four or more")
    made = np.array(points, dtype=np.float64)
    return (_lattice(made) or _scattered(path, made)).checked(path.name)


def _lattice(points: Floats) -> Raw | None:
    """The grid of points that are on a lattice. None where they are not."""
    lons, lats = np.unique(np.round(points[:, 0], 9)), np.unique(np.round(points[:, 1], 9))
    cells = len(lons) * len(lats)
    if len(lons) < 2 or len(lats) < 2 or cells > min(MOST_CELLS, 20 * len(points)):
        return None
    steps = []
    for axis in (lons, lats):
        gaps = np.diff(axis)
        step = float(np.median(gaps))
        if np.abs(gaps / step - np.round(gaps / step)).max() > 0.02 or gaps.max() > 50 * step:
            return None
        steps.append(step)
    column = np.rint((points[:, 0] - lons[0]) / steps[0]).astype(np.int64)
    row = np.rint((points[:, 1] - lats[0]) / steps[1]).astype(np.int64)
    values = np.full((int(row.max()) + 1, int(column.max()) + 1), np.nan, dtype=np.float32)
    if values.size > MOST_CELLS:
        return None
    values[row, column] = points[:, 2]
    return Raw(float(lats[0]), float(lons[0]), steps[1], steps[0], values, "XYZ, on a lattice")


def _scattered(path: Path, points: Floats) -> Raw:
    """Means of the points in square cells, linear between them, and nothing farther out."""
    from scipy.interpolate import LinearNDInterpolator
    from scipy.ndimage import distance_transform_edt
    from scipy.spatial import QhullError

    on_one_line = GridError(f"{path.name}: all points lie on one line; accepted are points over an area")
    west, south = points[:, :2].min(axis=0)
    wide, high = np.ptp(points[:, 0]), np.ptp(points[:, 1])
    shrink = max(math.cos(math.radians(float(points[:, 1].mean()))), 0.05)
    if wide <= 0.0 or high <= 0.0:
        raise on_one_line
    step = math.sqrt(wide * shrink * high * _POINTS_A_CELL / len(points))
    columns, rows = int(wide * shrink / step) + 2, int(high / step) + 2
    column = np.rint((points[:, 0] - west) * shrink / step).astype(np.int64)
    row = np.rint((points[:, 1] - south) / step).astype(np.int64)
    at = row * columns + column
    counts = np.bincount(at, minlength=rows * columns).reshape(rows, columns)
    sums = np.bincount(at, points[:, 2], rows * columns).reshape(rows, columns)
    there = counts > 0
    values = np.where(there, sums / np.maximum(counts, 1), np.nan)
    holes = ~there & (distance_transform_edt(~there) <= _FILLED_CELLS)
    if holes.any():
        try:
            between = LinearNDInterpolator(np.argwhere(there), values[there])
        except QhullError:  # cells in one row, however it runs
            raise on_one_line from None
        values[holes] = between(np.argwhere(holes))
    return Raw(
        float(south), float(west), step, step / shrink, values.astype(np.float32), "XYZ, scattered, made into a grid"
    )  # fmt: skip
