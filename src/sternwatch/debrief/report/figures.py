"""The page's plots as SVG: the boat, one plot a rod, rates with their intervals, and the chart.

All but the wide chart are drawn for a phone's width; where there is more, they stand side by side.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, DateFormatter
from matplotlib.figure import Figure

from sternwatch.cautions import NOT_FOR_NAVIGATION
from sternwatch.debrief.counting.factors import Factor, words
from sternwatch.debrief.report.charted import Charted
from sternwatch.debrief.report.logged import legend
from sternwatch.debrief.report.model import Report
from sternwatch.debrief.report.plots import Series, boat_series, depth_series
from sternwatch.gear.values.units import Dimension, DisplaySystem, convert
from sternwatch.logbook.actions.place_acts import DANGERS
from sternwatch.watch.picture.stern import drawn_as

# A rod's hue and dash go by its key, as on the screen (`watch.picture.stern.drawn_as`); 4.5 to 1 against white.
_HUES = ("#1a4f9c", "#14703c", "#8a3a9c", "#4a5862")
_DASHES: tuple[Any, ...] = ("solid", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1.5, 2)))
_INK, _SOFT, _WARM = "#14202b", "#5a6b78", "#b34a12"
_SHADES = ("#eef2e6", "#dfebe6", "#cfe2e6", "#bcd6e2")  # the shoalest to the deepest
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


@dataclass(frozen=True, slots=True)
class Figured:
    """One plot as SVG. ``kind``: multiple (one of many, side by side), wide, or narrow, in its place on a phone."""

    svg: str
    caption: str
    kind: str = "multiple"


def figures(report: Report) -> Iterator[Figured]:
    """Every plot there is something to show in."""
    with matplotlib.rc_context(_STYLE):
        if report.digest.samples:
            yield Figured(_svg(_boat(report)), "Speed and surface temperature; the dashed line is the bottom.")
            yield from _depths(report)
            if (rates := _rates(report)) is not None:
                yield Figured(
                    _svg(rates), "Hits per rod-hour, with 90 % intervals; the dashed line is all rods together."
                )
        if report.chart is not None:
            for kind, size in (("wide", (9.0, 6.0)), ("narrow", (_NARROW, 4.4))):
                chart = _chart(report.chart, report.units, size, bottom=report.positions)
                yield Figured(_svg(chart), _caption(report), kind)


_NARROW = 4.4  # inches: 9 points on a phone are 9 points on paper


def _caption(report: Report) -> str:
    """What the chart shows. It gives the chart's place only where places may be shown."""
    text = "Track over ground to scale, north up, with the lure's place at each hit, marks and fish seen."
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


def _when(report: Report, times: Sequence[float]) -> list[Any]:
    offset = report.digest.utc_offset_s
    if offset is None:
        return [t / 60.0 for t in times]
    return [datetime.fromtimestamp(t + offset, report.zone) for t in times]


def _clocked(report: Report, axes: Axes) -> None:
    """Times under a plot: of day, or minutes where the feed has no clock."""
    if report.digest.utc_offset_s is None:
        axes.set_xlabel("minutes")
        return
    axes.xaxis.set_major_locator(AutoDateLocator(minticks=3, maxticks=6, tz=report.zone))  # type: ignore[no-untyped-call]
    axes.xaxis.set_major_formatter(DateFormatter("%H:%M", tz=report.zone))  # type: ignore[no-untyped-call]


def _boat(report: Report) -> Figure:
    """What all rods have in common."""
    units = report.units
    speed, surface, bottom = boat_series(report.digest)
    rows = [(speed, Dimension.SPEED, "speed", "solid"), (surface, Dimension.TEMPERATURE, "surface", "solid"),
            (bottom, Dimension.LENGTH, "bottom", "--")]  # fmt: skip
    known = [row for row in rows if any(value is not None for value in row[0].values)]
    figure = Figure(figsize=(_NARROW, 0.4 + 0.95 * max(len(known), 1)), layout="constrained")
    panels = np.atleast_1d(figure.subplots(max(len(known), 1), 1, sharex=True))
    for axes, (series, dimension, name, dash) in zip(panels, known, strict=False):
        axes.plot(_when(report, series.t_s), _values(series, dimension, units), color=_INK, lw=1.0, ls=dash)
        axes.set_ylabel(f"{name} {units.label(dimension)}")
        if dimension is Dimension.LENGTH:
            axes.invert_yaxis()
    _clocked(report, panels[-1])
    return figure


def _depths(report: Report) -> Iterator[Figured]:
    """One plot a rod: its lure's depth with its hits on it, all on one scale."""
    units, digest = report.units, report.digest
    every = [*depth_series(digest), *(one.series for one in report.logged)]
    deepest = max((max(known) for one in every if (known := [v for v in one.values if v is not None])), default=10.0)
    bottom = boat_series(digest)[2]
    reach = convert(deepest * 1.15, units.symbol(Dimension.LENGTH))
    for series in depth_series(digest):
        key = series.rod
        hue, dash = drawn_as(key)
        figure = Figure(figsize=(_NARROW, 1.8), layout="constrained")
        axes = figure.subplots()
        floor = _values(bottom, Dimension.LENGTH, units)
        axes.plot(_when(report, bottom.t_s), floor, color=_SOFT, lw=0.8, ls="--")
        for one in report.logged:
            if one.rod == key:
                axes.plot(
                    _when(report, one.series.t_s), _values(one.series, Dimension.LENGTH, units), lw=1.6, ls=":",
                    color=_INK, label=legend(one, units),
                )  # fmt: skip
                axes.legend(loc="lower right", frameon=False, fontsize=7)
        axes.plot(
            _when(report, series.t_s), _values(series, Dimension.LENGTH, units), lw=1.4,
            color=_HUES[hue], linestyle=_DASHES[dash],
        )  # fmt: skip
        mine = [hit for hit in digest.hits if hit.counts and hit.rod == key and hit.at_s is not None]
        for hit in mine:
            if hit.rod_row is not None and hit.rod_row.depth_m is not None and hit.at_s is not None:
                depth = convert(hit.rod_row.depth_m, units.symbol(Dimension.LENGTH))
                axes.plot(_when(report, [hit.at_s]), [depth], "o", color=_HUES[hue], ms=7, zorder=5)
        for alert in digest.alerts:
            if key in alert.keys:
                axes.axvline(_when(report, [alert.begun_s])[0], color=_WARM, lw=0.9, ls=":")
        count = f"   {len(mine)} hit{'s' * (len(mine) != 1)}" if mine else ""
        axes.set_title(f"{series.name}{count}", loc="left", fontsize=10, fontweight="bold", color=_HUES[hue])
        axes.set_ylim(reach, 0.0)
        axes.set_ylabel(f"depth {units.label(Dimension.LENGTH)}")
        _clocked(report, axes)
        yield Figured(_svg(figure), "")


def _rates(report: Report) -> Figure | None:
    rods = [c for c in report.producing.comparisons if c.value.factor is Factor.ROD and c.hours > 0]
    if not rods:
        return None
    figure = Figure(figsize=(_NARROW, 0.9 + 0.3 * len(rods)), layout="constrained")
    axes = figure.subplots()
    for i, one in enumerate(rods):
        rate = one.rate or 0.0
        low, high = one.rate_interval
        hue = _HUES[drawn_as(words(one.value, report.units).removeprefix("rod ").split(" ")[0])[0]]
        axes.plot([low, high], [i, i], color=_SOFT, lw=2, solid_capstyle="butt")
        axes.plot([rate], [i], "D" if one.found else "o", color=hue, ms=7 if one.found else 5, clip_on=False)
        axes.annotate(f"{one.hits} in {one.hours:.1f} h", (high, i), xytext=(6, -3), textcoords="offset points")
    total = report.producing
    axes.axvline(total.hits / total.hours, color=_INK, lw=0.8, ls="--")
    axes.set_yticks(range(len(rods)), [words(one.value, report.units).removeprefix("rod ") for one in rods])
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    axes.set_xlabel("hits per rod-hour")
    return figure


def _chart(chart: Charted, units: DisplaySystem, size: tuple[float, float], *, bottom: bool) -> Figure:
    """Track, hits, marks and fish seen in distances from the trip's first place, never degrees.

    ``bottom``: add contours from the soundings under the track. With them a place can be found on a public chart.
    """
    figure = Figure(figsize=size, layout="constrained")
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
    axes.plot(chart.trail.places_m[:, 1] * one, chart.trail.places_m[:, 0] * one, color=_SOFT, lw=1.0)
    for hit in chart.hits:
        hue = _HUES[drawn_as(hit.rod)[0]]
        axes.plot([hit.east_m * one], [hit.north_m * one], "o", color=hue, ms=7)
        axes.annotate(
            hit.rod, (hit.east_m * one, hit.north_m * one), xytext=(5, 4), textcoords="offset points", color=hue,
            fontweight="bold",
        )  # fmt: skip
    for place in chart.places:
        hue = _WARM if place.what in DANGERS else _INK
        at = (place.east_m * one, place.north_m * one)
        axes.plot(*([value] for value in at), "x" if place.what in DANGERS else "d", color=hue, ms=5)
        axes.annotate(place.what, at, xytext=(5, -9), textcoords="offset points", color=hue, fontsize=8)
    axes.set_aspect("equal")
    axes.margins(0.08)
    axes.annotate(
        "N", (0.03, 0.99), (0.03, 0.84), xycoords="axes fraction", textcoords="axes fraction", ha="center", va="top",
        fontweight="bold", color=_INK, arrowprops={"arrowstyle": "-|>", "color": _INK},
    )  # fmt: skip
    axes.set_xlabel(f"{units.label(Dimension.LENGTH)} east of the beginning")
    axes.set_ylabel(f"{units.label(Dimension.LENGTH)} north of it")
    return figure
