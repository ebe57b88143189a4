"""What a debrief holds, as words and numbers: the page, the terminal and the screen show the same."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from sternwatch.cautions import COMPUTED
from sternwatch.debrief.counting.producing import Producing
from sternwatch.debrief.report.charted import Charted
from sternwatch.debrief.report.logged import Overlay
from sternwatch.debrief.trip.digest import Digest
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.local_time import m_ss


@dataclass(frozen=True, slots=True)
class Clock:
    """Shows feed time as a time of day, or as minutes from the beginning where the feed has no clock."""

    digest: Digest
    zone: tzinfo

    def at(self, t_s: float | None) -> str:
        if t_s is None:
            return "–"
        if self.digest.utc_offset_s is None:
            return m_ss(t_s)
        return self.utc(t_s + self.digest.utc_offset_s)

    def utc(self, unix_s: float) -> str:
        return f"{datetime.fromtimestamp(unix_s, self.zone):%H:%M:%S}"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text under headings; ``right``: columns of numbers."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()
    empty: str = ""  # the sentence shown where there are no rows
    note: str = ""  # what its columns mean, where that is not plain


@dataclass(frozen=True, slots=True)
class Report:
    """All contents of a debrief."""

    title: str
    summary: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]  # the table of what produced
    radio: str
    hits: Table
    rates: Table
    alerts: Table
    separations: Table
    notes: tuple[str, ...]
    producing: Producing
    digest: Digest
    clock: Clock
    zone: tzinfo
    units: DisplaySystem
    positions: bool
    caution: str = COMPUTED
    chart: Charted | None = None  # None: no place was recorded
    beside: Table | None = None  # the same trip with another spread or calibration
    practised: Mapping[str, Any] | None = None  # a practice session's result from the logbook
    truth: Table | None = None  # for a practice session: computed against true depths
    logged: tuple[Overlay, ...] = ()  # depths from loggers on the lines
    log_scores: Table | None = None  # their comparison with the computed depths
    touches: Table | None = None  # touches of rods fished on the bottom; None: no rod was

    @property
    def extras(self) -> tuple[Table, ...]:
        """The tables that only some trips have."""
        every = (self.touches, self.log_scores, self.beside, self.truth)
        return tuple(table for table in every if table is not None)
