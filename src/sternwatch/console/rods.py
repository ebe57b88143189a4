"""The rods: columns across the stern where there is room, rows where there is not."""

from __future__ import annotations

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.watch.picture import Picture


class RodBoard(Painted):
    """Every rod of the spread, port to starboard."""

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        for y, rod in enumerate(picture.rods):
            grid.put(0, y, f"{rod.key} {rod.name}")
