"""Depths that a logger on a line had, beside the logbook: for the debrief's timeline."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from sternwatch.debrief.report.plots import Series

FOLDER = "loggers"


def path_of(data_dir: Path, trip: str, rod: str, at: str) -> Path:
    """Where a logger's series of a trip lies."""
    safe = {"-": "minus", "=": "equals"}.get(rod, rod)
    return data_dir / FOLDER / f"{trip}-{safe}-{at}.csv"


def series_of(data_dir: Path, trip: str) -> tuple[Series, ...]:
    """The loggers' depths of a trip, by file; one that cannot be read is left out."""
    out = []
    for path in sorted((data_dir / FOLDER).glob(f"{trip}-*.csv")):
        try:
            rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
            t = tuple(float(row["feed_s"]) for row in rows)
            depths = tuple(float(row["depth_m"]) for row in rows)
        except (OSError, ValueError, KeyError, TypeError):
            continue
        key = path.stem.removeprefix(f"{trip}-").partition("-")[0]
        rod = {"minus": "-", "equals": "="}.get(key, key)
        out.append(Series(f"{rod} logged", t, depths))
    return tuple(out)
