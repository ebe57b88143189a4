"""Alerts, worst first, the advice beside each."""

from __future__ import annotations

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.watch.picture import Picture


class AlertsArea(Painted):
    """The alerts that stand, worst first."""

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        for y, alert in enumerate(picture.alerts[: grid.height]):
            grid.put(0, y, alert.text)
