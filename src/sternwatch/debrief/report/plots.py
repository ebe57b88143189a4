"""Series for plots, and small plots in characters: the timeline, and the chart drawn to scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.values.units import DisplaySystem, convert
from sternwatch.logbook.store.samples import RodRow, Sample

if TYPE_CHECKING:
    from sternwatch.debrief.report.charted import Charted
    from sternwatch.debrief.trip.digest import Digest

_BARS = "▁▂▃▄▅▆▇█"
# Dots of a braille cell by (row, column): the code points' own order (ISO/TR 11548-1).
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
# A character cell is about twice as high as wide, and has two by four dots: so dots are square.
GAP_S = 60.0
_CONTOUR_EVERY = 4  # dots: gaps distinguish a contour from a track
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Series:
    """Values by feed time; None in holes."""

    name: str
    t_s: tuple[float, ...]
    values: tuple[float | None, ...]
    rod: str = ""  # the key of the rod whose values these are


def _of(samples: Sequence[Sample], name: str, value: Callable[[Sample], float | None], rod: str = "") -> Series:
    times: list[float] = []
    values: list[float | None] = []
    for sample in samples:
        at_s = sample.boat.at_s
        if times and at_s - times[-1] > GAP_S:
            times.append(times[-1] + 1.0)
            values.append(None)  # a hole in the data is a hole in the curve
        times.append(at_s)
        values.append(value(sample))
    return Series(name, tuple(times), tuple(values), rod)


def boat_series(digest: Digest) -> tuple[Series, ...]:
    """Speed, surface temperature and bottom."""
    samples = digest.samples
    return (
        _of(samples, "speed", lambda s: s.boat.speed_m_s),
        _of(samples, "surface", lambda s: s.boat.water_temperature_c),
        _of(samples, "bottom", lambda s: s.boat.bottom_m),
    )


def depth_series(digest: Digest) -> tuple[Series, ...]:
    """Depth of every rod's lure, by key."""
    return _of_rods(digest, attrgetter("depth_m"))


def temperature_series(digest: Digest) -> tuple[Series, ...]:
    """Temperature at every rod's lure, by key."""
    return _of_rods(digest, attrgetter("temperature_c"))


def _of_rods(digest: Digest, value: Callable[[RodRow], float | None]) -> tuple[Series, ...]:
    names: dict[str, str] = {}
    for sample in digest.samples:
        for row in sample.rods:
            names.setdefault(row.rig.rod, row.rig.name)

    def at(key: str) -> Callable[[Sample], float | None]:
        return lambda s: next((value(row) for row in s.rods if row.rig.rod == key), None)

    return tuple(_of(digest.samples, f"{key} {names[key]}".strip(), at(key), key) for key in sorted(names))


def sparkline(series: Series, begin_s: float, end_s: float, width: int, *, down: bool = False) -> str:
    """A curve in one line of characters, blank where the value is unknown. ``down``: deeper is lower."""
    sums, counts = [0.0] * width, [0] * width
    for t, value in zip(series.t_s, series.values, strict=True):
        if value is None or not begin_s <= t <= end_s:
            continue
        column = min(int((t - begin_s) / max(end_s - begin_s, 1.0) * width), width - 1)
        sums[column] += value
        counts[column] += 1
    means = [sums[i] / counts[i] if counts[i] else None for i in range(width)]
    known = [m for m in means if m is not None]
    if not known:
        return " " * width
    low, high = min(known), max(known)
    spread = high - low or 1.0

    def bar(value: float | None) -> str:
        if value is None:
            return " "
        share = (value - low) / spread
        return _BARS[round((1.0 - share if down else share) * (len(_BARS) - 1))]

    return "".join(map(bar, means))


def marks_line(times_s: Sequence[tuple[float, str]], begin_s: float, end_s: float, width: int) -> str:
    """Single characters at their moments; ``+`` where several coincide."""
    line = [" "] * width
    for t, mark in times_s:
        if begin_s <= t <= end_s:
            column = min(int((t - begin_s) / max(end_s - begin_s, 1.0) * width), width - 1)
            line[column] = mark if line[column] == " " else "+"
    return "".join(line)


def chart_lines(
    chart: Charted, units: DisplaySystem, width: int, height: int, *, bottom: bool
) -> tuple[list[str], float]:
    """The chart in braille, north up and to scale, and its metres per dot.

    The track is a full line, hits are their rods' keys, marks and fish seen are named. With ``bottom``, contours are
    dotted and carry their depths.
    """
    contours = chart.bed.contours if bottom else ()
    south, west, north, east = chart.bounds_m
    scale = max((east - west) / (2 * width - 1), (north - south) / (4 * height - 1), 0.5)
    rows = max(1, math.ceil(((north - south) / scale + 1) / 4))
    cells = np.zeros((rows, width), dtype=np.int64)

    def dots(places_m: Floats, every: int) -> Floats:
        """Close dots along a line, or only every so many of them."""
        at = np.column_stack([(places_m[:, 1] - west) / scale, (north - places_m[:, 0]) / scale])
        steps = np.diff(at, axis=0)
        counts = np.ceil(np.abs(steps).max(axis=1)).astype(int) + 1 if len(steps) else np.zeros(0, dtype=int)
        share = [np.arange(n)[:, None] / n for n in counts]
        way = [start + step * part for start, step, part in zip(at[:-1], steps, share, strict=True)]
        return np.asarray(np.rint(np.concatenate([*way, at[-1:]])[::every]), dtype=np.float64)

    def put(places_m: Floats, every: int = 1) -> None:
        for u, v in dots(places_m, every).astype(int).tolist() if len(places_m) else []:
            if 0 <= u < 2 * width and 0 <= v < 4 * rows:
                cells[v // 4, u // 2] |= _DOTS[v % 4][u % 2]

    for contour in contours:
        put(contour.points_m, _CONTOUR_EVERY)
    for run in chart.runs():
        put(run)
    lines = [[chr(0x2800 + cell) if cell else " " for cell in row] for row in cells.tolist()]
    taken: set[tuple[int, int]] = set()

    def write(north_m: float, east_m: float, text: str, *, always: bool = False) -> bool:
        x, y = int((east_m - west) / scale / 2), int((north - north_m) / scale / 4)
        spots = {(x + n, y) for n in range(-1, len(text) + 1)}
        if 0 <= y < rows and x >= 0 and x + len(text) <= width and (always or not spots & taken):
            lines[y][x : x + len(text)] = list(text)
            taken.update(spots)
            return True
        return False

    for hit in chart.hits:
        write(hit.north_m, hit.east_m, hit.rod, always=True)
    for place in chart.places:
        # Where something else is written already, a row or some letters beside it.
        any(
            write(place.north_m + 4.0 * scale * up, place.east_m + 2.0 * scale * right, place.what)
            for right in (0, -len(place.what), -2 * len(place.what))
            for up in (0, 1, -1, 2, -2)
        )
    for contour in sorted(contours, key=lambda one: -len(one.points_m)):
        middle = contour.points_m[len(contour.points_m) // 2]
        write(float(middle[0]), float(middle[1]), f"{convert(contour.depth_m, units.length):.0f}")
    return ["".join(row).rstrip() for row in lines], scale
