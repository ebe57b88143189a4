"""The chart over any session. Arrows choose a place, which stays in the middle. Rod keys still enter hits."""

from __future__ import annotations

from functools import partial
from typing import ClassVar

import numpy as np
from textual.app import ComposeResult

from sternwatch.console.acts import table as acts
from sternwatch.console.chart import track, words
from sternwatch.console.chart.drawing import Shown, Way, paint, scale_bar
from sternwatch.console.chart.looking import Looking
from sternwatch.console.chart.plane import Plane
from sternwatch.console.frame.alerts_area import WorstAlert
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.raster import Raster
from sternwatch.console.words.outlook import shown_forecast
from sternwatch.console.words.rods import across_stern
from sternwatch.watch.chart.charting import Charting, View
from sternwatch.watch.chart.trail import TRACKED, Trail, struck, trail_through
from sternwatch.watch.grids.store import charts_for
from sternwatch.watch.picture.fishing import Fishing
from sternwatch.watch.picture.model import Picture

AGAIN = "again here"
"""The act that a place chosen on the chart is for; ``Controls.chosen_place`` holds it."""
_LONG, _SHORT = 7, 3  # cells of a stroke in the legend
_LEAST = (24, 6)  # the fewest columns and rows in which drawing makes sense


class ChartBoard(ControlsPainted):
    """The chart with a line above and a line below."""

    def __init__(self) -> None:
        super().__init__()
        self.looking = Looking()
        self._trail: tuple[object, Trail] | None = None

    def on_mount(self) -> None:
        super().on_mount()
        self.charting = Charting(self.controls.units, partial(charts_for, self.controls.runner.session))

    def on_unmount(self) -> None:
        self.charting.stop()

    def trail(self, picture: Picture) -> Trail:
        """Her track so far; remade only when it has grown."""
        fishing, ground = picture.fishing, picture.ground
        about = (picture.trip, len(fishing) if fishing is not None else 0, ground.origin_deg if ground else None)
        if self._trail is None or self._trail[0] != about:
            shown = fishing if fishing is not None and ground is not None else Fishing()
            self._trail = (about, trail_through(shown.boats(TRACKED), ground.origin_deg if ground else (0.0, 0.0)))
        return self._trail[1]

    def draw(self, grid: Grid) -> None:
        picture = self.watch_app.shown
        rows = self.free_rows
        if picture is None or grid.width < _LEAST[0] or rows < _LEAST[1]:
            return
        self.looking.take(picture)
        box = (0, 1, grid.width, rows - 2)
        plane = self.looking.plane(picture, box[2], box[3])
        self.controls.chart_view_m = plane.bounds_m
        shown = self._shown(picture, plane)
        paint(grid, box, shown, plane, self.controls.units, self.look)
        self._head(grid, picture, plane, shown)
        self._foot(grid, rows - 1, shown)

    def _shown(self, picture: Picture, plane: Plane) -> Shown:
        ground, made = picture.ground, shown_forecast(picture)
        if made is None and picture.ahead is not None and picture.ahead.forecasts:
            made = picture.ahead.forecasts[0]
        bed = None
        if ground is not None:
            view = View(plane.north_m, plane.east_m, plane.half_m)
            bed = self.charting.look(picture.trip, picture.t_s, ground, view)
        return Shown(
            ground=ground,
            rods=across_stern(picture.rods),
            trail=self.trail(picture),
            hits=struck(picture.hit_rows, ground.origin_deg) if ground is not None else (),
            bed=bed,
            ahead=made,
            ahead_from=self.looking.ground_at(picture.ahead.t_s) if picture.ahead is not None else None,
            by=self.looking.by,
            cursor=self.looking.centre_m is not None,
            ways=self._ways(),
            places=ground.places if ground is not None else (),
        )

    def _ways(self) -> tuple[Way, ...]:
        """The planned pass, or the ways of *again*; the one being steered is last, so that it is on top."""
        passing = self.controls.runner.passing
        if passing is not None and (way := passing.way_m) is not None:
            return (Way(way, True),)
        following = self.controls.runner.again
        if following is None or following.wanted is None or not isinstance(following.found, tuple):
            return ()
        chosen = following.chosen
        ways = [Way(one.over_ground_m, one is chosen, one.target.place_m) for one in following.found]
        return tuple(sorted(ways, key=lambda one: one.steered))

    def _head(self, grid: Grid, picture: Picture, plane: Plane, shown: Shown) -> None:
        """Which way is up, and the scale; for a chosen place its bearing, distance and depth."""
        bar = scale_bar(plane, self.controls.units, self.look, max(min(grid.width // 4, 24), 8))
        end = grid.put_right(grid.width - 1, 0, bar, "label")
        north = words.north(plane.up_deg, plain=self.look.glyphs == "plain")
        x = grid.put(1, 0, f"{north} ", "state") + 1
        for form in words.head(picture, self.looking, shown.bed, self.charting.trouble, self.controls.units):
            if x + len(form) < end - 1:
                grid.put(x, 0, form, "text")
                break

    def _foot(self, grid: Grid, y: int, shown: Shown) -> None:
        """The meaning of the bottom or the track."""
        made = track.bands(shown.trail, shown.by) if shown.by else None
        x = 1
        if made is not None:
            x = grid.put(x, y, f"track by {made.what} ", "label")
            told = track.legend(made, self.controls.units)
            # Dashes are told apart without ink only where the sample is long.
            wide = _LONG if x + sum(_LONG + 2 + len(text) for text in told) < grid.width else _SHORT
            for quarter, text in enumerate(told):
                if x + wide + 1 + len(text) > grid.width - 1:
                    break
                sample = Raster(wide, 1, self.look.glyphs)
                track.stroke(sample, np.array([[0.0, 0.5], [wide, 0.5]]), quarter)
                sample.stamp(grid, x, y)
                x = grid.put(x + wide + 1, y, text, "text") + 1
        elif shown.by:
            grid.put(x, y, f"track by {shown.by}: too little of it is known yet", "label")
        else:
            forms = words.bottom(shown.bed, self.controls.units, placed=shown.ground is not None)
            grid.put(1, y, next((form for form in forms if len(form) < grid.width - 1), ""), "label")


class ChartScreen(WatchScreen):
    """The chart's screen."""

    words = "CHART"
    foot = (
        ("arrows", "place"),
        ("PgUp PgDn", "zoom"),
        ("End", "track"),
        ("Tab", "turn"),
        ("Home", "follow"),
        ("Enter", "again"),
    )
    own_keys: ClassVar[tuple[str, ...]] = (
        "up", "down", "left", "right", "pageup", "pagedown", "home", "end", "tab", "enter",
    )  # fmt: skip

    def above(self) -> ComposeResult:
        yield WorstAlert(units=self.watch_app.controls.units)

    def body(self) -> ComposeResult:
        yield ChartBoard()

    def key(self, token: str) -> bool:
        board = self.query_one(ChartBoard)
        controls, now = self.watch_app.controls, self.watch_app.clock()
        if token == "enter":
            effect = acts.EFFECTS.get(AGAIN)
            if controls.chosen_place is None:
                controls.say("No place is chosen: the arrows choose one", now)
            elif effect is not None:
                effect(controls, now)
            else:
                controls.say(words.chosen(self.watch_app.shown, board.looking, controls.units), now)
            return True
        taken = board.looking.key(token)
        controls.chosen_place = board.looking.chosen_place
        controls.chosen_reach_m = board.looking.reach_m
        return taken
