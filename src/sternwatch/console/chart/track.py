"""Draws the boat's track on a chart, on request by depth, temperature or speed along it. Pure painting."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from sternwatch.console.chart.plane import Floats, Plane
from sternwatch.console.paint.raster import Raster
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.chart.trail import Trail

INKS = ("line a", "line b", "line c", "line d")
# In ASCII, where pieces of a track are too short for dashes and a contour has its slope: heavier from low to high.
_SIGNS, _PLAIN = "-+x%", "~"
_DIMENSIONS = {"depth": Dimension.LENGTH, "temperature": Dimension.TEMPERATURE, "speed": Dimension.SPEED}


@dataclass(frozen=True, slots=True)
class Bands:
    """Quarters of the values along the track, and the limits between them (SI)."""

    what: str
    edges: tuple[float, ...]  # three limits


def bands(trail: Trail, what: str) -> Bands | None:
    """Quarters of the values along the track; None where too few are known, or all are equal."""
    values = trail.values.get(what)
    known = values[np.isfinite(values)] if values is not None else np.zeros(0)
    if len(known) < 4 or float(np.ptp(known)) <= 0.0:
        return None
    return Bands(what, tuple(float(q) for q in np.quantile(known, (0.25, 0.5, 0.75))))


def legend(made: Bands, units: DisplaySystem) -> tuple[str, ...]:
    """The words of each quarter, from low to high."""
    a, b, c = (_value(edge, made.what, units) for edge in made.edges)
    unit = units.label(_DIMENSIONS[made.what])
    return f"under {a}", f"{a}–{b}", f"{b}–{c}", f"over {c} {unit}"


def _value(value: float, what: str, units: DisplaySystem) -> str:
    if what == "depth":
        return words.whole(value, units)
    return words.temperature(value, units, 1) if what == "temperature" else words.speed(value, units)


def stroke(raster: Raster, cells: Floats, quarter: int) -> None:
    """The stroke of a quarter, which differs even without ink; -1: the value is unknown."""
    if quarter < 0:
        raster.curve(cells, "water", plain_sign=_PLAIN)
    else:
        raster.curve(cells, INKS[quarter], quarter, heavy=quarter == 3, plain_sign=_SIGNS[quarter])


def draw(raster: Raster, trail: Trail, tail_m: Floats, plane: Plane, by: Bands | None) -> None:
    """Draw the track up to the boat. ``tail_m``: (n, 2) since the last sample."""
    cells = plane.to_cells(np.concatenate([trail.places_m, tail_m]))
    if by is None:
        raster.curve(cells, "water", plain_sign=_PLAIN)
        return
    raster.curve(plane.to_cells(np.concatenate([trail.places_m[-1:], tail_m])), "water", plain_sign=_PLAIN)
    values = trail.values[by.what]
    band = np.where(np.isfinite(values), np.digitize(np.nan_to_num(values), by.edges), -1)
    n = len(trail.places_m)
    cuts = [0, *(np.flatnonzero(band[1:] != band[:-1]) + 1).tolist(), n]
    for begin, end in itertools.pairwise(cuts):
        stroke(raster, cells[begin : min(end + 1, n)], int(band[begin]))
