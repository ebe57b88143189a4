"""Stores what a running watch makes besides the crew's entries: its own entries, samples, hits' moments."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sternwatch.logbook.store.logbook import Logbook, LogbookError
from sternwatch.logbook.store.samples import HitRow, Sample, hits_of, keep_hit, keep_samples, samples_of
from sternwatch.logbook.store.soundings import Charted, keep_soundings
from sternwatch.logbook.store.trips import trip_no
from sternwatch.watch.bottom.soundings import local_degrees
from sternwatch.watch.picture.model import Session

# Number of soundings that are handed over together.
SOUNDINGS_AT_ONCE = 10

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch


class Keeper:
    """Stores one session's rows. The session's thread calls ``keep`` after steps; it never blocks.

    Rows follow from feed and actions. A debrief makes those again that the logbook could not take.
    """

    def __init__(self, logbook: Logbook, trip_id: str) -> None:
        self._logbook, self._trip = logbook, trip_id
        self._samples = self._soundings = 0
        self._rows: tuple[HitRow, ...] = ()

    def resume(self, watch: Watch) -> None:
        """Give the watch what is stored of the trip so far."""
        samples: list[Sample] = []
        hits: list[HitRow] = []

        def read(connection: sqlite3.Connection) -> None:
            number = trip_no(connection, self._trip)
            if number is not None:
                samples.extend(samples_of(connection, number))
                hits.extend(hits_of(connection, number))

        with contextlib.suppress(LogbookError):  # the logbook reports it; the watch goes on without them
            self._logbook.derive(read).result()
        watch.resume(samples, hits)
        self._samples, self._rows = len(watch.memory.fishing), watch.memory.hits.rows

    def keep(self, watch: Watch) -> None:
        """Give everything new to the logbook's writer."""
        with contextlib.suppress(LogbookError):  # the logbook is closed: the session ends
            while watch.made:
                self._logbook.submit(self._trip, watch.made.popleft())
            samples = watch.memory.fishing.since(self._samples)
            rows = watch.memory.hits.rows
            changed = [row for row in rows if row not in self._rows] if rows is not self._rows else []
            if samples or changed:
                self._samples, self._rows = len(watch.memory.fishing), rows
                self._logbook.derive(lambda connection: self._write(connection, samples, changed))
            if (
                watch.setup.session is Session.LIVE
                and len(watch.bottom.soundings) - self._soundings >= SOUNDINGS_AT_ONCE
            ):
                self._keep_soundings(watch)

    def _keep_soundings(self, watch: Watch) -> None:
        """Store soundings for later trips. Not without a clock: nobody would know their age."""
        offset, origin = watch.board.utc_offset(watch.now_s), watch.bottom.origin_deg
        fresh = watch.bottom.soundings.since(self._soundings)
        self._soundings = len(watch.bottom.soundings)
        if offset is None or origin is None:
            return
        charted = [
            Charted(*local_degrees(origin, (s.north_m, s.east_m)), s.depth_m, s.t_s + offset)
            for s in fresh
            if s.t_s is not None
        ]

        def write(connection: sqlite3.Connection) -> None:
            number = trip_no(connection, self._trip)
            if number is not None:
                keep_soundings(connection, number, charted)

        self._logbook.derive(write)

    def _write(self, connection: sqlite3.Connection, samples: Sequence[Sample], changed: Sequence[HitRow]) -> None:
        number = trip_no(connection, self._trip)
        if number is None:
            return  # the trip itself is still kept in the journal aside
        keep_samples(connection, number, samples)
        for row in changed:
            keep_hit(connection, number, row, {})
