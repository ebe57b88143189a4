"""The helm: strip, alerts, the rods across the stern, and the same chains from above and from the side."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal

from sternwatch.console.alerts_area import AlertsArea
from sternwatch.console.rods import RodBoard
from sternwatch.console.strip import TopStrip
from sternwatch.console.views import PlanView, SideView
from sternwatch.console.watch_screen import WatchScreen
from sternwatch.watch.picture import Picture

WIDE = 100  # columns from which rods stand as columns, with both views beneath
COLUMN_ROWS = 12
WIDE_VIEWS = ("helm", "glance")
NARROW_VIEWS = ("helm", "above", "side", "glance")


class HelmScreen(WatchScreen):
    """The helm in one of its layouts: all of it, or one view alone."""

    words = "HELM"

    def __init__(self) -> None:
        super().__init__()
        self.layout_name = "helm"

    def body(self) -> ComposeResult:
        yield TopStrip()
        yield AlertsArea()
        yield RodBoard()
        with Horizontal(id="views"):
            yield PlanView()
            yield SideView()

    def lay_out(self, name: str) -> None:
        """Show all of the helm, or ``above`` or ``side`` alone where there is no room for both."""
        self.layout_name = name
        self.fit_body()

    def fit_body(self) -> None:
        wide = self.size.width >= WIDE
        name = "helm" if wide else self.layout_name
        board, views = self.query_one(RodBoard), self.query_one("#views")
        board.display = name == "helm"
        views.display = wide or name != "helm"
        self.query_one(PlanView).display = wide or name == "above"
        self.query_one(SideView).display = wide or name == "side"
        board.styles.height = COLUMN_ROWS if wide else "1fr"
        self._fit_alerts()

    def _fit_alerts(self) -> None:
        picture = self.watch_app.shown
        area = self.query_one(AlertsArea)
        count = len(picture.alerts) if picture is not None else 0
        most = 2 if self.size.height < 30 else 4
        rows = min(count, most)
        area.display = rows > 0
        if rows:
            area.styles.height = rows

    def show_picture(self, picture: Picture) -> None:
        self._fit_alerts()
        super().show_picture(picture)
