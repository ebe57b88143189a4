"""Draws a plot over time in cells: a scale at the left, curves, signs, and the curves' names at the right."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.raster import Points, Raster
from sternwatch.debrief.report.plots import Series
from sternwatch.gear.values.units import Dimension, DisplaySystem

Box = tuple[int, int, int, int]  # left, top, width, height

AXIS = 10
"""Cells at the left for the scale."""
NAMES = 3
"""Cells at the right for the curves' names."""

# The least span of a scale, in SI units, so that a nearly constant quantity looks constant.
_LEAST = {Dimension.SPEED: 0.5, Dimension.TEMPERATURE: 2.0, Dimension.LENGTH: 6.0}


class Panel:
    """One set of axes: time to the right, one quantity upward (``down``: downward)."""

    def __init__(self, grid: Grid, box: Box, span_s: tuple[float, float], units: DisplaySystem, look: Look) -> None:
        self.grid, self.units, self.look = grid, units, look
        self.left, self.width, self.top, self.height = box
        self.begin, self.end = span_s
        self.low, self.high, self.down = 0.0, 1.0, False
        self.raster = Raster(self.width, self.height, look.glyphs)

    def scale(
        self,
        shown: Sequence[Series],
        dimension: Dimension,
        digits: int,
        name: str,
        *,
        down: bool = False,
        also: Series | None = None,
    ) -> None:
        """Choose the scale for the values and write it at the left. ``also`` counts where it is not far off."""
        foot = self.top + self.height - 1
        self.grid.put(self.left - AXIS, self.top, name, "label")
        self.grid.put(self.left - AXIS, foot, self.units.label(dimension), "label")
        known = [value for series in shown for value in series.values if value is not None]
        if not known:
            self.grid.put_right(self.left - 1, foot, "–", "unknown")
            return
        low, high = min(known), max(known)
        if down:
            near = [value for value in (also.values if also else ()) if value is not None and value < 1.6 * high]
            low, high = 0.0, max([high, *near])
        short = max(_LEAST[dimension] - (high - low), 0.0)
        self.low, self.high, self.down = low, high + short, down
        if not down:
            self.low, self.high = low - short / 2, high + short / 2
        ends = (self.low, self.high) if down else (self.high, self.low)
        for value, y in zip(ends, (self.top, foot), strict=True):
            self.grid.put_right(self.left - 1, y, self.units.show(value, dimension, digits, label=False), "text")

    def _cells(self, times: Sequence[float], values: Sequence[float | None]) -> Points:
        t = np.array(times, dtype=np.float64)
        v = np.array([math.nan if value is None else value for value in values], dtype=np.float64)
        x = (t - self.begin) / (self.end - self.begin) * (self.width - 0.02)
        share = (v - self.low) / (self.high - self.low)
        y = (share if self.down else 1.0 - share) * (self.height - 0.02)
        return np.column_stack([x, y])

    def curve(self, series: Series, ink: str, pattern: int = 0, *, heavy: bool = False, dotted: bool = False) -> None:
        """Draw a curve. Holes stay holes."""
        points = self._cells(series.t_s, series.values)
        if dotted:
            self.raster.dotted(points, ink)
        else:
            self.raster.curve(points, ink, pattern, heavy=heavy)

    def done(self) -> None:
        """Write the drawn curves into the grid."""
        self.raster.stamp(self.grid, self.left, self.top)

    def column(self, t_s: float) -> int:
        """The cell of a moment."""
        share = (t_s - self.begin) / (self.end - self.begin)
        return self.left + min(max(int(share * self.width), 0), self.width - 1)

    def mark(self, t_s: float, value: float | None, sign: str, ink: str) -> None:
        """Write a sign at its moment and value; nothing where either is unknown or outside."""
        if value is None or not self.begin <= t_s <= self.end or not self.low <= value <= self.high:
            return
        y = int(self._cells([t_s], [value])[0, 1])
        self.grid.put(self.column(t_s), self.top + y, sign, ink)

    def names(self, shown: Sequence[Series]) -> None:
        """Write each curve's first word at the right, at its end or in the nearest free row."""
        ends = []
        for series in shown:
            known = [value for value in series.values if value is not None]
            if known:
                ends.append((self._cells([self.end], [known[-1]])[0, 1], series.name.split(" ")[0]))
        taken: dict[int, int] = {}
        for y, name in sorted(ends):
            at = min(max(int(y), 0), self.height - 1)
            used = taken.get(at, 0)
            if used < NAMES:
                self.grid.put(self.left + self.width + used, self.top + at, name, "label")
                taken[at] = used + 1
