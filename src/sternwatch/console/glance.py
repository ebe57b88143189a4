"""The glance: what matters most, as large as it fits, read from two metres in passing."""

from __future__ import annotations

from textual.app import ComposeResult

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.console.watch_screen import WatchScreen
from sternwatch.watch.picture import Picture


class GlanceBoard(Painted):
    """All of the glance in one painted widget."""

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        grid.put(0, 0, picture.trip)


class GlanceScreen(WatchScreen):
    """The glance screen."""

    words = "GLANCE"

    def body(self) -> ComposeResult:
        yield GlanceBoard()
