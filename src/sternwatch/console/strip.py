"""The strip on top: every sensor's value, source and age, the speed that drives the depths, the clock."""

from __future__ import annotations

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.watch.picture import Picture


class TopStrip(Painted):
    """Sensors, speed, clock, trip."""

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        grid.put(0, 0, picture.trip)
