"""A debrief for a terminal: plain lines that are clear without colours."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from sternwatch.cautions import NOT_FOR_NAVIGATION
from sternwatch.debrief.report.model import Report, Table
from sternwatch.debrief.report.plots import (
    Series,
    boat_series,
    chart_lines,
    depth_series,
    marks_line,
    sparkline,
)
from sternwatch.gear.values.units import Dimension, DisplaySystem

NAME = 12
RANGE = 16
TRACK_ROWS = 24


def text_of(report: Report, width: int = 100) -> str:
    """The whole debrief in lines of about ``width`` characters; tables of hits are wider."""
    return "\n".join(_lines(report, max(width, 60))) + "\n"


def _lines(report: Report, width: int) -> Iterator[str]:
    yield report.title
    yield "═" * len(report.title)
    for name, value in report.summary:
        yield f"{name:<{NAME}}{value}"
    yield ""
    yield from _headed("What produced")
    yield from report.lines
    yield ""
    yield f"For the radio: {report.radio}"
    yield ""
    yield from _timeline(report, width)
    yield from _track(report, width)
    for table in (report.hits, report.rates, report.alerts, report.separations, *report.extras):
        yield from _headed(table.title)
        yield from table_lines(table)
        yield from textwrap.wrap(table.note, width)
        yield ""
    if report.notes:
        yield from _headed("Notes")
        yield from report.notes
        yield ""
    yield report.caution


def _headed(title: str) -> Iterator[str]:
    yield title
    yield "─" * len(title)


def table_lines(table: Table) -> Iterator[str]:
    """A table without its empty columns; its sentence where it has no rows."""
    if not table.rows:
        yield table.empty
        return
    kept = [i for i in range(len(table.headings)) if any(row[i] not in ("", "–") for row in table.rows)]
    widths = {i: max(len(table.headings[i]), *(len(row[i]) for row in table.rows)) for i in kept}
    for row in (table.headings, *table.rows):
        cells = (row[i].rjust(widths[i]) if i in table.right else row[i].ljust(widths[i]) for i in kept)
        yield "  ".join(cells).rstrip()


def _timeline(report: Report, width: int) -> Iterator[str]:
    digest, units = report.digest, report.units
    if not digest.samples:
        return
    yield from _headed("Timeline")
    begin, end = digest.samples[0].boat.at_s, digest.samples[-1].boat.at_s
    columns = max(width - NAME - RANGE, 20)
    speed, surface, bottom = boat_series(digest)
    rows: list[tuple[Series, Dimension, int, bool]] = [
        (speed, Dimension.SPEED, 1, False),
        (surface, Dimension.TEMPERATURE, 0, False),
        (bottom, Dimension.LENGTH, 0, True),
        *((series, Dimension.LENGTH, 0, True) for series in depth_series(digest)),
        *((one.series, Dimension.LENGTH, 0, True) for one in report.logged),
    ]
    for series, dimension, digits, down in rows:
        known = [value for value in series.values if value is not None]
        if known:
            line = sparkline(series, begin, end, columns, down=down)
            yield f"{series.name:<{NAME}}{line} {_span(known, dimension, digits, units)}"
    hits = [(hit.at_s, hit.rod) for hit in digest.hits if hit.counts and hit.at_s is not None]
    alerts = [(alert.begun_s, "!") for alert in digest.alerts]
    for name, marks in (("hits", hits), ("alerts", alerts)):
        if marks or name == "hits":
            line = marks_line(marks, begin, end, columns)
            yield f"{name:<{NAME}}{line}{'  (+: several)' * ('+' in line)}".rstrip()
    minutes = (end - begin) / 60
    yield f"{'':<{NAME}}{'0':<{columns - 8}}{minutes:>4.0f} min"
    yield ""


def _span(known: list[float], dimension: Dimension, digits: int, units: DisplaySystem) -> str:
    low = units.show(min(known), dimension, digits, label=False)
    return f"{low}–{units.show(max(known), dimension, digits)}"


def _track(report: Report, width: int) -> Iterator[str]:
    if report.chart is None:
        return
    # Contours would let a reader find the place on a public chart.
    bottom = report.positions and bool(report.chart.bed.contours)
    lines, scale = chart_lines(report.chart, report.units, width - 2, TRACK_ROWS, bottom=bottom)
    yield from _headed("Chart, north up, hits by rod, marks, fish seen")
    if bottom:
        unit = report.units.label(Dimension.LENGTH)
        yield f"Dotted: contours in {unit} from the soundings under the track. {NOT_FOR_NAVIGATION}"
    yield from lines
    whole_m = report.units.round_m(16 * scale)  # eight characters or more, of two dots each
    yield f"├{'─' * (round(whole_m / (2 * scale)) - 2)}┤ {report.units.show(whole_m, Dimension.LENGTH)}"
    yield ""
