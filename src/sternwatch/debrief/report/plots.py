"""Series for plots, and small plots in characters: the timeline, and the track drawn to scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING

from sternwatch.logbook.store.samples import RodRow, Sample
from sternwatch.watch.bottom.soundings import local_metres

if TYPE_CHECKING:
    from sternwatch.debrief.trip.digest import Digest

_BARS = "▁▂▃▄▅▆▇█"
# Dots of a braille cell by (row, column): the code points' own order (ISO/TR 11548-1).
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
# A cell of characters is about twice as high as wide, and two dots wide by four high: dots are square.
GAP_S = 60.0


@dataclass(frozen=True, slots=True)
class Series:
    """Values against feed time; None in holes."""

    name: str
    t_s: tuple[float, ...]
    values: tuple[float | None, ...]


def _of(samples: Sequence[Sample], name: str, value: Callable[[Sample], float | None]) -> Series:
    times: list[float] = []
    values: list[float | None] = []
    for sample in samples:
        at_s = sample.boat.at_s
        if times and at_s - times[-1] > GAP_S:
            times.append(times[-1] + 1.0)
            values.append(None)  # a hole is a hole in the curve as well
        times.append(at_s)
        values.append(value(sample))
    return Series(name, tuple(times), tuple(values))


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

    return tuple(_of(digest.samples, f"{key} {names[key]}".strip(), at(key)) for key in sorted(names))


def sparkline(series: Series, begin_s: float, end_s: float, width: int, *, down: bool = False) -> str:
    """A curve in one line of characters; a blank where nothing is known. ``down``: deeper is lower."""
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
    """Single characters at their moments; where several fall together, ``+``."""
    line = [" "] * width
    for t, mark in times_s:
        if begin_s <= t <= end_s:
            column = min(int((t - begin_s) / max(end_s - begin_s, 1.0) * width), width - 1)
            line[column] = mark if line[column] == " " else "+"
    return "".join(line)


@dataclass(frozen=True, slots=True)
class Track:
    """The boat's way over ground from its beginning, metres north and east; None in holes. And where hits were."""

    points_m: tuple[tuple[float, float] | None, ...]
    hits_m: tuple[tuple[float, float, str], ...]  # north, east, rod

    @property
    def bounds_m(self) -> tuple[float, float, float, float] | None:
        """(south, west, north, east) of all of it; None where there is nothing."""
        places = [p for p in self.points_m if p is not None] + [(n, e) for n, e, _ in self.hits_m]
        if not places:
            return None
        norths, easts = [p[0] for p in places], [p[1] for p in places]
        return min(norths), min(easts), max(norths), max(easts)


def track_of(digest: Digest) -> Track:
    """The way over ground, and the lures' places at hits."""
    origin: tuple[float, float] | None = None
    points: list[tuple[float, float] | None] = []
    last_s: float | None = None
    for sample in digest.samples:
        boat = sample.boat
        if boat.latitude_deg is None or boat.longitude_deg is None:
            points.append(None)
            continue
        place = (boat.latitude_deg, boat.longitude_deg)
        origin = origin or place
        if last_s is not None and boat.at_s - last_s > GAP_S:
            points.append(None)
        points.append(local_metres(origin, place))
        last_s = boat.at_s
    hits = [
        (*local_metres(origin, hit.lure_deg), hit.rod)
        for hit in digest.hits
        if origin is not None and hit.lure_deg is not None and hit.counts
    ]
    return Track(tuple(points), tuple(hits))


def track_lines(track: Track, width: int, height: int) -> tuple[list[str], float]:
    """The track in braille, north up and to scale, hits as their rods' keys; and metres per dot."""
    bounds = track.bounds_m
    if bounds is None:
        return [], 0.0
    south, west, north, east = bounds
    scale = max((east - west) / (2 * width - 1), (north - south) / (4 * height - 1), 0.5)
    rows = max(1, math.ceil(((north - south) / scale + 1) / 4))
    cells = [[0] * width for _ in range(rows)]

    def dot(at: tuple[float, float]) -> tuple[int, int]:
        return round((at[1] - west) / scale), round((north - at[0]) / scale)

    before: tuple[int, int] | None = None
    for point in track.points_m:
        if point is None:
            before = None
            continue
        x, y = dot(point)
        x0, y0 = before or (x, y)
        steps = max(abs(x - x0), abs(y - y0), 1)
        for k in range(steps + 1):
            u, v = x0 + round((x - x0) * k / steps), y0 + round((y - y0) * k / steps)
            if u // 2 < width and v // 4 < rows:
                cells[v // 4][u // 2] |= _DOTS[v % 4][u % 2]
        before = (x, y)
    lines = [[chr(0x2800 + cell) if cell else " " for cell in row] for row in cells]
    for n, e, key in track.hits_m:
        u, v = dot((n, e))
        if 0 <= u // 2 < width and 0 <= v // 4 < rows:
            lines[v // 4][u // 2] = key
    return ["".join(row).rstrip() for row in lines], scale
