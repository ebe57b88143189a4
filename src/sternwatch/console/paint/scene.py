"""Parts of both views: extents that hold still, round scale marks, places for labels. Pure; metres and cells."""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache

_ROUND = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0)
SHRINK_AFTER_S = 8.0
JUMP_S = 5.0


def round_up(value: float) -> float:
    """The next of ``_ROUND`` times a power of ten at or above ``value`` > 0."""
    power = 10.0 ** math.floor(math.log10(value))
    digit = value / power
    return _ROUND[min(bisect.bisect_left(_ROUND, digit - 1e-9), len(_ROUND) - 1)] * power


@dataclass(frozen=True, slots=True)
class Upright:
    """A scale down the screen: marks a round ``step`` apart, each on its own row, ``rows`` below the last."""

    step: float
    rows: int

    @property
    def per_row(self) -> float:
        """The amount that one row covers."""
        return self.step / self.rows

    def marks(self, height: int) -> list[tuple[int, str]]:
        """(row, number) of every mark in ``height`` rows, without zero at the upper edge of the first row."""
        return [(n * self.rows, f"{n * self.step:g}") for n in range(1, (height - 1) // self.rows + 1)]


LEAST_ROWS, MOST_ROWS = 2, 8  # from one mark to the next
_WORTH = 1.12  # a scale coarser by this is accepted for rounder numbers, or for a second mark


def upright(extent: float, height: int) -> Upright:
    """The finest good scale on which ``height`` rows reach ``extent`` > 0."""
    power = 10.0 ** math.floor(math.log10(extent / height))
    enough = extent / height / power * (1.0 - 1e-9)
    step, rows = next(scale for scale in _ladder(height) if scale[0] / scale[1] >= enough)
    return Upright(step * power, rows)


@lru_cache(maxsize=64)
def _ladder(height: int) -> tuple[tuple[float, int], ...]:
    """Good (step, rows) for scales of 1 to 10 a row and a little beyond, the finest first."""

    def poor(scale: tuple[float, int]) -> int:
        return (f"{scale[0]:e}"[:3] in ("2.5", "4.0")) + ((height - 1) // scale[1] < 2)

    most = min(max(height // 2, min(height - 1, 5), LEAST_ROWS), MOST_ROWS)
    steps = [digit * ten for ten in (1.0, 10.0, 100.0) for digit in (1.0, 2.0, 2.5, 4.0, 5.0)]
    every = [(step, rows) for step in steps for rows in range(LEAST_ROWS, most + 1)]
    # Of similar scales take the one with marks about four rows apart.
    every.sort(key=lambda scale: (scale[0] / scale[1], poor(scale), abs(scale[1] - 4)))
    good = [
        scale
        for scale in every
        if not any(
            1.0 <= other[0] / other[1] / (scale[0] / scale[1]) <= _WORTH and poor(other) < poor(scale)
            for other in every
        )
    ]
    return tuple(good)


@dataclass
class SteadyExtent:
    """The reach of a view. It grows at once, and shrinks only after a smaller reach has been enough for a while."""

    shown: float | None = None
    _roomy_since_s: float | None = field(default=None, repr=False)
    _seen_t_s: float = field(default=-math.inf, repr=False)

    def take(self, t_s: float, wanted: float, fit: Callable[[float], float] = round_up) -> float:
        """The extent to show at feed time ``t_s`` [s] for a needed extent ``wanted`` > 0, in the same unit.

        ``fit`` gives the next allowed extent at or above a value.
        """
        fitting = fit(wanted)
        jumped = t_s < self._seen_t_s or t_s - self._seen_t_s > JUMP_S
        self._seen_t_s = t_s
        if self.shown is None or jumped or fitting > self.shown or not math.isclose(fit(self.shown), self.shown):
            self.shown, self._roomy_since_s = fitting, None
        elif fitting < self.shown and wanted < 0.9 * self.shown:
            if self._roomy_since_s is None:
                self._roomy_since_s = t_s
            elif t_s - self._roomy_since_s >= SHRINK_AFTER_S:
                self.shown, self._roomy_since_s = fitting, None
        else:
            self._roomy_since_s = None
        return self.shown


def runs_of_bottom(track: Iterable[tuple[float, float]], gap_m: float = 40.0) -> list[list[tuple[float, float]]]:
    """The soundings (astern [m], depth [m]) in order, split where two are more than ``gap_m`` apart."""
    runs: list[list[tuple[float, float]]] = []
    for place in sorted(track):
        if runs and place[0] - runs[-1][-1][0] <= gap_m:
            runs[-1].append(place)
        else:
            runs.append([place])
    return runs


@dataclass
class Labels:
    """Places for labels: each takes the free cells nearest to its point."""

    width: int
    height: int
    taken: set[tuple[int, int]] = field(default_factory=set)

    def place(self, x: int, y: int, length: int) -> tuple[int, int] | None:
        """The first of ``length`` free cells near (x, y), or None where all near it are taken."""
        for dx, dy in _NEAR:
            at_x = min(max(x + dx, 0), self.width - length)
            at_y = min(max(y + dy, 0), self.height - 1)
            cells = {(at_x + n, at_y) for n in range(length)}
            if at_x >= 0 and not cells & self.taken:
                self.taken |= cells | {(at_x - 1, at_y), (at_x + length, at_y)}
                return at_x, at_y
        return None

    def exactly(self, x: int, y: int, length: int) -> bool:
        """Take exactly these cells if they are free, for a label that fits only there. Returns whether they were."""
        cells = {(x + n, y) for n in range(length)}
        if x < 0 or x + length > self.width or not 0 <= y < self.height or cells & self.taken:
            return False
        self.taken |= cells | {(x - 1, y), (x + length, y)}
        return True

    def keep(self, x: int, y: int, length: int) -> None:
        """Keep cells free of labels."""
        self.taken |= {(x + n, y) for n in range(length)}


_NEAR = sorted(
    ((dx, dy) for dx in range(-8, 9) for dy in range(-3, 4)),
    key=lambda step: (abs(step[0]) + 2.5 * abs(step[1]), step[1] < 0, step[0] < 0),
)
