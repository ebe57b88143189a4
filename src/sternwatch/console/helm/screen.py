"""The helm: strip, alerts, the rods across the stern, and the same chains from above and from the side."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal

from sternwatch.console.acts.practice import steering
from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.helm.minutes import FROM_ROWS, ComingMinutes
from sternwatch.console.helm.rods import RodBoard
from sternwatch.console.helm.strip import TopStrip
from sternwatch.console.helm.turn_line import TurnLine
from sternwatch.console.helm.views import PlanView, SideView
from sternwatch.watch.picture.model import Picture

WIDE = 100  # from this width on, rods are columns with both views below
AROUND = 11  # rows of a narrow helm that are neither rods nor a view: frame, strip, alerts, headings, answer, keys
ABOVE = 5  # rows above the alerts: frame, strip, turn
LEAST_VIEW = 9
WIDE_VIEWS = ("helm", "glance", "chart", "ahead", "producing", "sensors", "check")
NARROW_VIEWS = ("helm", "above", "side", "glance", "chart", "ahead", "producing", "sensors", "check")


class HelmScreen(WatchScreen):
    """The helm in one of its layouts: all of it, or one view alone."""

    words = "HELM"

    def __init__(self) -> None:
        super().__init__()
        self.layout_name = "helm"
        self._rods = -1

    def body(self) -> ComposeResult:
        preferences = self.watch_app.preferences
        units = preferences.system
        yield TopStrip(units=units)
        yield TurnLine(units=units)
        yield AlertsArea(units=units)
        yield RodBoard(units=units, mirrored=preferences.mirror)
        yield ComingMinutes(units=units, mirrored=preferences.mirror)
        with Horizontal(id="views"):
            yield PlanView(units=units, mirrored=preferences.mirror)
            yield SideView(units=units)

    def key(self, token: str) -> bool:
        """Enter begins a drill that waits, as its bar says."""
        return token == "enter" and steering.begin(self.watch_app.controls)

    def lay_out(self, name: str) -> None:
        """Show all of the helm, or ``above`` or ``side`` alone where there is no room for both."""
        self.layout_name = name
        self.fit_body()

    def fit_body(self) -> None:
        wide = self.size.width >= WIDE
        name = "helm" if wide else self.layout_name
        board, views = self.query_one(RodBoard), self.query_one("#views")
        board.display = name == "helm"
        self.query_one(ComingMinutes).display = wide and self.size.height >= FROM_ROWS
        # Below the rows of a narrow helm the side view shows only where it has enough room.
        beneath = not wide and name == "helm" and self.size.height - self._rods - AROUND >= LEAST_VIEW
        views.display = wide or name != "helm" or beneath
        board.styles.height = "auto" if views.display else "1fr"
        self.query_one(PlanView).display = wide or name == "above"
        self.query_one(SideView).display = wide or name == "side" or beneath

    def cover(self, notices: int, cautions: int) -> None:
        views = self.query_one("#views")
        if views.styles.margin.bottom != 1 + cautions:
            views.styles.margin = (0, 0, 1 + cautions, 0)
        self.query_one(RodBoard).cover(notices + cautions if self._rods_alone else 0)

    @property
    def _rods_alone(self) -> bool:
        """Whether rods are the lowest of the body, so that notices would cover them."""
        return self.size.width < WIDE and self.layout_name == "helm" and not self.query_one("#views").display

    @property
    def _spare(self) -> int:
        """The rows of the rods' board that neither rods nor their headings need."""
        alerts = self.query_one(AlertsArea).get_content_height(self.size, self.size, self.size.width)
        return self.size.height - ABOVE - alerts - self.foot_rows - 1 - self._rods

    @property
    def notice_rows(self) -> int:
        most = super().notice_rows
        # Where rods fill every row, the headings give way to a notice.
        return max(min(most, self._spare), 1) if self._rods_alone else most

    def caution_rows(self, notices: int) -> int:
        most = super().caution_rows(notices)
        return max(min(most, self._spare - notices), 0) if self._rods_alone else most

    def show_picture(self, picture: Picture) -> None:
        super().show_picture(picture)
        if self.composed and len(picture.rods) != self._rods:
            self._rods = len(picture.rods)
            self.fit_body()
