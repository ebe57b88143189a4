"""Turns a logger's data into entries of the trip, and keeps its series beside the logbook for the timeline."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import numpy as np

from sternwatch.debrief.logger.matching import Beside, profile
from sternwatch.debrief.logger.reading import Logged
from sternwatch.files import write_whole
from sternwatch.logbook.actions.kinds import Action, Gauge
from sternwatch.logbook.actions.observing_acts import Observed

EVERY_S = 10.0
At = Literal["lure", "device", "ball"]


def entries(
    logged: Logged, offset_s: float, seen: Sequence[Beside], *, rod: str, at: At, utc_offset_s: float | None,
    begun: datetime, error_m: float | None,
) -> tuple[Action, ...]:  # fmt: skip
    """The logger's observations, and its temperatures by layer. The same file makes the same ids."""
    print_of = hashlib.blake2s(logged.t_s.tobytes() + logged.depth_m.tobytes(), digest_size=5).hexdigest()

    def when(t_s: float) -> datetime:
        return datetime.fromtimestamp(t_s + (utc_offset_s if utc_offset_s is not None else begun.timestamp()), UTC)

    out: list[Action] = []
    for number, one in enumerate(seen):
        out.append(
            Observed(
                id=f"logger-{print_of}-{rod}-{number}", time=when(one.t_s), elapsed_s=one.t_s, rod=rod, what="logger",
                at=at, depth_m=round(one.logged_m, 2), error_m=error_m,
            )
        )  # fmt: skip
    for number, (depth, warmth, t_s) in enumerate(profile(logged)):
        if t_s + offset_s >= 0.0 and -2.0 <= warmth <= 40.0:
            out.append(
                Gauge(
                    id=f"logger-{print_of}-t{number}", time=when(t_s + offset_s), elapsed_s=t_s + offset_s,
                    depth_m=round(depth, 1), temperature_c=round(warmth, 2),
                )
            )  # fmt: skip
    return tuple(out)


def keep_series(path: Path, logged: Logged, offset_s: float) -> None:
    """Keep every tenth second of the series, in feed time. Raises OSError."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(["feed_s", "depth_m", "temperature_c"])
    for t in np.arange(0.0, float(logged.t_s[-1]) + 1.0, EVERY_S):
        depth = float(np.interp(t, logged.t_s, logged.depth_m))
        warmth = float(np.interp(t, logged.t_s, logged.temperature_c))
        rows.writerow([f"{t + offset_s:.0f}", f"{depth:.2f}", "" if np.isnan(warmth) else f"{warmth:.2f}"])
    write_whole(path, text.getvalue(), keep=True)
