"""Paints the debrief's plots in cells: the timeline over the whole trip, and the chart to scale."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from sternwatch.cautions import NOT_FOR_NAVIGATION
from sternwatch.console.chart.drawing import Shown, paint
from sternwatch.console.chart.plane import CELL, Plane
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.plot_axes import AXIS, NAMES, Box, Panel
from sternwatch.console.paint.raster import line_ink
from sternwatch.console.words import rods as words
from sternwatch.debrief.report.plots import boat_series, depth_series, temperature_series
from sternwatch.gear.values.units import Dimension

if TYPE_CHECKING:
    from sternwatch.debrief.report.model import Report

_STEPS_S = (300, 600, 900, 1800, 3600, 7200, 10800, 21600)
NO_ROOM = "There is no room to draw in."
NOTHING = "No fishing time was recorded: there is nothing to draw."
NO_TRACK = "No place was recorded: there is no track."


def paint_timeline(grid: Grid, box: Box, report: Report, look: Look, chosen: str | None) -> None:
    """Paint speed, depths of the lures with their hits, temperatures, and the moments of hits and alerts."""
    left, top, width, height = box
    samples = report.digest.samples
    if not samples or width < AXIS + 20 or height < 9:
        grid.put(left + 1, top, NOTHING if not samples else NO_ROOM, "label")
        return
    begin, end = samples[0].boat.at_s, max(samples[-1].boat.at_s, samples[0].boat.at_s + 1.0)
    speed, surface, _ = boat_series(report.digest)
    warm = temperature_series(report.digest)
    rest = height - 3  # one row each for hits, alerts and hours
    rows = max(rest // 5, 2)
    inner = (left + AXIS, width - AXIS - NAMES)
    units = report.units

    # Speed.
    panel = Panel(grid, (*inner, top, rows), (begin, end), units, look)
    panel.scale([speed], Dimension.SPEED, 1, "speed")
    panel.curve(speed, "number")
    panel.done()
    y = top + rows
    deep_rows, each = rest - 2 * rows, depth_series(report.digest)
    if each and deep_rows >= ROWS_EACH * len(each):
        _each_depth(grid, (*inner, y, deep_rows), report, look, chosen)
    else:
        _depths(Panel(grid, (*inner, y, deep_rows), (begin, end), units, look), report, chosen)
    # Temperatures: the surface as a line, at the lures in dots.
    y += rest - 2 * rows
    warmth = Panel(grid, (*inner, y, rows), (begin, end), units, look)
    warmth.scale([surface, *warm], Dimension.TEMPERATURE, 0, "water")
    for series in warm:
        warmth.curve(series, "label", dotted=True)
    warmth.curve(surface, "number")
    warmth.done()
    y += rows
    _moments(grid, panel, report, left, y, words.SIGNS[look.glyphs].fish)
    _hours(grid, panel, report, (begin, end), y + 2)


ROWS_EACH = 2  # of cells, from which every rod's depth has axes of its own


def _each_depth(grid: Grid, box: Box, report: Report, look: Look, chosen: str | None) -> None:
    """Small axes alike for every rod, one beneath the other: its lure's depth with its hits on it."""
    left, width, top, height = box
    samples, every = report.digest.samples, depth_series(report.digest)
    span = samples[0].boat.at_s, max(samples[-1].boat.at_s, samples[0].boat.at_s + 1.0)
    deepest = max((max(known) for one in every if (known := [v for v in one.values if v is not None])), default=6.0)
    rows = height // len(every)
    for number, series in enumerate(every):
        key = series.rod
        y = top + number * rows
        panel = Panel(grid, (left, width, y, rows), span, report.units, look)
        panel.low, panel.high, panel.down = 0.0, deepest * 1.05, True
        grid.put(left - AXIS, y, series.name[: AXIS - 1], "chosen" if key == chosen else "name")
        scale = f"to {report.units.show(panel.high, Dimension.LENGTH, 0)}"
        grid.put_right(left - 1, y + rows - 1, scale, "label")
        panel.curve(series, *line_ink(key), heavy=key == chosen)
        panel.done()
        for hit in report.digest.hits:
            if hit.rod == key and hit.counts and hit.at_s is not None and hit.rod_row is not None:
                panel.mark(hit.at_s, hit.rod_row.depth_m, words.SIGNS[look.glyphs].hit, "fish")


def _depths(deep: Panel, report: Report, chosen: str | None) -> None:
    """Paint the depths of the lures with their hits, the chosen rod's on top, and the bottom where it is near."""
    bottom = boat_series(report.digest)[2]
    depths = depth_series(report.digest)
    deep.scale(depths, Dimension.LENGTH, 0, "depth", down=True, also=bottom)
    deep.curve(bottom, "bottom")
    mine = [series for series in depths if series.rod == chosen]
    for series in (*(one for one in depths if one not in mine), *mine):
        deep.curve(series, *line_ink(series.rod), heavy=series in mine)
    deep.done()
    deep.names(depths)
    for hit in report.digest.hits:
        if hit.counts and hit.at_s is not None and hit.rod_row is not None:
            deep.mark(hit.at_s, hit.rod_row.depth_m, hit.rod, "fish")


def _moments(grid: Grid, panel: Panel, report: Report, left: int, y: int, sign: str) -> None:
    """Paint a row of hits and a row of alerts. ``sign`` marks a hit on an unknown rod."""
    begin, end = panel.begin, panel.end
    grid.put(left, y, "hits", "label")
    for hit in report.digest.hits:
        if hit.counts and hit.at_s is not None and begin <= hit.at_s <= end:
            grid.put(panel.column(hit.at_s), y, hit.rod or sign, "fish")
    grid.put(left, y + 1, "alerts", "label")
    for alert in report.digest.alerts:
        if begin <= alert.begun_s <= end:
            grid.put(panel.column(alert.begun_s), y + 1, "!", alert.priority)


def _hours(grid: Grid, panel: Panel, report: Report, span_s: tuple[float, float], y: int) -> None:
    """Write times of day under the axes, as many as do not overlap; minutes where the feed has no clock."""
    begin, end = span_s
    step = next((s for s in _STEPS_S if (end - begin) / s * 8 <= panel.width), _STEPS_S[-1])
    clock = report.digest.utc_offset_s
    ahead = 0.0 if clock is None else clock + (report.zone.utcoffset(None) or timedelta()).total_seconds()
    t = math.ceil((begin + ahead) / step) * step - ahead
    while t <= end:
        text = report.clock.at(t) if clock is None else report.clock.at(t)[:5]
        x = panel.column(t)
        if x + len(text) <= panel.left + panel.width + NAMES:
            grid.put(x, y, text, "label")
        t += step


def paint_chart(grid: Grid, box: Box, report: Report, look: Look) -> None:
    """Paint the trip's chart, north up and to scale, with hits at the lure's place; positions only where allowed."""
    left, top, width, height = box
    chart = report.chart
    if chart is None or width < 20 or height < 4:
        grid.put(left + 1, top, NO_TRACK if chart is None else NO_ROOM, "label")
        return
    south, west, north, east = chart.bounds_m
    rows = height - 1  # the last row is the scale's
    per_column_m = max((east - west) / (width - 2), (north - south) / (CELL * (rows - 1)), 0.5)
    plane = Plane(width, rows, (south + north) / 2.0, (west + east) / 2.0, per_column_m)
    first, last = chart.trail.places_m[0].tolist(), chart.trail.places_m[-1].tolist()
    notes = ((*first, "begin"), (*last, "end"))
    shown = Shown(None, (), chart.trail, chart.hits, chart.bed, notes=notes, places=chart.places)
    paint(grid, (left, top, width, rows), shown, plane, report.units, look)
    _scale(grid, (left, top + rows, width, 1), per_column_m, report)


def _scale(grid: Grid, box: Box, per_cell_m: float, report: Report) -> None:
    """Write a scale in the crew's unit, north, and the place of the beginning if places may be shown."""
    left, y, width, _ = box
    whole_m = report.units.round_m(8 * per_cell_m)
    cells = max(round(whole_m / per_cell_m), 2)
    grid.put(left + 1, y, f"|{'-' * (cells - 2)}|", "label")
    sounded = report.chart is not None and report.chart.bed.contours
    deep = f" · contours in {report.units.label(Dimension.LENGTH)}" if sounded else ""
    text = f"{report.units.show(whole_m, Dimension.LENGTH)} · north is up{deep} · {NOT_FOR_NAVIGATION}"
    grid.put(left + 2 + cells, y, text[: max(width - cells - 3, 0)], "label")
    if report.positions and report.chart is not None:
        latitude, longitude = report.chart.origin_deg
        grid.put(left + 1, y - 1, f"begin {latitude:.5f} {longitude:.5f}", "text")
