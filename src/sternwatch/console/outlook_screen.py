"""The outlook in full: how tight, how slow, which pairs, what to do, and every rod's coming minutes."""

from __future__ import annotations

import math
from typing import Any

from textual.app import ComposeResult

from sternwatch.console import outlook_words as said
from sternwatch.console import rod_words as words
from sternwatch.console.alerts_area import AlertsArea
from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.console.minutes import forecast_of
from sternwatch.console.notices import wrapped
from sternwatch.console.strips import paint_strip, span_of
from sternwatch.console.turn_line import LOOKING, NO_ROD, SEARCHING
from sternwatch.console.watch_screen import WatchScreen
from sternwatch.gear.units import Dimension
from sternwatch.watch.outlook import Forecast, Limits, Outlook, SideLimit
from sternwatch.watch.picture import Picture, RodState
from sternwatch.watch.turn_limit import clock, limit_words

PAIRS = 5
_STRIP = 24  # cells that a strip would like
_LEAST_STRIP_ROWS = 3


class OutlookBoard(Painted):
    """Limits and pairs as lines, and the strips beneath them."""

    def __init__(self, *, mirrored: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.mirrored = mirrored

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        outlook = picture.ahead
        if outlook is None:
            out = any(rod.state is not RodState.IN for rod in picture.rods)
            grid.put(1, 1, LOOKING if out else NO_ROD, "label")
            return
        made = forecast_of(picture)
        y = 0
        for text, ink in self.lines(picture, outlook, made):
            for line in wrapped(text, grid.width - 2, 2):
                grid.put(1, y, line, ink)
                y += 1
            if y >= grid.height - _LEAST_STRIP_ROWS - 2:
                break
        if made is not None:
            self._minutes(grid, picture, made, y + (grid.height - y > 12), look)

    def lines(self, picture: Picture, outlook: Outlook, made: Forecast | None) -> list[tuple[str, str]]:
        """What is said, the most pressing first, each with its ink."""
        found: list[tuple[str, str]] = []
        if outlook.limits is None:
            found.append((SEARCHING.capitalize() + ".", "label"))
        else:
            found += self._limits(picture, outlook.limits)
        if reach := said.reach_words(picture, self.units):
            found.append((f"For traffic astern: {reach}", "text"))
        for one in outlook.forecasts:
            ink = "number" if one is made else "text"
            found.append((f"{said.name_of(one).capitalize()}: {said.outcome(one, picture, self.units)}", ink))
        if outlook.advice:
            found += [(f"→ {one.text}" if self.look.glyphs != "plain" else f"> {one.text}", "number")
                      for one in outlook.advice]  # fmt: skip
        if made is not None:
            found += self._pairs(picture, made)
        return found

    def _limits(self, picture: Picture, limits: Limits) -> list[tuple[str, str]]:
        slow = limits.slowest
        found = [(self._side(picture, side), "text") for side in (limits.port, limits.starboard)]
        if slow.speed_m_s is None:
            found.append(("No speed tried keeps the risk", "caution"))
        else:
            speed = self.units.show(slow.speed_m_s, Dimension.SPEED, 1)
            why = f"; slower, {slow.limited_by}: {' '.join(slow.keys)}" if slow.limited_by else ", the slowest tried"
            found.append((f"Slowest {speed}{why}", "text"))
        old = words.ago(max(picture.t_s - limits.t_s, 0.0))
        found.append((f"Limits of {old} ago: at most one member in sixteen crosses", "label"))
        return found

    def _side(self, picture: Picture, limit: SideLimit) -> str:
        text = limit_words(limit)
        if limit.radius_m is not None:
            text += f" · radius {self.units.show(limit.radius_m, Dimension.LENGTH)}"
        if limit.limited_by is not None:
            text += f" · tighter, {said.pair_names(picture, limit.limited_by)} cross"
        return text

    def _pairs(self, picture: Picture, made: Forecast) -> list[tuple[str, str]]:
        known = [pair for pair in made.pairs if pair.probability and pair is not made.worst]
        known.sort(key=lambda pair: -(pair.probability or 0.0))
        return [(f"  {said.pair_words(pair, picture, self.units)}", "text") for pair in known[: PAIRS - 1]]

    def _minutes(self, grid: Grid, picture: Picture, made: Forecast, top: int, look: Look) -> None:
        """As many strips beside each other as are wide enough, all on one scale of depth and time."""
        rods = words.across_stern(picture.rods, mirrored=self.mirrored)
        forecasts = {rod.key: rod for rod in made.rods}
        shown = [rod for rod in rods if rod.key in forecasts]
        span = span_of([forecasts[rod.key] for rod in shown])
        if not shown or span is None:
            return
        if picture.bottom_m is not None and picture.bottom_m < 1.3 * span[1]:
            span = (span[0], max(span[1], 1.03 * picture.bottom_m))
        per_row = max(min(len(shown), (grid.width - 2) // _STRIP), 1)
        room = grid.height - top - 1
        while per_row < len(shown) and room // math.ceil(len(shown) / per_row) < _LEAST_STRIP_ROWS + 1:
            per_row += 1
        rows = math.ceil(len(shown) / per_row)
        height, width = min(room // rows, 12), (grid.width - 2) // per_row
        if height < 2 or width < 8:
            return
        horizon = float(made.time_s[-1])
        unit = self.units.label(Dimension.LENGTH)
        head = f"DEPTH {unit}, the next {clock(horizon)}, {said.name_of(made)}"
        grid.put(1, top, head, "label")
        ends = [words.whole(depth, self.units) for depth in span]
        label = max(len(end) for end in ends) + 1
        for number, rod in enumerate(shown):
            x, y = 1 + number % per_row * width, top + 1 + number // per_row * height
            found = forecasts[rod.key]
            grid.put(x, y, f" {rod.key} {rod.name} "[: width - 1], "chosen" if rod.chosen else "name")
            grid.put_right(x + width - 1, y, f"{words.whole(found.depth_min_m, self.units)}–"
                           f"{words.whole(found.depth_max_m, self.units)}", "text")  # fmt: skip
            body = height - 1
            if body > 1:
                grid.put(x, y + 1, ends[0].rjust(label - 1), "label")
                grid.put(x, y + body, ends[1].rjust(label - 1), "label")
            box = (x + label, y + 1, width - label - 1, body)
            paint_strip(grid, box, found, made.time_s, horizon, span, look, picture.bottom_m)


class OutlookScreen(WatchScreen):
    """The outlook screen."""

    words = "OUTLOOK"

    def body(self) -> ComposeResult:
        units = self.watch_app.desk.units
        yield AlertsArea(units=units)
        yield OutlookBoard(units=units, mirrored=self.watch_app.preferences.mirror)
