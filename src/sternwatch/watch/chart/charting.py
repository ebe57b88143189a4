"""Keeps the chart's bottom up to date beside a session while somebody looks at it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.background import Beside
from sternwatch.watch.chart.bed import Bed, Chartlike, bed
from sternwatch.watch.chart.gridded import Floats, Window
from sternwatch.watch.picture.ground import GroundPicture

EVERY_S = 10.0
"""Feed time after which what was sounded since is worth a new grid."""
MARGIN = 1.5  # times what is seen, so that the view can move a little before the chart must be made again
NODES = 150  # over what is seen


@dataclass(frozen=True, slots=True)
class View:
    """What is seen: a centre over ground, and the reach to every side."""

    north_m: float
    east_m: float
    half_m: float


@dataclass(frozen=True, slots=True)
class _Asked:
    trip: str
    t_s: float
    ground: GroundPicture
    window: Window
    half_m: float


class Charting:
    """Makes the bottom of what is seen on a thread of its own. ``look`` never waits.

    Parameters
    ----------
    units
        The crew's.
    charts
        The imported grids for a session of a kind. Called on the thread beside, once a trip.
    """

    def __init__(self, units: DisplaySystem, charts: Callable[[], Sequence[Chartlike]] = tuple) -> None:
        self._units, self._charts_of = units, charts
        self._charts: Sequence[Chartlike] | None = None
        self._earlier: tuple[str, Floats] | None = None
        self._asked: _Asked | None = None
        self._beside: Beside[_Asked, tuple[_Asked, Bed]] = Beside(self._make, "chart")

    def look(self, trip: str, t_s: float, ground: GroundPicture, view: View) -> Bed | None:
        """Return the newest bottom of this trip, and ask for a new one where it no longer serves."""
        asked = self._asked
        half = view.half_m
        seen = (view.north_m - half, view.east_m - half, view.north_m + half, view.east_m + half)
        if (
            asked is None
            or asked.trip != trip
            or not 0.0 <= t_s - asked.t_s < EVERY_S
            or not 0.7 < half / asked.half_m < 1.4
            or not asked.window.holds(*seen)
        ):
            wide = half * MARGIN
            window = Window.about(view.north_m, view.east_m, (wide, wide), 2.0 * half / NODES)
            self._asked = _Asked(trip, t_s, ground, window, half)
            self._beside.ask(self._asked)
        made = self._beside.made
        return made[1] if made is not None and made[0].trip == trip else None

    @property
    def trouble(self) -> str:
        """Why the newest bottom could not be made, in words."""
        return self._beside.trouble

    def stop(self) -> None:
        self._beside.stop()

    def _make(self, asked: _Asked) -> tuple[_Asked, Bed]:
        sounded = asked.ground.sounded
        if self._earlier is None or self._earlier[0] != asked.trip:
            self._earlier = (asked.trip, sounded.earlier_rows())
        if self._charts is None:
            self._charts = self._charts_of()
        rows = np.concatenate([sounded.rows(), self._earlier[1]])
        made = bed(
            rows, asked.window, asked.t_s, units=self._units, charts=self._charts, origin_deg=asked.ground.origin_deg
        )
        return asked, made
