"""Reads NetCDF in its classic format, with latitude and longitude as variables of one dimension."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.grids.model import MOST_CELLS, GridError, Raw

_LAT, _LON = ("lat", "latitude", "y"), ("lon", "longitude", "x")
_UNEVEN = 0.02  # share of a step that rounding leaves


def read_netcdf(path: Path, variable: str = "") -> Raw:
    """Read one variable; by default the only one on latitude and longitude. Raises GridError, OSError."""
    from scipy.io import netcdf_file

    try:
        with netcdf_file(str(path), "r", mmap=False) as file:
            found = dict(file.variables)
            lat, lon = _axis(path, found, _LAT), _axis(path, found, _LON)
            name = _named(path, found, variable, (lat, lon))
            values = _values(path, found[name], found[name].dimensions == (lon, lat))
            lats, lons = (np.array(found[axis][:], dtype=np.float64) for axis in (lat, lon))
    except GridError:
        raise
    except (TypeError, ValueError, KeyError, IndexError, EOFError) as fault:
        with path.open("rb") as head:
            hdf5 = head.read(4) == b"\x89HDF"
        why = "it is NetCDF-4, which is HDF5 inside" if hdf5 else f"it cannot be read as NetCDF ({fault})"
        raise GridError(f"{path.name}: {why}; accepted is NetCDF classic (version 3)") from fault
    values, south, step_lat = _upward(path, values, lats, "latitude", 0)
    values, west, step_lon = _upward(path, values, lons, "longitude", 1)
    return Raw(south, west, step_lat, step_lon, values, f"NetCDF, {name}").checked(path.name)


def _axis(path: Path, found: dict[str, Any], names: tuple[str, ...]) -> str:
    for name, variable in found.items():
        if name.lower() in names and len(variable.shape) == 1:
            return name
    raise GridError(f"{path.name}: no variable {' or '.join(names)} of one dimension; accepted is one, in degrees")


def _named(path: Path, found: dict[str, Any], wanted: str, axes: tuple[str, str]) -> str:
    fit = [n for n, v in found.items() if tuple(v.dimensions) in (axes, axes[::-1])]
    if wanted and wanted not in fit:
        raise GridError(f'{path.name}: no variable "{wanted}" on latitude and longitude; accepted: {", ".join(fit)}')
    if wanted or len(fit) == 1:
        return wanted or fit[0]
    if not fit:
        raise GridError(f"{path.name}: no variable lies on {axes[0]} and {axes[1]}; accepted is one that does")
    raise GridError(f"{path.name}: {', '.join(fit)} lie on latitude and longitude; name one with --variable")


def _values(path: Path, variable: Any, turned: bool) -> NDArray[np.float32]:
    if variable.shape[0] * variable.shape[1] > MOST_CELLS:
        shape = variable.shape
        raise GridError(f"{path.name}: {shape[0]} by {shape[1]} cells; accepted are at most {MOST_CELLS:,}")
    raw = np.array(variable[:])
    values = raw.astype(np.float32)
    for attribute in ("_FillValue", "missing_value"):
        none = getattr(variable, attribute, None)
        if none is not None:
            values[raw == np.asarray(none).ravel()[0]] = np.nan
    scale, add = getattr(variable, "scale_factor", 1.0), getattr(variable, "add_offset", 0.0)
    values = values * np.float32(scale) + np.float32(add)
    return np.asarray(values.T if turned else values, dtype=np.float32)


def _upward(
    path: Path, values: NDArray[np.float32], axis: NDArray[np.float64], what: str, way: int
) -> tuple[NDArray[np.float32], float, float]:
    """Values on an ascending axis, with its beginning and its step."""
    if len(axis) < 2:
        raise GridError(f"{path.name}: {what} has {len(axis)} values; accepted are two or more")
    if axis[1] < axis[0]:
        axis, values = axis[::-1], np.flip(values, way)
    gaps = np.diff(axis)
    step = float((axis[-1] - axis[0]) / (len(axis) - 1))
    if not np.isfinite(gaps).all() or step <= 0.0 or np.abs(gaps - step).max() > _UNEVEN * step:
        raise GridError(f"{path.name}: the steps of {what} are not even; accepted are even ones")
    return values.copy(), float(axis[0]), step
