"""A logger's depths beside the computed ones, for the debrief's timeline."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sternwatch.debrief.logger.matching import Compared, beside, compared, rows_of
from sternwatch.debrief.logger.reading import Logged
from sternwatch.debrief.report.plots import Series
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.logbook.store.samples import Sample

FOLDER = "loggers"


@dataclass(frozen=True, slots=True)
class Overlay:
    """A logger's depths in feed time, and their comparison; empty where it was not at the lure."""

    rod: str
    at: str
    series: Series
    scores: tuple[Compared, ...]


def path_of(data_dir: Path, trip: str, rod: str, at: str) -> Path:
    """The path of a logger's series for a trip."""
    safe = {"-": "minus", "=": "equals"}.get(rod, rod)
    return data_dir / FOLDER / f"{trip}-{safe}-{at}.csv"


def overlays(data_dir: Path, trip: str, samples: Sequence[Sample]) -> tuple[Overlay, ...]:
    """The loggers of a trip from their files; an unreadable one is left out.

    Computed depths are those of lures, so a logger elsewhere on a line is drawn but not compared.
    """
    out = []
    for path in sorted((data_dir / FOLDER).glob(f"{trip}-*.csv")):
        try:
            rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
            t = tuple(float(row["feed_s"]) for row in rows)
            depths = tuple(float(row["depth_m"]) for row in rows)
        except (OSError, ValueError, KeyError, TypeError):
            continue
        if not t:
            continue
        key, _, at = path.stem.removeprefix(f"{trip}-").partition("-")
        rod = {"minus": "-", "equals": "="}.get(key, key)
        logged = Logged(np.array(t), np.array(depths), np.full(len(t), math.nan), None, ())
        scores = compared(beside(logged, 0.0, rows_of(samples, rod))) if at == "lure" else ()
        out.append(Overlay(rod, at, Series(f"{rod} logged", t, depths), scores))
    return tuple(out)


def score_rows(
    logged: Sequence[Overlay], units: DisplaySystem
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Headings and rows: the computed depths' error, its direction, and how often the interval held the logger's."""
    length = units.label(Dimension.LENGTH)
    headings = ("rod", "the line", "moments", f"off {length} rms", f"computed less logged {length}", "in 90 %")
    rows = []
    for one in logged:
        for score in one.scores:
            bias = units.show(abs(score.bias_m), Dimension.LENGTH, 1, label=False)
            rows.append((
                one.rod, {"all": "all ways"}.get(score.way, score.way), f"{score.moments}",
                units.show(score.rms_m, Dimension.LENGTH, 1, label=False),
                ("-" if score.bias_m < 0.0 and float(bias) else "") + bias,
                "–" if math.isnan(score.inside) else f"{100 * score.inside:.0f} %",
            ))  # fmt: skip
    return headings, tuple(rows)


def legend(one: Overlay, units: DisplaySystem) -> str:
    """ "6 logged", and below it "off 2.1 ft rms" and "88 % inside"."""
    if not one.scores:
        return one.series.name
    score = one.scores[0]
    held = "" if math.isnan(score.inside) else f"\n{100 * score.inside:.0f} % inside"
    return f"{one.series.name}\noff {units.show(score.rms_m, Dimension.LENGTH, 1)} rms{held}"
