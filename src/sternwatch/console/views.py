"""The same chains from above and from the side."""

from __future__ import annotations

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.watch.picture import Picture


class PlanView(Painted):
    """From above: boat up, lines streaming down."""

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        grid.put(0, 0, "from above")


class SideView(Painted):
    """From the side: boat left, depth downward."""

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        grid.put(0, 0, "from the side")
