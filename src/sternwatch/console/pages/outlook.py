"""The full outlook: tightest turns, slowest speed, pairs, advice, and every rod's coming minutes."""

from __future__ import annotations

import math
from typing import Any

from textual.app import ComposeResult

from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.helm.minute_strips import paint_strip, span_of
from sternwatch.console.helm.minutes import forecast_of
from sternwatch.console.helm.turn_line import LOOKING, NO_ROD, SEARCHING
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.words import outlook as said
from sternwatch.console.words import rods as words
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import Dimension
from sternwatch.local_time import m_ss
from sternwatch.watch.forecast.meeting_words import INDICATIVE, near_passes
from sternwatch.watch.forecast.turn_words import limit_words, risk_words
from sternwatch.watch.picture.model import Picture, RodState
from sternwatch.watch.picture.outlook import Forecast, Limits, Outlook, SideLimit, SpeedLimit

PAIRS = 5
_STRIP_ROWS = 9  # rows kept for the strips where there are few
_NARROWEST, _TALLEST = 9, 18  # least cells of one strip, with its name's row


class OutlookBoard(Painted):
    """Limits and pairs as lines, and the strips below them."""

    def __init__(self, *, mirrored: bool = False, above: AlertsArea | None = None, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.mirrored, self.above = mirrored, above

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        outlook = picture.ahead
        if outlook is None:
            out = any(rod.state is not RodState.IN for rod in picture.rods)
            grid.put(1, 1, LOOKING if out else NO_ROD, "label")
            if reach := said.reach_words(picture, self.units):
                grid.put(1, 2, f"For traffic astern: {reach}", "text")
            return
        made = forecast_of(picture)
        most = max(grid.height - _STRIP_ROWS, grid.height // 2)
        y = 0
        for forms, ink in self.lines(picture, outlook, made)[:most]:
            text = next((form for form in forms if len(form) <= grid.width - 2), forms[-1])
            for line in [text] if len(text) <= grid.width - 2 else wrapped(text, grid.width - 2, 2):
                grid.put(1, y, line, ink)
                y += 1
        if made is not None:
            self._minutes(grid, picture, made, y + (grid.height - y > 12), look)

    def lines(self, picture: Picture, outlook: Outlook, made: Forecast | None) -> list[tuple[words.Forms, str]]:
        """The lines as forms and ink, the most pressing first."""
        found: list[tuple[words.Forms, str]] = []
        if outlook.limits is None:
            found.append(((SEARCHING.capitalize() + ".",), "label"))
        else:
            found += self._limits(picture, outlook.limits)
        for one in outlook.forecasts:
            told = tuple(
                f"{said.name_of(one).capitalize()}: {form}" for form in said.outcome(one, picture, self.units)
            )
            found.append((told, "number" if one is made else "text"))
        if made is not None:
            found += self._pairs(picture, made)
        to = words.SIGNS[self.look.glyphs].to
        off_bottom = (cure for one in outlook.forecasts for touch in one.touches for cure in touch.advice)
        cures = (*outlook.advice, *off_bottom)
        above = self.above.told if self.above is not None else ""  # the bar says the advice of its alerts
        advised = dict.fromkeys(cure.text for cure in cures if cure.text not in above)
        found += [((f"{to} {text}",), "number") for text in advised]
        if made is not None and made.any_crossing:
            found.append((INDICATIVE, "label"))
        if reach := said.reach_words(picture, self.units):
            found.append(((f"For traffic astern: {reach}",), "text"))
        if made is not None:
            names = {rod.key: rod.name for rod in picture.rods}
            found += [((text,), "text") for text in near_passes(made, names, self.units)[: PAIRS - 1]]
        return found

    def _limits(self, picture: Picture, limits: Limits) -> list[tuple[words.Forms, str]]:
        slow, old = limits.slowest, words.span(max(picture.t_s - limits.t_s, 0.0))
        if slow.speed_m_s is None:
            text, ink = said.no_speed(slow).capitalize(), "caution"
        else:
            speed = self.units.show(slow.speed_m_s, Dimension.SPEED, 1)
            why = f"; slower, {_slowed(slow)}" if slow.limited_by else ", the slowest tried"
            text, ink = f"Slowest {speed}{why}", "text"
        sides = [(self._side(picture, side), "text") for side in (limits.port, limits.starboard)]
        risk = risk_words(limits.risk)
        return [*sides, ((f"{text} · {risk} each · worked out {old} ago", f"{text} · {risk} · {old} ago"), ink)]

    def _side(self, picture: Picture, limit: SideLimit) -> words.Forms:
        brief = text = limit_words(limit)
        if limit.radius_m is not None:
            text += f" · radius {self.units.show(limit.radius_m, Dimension.LENGTH)}"
        if limit.limited_by is None:
            return (text, brief)
        pair = said.pair_names(picture, limit.limited_by)
        short = f"tighter, {' and '.join(limit.limited_by)} touch"
        return (f"{text} · tighter, {pair} touch", f"{text} · {short}", f"{brief} · {short}")

    def _pairs(self, picture: Picture, made: Forecast) -> list[tuple[words.Forms, str]]:
        known = [pair for pair in made.pairs if pair.probability and pair is not made.worst]
        known.sort(key=lambda pair: -pair.known_probability)
        return [((f"  {said.pair_words(pair, picture, self.units)}",), "text") for pair in known[: PAIRS - 1]]

    def _minutes(self, grid: Grid, picture: Picture, made: Forecast, top: int, look: Look) -> None:
        """Paint the strips in the number of rows that makes them largest, all with one scale of depth and time."""
        rods = words.across_stern(picture.rods, mirrored=self.mirrored)
        forecasts = {rod.key: rod for rod in made.rods}
        shown = [rod for rod in rods if rod.key in forecasts]
        span = span_of([forecasts[rod.key] for rod in shown])
        if not shown or span is None:
            return
        if picture.bottom_m is not None and picture.bottom_m < 1.3 * span[1]:
            span = (span[0], max(span[1], 1.03 * picture.bottom_m))
        place = tiled(len(shown), grid.width - 2, grid.height - top - 1)
        if place is None:
            return
        per_row, width, height = place
        horizon = float(made.time_s[-1])
        unit = self.units.label(Dimension.LENGTH)
        grid.put(1, top, f"DEPTH {unit}, the next {m_ss(horizon)}, {said.name_of(made)}", "label")
        ends = [words.whole(depth, self.units) for depth in span]
        label = max(len(end) for end in ends) + 1
        for number, rod in enumerate(shown):
            x, y = 1 + number % per_row * width, top + 1 + number // per_row * height
            found = forecasts[rod.key]
            least, most = (words.whole(depth, self.units) for depth in (found.depth_min_m, found.depth_max_m))
            at = grid.put_right(x + width - 1, y, least if least == most else f"{least}–{most}", "text")
            name = next(form for form in (f" {rod.key} {rod.name} ", f" {rod.key} ", "") if x + len(form) < at)
            grid.put(x, y, name, "chosen" if rod.chosen else "name")
            body = height - 1
            grid.put(x, y + 1, ends[0].rjust(label - 1), "label")
            if body > 1:
                grid.put(x, y + body, ends[1].rjust(label - 1), "label")
            if not name and body > 2:  # between the scale's ends, where the head has no room
                grid.put_right(x + label - 1, y + 2, f" {rod.key} ", "chosen" if rod.chosen else "name")
            box = (x + label, y + 1, width - label - 1, body)
            paint_strip(grid, box, found, made.time_s, horizon, span, look, picture.bottom_m)


def _slowed(slow: SpeedLimit) -> str:
    """What happens at a slower speed: "5 touches bottom", "2 and 3 touch"."""
    keys = ", ".join(slow.keys[:-1]) + (" and " if len(slow.keys) > 1 else "") + "".join(slow.keys[-1:])
    if slow.limited_by == "bottom":
        return f"{keys} touch{'' if len(slow.keys) > 1 else 'es'} bottom"
    return f"{keys} touch"


def tiled(count: int, width: int, height: int) -> tuple[int, int, int] | None:
    """Strips per row, and each strip's cells across and down with its name's row; None without room."""
    tried = []
    for per_row in range(1, count + 1):
        across, down = width // per_row, min(height // math.ceil(count / per_row), _TALLEST)
        if across >= _NARROWEST and down >= 2:
            tried.append((min(across / 3.0, down), down, across, (per_row, across, down)))
    return max(tried)[-1] if tried else None


class OutlookScreen(WatchScreen):
    """The outlook screen."""

    words = "OUTLOOK"

    def body(self) -> ComposeResult:
        units = self.watch_app.controls.units
        alerts = AlertsArea(units=units)
        yield alerts
        yield OutlookBoard(units=units, mirrored=self.watch_app.preferences.mirror, above=alerts)
