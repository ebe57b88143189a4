"""Reads grids written as text: a header of lines, then rows of numbers from north to south."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from sternwatch.watch.grids.model import MOST_CELLS, GridError, Raw

_FIELDS = ("ncols", "nrows", "xllcorner", "xllcenter", "yllcorner", "yllcenter", "cellsize", "dx", "dy",
           "nodata_value")  # fmt: skip


def read_ascii_grid(path: Path) -> Raw:
    """Read a text grid. Raises GridError, OSError."""
    head: dict[str, float] = {}
    with path.open(encoding="ascii", errors="replace") as lines:
        number, first = 0, ""
        for number, line in enumerate(lines, 1):
            parts = line.split()
            if not parts:
                continue
            if parts[0].lower() not in _FIELDS:
                first = line
                break
            if len(parts) != 2:
                raise GridError(f'{path.name}, line {number}: "{parts[0]}" takes one number, as in "ncols 120"')
            head[parts[0].lower()] = _number(path, number, parts[1])
        rows, columns = _count(path, head, "nrows"), _count(path, head, "ncols")
        if rows * columns > MOST_CELLS:
            raise GridError(f"{path.name}: {rows} by {columns} cells; accepted are at most {MOST_CELLS:,} in all")
        step_x, step_y = head.get("dx", head.get("cellsize")), head.get("dy", head.get("cellsize"))
        if step_x is None or step_y is None:
            raise GridError(f'{path.name}: its header has no "cellsize"; accepted is "cellsize" in degrees')
        west, south = _corner(path, head, "x", step_x), _corner(path, head, "y", step_y)
        values = np.empty((rows, columns), dtype=np.float32)
        row = 0
        for at, line in _then(number, first, lines):
            if not line.strip():
                continue
            if row >= rows:
                raise GridError(f"{path.name}, line {at}: more rows than the {rows} of its header's nrows")
            try:
                found = np.array(line.split(), dtype=np.float32)
            except ValueError:
                raise GridError(f"{path.name}, line {at}: not all of it are numbers; accepted are numbers") from None
            if len(found) != columns:
                raise GridError(f"{path.name}, line {at}: {len(found)} numbers; accepted are ncols, {columns}")
            values[row] = found
            row += 1
        if row != rows:
            raise GridError(f"{path.name}: it ends after {row} of the {rows} rows that its header's nrows tells")
    if (none := head.get("nodata_value")) is not None:
        values[values == np.float32(none)] = np.nan
    return Raw(south, west, step_y, step_x, values[::-1].copy(), "ASCII grid").checked(path.name)


def _then(number: int, first: str, lines: Iterable[str]) -> Iterator[tuple[int, str]]:
    if first:
        yield number, first
    yield from enumerate(lines, number + 1)


def _number(path: Path, line: int, given: str) -> float:
    try:
        value = float(given)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise GridError(f'{path.name}, line {line}: "{given}" is not a number; accepted is one, as 46.5')
    return value


def _count(path: Path, head: dict[str, float], field: str) -> int:
    value = head.get(field)
    if value is None or value != int(value) or value < 1:
        raise GridError(f'{path.name}: its header has no "{field}" that counts; accepted is a whole number above 0')
    return int(value)


def _corner(path: Path, head: dict[str, float], axis: str, step: float) -> float:
    """Place of the first node. Files give the corner of its cell, or its centre."""
    if (centre := head.get(f"{axis}llcenter")) is not None:
        return centre
    corner = head.get(f"{axis}llcorner")
    if corner is None:
        raise GridError(f'{path.name}: its header has no "{axis}llcorner"; accepted is that or "{axis}llcenter"')
    return corner + step / 2.0
