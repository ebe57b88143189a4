"""The page's plots as SVG: timeline, rates with their intervals, and the chart."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import matplotlib
import numpy as np
from matplotlib.dates import DateFormatter
from matplotlib.figure import Figure

from sternwatch.cautions import NOT_FOR_NAVIGATION
from sternwatch.debrief.counting.factors import Factor, words
from sternwatch.debrief.report.charted import Charted
from sternwatch.debrief.report.logged import legend
from sternwatch.debrief.report.plots import Series, boat_series, depth_series, temperature_series
from sternwatch.debrief.report.prepared import Report
from sternwatch.gear.values.units import Dimension, DisplaySystem, convert

# Each colour has at least 3.5 to 1 against white paper. Dashes, not colours, distinguish the curves.
_COLOURS = ("#1a5c94", "#b34a12", "#1c7a58", "#9c4c84", "#3a87b5", "#8a6a08", "#141414", "#707070")
_DASHES = ("solid", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1.5, 2)))
_SHADES = ("#eef2e6", "#dfebe6", "#cfe2e6", "#bcd6e2")  # from the shoalest to the deepest
_CONTOUR = "#6a4719"
_STYLE: Any = {
    "svg.fonttype": "path",
    "svg.hashsalt": "sternwatch",  # makes the same plot the same bytes
    "font.size": 9,
    "font.family": "DejaVu Sans",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.color": "#d5dde3",
    "axes.edgecolor": "#5a6b78",
}


def figures(report: Report) -> Iterator[tuple[str, str]]:
    """(SVG, caption) for every plot that has something to show."""
    with matplotlib.rc_context(_STYLE):
        if report.digest.samples:
            yield (
                _svg(_timeline(report)),
                "Speed, depths of the lures with the hits on them, temperatures and bottom.",
            )
            rates = _rates(report)
            if rates is not None:
                yield (
                    _svg(rates),
                    "Hits per rod-hour of each rod, with 90 % intervals; the line is all rods together.",
                )
        if report.chart is not None:
            yield _svg(_chart(report.chart, report.units, bottom=report.positions)), _caption(report)


def _caption(report: Report) -> str:
    """What the chart shows. It gives the chart's place only where places may be shown."""
    text = "Track over ground to scale, north up, with the lure's place at each hit."
    if report.positions and report.chart is not None:
        latitude, longitude = report.chart.origin_deg
        text += f" Contours are from its soundings. It begins at {latitude:.5f} {longitude:.5f}."
    return f"{text} {NOT_FOR_NAVIGATION}"


def _svg(figure: Figure) -> str:
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None}, bbox_inches="tight")
    text = out.getvalue()
    return re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", text[text.index("<svg") :], count=1).replace(
        ' height="', ' data-height="', 1
    )


def _values(series: Series, dimension: Dimension, units: DisplaySystem) -> list[float]:
    symbol = units.symbol(dimension)
    return [math.nan if value is None else convert(value, symbol) for value in series.values]


def _timeline(report: Report) -> Figure:
    digest, units = report.digest, report.units
    offset = digest.utc_offset_s
    figure = Figure(figsize=(9.0, 6.4), layout="constrained")
    top, middle, low = figure.subplots(3, 1, sharex=True, height_ratios=(1, 3, 1.2))

    def when(times: tuple[float, ...] | list[float]) -> list[Any]:
        if offset is None:
            return [t / 60.0 for t in times]
        return [datetime.fromtimestamp(t + offset, report.zone) for t in times]

    speed, surface, bottom = boat_series(digest)
    top.plot(when(speed.t_s), _values(speed, Dimension.SPEED, units), color=_COLOURS[0], lw=1.0)
    top.set_ylabel(f"speed {units.label(Dimension.SPEED)}")
    for i, series in enumerate(depth_series(digest)):
        middle.plot(
            when(series.t_s), _values(series, Dimension.LENGTH, units), lw=1.0, label=series.name,
            color=_COLOURS[i % len(_COLOURS)], linestyle=_DASHES[(i // 2) % len(_DASHES)],
        )  # fmt: skip
    for one in report.logged:
        middle.plot(
            when(one.series.t_s), _values(one.series, Dimension.LENGTH, units), lw=1.6, ls=":", color="#14202b",
            label=legend(one, units),
        )  # fmt: skip
    for hit in digest.hits:
        if hit.counts and hit.at_s is not None and hit.rod_row is not None and hit.rod_row.depth_m is not None:
            depth = convert(hit.rod_row.depth_m, units.symbol(Dimension.LENGTH))
            at = when([hit.at_s])[0]
            middle.plot([at], [depth], "o", color="#14202b", ms=6, zorder=5)
            middle.annotate(hit.rod, (at, depth), xytext=(5, 4), textcoords="offset points", fontsize=9, zorder=6)
    for alert in digest.alerts:
        middle.axvline(when([alert.begun_s])[0], color=_COLOURS[1], lw=0.8, ls=":")
    middle.invert_yaxis()
    middle.set_ylabel(f"depth {units.label(Dimension.LENGTH)}")
    if middle.lines:
        middle.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=8)
    for series in temperature_series(digest):
        low.plot(when(series.t_s), _values(series, Dimension.TEMPERATURE, units), color=_COLOURS[7], lw=0.5)
    low.plot(when(surface.t_s), _values(surface, Dimension.TEMPERATURE, units), color=_COLOURS[1], lw=1.0)
    low.set_ylabel(f"surface {units.label(Dimension.TEMPERATURE)}\n(thin: at lures)")
    if any(value is not None for value in bottom.values):
        under = low.twinx()
        under.plot(when(bottom.t_s), _values(bottom, Dimension.LENGTH, units), color="#5a6b78", lw=1.0, ls="--")
        under.set_ylabel(f"bottom {units.label(Dimension.LENGTH)} (dashed)")
        under.invert_yaxis()
        under.grid(visible=False)
    if offset is None:
        low.set_xlabel("minutes")
    else:
        low.xaxis.set_major_formatter(DateFormatter("%H:%M", tz=report.zone))  # type: ignore[no-untyped-call]
    return figure


def _rates(report: Report) -> Figure | None:
    rods = [c for c in report.producing.comparisons if c.value.factor is Factor.ROD and c.hours > 0]
    if not rods:
        return None
    figure = Figure(figsize=(9.0, 0.9 + 0.34 * len(rods)), layout="constrained")
    axes = figure.subplots()
    for i, one in enumerate(rods):
        rate = one.rate or 0.0
        low, high = one.rate_interval
        axes.plot([low, high], [i, i], color="#5a6b78", lw=2, solid_capstyle="butt")
        axes.plot([rate], [i], "D" if one.found else "o", color="#0b5c7a", ms=7 if one.found else 5, clip_on=False)
        axes.annotate(f"{one.hits} in {one.hours:.1f} h", (high, i), xytext=(6, -3), textcoords="offset points")
    total = report.producing
    axes.axvline(total.hits / total.hours, color="#14202b", lw=0.8, ls="--")
    axes.set_yticks(range(len(rods)), [words(one.value, report.units).removeprefix("rod ") for one in rods])
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    axes.set_xlabel("hits per rod-hour")
    return figure


def _chart(chart: Charted, units: DisplaySystem, *, bottom: bool) -> Figure:
    """Track and hits by distance from the trip's first place, never in degrees.

    ``bottom``: add contours from the soundings under the track. With them a place can be found on a public chart.
    """
    figure = Figure(figsize=(9.0, 6.0), layout="constrained")
    axes = figure.subplots()
    one = convert(1.0, units.symbol(Dimension.LENGTH))
    found = chart.bed
    contours = found.contours if bottom else ()
    if contours:
        axes.contourf(
            found.window.easts_m * one, found.window.norths_m * one, np.ma.masked_invalid(found.depth_m),
            levels=[0.0, *found.bands_m, 1e5], colors=_SHADES[-len(found.bands_m) - 1 :],
        )  # fmt: skip
    for contour in contours:
        axes.plot(contour.points_m[:, 1] * one, contour.points_m[:, 0] * one, color=_CONTOUR, lw=0.6)
        north, east = contour.points_m[len(contour.points_m) // 2] * one
        axes.text(east, north, f"{contour.depth_m * one:.0f}", color=_CONTOUR, fontsize=7, ha="center", clip_on=True)
    axes.plot(chart.trail.places_m[:, 1] * one, chart.trail.places_m[:, 0] * one, color="#0b5c7a", lw=1.0)
    for hit in chart.hits:
        axes.plot([hit.east_m * one], [hit.north_m * one], "o", color=_COLOURS[1], ms=5)
        axes.annotate(hit.rod, (hit.east_m * one, hit.north_m * one), xytext=(4, 4), textcoords="offset points")
    axes.set_aspect("equal")
    axes.set_xlabel(f"{units.label(Dimension.LENGTH)} east of the beginning")
    axes.set_ylabel("north")
    return figure
