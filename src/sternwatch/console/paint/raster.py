"""Draws curves on a grid of cells: in braille dots, quarter blocks, or plain characters chosen by slope.

Points are in cells (x right, y down, fractions within a cell). Dots stay in a numpy raster until ``stamp`` writes
them into a ``Grid``. Each cell has one ink: that of the curve drawn last.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sternwatch.console.paint.canvas import Grid, ink_id
from sternwatch.console.paint.look import Glyphs
from sternwatch.watch.picture.stern import drawn_as

Points = NDArray[np.float64]

# Dots on and off along a curve, in half cells; told apart at a glance even without colour.
PATTERNS: tuple[tuple[int, ...], ...] = ((1, 0), (9, 3), (3, 2), (9, 2, 2, 2))

_LINE_INKS = ("line a", "line b", "line c", "line d")

# For things still to come: single dots, too far apart for a line.
_FORECAST, _DENSE = (1, 3), (1, 1)

_DOTS: dict[Glyphs, tuple[int, int]] = {"braille": (2, 4), "block": (2, 2), "plain": (2, 4)}
_BRAILLE_BITS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]], dtype=np.int32)
_QUARTER_BITS = np.array([[1, 2], [4, 8]], dtype=np.int32)
_QUARTERS = np.array(list(" ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"), dtype="<U1")


def line_ink(key: str) -> tuple[str, int]:
    """Ink and pattern of a rod's line."""
    hue, dash = drawn_as(key)
    return _LINE_INKS[hue], dash


@lru_cache(maxsize=256)  # the helm asks for the same ones at every redraw
def swatch(key: str, width: int, glyphs: Glyphs) -> tuple[str, str]:
    """A piece of a rod's line, ``width`` cells long, and its ink."""
    ink, dash = line_ink(key)
    raster, grid = Raster(width, 1, glyphs), Grid(width, 1)
    raster.curve(np.array([[0.0, 0.5], [width - 0.01, 0.5]]), ink, dash)
    raster.stamp(grid, 0, 0)
    return "".join(grid.chars[0].tolist()), ink


class Raster:
    """Dots over ``width`` × ``height`` cells."""

    def __init__(self, width: int, height: int, glyphs: Glyphs) -> None:
        self.width, self.height, self.glyphs = width, height, glyphs
        self._dx, self._dy = _DOTS[glyphs]
        self._dots = np.zeros((height * self._dy, width * self._dx), dtype=bool)
        self._inks = np.zeros((height, width), dtype=np.int16)
        self._chars = np.full((height, width), " ", dtype="<U1")

    def copy(self) -> Raster:
        """A copy with the same drawing."""
        other = Raster(self.width, self.height, self.glyphs)
        other._dots, other._inks, other._chars = self._dots.copy(), self._inks.copy(), self._chars.copy()
        return other

    def curve(self, points: Points, ink: str, pattern: int = 0, *, heavy: bool = False, plain_sign: str = "") -> None:
        """Draw through ``points`` (n, 2) in cells, without segments that have a point that is not finite.

        ``plain_sign``: the one character that plain terminals draw it with, unbroken, instead of strokes by slope.
        """
        if len(points) < 2:
            return
        steps = np.diff(points, axis=0)
        if self.glyphs == "plain":
            self._plain_curve(points, steps, ink, pattern, heavy, plain_sign)
            return
        x, y, at = self._walk(points, steps)
        keep = _pattern_keeps(at, pattern)
        x, y = x[keep], y[keep]
        self._dot(x, y, ink)
        if heavy:
            self._dot(x + 1, y, ink)
            if self.glyphs == "braille":
                self._dot(x, y + 1, ink)

    def dotted(self, points: Points, ink: str, *, dense: bool = False) -> None:
        """Draw through ``points`` as ``curve`` does, in widely spaced dots: for forecasts."""
        if len(points) < 2:
            return
        x, y, at = self._walk(points, np.diff(points, axis=0))
        keep = _runs_keep(at, _DENSE if dense else _FORECAST)
        if self.glyphs != "plain":
            self._dot(x[keep], y[keep], ink)
            return
        x, y = x[keep] // self._dx, y[keep] // self._dy
        inside = (x >= 0) & (y >= 0) & (x < self.width) & (y < self.height)
        self._chars[y[inside], x[inside]] = "."
        self._inks[y[inside], x[inside]] = ink_id(ink)

    def _walk(self, points: Points, steps: Points) -> tuple[NDArray[np.int64], NDArray[np.int64], Points]:
        """Dots along the curve, closer than one dot apart, and the distance along it in half cells."""
        scale = np.array([self._dx, self._dy], dtype=np.float64)
        good = np.isfinite(steps).all(axis=1)
        reach = np.where(good, np.abs(np.nan_to_num(steps) * scale).max(axis=1), 0.0)
        counts = np.minimum(np.ceil(reach).astype(np.int64), 4000) + good
        segment = np.repeat(np.arange(len(steps)), counts)
        first = np.concatenate([[0], np.cumsum(counts)[:-1]])
        share = (np.arange(len(segment)) - first[segment]) / np.maximum(counts[segment], 1)
        place = points[:-1][segment] + steps[segment] * share[:, None]
        # A cell is twice as high as wide: lengths along the curve count half cells across, a quarter down.
        lengths = np.hypot(np.nan_to_num(steps[:, 0]) * 2.0, np.nan_to_num(steps[:, 1]) * 4.0)
        along = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])[segment] + lengths[segment] * share
        dots = np.floor(place * scale).astype(np.int64)
        return dots[:, 0], dots[:, 1], along

    def _dot(self, x: NDArray[np.int64], y: NDArray[np.int64], ink: str) -> None:
        inside = (x >= 0) & (y >= 0) & (x < self._dots.shape[1]) & (y < self._dots.shape[0])
        x, y = x[inside], y[inside]
        self._dots[y, x] = True
        self._inks[y // self._dy, x // self._dx] = ink_id(ink)

    def _plain_curve(self, points: Points, steps: Points, ink: str, pattern: int, heavy: bool, sign: str) -> None:
        x, y, along = self._walk(points, steps)
        cells_x, cells_y = x // self._dx, y // self._dy
        inside = (cells_x >= 0) & (cells_y >= 0) & (cells_x < self.width) & (cells_y < self.height)
        keep = inside & (bool(sign) | _pattern_keeps(along, pattern))
        x, y, cells_x, cells_y = x[keep], y[keep], cells_x[keep], cells_y[keep]
        if not len(x):
            return
        # The first and last dot within each cell give the slope there.
        cell = cells_y * self.width + cells_x
        starts = np.concatenate([[0], np.flatnonzero(np.diff(cell)) + 1])
        ends = np.concatenate([starts[1:], [len(cell)]]) - 1
        for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
            far_x = x[min(end + 1, len(x) - 1)] - x[start]
            far_y = y[min(end + 1, len(y) - 1)] - y[start]
            middle = (int(y[start] + y[end]) // 2) % self._dy
            char = sign or _plain_sign(int(far_x), int(far_y), middle, heavy)
            self._chars[cells_y[start], cells_x[start]] = char
            self._inks[cells_y[start], cells_x[start]] = ink_id(ink)

    def area(self, mask: NDArray[np.bool_], ink: str) -> None:
        """Set the dots of ``mask`` (a raster of the shape of ``dot_shape``); plain characters draw no areas."""
        if self.glyphs == "plain":
            return
        self._dots |= mask
        cells = mask.reshape(self.height, self._dy, self.width, self._dx).any(axis=(1, 3))
        self._inks[cells] = ink_id(ink)

    @property
    def dot_shape(self) -> tuple[int, int]:
        """Dots down and across."""
        return self._dots.shape[0], self._dots.shape[1]

    def stamp(self, grid: Grid, left: int, top: int) -> None:
        """Write the drawing into ``grid``, its first cell at (left, top). Empty cells do not change the grid."""
        if self.glyphs == "plain":
            chars = self._chars
        else:
            bits = _BRAILLE_BITS if self.glyphs == "braille" else _QUARTER_BITS
            cells = self._dots.reshape(self.height, self._dy, self.width, self._dx)
            codes = (cells * bits[None, :, None, :]).sum(axis=(1, 3))
            chars = _braille(codes) if self.glyphs == "braille" else _QUARTERS[codes]
        height = min(self.height, grid.height - top)
        width = min(self.width, grid.width - left)
        if height <= 0 or width <= 0:
            return
        drawn = (chars != " ")[:height, :width]
        target = (slice(top, top + height), slice(left, left + width))
        grid.chars[target][drawn] = chars[:height, :width][drawn]
        grid.inks[target][drawn] = self._inks[:height, :width][drawn]


def _pattern_keeps(along: Points, pattern: int) -> NDArray[np.bool_]:
    return _runs_keep(along, PATTERNS[pattern % len(PATTERNS)])


def _runs_keep(along: Points, runs: tuple[int, ...]) -> NDArray[np.bool_]:
    period = float(sum(runs))
    at = np.mod(along, period)
    keep = np.zeros(len(along), dtype=bool)
    edge = 0.0
    for number, run in enumerate(runs):
        if number % 2 == 0:
            keep |= (at >= edge) & (at < edge + run)
        edge += run
    return keep


def _braille(codes: NDArray[np.int64]) -> NDArray[np.str_]:
    points = np.where(codes == 0, ord(" "), codes + 0x2800).astype(np.uint32)
    return points.view("<U1") if points.flags.c_contiguous else np.ascontiguousarray(points).view("<U1")


def _plain_sign(dx: int, dy: int, level: int, heavy: bool) -> str:
    """The character nearest to a slope of dx, dy dots. ``level``: its height within the cell, 0 at the top."""
    if heavy:
        return "=" if abs(dy) <= abs(dx) * 0.8 else "#"
    if abs(dx) <= abs(dy) * 0.4:
        return "|"
    if abs(dy) <= abs(dx) * 0.35:
        return "'--_"[min(max(level, 0), 3)]
    return "\\" if (dx > 0) == (dy > 0) else "/"
